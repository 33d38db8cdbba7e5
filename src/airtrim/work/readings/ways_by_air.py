"""Airflow from moving air: stated, fan table, fan law, traverse, grilles."""

from itertools import pairwise

import numpy as np

from airtrim.core.errors import InputError, JobError
from airtrim.job.checks import READING_SIGMA, TABLE_SIGMA
from airtrim.job.readings import Traverse
from airtrim.physics.blower.airflow_readings import (
    LEAST_POINTS,
    airflow_at_speed_m3_s,
    even_section,
    round_area_m2,
    traverse_positions,
    velocity_m_s,
)
from airtrim.work.readings.point import RECTANGULAR, Point, finite
from airtrim.work.readings.uncertain import NINETY, Uncertain, carried
from airtrim.work.readings.way import KEPT, NOT_KNOWN, Way, state, way_of
from airtrim.work.readings.working import Inputs

#: Standard air, kg of dry air per m3 (0.075 lb/ft3).
STANDARD_DENSITY = 1.2013848
#: One sigma parts of a method beside its instruments: a traverse on a good section and on any other (5 and 10 % as limits), the
#: free area of a grille, leaks of supply and return ducts nobody measured and how well they are known.
GOOD_SECTION_SIGMA, ANY_SECTION_SIGMA, FREE_AREA_SIGMA = 0.05 * RECTANGULAR, 0.10 * RECTANGULAR, 0.10
SUPPLY_LEAK, SUPPLY_LEAK_SIGMA, RETURN_LEAK, RETURN_LEAK_SIGMA = 0.08, 0.05, 0.05, 0.035
#: Straight duct that a good section wants, in diameters before and after [from-memory].
STRAIGHT_BEFORE, STRAIGHT_AFTER = 7.5, 3.0
#: Duct law dP = k Q^n, n of a duct system with filter and coil, and one sigma [from-memory, 1.8 to 2.0].
DUCT_EXPONENT, DUCT_EXPONENT_SIGMA = 1.9, 0.06


def by_statement(point: Point) -> Way | None:
    """The airflow written in the job, however it was come by."""
    given = point.reading.airflow
    if given is None:
        return None
    stated = point.reading.airflow_uncertainty
    sigma = stated.si / NINETY if stated is not None else READING_SIGMA
    read = Uncertain(given.si, {f"method.{point.number}.stated": sigma * given.si})
    standard = point.reading.airflow_is == "standard"
    if standard:
        flow = carried(lambda q: q * STANDARD_DENSITY, q=read)
    else:
        flow = carried(lambda q, v: q / v, q=read, v=point.return_volume())
    return way_of(
        point,
        "stated",
        flow,
        assumptions=(("accuracy_stated", state(True if stated is not None else None)),),
        formula="airflow * standard_density" if standard else "airflow / air_volume",
        source="title24ra3",
        inputs={
            "airflow": (given.si, "m3/s"),
            **(
                {"standard_density": (STANDARD_DENSITY, "kg/m3")}
                if standard
                else {"air_volume": (point.return_volume().value, "m3/kg")}
            ),
        },
    )


def table_rows(point: Point, tap: int) -> list[tuple[float, float]]:
    """(static Pa, airflow m3/s) of the maker's table for a tap, by static."""
    return sorted((row.static.si, row.airflow.si) for row in point.job.blower.fan_table if row.tap == tap)


def from_rows(rows: list[tuple[float, float]], static_pa: float) -> float:
    """Airflow of the table at a static, straight between rows; NaN off the table, which is never stretched."""
    if len(rows) < 2 or not rows[0][0] <= static_pa <= rows[-1][0]:
        return float("nan")
    for (s0, q0), (s1, q1) in pairwise(rows):
        if s0 <= static_pa <= s1 and s1 > s0:
            return q0 + (q1 - q0) * (static_pa - s0) / (s1 - s0)
    return rows[-1][1]


def by_fan_table(point: Point, static: Uncertain | None) -> Way | None:
    """The maker's table at the static read; the static is first turned into what it would be in standard air."""
    if static is None:
        return None
    rows = table_rows(point, point.tap)
    if len(rows) < 2:
        return way_of(point, "fan_table", None, why="reading.why.no_table")
    volume = point.return_volume()
    flow = carried(
        lambda static, v: from_rows(rows, static * STANDARD_DENSITY * v) / v,
        static=static,
        v=volume,
    )
    if not finite(flow):
        return way_of(point, "fan_table", None, why="reading.why.off_table")
    volts, plate = point.reading.blower_volts, point.job.blower.nameplate_volts
    near = None if volts is None or plate is None else abs(volts.si / plate.si - 1.0) < 0.03
    return way_of(
        point,
        "fan_table",
        flow.with_part("method.fan_table", TABLE_SIGMA * flow.value),
        assumptions=(
            ("tap_known", state(True if _tap_written(point) else None)),
            ("volts_of_table", state(near) if near else NOT_KNOWN),
            ("wheel_clean", NOT_KNOWN),
        ),
        formula="(low_airflow + (high_airflow - low_airflow) * (static * standard_density * air_volume - low_static)"
        " / (high_static - low_static)) / air_volume",
        source="from-memory",
        inputs=_rows_around(rows, static.value, volume.value),
    )


