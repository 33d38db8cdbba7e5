"""Superheat, subcooling and split against their targets: whether the test is valid, and what it says beyond its uncertainty."""

from dataclasses import dataclass
from math import isnan
from typing import Any

from airtrim.physics.unit.charging import (
    SENSIBLE_EXPONENT,
    SENSIBLE_EXPONENT_RANGE,
    shifted_split_k,
    target_split_k,
    target_superheat_k,
    target_superheat_line_k,
)
from airtrim.work.figure import Figure
from airtrim.work.readings.point import Point, amount, message
from airtrim.work.readings.pressures import NOMINAL_M3_S_PER_W
from airtrim.work.readings.refrigerant_state import RefrigerantState
from airtrim.work.readings.uncertain import NINETY, Uncertain, carried

F = 1.0 / 1.8
#: Superheat within 5 F and subcooling within 3 F of target is right; superheat of a valve 4 to 25 F; split within 3 F [title24ra3].
SUPERHEAT_BAND_K, SUBCOOLING_BAND_K, SPLIT_BAND_K = 5.0 * F, 3.0 * F, 3.0 * F
VALVE_SUPERHEAT_K = (4.0 * F, 25.0 * F)
#: A target below 5 F, or outdoor air below 55 F, makes no valid test; more than 300 cfm/ton is wanted [title24ra3].
LEAST_TARGET_K, LEAST_OUTDOOR_C, LEAST_M3_S_PER_W = 5.0 * F, (55.0 - 32.0) * F, 0.75 * NOMINAL_M3_S_PER_W
#: Superheat at the service port that keeps liquid out of the compressor, K, and the coldest saturated suction, degC.
LEAST_SUPERHEAT_K, STOP_C, WARN_C = 5.0 * F, 0.0, 4.0 * F
#: A coil TD above this is no coil's that has its air, K: the trade's rule is 35 F at 400 cfm/ton [common-practice], makers' data 27
#: to 31 F; 42 F leaves room for 300 cfm/ton [judgement].
GREATEST_TD_K = 42.0 * F
#: Plate subcooling nobody read: no target. The chart and the line differ by more than this: said, K.
CHART_AGAINST_LINE_K = 3.0 * F
#: The chart's own rounding, and what copies of it differ by, one sigma K; the split surface is good to 1 F from unit to unit.
CHART_SIGMA_K, SPLIT_SIGMA_K = 0.6 * F, 1.0 * F


@dataclass(frozen=True)
class RefrigerantSide:
    """Figures, messages; `invalid` the catalogue ids of why a charge test does not hold, `verdicts` {what: verdict}."""

    figures: list[Figure]
    messages: list[dict[str, Any]]
    invalid: list[str]
    verdicts: dict[str, str]


def refrigerant_side(
    point: Point,
    state: RefrigerantState,
    split: Uncertain | None,
    airflow_m3_s: Uncertain | None,
    moving: bool = False,
) -> RefrigerantSide:
    """Judge one cooling point; with an airflow (m3/s at the coil's entrance) the split is judged at that airflow.

    `moving` says that timed readings show it had not settled.
    """
    figures: list[Figure] = []
    told: list[dict[str, Any]] = []
    for name, one, unit in (
        ("saturated_suction", state.suction_c, "degC"),
        ("saturated_condensing", state.condensing_c, "degC"),
        ("superheat", state.superheat_k, "K"),
        ("subcooling", state.subcooling_k, "K"),
    ):
        if one is not None:
            figures.append(one.figure(name, unit))
    back = point.of("return_dry_bulb")
    if back is not None and state.suction_c is not None:
        figures.append(carried(lambda t, s: t - s, t=back, s=state.suction_c).figure("coil_td", "K"))
    if point.reading.operation != "cooling":
        return RefrigerantSide(figures, told, [], {})
    starved = _looks_starved(point, state)
    told += _stop_signs(point, state)
    if starved and state.superheat_k is not None and state.superheat_k.value < LEAST_SUPERHEAT_K:
        told.append(message("stop.starved"))
    verdicts: dict[str, str] = {}
    charge_read = state.superheat_k is not None or state.subcooling_k is not None
    invalid = _invalid(point, airflow_m3_s) if charge_read else []
    if charge_read and moving and "reading.invalid.not_settled" not in invalid:
        invalid.append("reading.invalid.still_moving")
    for why in invalid:
        told.append(message("test_not_valid", why={"id": why}))
    if charge_read:
        _charge(point, state, figures, told, verdicts, valid=not invalid)
    if starved:
        told += _of_low_suction(point, state, verdicts)
    if split is not None:
        _split(point, split, airflow_m3_s, figures, told, verdicts)
    return RefrigerantSide(figures, told, invalid, verdicts)


