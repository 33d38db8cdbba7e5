"""What the survey itself tells: sentences before any computing, and what had to be assumed in its stead."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from airtrim.job.checks import Airflow, filter_area_m2, recorded_only
from airtrim.job.model import Job
from airtrim.physics.blower.path import Resistance
from airtrim.physics.blower.system import BlowerSystem
from airtrim.physics.blower.wheel import relative_sound_db, wheel_load
from airtrim.physics.season.system import WeatherArrays
from airtrim.work.findings.blower import ELECTRONIC
from airtrim.work.findings.house import Prior, aperture_prior, envelope_prior, gain_prior
from airtrim.work.readings import points_of
from airtrim.work.readings.pressures import RATED_STATIC_PA, external_static
from airtrim.work.readings.site_steps import is_over_dry

CFM_PER_TON = 0.0004719474432 / 3516.8528
#: More air than this is more than drying wants, m3/s per W (400 cfm/ton, common-practice).
MUCH_AIR = 400.0 * CFM_PER_TON
#: A fixed tap below this is refused, m3/s per W (300 cfm/ton, judgement).
LEAST_PER_TON = 300.0 * CFM_PER_TON
#: Face velocity above which a filter is noisy and a brake, m/s (300 ft/min, common-practice).
FAST_FILTER_M_S = 1.524


#: Relative humidity from which damp harms a house [common-practice: EPA, DOE: below 60 %], and seasons with little to cool.
DAMP, MILD_SEASONS = 0.60, ("spring", "autumn", "winter")
#: Less below 400 cfm/ton than this part counts as there; and as far as the ducts' curve is followed [judgement].
FULL_ENOUGH, FARTHEST = 0.05, 2.5
#: Sensible part of a unit's size that reaches the rooms on the design day, and what air leakage adds to the load [judgement].
REACHES_ROOMS, LEAKAGE_ADDS = 0.75 * 0.97 * 0.90, 1.10


def load_ratio(job: Job, weather: WeatherArrays) -> float:
    """Sensible cooling on the design day over a first estimate of the house's load then."""
    hot = np.abs(weather.dry_bulb_c - weather.design_dry_bulb_c) <= 1.0
    if not hot.any():
        hot = weather.dry_bulb_c >= np.max(weather.dry_bulb_c) - 1.0
    sun = float(weather.facade_w_m2[hot].mean(axis=0).sum())
    warmer = max(weather.design_dry_bulb_c - job.thermostat.set_point.si, 1.0)
    load = LEAKAGE_ADDS * envelope_prior(job).mid * warmer + aperture_prior(job).mid * sun + gain_prior(job).mid
    return float(REACHES_ROOMS * job.system.outdoor_size.si / load)


def survey_messages(job: Job, airflow: Airflow, loads: float | None = None) -> list[dict[str, Any]]:
    """Messages {id, values} in the order of their weight; `loads` is `load_ratio` of the job, where it is known."""
    messages: list[dict[str, Any]] = []

    def say(identity: str, **values: Any) -> None:
        messages.append({"id": f"finding.{identity}", "values": values})

    if job.thermostat.fan == "on":
        say("fan_on")
    if is_over_dry(job):
        say("over_dry")
    said = job.complaint.relative_humidity
    if "damp" in job.complaint.kinds:
        if said is not None and said.si < DAMP:
            say("mild_humidity", humidity={"value": said.si, "unit": "fraction"})
        elif job.complaint.season in MILD_SEASONS:
            say("little_to_cool", season={"id": f"season.{job.complaint.season}"})
    if job.blower.speed_control != "none" and job.blower.tap_in_use > 1:
        say("control_on_low_tap", tap=job.blower.tap_in_use)
    static_read = any(one.total_external_static or one.static_supply for one in job.readings)
    if not static_read and ("noise" in job.complaint.kinds or job.blower.motor in ELECTRONIC):
        say("static_before_motor")
    per_ton = airflow.m3_s / job.system.outdoor_size.si
    if per_ton > MUCH_AIR:
        say("much_air", per_ton=round(per_ton / CFM_PER_TON))
    area = filter_area_m2(job)
    if area is not None and airflow.m3_s / area > FAST_FILTER_M_S:
        say(
            "fast_filter",
            size=f"{job.ducts.filters} x {job.ducts.filter_size}" if job.ducts.filters > 1 else job.ducts.filter_size,
        )
    if job.system.coil_size.si - job.system.outdoor_size.si > 1900.0:
        say("large_coil", coil=job.system.coil_size.text, outdoor=job.system.outdoor_size.text)
        say("order_by_cost", last={"id": "finding.last.coil"})
    replaced = job.system.replaced_size
    if replaced is not None and loads is not None:
        now = job.system.outdoor_size
        say(
            "size_compared",
            now=now.text,
            before=replaced.text,
            present=round(100.0 * loads),
            former=round(100.0 * loads * replaced.si / now.si),
        )
        say("size_airflow", per_ton=round(per_ton / CFM_PER_TON), now=now.text)
        say("order_by_cost", last={"id": "finding.last.unit"})
    if job.ducts.zones > 1 or job.ducts.bypass_damper:
        say("zones")
    if job.ducts.outdoor_air_duct is not None:
        say("outdoor_air", airflow=job.ducts.outdoor_air_duct.text)
    if job.system.drain_trap is False:
        say("no_trap")
    if job.system.float_switch is False:
        say("no_float_switch")
    if job.blower.motor in ("constant_torque", "constant_airflow"):
        say("electronic_motor")
    if recorded_only(job):
        say("recorded_only", places=", ".join(recorded_only(job)))
    return messages