def _rows_around(rows: list[tuple[float, float]], static_pa: float, volume: float) -> Inputs:
    """What goes into the table's formula: the static and the two rows it lies between."""
    at = static_pa * STANDARD_DENSITY * volume
    low, high = next(((a, b) for a, b in pairwise(rows) if a[0] <= at <= b[0] and b[0] > a[0]), (rows[-2], rows[-1]))
    return {
        "static": (static_pa, "Pa"),
        "standard_density": (STANDARD_DENSITY, "kg/m3"),
        "air_volume": (volume, "m3/kg"),
        "low_static": (low[0], "Pa"),
        "low_airflow": (low[1], "m3/s"),
        "high_static": (high[0], "Pa"),
        "high_airflow": (high[1], "m3/s"),
    }


def _tap_written(point: Point) -> bool:
    return point.reading.tap is not None or "tap_in_use" in point.job.blower.model_fields_set


def by_fan_law(point: Point, static: Uncertain | None) -> list[Way]:
    """From a known airflow: by speed on the same wheel and path, by static on the same duct."""
    known = point.reading.known_point
    if known is None:
        return []
    stated = known.airflow_uncertainty.si if known.airflow_uncertainty is not None else 0.10
    base = Uncertain(known.airflow.si, {f"method.{point.number}.known_point": stated / NINETY * known.airflow.si})
    volume = point.return_volume()
    ways = []
    speed = point.of("blower_speed")
    if known.speed is not None and speed is not None:
        flow = carried(
            lambda q, n0, n, v: airflow_at_speed_m3_s(q, n0, n) / v,
            q=base,
            n0=point.taken("blower_speed", known.speed),
            n=speed,
            v=volume,
        )
        ways.append(
            way_of(point, "fan_law_speed", flow, assumptions=(("same_path", NOT_KNOWN),),
                   formula="known_airflow * speed / known_speed / air_volume", source="fan-laws",
                   inputs={"known_airflow": (base.value, "m3/s"), "speed": (speed.value, "rpm"),
                           "known_speed": (known.speed.si, "rpm"), "air_volume": (volume.value, "m3/kg")})
        )  # fmt: skip
    if known.static is not None and static is not None and static.value > 0.0:
        exponent = Uncertain(DUCT_EXPONENT, {"assumed.duct_exponent": DUCT_EXPONENT_SIGMA})
        flow = carried(
            lambda q, p0, p, n, v: q * (p / p0) ** (1.0 / n) / v if p > 0.0 and p0 > 0.0 else float("nan"),
            q=base,
            p0=point.taken("total_external_static", known.static, ".known"),
            p=static,
            n=exponent,
            v=volume,
        )
        ways.append(
            way_of(point, "fan_law_static", flow, assumptions=(("same_path", NOT_KNOWN),),
                   formula="known_airflow * (static / known_static) ** (1 / exponent) / air_volume", source="from-memory",
                   inputs={"known_airflow": (base.value, "m3/s"), "static": (static.value, "Pa"),
                           "known_static": (known.static.si, "Pa"), "exponent": (DUCT_EXPONENT, "1"),
                           "air_volume": (volume.value, "m3/kg")})
        )  # fmt: skip
    if not ways:
        ways.append(way_of(point, "fan_law_speed", None, why="reading.why.no_present_speed"))
    return ways


def by_traverse(point: Point) -> Way | None:
    """Mean of velocities times area, all traversed ducts together."""
    if not point.reading.traverses:
        return None
    total: Uncertain | None = None
    good, enough, even = True, True, True
    sections: list[tuple[float, float, float]] = []
    for number, one in enumerate(point.reading.traverses):
        flow, points_enough, one_even = _one_traverse(point, one, number)
        sections.append((_area_m2(one), point.dry_air_volume(*_stream(point, one.place)).value, flow.value))
        even = even and one_even
        straight = None not in (one.diameters_before, one.diameters_after) and (
            (one.diameters_before or 0.0) >= STRAIGHT_BEFORE and (one.diameters_after or 0.0) >= STRAIGHT_AFTER
        )
        good, enough = good and straight, enough and points_enough
        sigma = GOOD_SECTION_SIGMA if straight and one_even else ANY_SECTION_SIGMA
        flow = flow.with_part(f"method.{point.number}.traverse.{number}", sigma * flow.value)
        total = flow if total is None else carried(lambda a, b: a + b, a=total, b=flow)
    assert total is not None
    return way_of(
        point,
        "traverse",
        total,
        assumptions=(
            ("straight_duct", state(True if good else None)),
            ("even_section", state(even)),
            ("all_ducts", NOT_KNOWN),
            ("enough_points", KEPT if enough else NOT_KNOWN),
        ),
        formula=" + ".join(f"mean_velocity_{n} * area_{n} / air_volume_{n}" for n in range(1, len(sections) + 1)),
        source="trade-manuals",
        inputs={
            f"{name}_{n}": given
            for n, (area, volume, flow) in enumerate(sections, start=1)
            for name, given in (
                ("mean_velocity", (flow * volume / area, "m/s")),
                ("area", (area, "m2_small")),
                ("air_volume", (volume, "m3/kg")),
            )
        },
    )