def _stop_signs(point: Point, state: RefrigerantState) -> list[dict[str, Any]]:
    told = []
    superheat, suction = state.superheat_k, state.suction_c
    if superheat is not None and superheat.lowest < LEAST_SUPERHEAT_K:
        told.append(
            message(
                "stop.superheat" if superheat.value < LEAST_SUPERHEAT_K else "superheat_not_proven",
                read=amount(superheat.value, "K"),
                less=amount(NINETY * superheat.sigma, "K"),
                least=amount(LEAST_SUPERHEAT_K, "K"),
            )
        )
    if suction is not None and suction.lowest < WARN_C:
        sign = "stop.coil_freezing" if suction.value < STOP_C else "coil_near_freezing"
        told.append(message(sign, read=amount(suction.value, "degC"), less=amount(NINETY * suction.sigma, "K")))
    if point.reading.coil == "frosted":
        told.append(message("stop.frost"))
    return told


def _looks_starved(point: Point, state: RefrigerantState) -> bool:
    """Whether suction is low beyond the gauge's doubt: below freezing, or a coil TD no coil with its air has."""
    suction, back = state.suction_c, point.of("return_dry_bulb") or point.of("grille_dry_bulb")
    if suction is None:
        return False
    if back is None:
        return suction.highest < STOP_C
    return suction.highest < STOP_C or carried(lambda t, s: t - s, t=back, s=suction).lowest > GREATEST_TD_K


def _of_low_suction(point: Point, state: RefrigerantState, verdicts: dict[str, str]) -> list[dict[str, Any]]:
    """What low suction means by its superheat: low air and low charge part here, and airflow comes first in each."""
    superheat = state.superheat_k
    if superheat is None:
        return [message("low_suction_unread")]
    judged = verdicts.get("superheat", verdicts.get("valve_superheat", ""))
    if superheat.value < LEAST_SUPERHEAT_K or judged in ("low", "probably_low"):
        return [message("low_suction_starved", superheat=amount(superheat.value, "K"))]
    if superheat.lowest > VALVE_SUPERHEAT_K[1] or judged == "high":
        return [message("low_suction_underfed", superheat=amount(superheat.value, "K"))]
    if point.job.system.metering_device == "expansion_valve":
        return [message("low_suction_valve", superheat=amount(superheat.value, "K"))]
    return [message("low_suction_either", superheat=amount(superheat.value, "K"))]


def _invalid(point: Point, airflow: Uncertain | None) -> list[str]:
    """Why a charge test does not hold now."""
    reading, invalid = point.reading, []
    outdoor = reading.outdoor_dry_bulb
    if outdoor is None:
        invalid.append("reading.invalid.no_outdoor")
    elif outdoor.si < LEAST_OUTDOOR_C:
        invalid.append("reading.invalid.cold_outdoors")
    if point.settled_enough() is False:
        invalid.append("reading.invalid.not_settled")
    if reading.coil == "dry":
        invalid.append("reading.invalid.dry_coil")
    if point.iced:
        invalid.append("reading.invalid.frosted")
    if airflow is not None and airflow.highest < LEAST_M3_S_PER_W * point.job.system.outdoor_size.si:
        invalid.append("reading.invalid.low_airflow")
    if point.job.system.refrigerant == "unknown" and reading.suction_pressure is not None:
        invalid.append("reading.invalid.refrigerant_unknown")
    return invalid


def _verdict(read: Uncertain, target: Uncertain, band: float) -> str:
    """Within, high or low beyond the band and the uncertainty, else near an edge: cannot tell."""
    off = carried(lambda a, b: a - b, a=read, b=target)
    if off.lowest > band:
        return "high"
    if off.highest < -band:
        return "low"
    if off.lowest >= -band and off.highest <= band:
        return "within"
    return "probably_within" if abs(off.value) <= band else "probably_high" if off.value > 0.0 else "probably_low"


