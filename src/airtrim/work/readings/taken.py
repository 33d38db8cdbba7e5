"""The readings as they were taken: what was written, with which instrument, and the 90 % range it stands for."""

from typing import Any

from airtrim.job.checks import READING_SIGMA
from airtrim.job.instruments import KIND_OF, instrument_for
from airtrim.job.measured import Measured, as_written
from airtrim.work.figure import Figure, spread_figure
from airtrim.work.readings.point import Point
from airtrim.work.readings.uncertain import NINETY
from airtrim.work.readings.workings_of_point import unit_of

#: The kind of reading (a key of `KIND_OF`) of values inside a table.
INSIDE = {
    ("strip_circuits", "volts"): "strip_volts",
    ("strip_circuits", "amps"): "strip_amps",
    ("gas", "volume"): "gas",
    ("plate", "drop"): "plate_drop",
    ("plate", "supply_static_with"): "static_supply",
    ("plate", "supply_static_without"): "static_supply",
    ("matching", "fan_airflow"): "fan_airflow",
    ("matching", "air_at_fan"): "air_at_fan",
    ("matching", "reached"): "static_supply",
    ("matching", "wanted"): "static_supply",
    ("condensate", "volume"): "condensate",
    ("grilles", "airflow"): "grilles",
    ("grilles", "velocity"): "grille_velocities",
    ("rooms", "pressure"): "rooms",
    ("surfaces", "temperature"): "surface",
    ("surfaces", "air_dry_bulb"): "surface_air",
    ("surfaces", "air_relative_humidity"): "surface_humidity",
}


def taken(point: Point) -> dict[str, Any]:
    """{number, operation, tap, time, rows} of a point; a row is {id, of, given, figure, written, instrument, kind}.

    `of` is the place inside a table ("hall", "2"), "" elsewhere; `figure` is None where no instrument stands behind the value (a
    size, a time), else `written` has its ends in the unit it was written in; `instrument` the listed one's name, None where its
    class stands in; the `kind` of a written airflow is "stated".
    """
    reading = point.reading
    rows: list[dict[str, Any]] = []
    for name in type(reading).model_fields:
        if name in ("log", "airflow_uncertainty"):
            continue
        given = getattr(reading, name)
        if isinstance(given, Measured):
            rows.append(_row(point, name, name, "", given))
        elif isinstance(given, list):
            for number, one in enumerate(given, start=1):
                where = str(getattr(one, "name", number)) if len(given) > 1 or hasattr(one, "name") else ""
                rows += (
                    [_row(point, name, name, where, one)]
                    if isinstance(one, Measured)
                    else _table(point, name, where, one)
                )
        elif hasattr(type(given), "model_fields"):
            rows += _table(point, name, "", given)
    return {
        "number": point.number,
        "operation": reading.operation,
        "tap": point.tap,
        "time": reading.time,
        "rows": rows,
    }


def _table(point: Point, name: str, where: str, table: Any) -> list[dict[str, Any]]:
    return [
        _row(point, f"{name}.{inner}", INSIDE.get((name, inner), ""), where, value)
        for inner in type(table).model_fields
        if isinstance(value := getattr(table, inner), Measured)
    ]


def _row(point: Point, identity: str, kind: str, where: str, given: Measured) -> dict[str, Any]:
    kind = {"supply_dry_bulbs": "supply_dry_bulb"}.get(kind, kind)
    row: dict[str, Any] = {
        "id": identity,
        "of": where,
        "given": given.text,
        "figure": None,
        "written": None,
        "instrument": None,
        "kind": None,
    }
    if kind == "airflow":
        stated = point.reading.airflow_uncertainty
        half = given.si * (stated.si if stated is not None else NINETY * READING_SIGMA)
        figure = spread_figure(identity, given.si, half, "m3/s")
        return row | {"figure": figure, "written": _written(given, figure), "kind": "stated"}
    if kind not in KIND_OF:
        return row
    listed = instrument_for(point.job, kind)
    figure = point.taken(kind, given).figure(identity, unit_of(kind, given.unit))
    return row | {
        "figure": figure,
        "written": _written(given, figure),
        "instrument": None if listed is None else listed.id,
        "kind": KIND_OF[kind] if listed is None else listed.kind,
    }


def _written(given: Measured, figure: Figure) -> dict[str, Any] | None:
    """The figure's ends in the unit of the value as written."""
    if "mid" not in figure:
        return None
    (low, unit), (high, _) = (as_written(given, float(figure[end])) for end in ("low", "high"))
    return {"low": low, "high": high, "unit": unit}