def ducts_at_full(job: Job, blower: BlowerSystem, airflow: Airflow, pressure_pa: float) -> list[dict[str, Any]]:
    """What the ducts would take, and how much louder the wheel would be, at 400 cfm/ton, where less is moved now: the forecast a
    stronger motor needs before it is sold. [] where no static was read, where they would stay within 0.5 in w.c., and in a damp
    house, whose blower is better slow.
    """
    static = next((one for point in points_of(job, pressure_pa) if (one := external_static(point)) is not None), None)
    full = MUCH_AIR * job.system.outdoor_size.si
    part = full / airflow.m3_s
    slow_on_purpose = job.complaint.kinds[0] in ("damp", "too_dry") and job.blower.motor not in ELECTRONIC
    if static is None or slow_on_purpose or part < 1.0 + FULL_ENOUGH or part > FARTHEST:
        return []
    would = static.value * part**blower.path.ducts_exponent
    if would <= RATED_STATIC_PA:
        return []
    sound = relative_sound_db(float(wheel_load(part, blower.wheel, blower.path, Resistance())[0]))
    values = {
        "now": {"value": static.value, "unit": "Pa"},
        "full": {"value": full, "unit": "m3/s"},
        "static": {"value": would, "unit": "Pa"},
        "rated": {"value": RATED_STATIC_PA, "unit": "Pa"},
        "low": f"{sound.low:.0f}",
        "high": f"{sound.high:.0f}",
    }
    return [{"id": "finding.ducts_at_full", "values": values}]


def assumed(priors: list[Prior], job: Job, metering: NDArray[np.float64]) -> list[dict[str, Any]]:
    """Every value the survey left open, with its range: {id, value, range, unit}; a word's value is a catalogue id.

    `metering` is the device of each system kept, `[N]`: what the readings made of an unknown one.
    """
    reading = job.readings
    surveyed = {
        "airflow": True,
        "blower_watts": any(one.blower_power is not None for one in reading),
        "return_leak": job.ducts.return_leak is not None,
        "supply_leak": job.ducts.supply_leak is not None,
        "cabinet_leakage": job.ducts.cabinet_leakage is not None,
        "ceiling_height": job.house.ceiling_height is not None,
        "leakage_area": job.house.blower_door_at_50_pa is not None,
        "moisture": job.habits.moisture is not None,
        "outdoor_air": True,
        "exhaust": True,
    }
    listed: list[dict[str, Any]] = [
        {"id": one.id, "value": one.mid, "range": [one.low, one.high], "unit": one.unit}
        for one in priors
        if not surveyed.get(one.id, False)
    ]
    words = {
        "weather": (job.weather.file is not None, "made_up_weather"),
        "motor": (job.blower.motor != "unknown" and "motor" in job.blower.model_fields_set, "psc"),
        "metering": (job.system.metering_device != "unknown", "both_metering"),
        "duct_place": (job.ducts.place != "unknown", "attic"),
        "outdoor_air_duct": (job.ducts.outdoor_air_duct is not None, "none_seen"),
        "exhausts": (bool(job.habits.exhausts), "none_seen"),
        "storeys": (job.house.storeys is not None, "one_storey"),
        "tap_in_use": ("tap_in_use" in job.blower.model_fields_set, "fastest_tap"),
    }
    listed += [
        {"id": name, "value": f"value.{word}", "range": None, "unit": ""}
        for name, (known, word) in words.items()
        if not known
    ]
    if job.system.metering_device == "unknown":
        share = 1.0 - float(np.mean(metering))
        listed.append(
            {"id": "metering_share", "value": share, "range": [0.0, 1.0], "unit": "fraction", "not_drawn": True}
        )
    numbers = {
        "static": (any(one.total_external_static is not None for one in reading), 124.5, (75.0, 200.0), "Pa"),
        "off_delay": (job.thermostat.off_delay is not None, 60.0, (0.0, 90.0), "s"),
        "people": (job.house.people is not None or job.habits.moisture is not None, 3.0, (1.0, 6.0), "count"),
        "bedrooms": (job.house.bedrooms is not None, 3.0, (2.0, 4.0), "count"),
    }
    return listed + [
        {"id": name, "value": value, "range": list(ends), "unit": unit, "not_drawn": True}
        for name, (known, value, ends, unit) in numbers.items()
        if not known
    ]
