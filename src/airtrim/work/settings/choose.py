"""The drive's least airflow and coil sensor drop: a scan over the year inside the safe limits."""

from collections.abc import Callable
from typing import Any

import numpy as np

from airtrim.core.errors import NoSolutionError
from airtrim.physics.season.system import WeatherArrays
from airtrim.physics.season.year import run_years
from airtrim.work.figure import Figure, figure
from airtrim.work.findings import Findings
from airtrim.work.findings.find import at_standard
from airtrim.work.options.candidates import Candidate, drive
from airtrim.work.options.limits import LEAST_HERTZ, STOP_C, WINDING_RISE_GREATEST

LEAST_FLOWS = (0.50, 0.60, 0.70, 0.80, 0.90)
SENSOR_DROPS_K = (10.0, 12.0, 14.0, 16.0)
SCAN_SYSTEMS, SCAN_STEP_S = 8, 60.0
MISSED_HOURS_ALLOWED, SWEAT_HOURS_ALLOWED = 20.0, 100.0
#: The scan's coldest saturated suction stays this far above the stop, for the systems it did not try.
SUCTION_MARGIN_K = 0.5
DRIVE_CAUTIONS = ["line_voltage", "capacitor", "motor_heat", "frost", "ventilation", "warranty"]


def choose_drive(
    found: Findings, now: Candidate, weather: WeatherArrays, progress: Callable[[float], None]
) -> Candidate:
    """The driest program of the scan that meets the limits on the mean of 8 systems at 60 s; the full airflow otherwise."""
    tried = []
    for least in LEAST_FLOWS:
        for drop in SENSOR_DROPS_K:
            candidate = drive(found, now, least, drop)
            if (
                candidate.program is not None
                and candidate.hertz >= LEAST_HERTZ
                and candidate.rise_ratio <= WINDING_RISE_GREATEST
            ):
                tried.append(candidate)
    if not tried:
        return Candidate("drive_coil_feedback", None, why_not="option_why.motor_cannot")
    system = found.system.first(SCAN_SYSTEMS)
    candidates = [now, *tried]
    programs = [candidate.program for candidate in candidates if candidate.program is not None]
    watts = [None if candidate.watts is None else candidate.watts[:SCAN_SYSTEMS] for candidate in candidates]
    years = run_years(system, programs, weather, SCAN_STEP_S, watts, lambda done: progress(done))
    damp, missed, sweat = (
        getattr(years, name).mean(axis=0) for name in ("damp_hours", "hours_set_point_missed", "sweat_hours")
    )
    coldest = years.least_saturated_suction_c.min(axis=0)
    allowed = (missed <= missed[0] + MISSED_HOURS_ALLOWED) & (sweat <= sweat[0] + SWEAT_HOURS_ALLOWED)
    allowed &= coldest >= STOP_C + SUCTION_MARGIN_K
    allowed[0] = False
    if not allowed.any():
        return Candidate("drive_coil_feedback", None, why_not="option_why.no_safe_setting")
    return candidates[int(np.argmin(np.where(allowed, damp, np.inf)))]


def settings_sheet(found: Findings, chosen: Candidate, recommended: str, safe: bool) -> dict[str, Any]:
    """The card for the drive, or why none is issued; low and high are the allowed band."""
    job = found.job
    nothing: dict[str, Any] = {
        "option": chosen.id, "card": [], "expected": [], "shown": "not_yet_shown", "cautions": DRIVE_CAUTIONS, "issued": False
    }  # fmt: skip
    if job.heat.kind == "unknown":
        return nothing | {"why": "settings.heat_unknown"}
    if chosen.program is None or not safe:
        return nothing | {"why": "settings.not_safe"}
    if recommended != chosen.id:
        return nothing | {"why": "settings.not_recommended"}
    program = chosen.program
    full = found.airflow.m3_s

    def row(identity: str, value: float, low: float, high: float, unit: str) -> dict[str, Any]:
        return {
            "id": identity,
            "value": value,
            "low": low,
            "high": high,
            "unit": unit,
            "why": f"setting_why.{identity}",
        }

    card = [
        row("least_airflow", program.least_flow * full, program.least_flow * full, full, "m3/s"),
        row("least_hertz", chosen.hertz, max(chosen.hertz, LEAST_HERTZ), 60.0, "Hz"),
        row("greatest_hertz", 60.0, 60.0, 60.0, "Hz"),
        row(
            "coil_sensor_drop",
            program.coil_sensor_drop_k,
            program.coil_sensor_drop_k - 2.0,
            program.coil_sensor_drop_k,
            "K",
        ),
        row("coil_floor", program.coil_floor_c, program.coil_floor_c, program.coil_floor_c + 2.0, "degC"),
        row("ramp_time", program.ramp_time_s, 15.0, 120.0, "s"),
        row("off_delay", program.off_delay_s, 0.0, program.off_delay_s, "s"),
    ]
    return nothing | {
        "card": card,
        "expected": _expected(found, program.least_flow),
        "issued": True,
        "why": "settings.few_systems",
    }


def _expected(found: Findings, fraction: float) -> list[Figure]:
    state = at_standard(found.system, fraction)
    if not np.all(np.isfinite(state)):
        raise NoSolutionError("The unit has no steady state at the least airflow: raise the least airflow.")
    return [
        figure("saturated_suction", state[:, 3], "degC"),
        figure("total_capacity", state[:, 0], "W_heat"),
        figure("latent_capacity", state[:, 0] - state[:, 1], "W_heat"),
    ]
