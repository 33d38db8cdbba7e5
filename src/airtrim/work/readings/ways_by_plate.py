"""Airflow from a plate at the filter slot and from a calibrated fan matched to the usual supply pressure."""

from math import sqrt

from airtrim.job.instruments import accuracy_of
from airtrim.physics.blower.airflow_readings import matched_airflow_m3_s, opening_airflow_m3_s
from airtrim.work.readings.point import RECTANGULAR, Point, finite
from airtrim.work.readings.uncertain import Uncertain, carried
from airtrim.work.readings.way import NOT_KNOWN, Way, state, way_of
from airtrim.work.readings.ways_by_air import DUCT_EXPONENT, DUCT_EXPONENT_SIGMA, STANDARD_DENSITY

#: A plate that was not corrected for the filter it replaced, and a discharge coefficient nobody gave, one sigma parts.
UNCORRECTED_SIGMA, DISCHARGE, DISCHARGE_SIGMA = 0.05, 0.60, 0.03
#: A match within this ratio of pressures is a match; farther off the duct law carries it.
MATCH_RATIO = 1.25


def by_plate(point: Point) -> Way | None:
    """A plate or grid in the filter's place, brought to the usual supply pressure: Q = Qp sqrt(P without / P with)."""
    plate = point.reading.plate
    if plate is None:
        return None
    dry, ratio, _ = point.return_air()
    volume = point.dry_air_volume(dry, ratio)
    drop = point.taken("plate_drop", plate.drop)
    moist = carried(lambda v, w: (1.0 + w) / v, v=volume, w=ratio)
    if plate.airflow_at_1_pa is not None:
        factor = plate.airflow_at_1_pa.si * sqrt(STANDARD_DENSITY)
        formula, inputs = (
            "airflow_at_1_Pa * sqrt(drop * standard_density / density)",
            {"airflow_at_1_Pa": (plate.airflow_at_1_pa.si, "m3/s"), "standard_density": (STANDARD_DENSITY, "kg/m3")},
        )
        through = carried(lambda p, density: factor * sqrt(max(p, 0.0) / density), p=drop, density=moist)
    else:
        assert plate.open_area is not None
        area = plate.open_area.si
        discharge = Uncertain(plate.discharge or DISCHARGE, {"method.discharge": DISCHARGE_SIGMA})
        formula, inputs = (
            "discharge * area * sqrt(2 * drop / density)",
            {"discharge": (discharge.value, "1"), "area": (area, "m2_small")},
        )
        through = carried(
            lambda p, c, density: opening_airflow_m3_s(area, max(p, 0.0), c, density),
            p=drop,
            c=discharge,
            density=moist,
        )
    who = accuracy_of(point.job, "plate", through.value)
    through = through.with_part(f"instrument.{who.who}", who.limit * RECTANGULAR)
    with_plate, without = plate.supply_static_with, plate.supply_static_without
    inputs |= {"drop": (drop.value, "Pa"), "density": (moist.value, "kg/m3"), "air_volume": (volume.value, "m3/kg")}
    if with_plate is not None and without is not None:
        corrected = carried(
            lambda q, p0, p, v: matched_airflow_m3_s(q, p0, p, 0.5) / v,
            q=through,
            p0=point.taken("static_supply", with_plate, ".with_plate"),
            p=point.taken("static_supply", without, ".without_plate"),
            v=volume,
        )
        formula += " * sqrt(static_without / static_with)"
        inputs |= {"static_without": (without.si, "Pa"), "static_with": (with_plate.si, "Pa")}
    else:
        corrected = carried(lambda q, v: q / v, q=through, v=volume)
        corrected = corrected.with_part(f"method.{point.number}.uncorrected", UNCORRECTED_SIGMA * corrected.value)
    known = finite(corrected) and corrected.value > 0.0
    return way_of(
        point,
        "plate",
        corrected if known else None,
        assumptions=(("usual_pressure", state(True if with_plate is not None else None)), ("slot_sealed", NOT_KNOWN)),
        why="" if known else "reading.why.no_pressure",
        formula=f"{formula} / air_volume",
        source="acca310",
        inputs=inputs,
    )


def by_matching(point: Point) -> Way | None:
    """The calibrated fan's airflow, carried by the duct law to the usual pressure where it was not quite reached."""
    match = point.reading.matching
    if match is None:
        return None
    dry, ratio, _ = point.return_air()
    at_fan = point.taken("air_at_fan", match.air_at_fan) if match.air_at_fan is not None else dry
    volume = point.dry_air_volume(at_fan, ratio)
    who = accuracy_of(point.job, "fan_airflow", match.fan_airflow.si)
    fan = Uncertain(match.fan_airflow.si, {f"instrument.{who.who}": who.limit * RECTANGULAR})
    exponent = Uncertain(1.0 / DUCT_EXPONENT, {"assumed.duct_exponent": DUCT_EXPONENT_SIGMA / DUCT_EXPONENT**2})
    flow = carried(
        lambda q, reached, wanted, n, v: matched_airflow_m3_s(q, reached, wanted, n) / v,
        q=fan,
        reached=point.taken("static_supply", match.reached, ".reached"),
        wanted=point.taken("static_supply", match.wanted, ".wanted"),
        n=exponent,
        v=volume,
    )
    ratio_off = max(match.wanted.si, 1e-9) / max(match.reached.si, 1e-9)
    known = finite(flow)
    return way_of(
        point,
        "matching",
        flow if known else None,
        assumptions=(
            ("pressure_reached", state(True if 1.0 / MATCH_RATIO <= ratio_off <= MATCH_RATIO else None)),
            ("return_blocked", NOT_KNOWN),
        ),
        why="" if known else "reading.why.no_pressure",
        formula="fan_airflow * (wanted / reached) ** (1 / exponent) / air_volume",
        source="acca310",
        inputs={
            "fan_airflow": (fan.value, "m3/s"),
            "wanted": (match.wanted.si, "Pa"),
            "reached": (match.reached.si, "Pa"),
            "exponent": (DUCT_EXPONENT, "1"),
            "air_volume": (volume.value, "m3/kg"),
        },
    )
