"""The drive's least airflow and coil sensor drop: a scan over the year inside the safe limits."""

from collections.abc import Callable

import numpy as np

from airtrim.physics.season.system import WeatherArrays
from airtrim.physics.season.year import run_years
from airtrim.work.findings import Findings
from airtrim.work.options.candidates import Candidate, asked_for, drive
from airtrim.work.settings.drive_check import drive_check

LEAST_FLOWS = (0.50, 0.60, 0.70, 0.80, 0.90)
SENSOR_DROPS_K = (10.0, 12.0, 14.0, 16.0)
SCAN_SYSTEMS, SCAN_STEP_S = 8, 60.0
MISSED_HOURS_ALLOWED, SWEAT_HOURS_ALLOWED = 20.0, 100.0
#: The scan's least icing margin stays above this, for the systems it did not try.
ICING_MARGIN_K = 0.5
#: What a 60 s step may miss of the coldest inlet that a 10 s step sees.
STEP_MARGIN_K = 0.1


def choose_drive(
    found: Findings, now: Candidate, weather: WeatherArrays, progress: Callable[[float], None]
) -> Candidate:
    """The driest program that meets the limits in a scan of 8 systems at 60 s and keeps the coil in all; none otherwise."""
    if not found.job.options.consider.count("drive_coil_feedback"):
        return asked_for(found, drive(found, now, 1.0, 0.0))
    if drive_check(found)["refused"]:
        return Candidate("drive_coil_feedback", None, why_not="option_why.drive_refused")
    tried = []
    refusal = "option_why.motor_cannot"
    for least in LEAST_FLOWS:
        for drop in SENSOR_DROPS_K:
            candidate = drive(found, now, least, drop)
            if candidate.program is None:
                refusal = candidate.why_not
            elif found.lowest is not None and candidate.hertz >= found.lowest.hertz:
                tried.append(candidate)
    if not tried:
        return Candidate("drive_coil_feedback", None, why_not=refusal)
    system = found.system.first(SCAN_SYSTEMS)
    candidates = [now, *tried]
    programs = [candidate.program for candidate in candidates if candidate.program is not None]
    watts = [None if candidate.watts is None else candidate.watts[:SCAN_SYSTEMS] for candidate in candidates]
    years = run_years(system, programs, weather, SCAN_STEP_S, watts, lambda done: progress(done))
    damp, missed, sweat = (
        getattr(years, name).mean(axis=0) for name in ("damp_hours", "hours_set_point_missed", "sweat_hours")
    )
    coldest = years.least_icing_margin_k.min(axis=0)
    allowed = (missed <= missed[0] + MISSED_HOURS_ALLOWED) & (sweat <= sweat[0] + SWEAT_HOURS_ALLOWED)
    allowed &= coldest >= ICING_MARGIN_K
    allowed[0] = False
    if not allowed.any():
        return Candidate("drive_coil_feedback", None, why_not="option_why.no_safe_setting")
    for index in np.argsort(np.where(allowed, damp, np.inf))[: int(allowed.sum())]:
        if _keeps_the_coil(found, candidates[int(index)], weather):
            return candidates[int(index)]
    return Candidate("drive_coil_feedback", None, why_not="option_why.no_safe_setting")


def _keeps_the_coil(found: Findings, candidate: Candidate, weather: WeatherArrays) -> bool:
    """Whether all systems, not only those of the scan, keep the coil: their least icing margin of the year at 60 s."""
    assert candidate.program is not None
    years = run_years(found.system, [candidate.program], weather, SCAN_STEP_S, [candidate.watts])
    return float(np.quantile(years.least_icing_margin_k[:, 0], 0.05)) >= STEP_MARGIN_K