def _one_traverse(point: Point, one: Traverse, number: int) -> tuple[Uncertain, bool, bool]:
    """Dry air through one section, whether it has points enough, and whether it is even; raises `JobError` for a wrong number."""
    lines = one.velocities or one.velocity_pressures
    where = f"readings.{point.number}.traverses.{number + 1}"
    for values in lines:
        try:
            traverse_positions(one.shape, one.rule, len(values))
        except InputError as error:
            raise JobError(f"{where}: {error}") from error
    if one.shape == "rectangular":
        try:
            traverse_positions(one.shape, one.rule, len(lines))
        except InputError as error:
            raise JobError(f"{where}: the lines of a rectangular duct follow the same rule; {error}") from error
        enough = sum(len(values) for values in lines) >= LEAST_POINTS
    else:
        enough = len(lines) >= 2
    area = _area_m2(one)
    kind = "traverse_velocities" if one.velocities else "traverses"
    read = {f"p{n}": point.taken(kind, value) for n, value in enumerate(value for values in lines for value in values)}
    dry, ratio = _stream(point, one.place)
    volume = point.dry_air_volume(dry, ratio)
    moist = carried(lambda v, w: (1.0 + w) / v, v=volume, w=ratio)

    def air(density: float, volume: float, **values: float) -> float:
        read = list(values.values())
        speeds = read if one.velocities else [velocity_m_s(max(p, 0.0), density) for p in read]
        return float(np.mean(speeds)) * area / volume

    speeds = [one.value if kind == "traverse_velocities" else max(one.value, 0.0) ** 0.5 for one in read.values()]
    return carried(air, density=moist, volume=volume, **read), enough, even_section(speeds)


def _area_m2(one: Traverse) -> float:
    if one.shape == "rectangular":
        assert one.width is not None and one.height is not None
        return one.width.si * one.height.si
    assert one.diameter is not None
    return round_area_m2(one.diameter.si)


def _stream(point: Point, side: str) -> tuple[Uncertain, Uncertain]:
    """Dry-bulb and humidity ratio of the air in the supply or return."""
    back, ratio, _ = point.return_air()
    if side == "return":
        return back, ratio
    supply = point.supply_dry_bulb()
    if supply is None:
        usual = {"cooling": -9.0, "heating": 18.0}.get(point.reading.operation, 0.5)
        supply = carried(lambda t, d: t + d, t=back, d=Uncertain(usual, {"assumed.supply_air": 2.5}))
    return supply, point.humidity("supply") or ratio


def by_grilles(point: Point) -> list[Way]:
    """Sum of all registers, or of all return grilles; what leaks on the way is added with its uncertainty."""
    ways = []
    for side in ("return", "supply"):
        grilles = [one for one in point.reading.grilles if one.side == side]
        if not grilles:
            continue
        dry, ratio = _stream(point, side)
        volume = point.dry_air_volume(dry, ratio)
        read = {}
        for number, one in enumerate(grilles):
            if one.airflow is not None:
                read[f"q{number}"] = point.taken("grilles", one.airflow)
            else:
                assert one.velocity is not None and one.free_area is not None
                speed = point.taken("grille_velocities", one.velocity)
                area = one.free_area.si
                face = carried(lambda u, area=area: u * area, u=speed)
                read[f"q{number}"] = face.with_part("method.free_area", FREE_AREA_SIGMA * face.value)
        leak = _leak(point, side)
        flow = carried(
            lambda volume, leak, **q: sum(q.values()) / volume / (1.0 - leak), volume=volume, leak=leak, **read
        )
        given = point.job.ducts.return_leak if side == "return" else point.job.ducts.supply_leak
        ways.append(
            way_of(point, f"{side}_grilles", flow,
                   assumptions=(("all_grilles", NOT_KNOWN), ("leak_measured", state(True if given is not None else None))),
                   formula="sum_of_grilles / air_volume / (1 - leak)", source="lbnl-hoods",
                   inputs={"sum_of_grilles": (sum(one.value for one in read.values()), "m3/s"),
                           "air_volume": (volume.value, "m3/kg"), "leak": (leak.value, "fraction")})
        )  # fmt: skip
    return ways


def _leak(point: Point, side: str) -> Uncertain:
    given = point.job.ducts.return_leak if side == "return" else point.job.ducts.supply_leak
    if given is not None:
        return Uncertain(given.si, {f"assumed.{side}_leak": 0.2 / NINETY * given.si})
    part = 0.2 if point.job.ducts.place == "inside" else 1.0
    usual, sigma = (RETURN_LEAK, RETURN_LEAK_SIGMA) if side == "return" else (SUPPLY_LEAK, SUPPLY_LEAK_SIGMA)
    return Uncertain(part * usual, {f"assumed.{side}_leak": part * sigma})
