"""The safe limits of an airflow, in the trade's order; each gets a status of its own: pass, warn, on_site, fail, unknown."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from airtrim.job.model import Job
from airtrim.physics.air.moist import humidity_ratio_from_relative_humidity
from airtrim.physics.season.system import SystemSample
from airtrim.physics.unit.steady import steady_state

Array = NDArray[np.float64]
CFM_PER_TON = 0.0004719474432 / 3516.8528
STOP_C, WARN_C = 0.0, 2.2222  # 32 and 36 F of saturated suction
#: Strip heat: greatest rise where the maker's least airflow is not given, K (50 F) [from-memory]; the plate governs.
STRIP_RISE_K = 27.8
#: A filter part-loaded takes this part of the air away.
LOADED_FILTER = 0.95
COOL_NIGHT_C = 21.0
LEAST_HERTZ = 30.0
WINDING_RISE_GREATEST = 1.3


def limit(identity: str, status: str, **values: float) -> dict[str, Any]:
    return {"id": identity, "status": status, "values": {name: float(value) for name, value in values.items()}}


def coldest_suction(job: Job, system: SystemSample, fraction: float) -> Array:
    """Saturated suction, degC, `[N]`: coldest return the customer uses, cool night, filter part-loaded."""
    coldest = job.thermostat.coldest_set_point
    room = coldest.si if coldest is not None else job.thermostat.set_point.si - 1.1
    humidity = humidity_ratio_from_relative_humidity(room, 0.5, system.pressure_pa)
    return np.array(
        [
            steady_state(room, humidity, COOL_NIGHT_C, fraction * LOADED_FILTER * flow, system.pressure_pa, unit)[3]
            for flow, unit in zip(system.full_flow_kg_s, system.units, strict=True)
        ]
    )


def air_limits(
    job: Job, system: SystemSample, airflow_m3_s: float, fraction: float, watches_coil: bool
) -> list[dict[str, Any]]:
    """Limits that airflow alone decides, at the least steady airflow of the option."""
    limits = []
    least = airflow_m3_s * fraction
    listed = job.system.least_listed_airflow
    if listed is None:
        limits.append(limit("maker_least_airflow", "unknown"))
    else:
        limits.append(
            limit("maker_least_airflow", "pass" if least >= listed.si else "fail", airflow=least, least=listed.si)
        )
    limits.append(_heat_limit(job, airflow_m3_s, fraction, watches_coil))
    suction = coldest_suction(job, system, 1.0 if watches_coil else fraction)
    floor = job.safe_limits.coil_floor.si if job.safe_limits.coil_floor is not None else WARN_C
    if not np.all(np.isfinite(suction)):
        limits.append(limit("coil_saturation", "fail"))
    else:
        low = float(np.quantile(suction, 0.05))
        status = "fail" if low < STOP_C else "warn" if low < floor else "pass"
        limits.append(limit("coil_saturation", status, suction=low))
    per_ton = least / job.system.outdoor_size.si / CFM_PER_TON
    if watches_coil:
        status = "pass" if per_ton >= 350.0 else "on_site"
    else:
        status = "pass" if per_ton >= 350.0 else "on_site" if per_ton >= 300.0 else "fail"
    limits.append(limit("airflow_per_ton", status, per_ton=per_ton))
    return limits


def _heat_limit(job: Job, airflow: float, fraction: float, watches_coil: bool) -> dict[str, Any]:
    """A drive gives heat its full airflow, proven on site; a tap is judged as if heat ran on it too."""
    heat = job.heat
    moved = airflow * (1.0 if watches_coil else fraction)
    if heat.kind == "none":
        return limit("heat_airflow", "pass")
    if heat.least_airflow is not None:
        return limit("heat_airflow", "pass" if moved >= heat.least_airflow.si else "fail", airflow=moved)
    power = heat.strip_power or heat.furnace_output
    if power is None:
        return limit("heat_airflow", "unknown")
    rise = power.si / (moved * 1.10 * 1006.0)
    greatest = heat.greatest_rise.si if heat.greatest_rise is not None else STRIP_RISE_K
    return limit("heat_airflow", "pass" if rise <= greatest else "fail", rise=rise, greatest=greatest)


def year_limits(
    margin: Array, margin_now: Array, missed: Array, missed_now: Array, sweat: Array, sweat_now: Array
) -> list[dict[str, Any]]:
    """Limits that the year decides: the hot day and sweating registers."""
    lost = float(np.median(missed - missed_now))
    hot = "fail" if lost > 40.0 else "warn" if float(np.median(margin)) < 0.0 else "pass"
    more = float(np.median(sweat - sweat_now))
    return [
        limit("hot_day", hot, margin=float(np.median(margin)), missed_hours=lost),
        limit("register_sweat", "warn" if more > 100.0 else "pass", more_hours=more),
    ]


def coldest_of_year(suction: Array) -> dict[str, Any]:
    """Lowest settled saturated suction of the year, degC, `[N]`: fewer than 1 in 20 of the sample may reach the stop."""
    low = float(np.quantile(suction, 0.05))
    return limit("coil_of_the_year", "fail" if low < STOP_C else "warn" if low < WARN_C else "pass", suction=low)


def motor_limits(hertz: float, rise_ratio: float) -> list[dict[str, Any]]:
    """Limits of a drive on the existing motor."""
    status = "fail" if hertz < LEAST_HERTZ - 1e-6 or rise_ratio > WINDING_RISE_GREATEST else "pass"
    return [limit("motor_heat", status, hertz=hertz, rise_ratio=rise_ratio)]


def is_safe(limits: list[dict[str, Any]]) -> bool:
    return all(one["status"] != "fail" for one in limits)
