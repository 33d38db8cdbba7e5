"""The settings of one option from search to sheet, as one result."""

from collections.abc import Callable
from typing import Any

import numpy as np

import airtrim
from airtrim.physics.season.system import WeatherArrays
from airtrim.work.findings import Findings
from airtrim.work.options.candidates import Candidate, card_of
from airtrim.work.settings.choose import as_result, choose_settings
from airtrim.work.settings.effects import advice, effects, steps_on_site
from airtrim.work.settings.knobs import CARDS
from airtrim.work.settings.search import THOROUGH, Effort
from airtrim.work.settings.sheet import settings_sheet


def issue_settings(
    found: Findings,
    now: Candidate,
    option: str,
    weather: WeatherArrays,
    progress: Callable[[float], object] | None = None,
    seed: int | None = None,
    effort: Effort = THOROUGH,
) -> dict[str, Any]:
    """{job, systems, seed, choice, sheet, effects, steps, advice, on_fault, now} of an option; `choose_settings` says how.

    The sheet is not issued where nothing keeps the limits, the proof fails, or heat or the drive's list forbids it.
    """
    chosen = choose_settings(found, now, option, weather, progress, seed, effort)
    candidate, proof = chosen.candidate, chosen.confirmed
    margin = proof.margin_k if proof is not None else None
    sheet = settings_sheet(found, candidate, margin, proof is not None and proof.held)
    result = as_result(chosen)
    job = found.job
    off_delay = now.program.off_delay_s if now.program is not None else 0.0
    events: dict[str, str] = {}
    if option in CARDS:
        events = card_of(job, CARDS[option]).on_fault.model_dump()
    return {
        "airtrim_version": airtrim.__version__,
        "job": {"name": job.name, "place": job.house.place},
        "systems": found.system.count,
        "seed": found.seed if seed is None else seed,
        "choice": result,
        "sheet": sheet,
        "effects": effects(found, now, candidate, weather) if sheet["issued"] else [],
        "steps": steps_on_site(candidate) if sheet["issued"] else [],
        "advice": advice(job, chosen.seasons, option),
        "on_fault": events,
        "now": {"tap": job.blower.tap_in_use, "now": f"fan {job.thermostat.fan.upper()}, off-delay {off_delay:.0f} s"},
        "worst_margin": None if margin is None or not np.isfinite(margin).any() else float(np.nanmin(margin)),
    }
