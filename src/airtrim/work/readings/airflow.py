"""All ways to the airflow of a job's readings, tap by tap, and what is missing where there is none."""

from dataclasses import dataclass
from typing import Any

from airtrim.work.readings.join import Joined, join
from airtrim.work.readings.point import Point, amount, message
from airtrim.work.readings.pressures import external_static
from airtrim.work.readings.refrigerant_state import refrigerant_state
from airtrim.work.readings.uncertain import Uncertain, carried
from airtrim.work.readings.way import Way, way_of
from airtrim.work.readings.ways_by_air import (
    by_fan_law,
    by_fan_table,
    by_grilles,
    by_statement,
    by_traverse,
    from_rows,
    table_rows,
)
from airtrim.work.readings.ways_by_heat import by_condensate, by_electric_strip, by_furnace, by_refrigerant_side
from airtrim.work.readings.ways_by_plate import by_matching, by_plate

#: The ratio of two taps of one fan table, one sigma: most of a table's error is the same for both [judgement].
TABLE_RATIO_SIGMA = 0.04
#: Ways that take the airflow from the water or the refrigerant: kept out where they are to check the air side.
FROM_COOLING = ("condensate", "refrigerant_side")


@dataclass(frozen=True)
class Airflows:
    """Every way, and one joined airflow for each tap; `independent` the same without what came from the cooling itself."""

    ways: tuple[Way, ...]
    joined: dict[int, Joined]
    independent: dict[int, Joined]


def ways_of(point: Point) -> list[Way]:
    """Every way the readings of one point open."""
    static = external_static(point)
    single = [
        by_statement(point),
        by_electric_strip(point),
        by_furnace(point),
        by_fan_table(point, static),
        by_traverse(point),
        by_plate(point),
        by_matching(point),
        by_condensate(point),
        by_refrigerant_side(point, refrigerant_state(point)),
    ]
    return [way for way in single if way is not None] + by_fan_law(point, static) + by_grilles(point)


def airflows(points: list[Point]) -> Airflows:
    """All ways of all points; a heating tap's airflow is brought to the cooling tap by the fan table where statics allow."""
    ways = [way for point in points for way in ways_of(point)]
    wet = {point.number: point.reading.operation == "cooling" and point.reading.coil != "dry" for point in points}
    ways += _from_other_taps(points, ways, wet)
    joined, independent = {}, {}
    for tap in sorted({point.tap for point in points}):
        whole = join(ways, tap, wet)
        if whole is not None:
            joined[tap] = whole
        part = join([way for way in ways if way.id not in FROM_COOLING], tap, wet)
        if part is not None:
            independent[tap] = part
    return Airflows(tuple(ways), joined, independent)


def _from_other_taps(points: list[Point], ways: list[Way], wet: dict[int, bool]) -> list[Way]:
    """Airflow measured in heat on one tap, carried to the cooling tap by the ratio of the maker's rows at the two statics."""
    found = []
    for heating in points:
        heat_static = external_static(heating)
        if heating.reading.operation == "cooling" or heat_static is None:
            continue
        measured = join(
            [way for way in ways if way.id != "fan_table" and way.point == heating.number], heating.tap, wet
        )
        if measured is None:
            continue
        for cooling in points:
            static = external_static(cooling)
            if cooling.reading.operation != "cooling" or cooling.tap == heating.tap or static is None:
                continue
            here, there = table_rows(cooling, cooling.tap), table_rows(heating, heating.tap)
            flow = carried(
                lambda flow, here_pa, there_pa, here=here, there=there: (
                    flow * from_rows(here, here_pa) / from_rows(there, there_pa)
                ),
                flow=measured.flow_kg_s,
                here_pa=static,
                there_pa=heat_static,
            )
            if flow.value == flow.value:
                found.append(
                    way_of(
                        cooling,
                        "other_tap",
                        flow.with_part("method.table_ratio", TABLE_RATIO_SIGMA * flow.value),
                        assumptions=(("same_path", "kept"),),
                        formula="air_in_heat * table_here / table_in_heat",
                        source="from-memory",
                        inputs={
                            "air_in_heat": (measured.flow_kg_s.value, "kg/s"),
                            "table_here": (from_rows(here, static.value), "m3/s"),
                            "table_in_heat": (from_rows(there, heat_static.value), "m3/s"),
                        },
                    )
                )
                break
    return found


def flow_at(point: Point, joined: dict[int, Joined]) -> Uncertain | None:
    """Dry air through the coil at a point, kg/s; None where its tap's airflow is not known."""
    whole = joined.get(point.tap)
    return None if whole is None else whole.flow_kg_s


def airflow_messages(points: list[Point], found: Airflows, tap: int) -> list[dict[str, Any]]:
    """Disagreements, what is missing, and which ways could not be used."""
    told = []
    whole = found.joined.get(tap)
    if whole is None:
        told += _missing(points, found, tap)
    for joined in found.joined.values():
        for one in joined.disagreements:
            told.append(
                message(
                    "ways_disagree",
                    first={"id": f"reading.way.{one.first.id}"},
                    second={"id": f"reading.way.{one.second.id}"},
                    part=f"{100.0 * one.part:+.0f}",
                    allowed=f"{100.0 * one.allowed:.0f}",
                )
            )
    if whole is not None:
        if len(whole.ways) > 1 and not whole.disagreements:
            told.append(message("ways_agree", count=len(whole.ways)))
        if len(whole.ways) == 1:
            told.append(message("one_way_only", way={"id": f"reading.way.{whole.ways[0].id}"}))
        if all(way.operation != "cooling" for way in whole.ways):
            told.append(message("airflow_from_heat", tap=tap))
    for way in found.ways:
        if way.flow_kg_s is None and way.why:
            told.append(message("way_fails", way={"id": f"reading.way.{way.id}"}, why={"id": way.why}))
        elif not way.usable:
            broken = next(name for name, kept in way.assumptions if kept == "broken")
            told.append(
                message("way_left_out", way={"id": f"reading.way.{way.id}"}, why={"id": f"reading.assumption.{broken}"})
            )
    others = [other for other in found.joined if other != tap]
    if whole is None and others:
        told.append(message("other_tap_known", tap=others[0], wanted=tap))
    return told


def _missing(points: list[Point], found: Airflows, tap: int) -> list[dict[str, Any]]:
    job = points[0].job if points else None
    static = next((one for one in (external_static(point) for point in points) if one is not None), None)
    if static is not None and len(table_rows(points[0], tap)) < 2:
        return [message("static_alone", static=amount(static.value, "Pa"), tap=tap)]
    if job is None:
        return [message("no_readings")]
    by_heat = {"electric_strip": "strip", "heat_pump": "strip", "furnace": "gas"}.get(job.heat.kind, "air")
    return [message(f"no_airflow.{by_heat}")]