def _charge(
    point: Point,
    state: RefrigerantState,
    figures: list[Figure],
    told: list[dict[str, Any]],
    verdicts: dict[str, str],
    valid: bool,
) -> None:
    device, plate = point.job.system.metering_device, point.job.system.plate_subcooling
    if device == "unknown":
        told.append(message("metering_not_known"))
    if device != "expansion_valve" and state.superheat_k is not None:
        target = _orifice_target(point, told)
        if target is not None:
            figures.append(target.figure("target_superheat", "K"))
            if valid:
                verdicts["superheat"] = _verdict(state.superheat_k, target, SUPERHEAT_BAND_K)
    if device != "fixed_orifice":
        if plate is None and state.subcooling_k is not None:
            told.append(message("no_plate_subcooling"))
        if plate is not None and state.subcooling_k is not None:
            target = Uncertain(plate.si)
            figures.append(target.figure("target_subcooling", "K"))
            if valid:
                verdicts["subcooling"] = _verdict(state.subcooling_k, target, SUBCOOLING_BAND_K)
        if device == "expansion_valve" and state.superheat_k is not None and valid:
            low, high = VALVE_SUPERHEAT_K
            middle, half = Uncertain(0.5 * (low + high)), 0.5 * (high - low)
            verdicts["valve_superheat"] = _verdict(state.superheat_k, middle, half)
    for what, verdict in verdicts.items():
        told.append(message(f"verdict.{what}", verdict={"id": f"reading.is.{verdict}"}))
    if any("low" in one or "high" in one for one in verdicts.values()):
        told.append(message("airflow_before_charge"))


def _orifice_target(point: Point, told: list[dict[str, Any]]) -> Uncertain | None:
    """Target superheat of a fixed orifice from return wet-bulb and outdoor air; None where the chart refuses."""
    wet, outdoor = point.wet_bulb("return") or point.wet_bulb("grille"), point.of("outdoor_dry_bulb")
    if wet is None or outdoor is None:
        told.append(message("no_target_superheat"))
        return None
    chart = carried(target_superheat_k, return_wet_bulb_c=wet, outdoor_c=outdoor)
    if isnan(chart.value) or chart.value < LEAST_TARGET_K:
        told.append(message("target_superheat_too_low", least=amount(LEAST_TARGET_K, "K")))
        return None
    line = target_superheat_line_k(wet.value, outdoor.value)
    if abs(line - chart.value) > CHART_AGAINST_LINE_K:
        told.append(message("line_differs", chart=amount(chart.value, "K"), line=amount(line, "K")))
    return chart.with_part("method.charging_chart", CHART_SIGMA_K)


def _split(
    point: Point,
    split: Uncertain,
    airflow: Uncertain | None,
    figures: list[Figure],
    told: list[dict[str, Any]],
    verdicts: dict[str, str],
) -> None:
    """The split against the table's, moved to the airflow: an airflow lowered on purpose raises the split, which is no fault."""
    dry, wet = point.of("return_dry_bulb"), point.wet_bulb("return")
    if dry is None or wet is None:
        return
    target = carried(target_split_k, return_dry_bulb_c=dry, return_wet_bulb_c=wet)
    if isnan(target.value):
        told.append(message("split_off_table"))
        return
    target = target.with_part("method.split_table", SPLIT_SIGMA_K)
    if airflow is not None:
        nominal = NOMINAL_M3_S_PER_W * point.job.system.outdoor_size.si
        exponent = Uncertain(SENSIBLE_EXPONENT, {"method.sensible_exponent": SENSIBLE_EXPONENT_RANGE / NINETY})
        shifted = carried(
            lambda split, q, e: shifted_split_k(split, q / nominal, e), split=target, q=airflow, e=exponent
        )
        if abs(shifted.value - target.value) > 0.5 * F:
            told.append(message("split_shifted", table=amount(target.value, "K"), here=amount(shifted.value, "K")))
        target = shifted
    figures.append(target.figure("expected_split", "K"))
    if point.settled_enough() is False:
        return
    verdict = _verdict(split, target, SPLIT_BAND_K)
    verdicts["split"] = verdict
    told.append(message("verdict.split", verdict={"id": f"reading.is.{verdict}"}))
    if verdict == "high" and airflow is None:
        told.append(message("split_high"))
    if verdict == "low":
        told.append(message("split_low"))
