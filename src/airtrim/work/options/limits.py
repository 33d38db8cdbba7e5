"""The safe limits of an airflow, in the trade's order; each gets a status of its own: pass, warn, on_site, fail, unknown."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from airtrim.job.model import Job
from airtrim.physics.air.moist import humidity_ratio_from_relative_humidity, wet_bulb_c
from airtrim.physics.blower.limits import GREATEST_RISE_RATIO
from airtrim.physics.blower.supply import Estimate
from airtrim.physics.coil import frost
from airtrim.physics.season.design import coldest_inlet
from airtrim.physics.season.system import SystemSample
from airtrim.work.figure import Figure, figure, spread_figure
from airtrim.work.findings import Findings
from airtrim.work.findings.survey import CFM_PER_TON, LEAST_PER_TON
from airtrim.work.options.heat import CANNOT_TELL, LOADED_FILTER, NOT_SAFE, SAFE, TOLD, HeatCheck, heat_under
from airtrim.work.readings.site_steps import is_over_dry

Array = NDArray[np.float64]
STOP_C, WARN_C = frost.STOP_C, frost.WARN_C  # 32 and 36 F at the coldest circuit inlet
COOL_NIGHT_C = 21.0
#: Least superheat at the compressor, K (5 F).
LEAST_SUPERHEAT_K = 5.0 / 1.8
#: A fixed tap: 350 cfm/ton is the trade's floor in wet climates, below 300 it is refused (judgement).
PROVEN_PER_TON = 350.0 * CFM_PER_TON
#: An option that leaves the coil no colder than this, K, is not what ices it.
SAME_K = 0.2
MISSED_HOURS_LOST, SWEAT_HOURS_ADDED = 40.0, 100.0
#: The same where registers drip already [judgement].
SWEAT_HOURS_ADDED_DRIPPING = 1.0
#: Hours under 35 % RH that an option may add to a year, and in a house too dry already [judgement].
DRY_HOURS_ADDED, DRY_HOURS_ADDED_TOO_DRY = 100.0, 10.0


def limit(
    identity: str, status: str, value: Figure | None = None, bound: float | None = None, at_least: bool = True
) -> dict[str, Any]:
    """One limit: its status, the figure it was judged on and the bound in the same unit, where there are such.

    `at_least` says on which side of the bound the figure should lie.
    """
    return {"id": identity, "status": status, "figure": value, "bound": bound, "at_least": at_least}


def coolest_hour(job: Job, system: SystemSample, fraction: float) -> tuple[Array, Array]:
    """Coldest circuit-inlet saturation degC and superheat K, each `[N]`, at the worst case of an airflow: the coldest return the
    customer uses at half humidity, a cool night, the filter part-loaded."""
    coldest = job.thermostat.coldest_set_point
    room = coldest.si if coldest is not None else job.thermostat.set_point.si - 1.1
    humidity = humidity_ratio_from_relative_humidity(room, 0.5, system.pressure_pa)
    wet_bulb = wet_bulb_c(room, humidity, system.pressure_pa)
    return coldest_inlet(system, room, wet_bulb, COOL_NIGHT_C, fraction * LOADED_FILTER * system.full_flow_kg_s)


def air_limits(
    job: Job,
    system: SystemSample,
    airflow_m3_s: float,
    sigma: float,
    fraction: float,
    watches_coil: bool,
    heat: HeatCheck | None = None,
) -> list[dict[str, Any]]:
    """Limits that airflow alone decides, at the least steady airflow of the option; `sigma` is the airflow's own.

    `heat` is the verdict on heat under the option; without it heat is judged on the cooling lead at this airflow.
    """
    least = airflow_m3_s * fraction
    moved = spread_figure("airflow", least, 1.645 * sigma * least, "m3/s")
    listed = job.system.least_listed_airflow
    coldest, superheat = coolest_hour(job, system, 1.0 if watches_coil else fraction)
    limits = [
        limit("maker_least_airflow", "unknown", moved)
        if listed is None
        else limit("maker_least_airflow", "pass" if least >= listed.si else "fail", moved, listed.si),
        heat_limit(
            heat or heat_under(job, system, None, 1.0 if watches_coil else fraction, moves_lead=not watches_coil)
        ),
        _icing_limit(job, coldest, colder_than_now=not watches_coil and fraction < 1.0),
        _superheat_limit(superheat),
    ]
    floor = job.safe_limits.least_airflow_per_ton
    refused = floor.si if floor is not None else LEAST_PER_TON
    size = job.system.outdoor_size.si
    per_ton = spread_figure("airflow_per_ton", least / size, 1.645 * sigma * least / size, "m3/s/W")
    if least / size >= max(PROVEN_PER_TON, refused):
        status = "pass"
    else:
        status = "on_site" if watches_coil or least / size >= refused else "fail"
    limits.append(limit("airflow_per_ton", status, per_ton, refused))
    return limits


def _icing_status(low: float, floor: float, colder_than_now: bool) -> str:
    """Broken below zero only where the option makes the coil colder; else what is so already is told as close."""
    if low < 0.0 and colder_than_now:
        return "fail"
    return "warn" if low < floor else "pass"


def _icing_limit(job: Job, coldest_c: Array, colder_than_now: bool) -> dict[str, Any]:
    """Icing is judged at the coldest circuit inlet: the low end of the systems' range may not reach 32 F."""
    floor = job.safe_limits.coil_floor.si if job.safe_limits.coil_floor is not None else WARN_C
    low = float(np.quantile(coldest_c, 0.05)) if np.all(np.isfinite(coldest_c)) else -np.inf
    status = _icing_status(low - STOP_C, floor - STOP_C, colder_than_now)
    return limit("coil_saturation", status, figure("coldest_inlet_saturation", coldest_c, "degC"), STOP_C)


