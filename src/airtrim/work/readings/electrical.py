"""Watts, capacitor and amps of the blower. Amps times volts are not watts, and a choked blower draws less, not more."""

from dataclasses import dataclass
from typing import Any

from airtrim.physics.blower.airflow_readings import capacitance_f
from airtrim.work.figure import Figure
from airtrim.work.readings.point import Point, amount, message
from airtrim.work.readings.uncertain import Uncertain, carried

#: Power factor of a loaded PSC blower nobody metered, and of an electronic one, with one sigma [from-memory].
POWER_FACTOR = {
    "psc": (0.85, 0.08),
    "unknown": (0.80, 0.12),
    "constant_torque": (0.60, 0.08),
    "constant_airflow": (0.60, 0.08),
    "capacitor_start": (0.65, 0.10),
    "split_phase": (0.65, 0.10),
    "shaded_pole": (0.60, 0.10),
}
#: Tolerance of a run capacitor, part each way [common-practice]; volts against the plate [from-memory].
CAPACITOR_PART, VOLTS_PART = 0.06, 0.10
MICRO = 1e6
#: Watts against V x A x PF of the same point: more apart than this is worth asking, sigmas.
DISAGREE = 1.96


@dataclass(frozen=True)
class Electrical:
    """Blower watts and what they were made of."""

    figures: list[Figure]
    messages: list[dict[str, Any]]
    watts: Uncertain | None


def electrical(point: Point, airflow_m3_s: Uncertain | None) -> Electrical:
    """Watts by meter, else by volts, amps and power factor; microfarads; amps and volts against the plates."""
    reading, blower = point.reading, point.job.blower
    figures: list[Figure] = []
    told: list[dict[str, Any]] = []
    metered = point.of("blower_power")
    volts, amps = point.of("blower_volts"), point.of("blower_amps")
    apparent = carried(lambda v, a: v * a, v=volts, a=amps) if volts is not None and amps is not None else None
    by_amps = None
    if apparent is not None:
        if reading.power_factor is not None:
            factor = Uncertain(reading.power_factor.si, {f"place.{point.number}.power_factor": 0.02})
        else:
            middle, sigma = POWER_FACTOR[blower.motor]
            factor = Uncertain(middle, {"assumed.power_factor": sigma})
            told.append(message("power_factor_assumed", factor=f"{middle:.2f}", apparent=amount(apparent.value, "VA")))
        by_amps = carried(lambda va, pf: va * pf, va=apparent, pf=factor)
        if metered is not None and metered.lowest > apparent.highest:
            told.append(
                message(
                    "ask.watts_above_volt_amps", watts=amount(metered.value, "W"), apparent=amount(apparent.value, "VA")
                )
            )
    watts = metered or by_amps
    if watts is not None:
        figures.append(watts.figure("blower_watts", "W", 0.0))
        if airflow_m3_s is not None:
            efficacy = carried(lambda w, q: w / q, w=watts, q=airflow_m3_s)
            figures.append(efficacy.figure("watts_per_airflow", "W/(m3/s)", 0.0))
    if amps is not None:
        figures.append(amps.figure("blower_amps", "A", 0.0))
        plate = blower.nameplate_amps
        if plate is not None:
            if amps.lowest > plate.si:
                told.append(message("stop.amps_above_plate", amps=amount(amps.value, "A"), plate=amount(plate.si, "A")))
            elif amps.highest > plate.si:
                told.append(message("amps_at_plate", amps=amount(amps.value, "A"), plate=amount(plate.si, "A")))
            elif blower.motor in ("psc", "unknown"):
                told.append(message("amps_below_plate", amps=amount(amps.value, "A"), plate=amount(plate.si, "A")))
            else:
                told.append(
                    message("amps_below_plate_electronic", amps=amount(amps.value, "A"), plate=amount(plate.si, "A"))
                )
        else:
            told.append(message("amps_without_plate"))
    if volts is not None and blower.nameplate_volts is not None:
        part = volts.value / blower.nameplate_volts.si - 1.0
        if abs(part) > VOLTS_PART:
            told.append(
                message("volts_off", volts=amount(volts.value, "V"), plate=amount(blower.nameplate_volts.si, "V"))
            )
    _capacitor(point, figures, told)
    return Electrical(figures, told, watts)


def capacitors(point: Point) -> dict[str, Uncertain]:
    """The run capacitor in farad, under load by volts and amps, and by a meter with the power off; by the figures' names."""
    found = {}
    volts, amps = point.of("capacitor_volts"), point.of("capacitor_amps")
    if volts is not None and amps is not None:
        hertz = point.reading.line_frequency.si if point.reading.line_frequency is not None else 60.0
        found["capacitance"] = carried(lambda a, v: capacitance_f(a, v, hertz), a=amps, v=volts)
    metered = point.job.blower.capacitor_read
    if metered is not None:
        found["capacitance_by_meter"] = point.taken("capacitor_read", metered)
    return found


def _capacitor(point: Point, figures: list[Figure], told: list[dict[str, Any]]) -> None:
    reading = point.reading
    if (reading.capacitor_volts is None) != (reading.capacitor_amps is None):
        told.append(message("capacitor_needs_both"))
    for name, farads in capacitors(point).items():
        found = carried(lambda f: MICRO * f, f=farads)
        figures.append(found.figure(name, "uF", 0.0))
        _against_label(point, found, told)


def _against_label(point: Point, found: Uncertain, told: list[dict[str, Any]]) -> None:
    label = point.job.blower.run_capacitor
    if label is None:
        told.append(message("capacitor_without_label"))
        return
    wanted = label.si * MICRO
    values = {"read": amount(found.value, "uF"), "label": amount(wanted, "uF")}
    if found.highest < wanted * (1.0 - CAPACITOR_PART):
        told.append(message("capacitor_weak", **values))
    elif found.lowest > wanted * (1.0 + CAPACITOR_PART):
        told.append(message("capacitor_high", **values))
    elif found.lowest >= wanted * (1.0 - CAPACITOR_PART) and found.highest <= wanted * (1.0 + CAPACITOR_PART):
        told.append(message("capacitor_good", **values))
    else:
        told.append(message("capacitor_cannot_tell", **values))