def _superheat_limit(superheat: Array) -> dict[str, Any]:
    """A prediction cannot pass superheat: where some systems come near flooding it is read on site."""
    if not np.all(np.isfinite(superheat)):
        return limit("superheat", "unknown")
    status = "pass" if float(np.quantile(superheat, 0.05)) >= LEAST_SUPERHEAT_K else "on_site"
    return limit("superheat", status, figure("superheat", np.maximum(superheat, 0.0), "K"), LEAST_SUPERHEAT_K)


def heat_limit(heat: HeatCheck) -> dict[str, Any]:
    """Heat as one limit: broken where the option makes it so, near where it was so before; the row that decides is shown."""
    status = {SAFE: "pass", NOT_SAFE: "fail" if heat.changes else "warn"}.get(
        heat.verdict, "unknown" if heat.missing else "on_site"
    )
    deciding = [row for row in heat.rows if row.verdict != TOLD and row.figure is not None and "unit" in row.figure]
    order = (NOT_SAFE, CANNOT_TELL, SAFE)
    shown = min(deciding, key=lambda row: order.index(row.verdict), default=None)
    if shown is None:
        return limit("heat_airflow", status)
    bound = shown.least if shown.least is not None else shown.greatest
    return limit("heat_airflow", status, shown.figure, bound, at_least=shown.least is not None)


def year_limits(
    margin: Array,
    missed: Array,
    missed_now: Array,
    sweat: Array,
    sweat_now: Array,
    icing_k: Array,
    icing_now_k: Array,
    only_stops_the_fan: bool = False,
    drips: bool = False,
) -> list[dict[str, Any]]:
    """Limits that the year decides: the coldest coil, the hot day and sweating registers; all `[N]`.

    A coil that ices with the fan on AUTO (`only_stops_the_fan`) has its air and a drier house: a fault of its own, told as
    close, and no reason to leave the fan on. Where registers drip already (`drips`), none may sweat longer.
    """
    lost = figure("more_hours_set_point_missed", missed - missed_now, "h/yr")
    more = figure("more_sweat_hours", sweat - sweat_now, "h/yr")
    hot = "fail" if lost["mid"] > MISSED_HOURS_LOST else "warn" if float(np.median(margin)) < 0.0 else "pass"
    known = np.isfinite(icing_k) & np.isfinite(icing_now_k)  # a system that never cooled has none
    colder = known.any() and float(np.median((icing_k - icing_now_k)[known])) < -SAME_K and not only_stops_the_fan
    icing_k = icing_k[known]
    coldest = float(np.quantile(icing_k, 0.05)) if icing_k.size else np.inf
    coil = _icing_status(coldest, WARN_C - STOP_C, bool(colder))
    margin_read = figure("icing_margin", icing_k, "K") if icing_k.size else None
    sweat_bound = SWEAT_HOURS_ADDED_DRIPPING if drips else SWEAT_HOURS_ADDED
    sweats = "pass" if more["mid"] <= sweat_bound else "fail" if drips else "warn"
    return [
        limit("coil_of_the_year", coil, margin_read, 0.0),
        limit("hot_day", hot, lost, MISSED_HOURS_LOST, at_least=False),
        limit("register_sweat", sweats, more, sweat_bound, at_least=False),
    ]


def over_dry_limit(job: Job, dry: Array, dry_now: Array) -> dict[str, Any]:
    """Hours under 35 % RH against now, both `[N]`: broken in a house too dry already, else told as close."""
    more = figure("more_over_dry_hours", dry - dry_now, "h/yr")
    dry_already = is_over_dry(job)
    bound = DRY_HOURS_ADDED_TOO_DRY if dry_already else DRY_HOURS_ADDED
    status = "pass" if more["mid"] <= bound else "fail" if dry_already else "warn"
    return limit("over_dry", status, more, bound, at_least=False)


def motor_limits(
    found: Findings, hertz: float, rise: Estimate, on_a_drive: bool, own_tap: bool = False
) -> list[dict[str, Any]]:
    """Limits of the existing motor: the heat of its winding against now, and on a drive each thing that bounds the frequency.

    The rise may pass by its middle alone and then is felt on site (a motor too hot to hold is too hot). On a tap of its own the
    motor was made to run for hours, so that a high estimate does not strike it out: amps are read against the plate.
    """
    read = {"id": "winding_rise", "low": rise.low, "mid": rise.mid, "high": rise.high, "unit": "1"}
    hot = (
        "on_site"
        if own_tap and rise.high > GREATEST_RISE_RATIO
        else "fail"
        if rise.mid > GREATEST_RISE_RATIO
        else "pass"
        if rise.high <= GREATEST_RISE_RATIO
        else "on_site"
    )
    limits = [limit("winding_rise", hot, read, GREATEST_RISE_RATIO, at_least=False)]
    if on_a_drive and found.lowest is not None:
        set_to = spread_figure("hertz", hertz, 0.5, "Hz")
        limits += [
            limit(f"frequency_{one.id}", "pass" if hertz >= one.hertz - 1e-6 else "fail", set_to, one.hertz)
            for one in found.lowest.limits
        ]
    return limits


def is_safe(limits: list[dict[str, Any]]) -> bool:
    return all(one["status"] != "fail" for one in limits)
