"""The whole plan of a job: findings, options, settings and the airflow map, as one result document."""

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import airtrim
from airtrim.job.model import Job
from airtrim.physics.season.year import run_years
from airtrim.work.airflow_map import airflow_map
from airtrim.work.findings import find
from airtrim.work.options.candidates import Candidate, asked_for, fan_auto, leave_as_is, lower_tap
from airtrim.work.options.weigh import option_results, recommend
from airtrim.work.settings.choose import choose_drive
from airtrim.work.settings.sheet import icing_margin_of, settings_sheet
from airtrim.work.weather import weather_of

SCHEMA = "airtrim-result-2"
SYSTEMS, SYSTEMS_FULL = 32, 200
Progress = Callable[[float], object]


@dataclass(frozen=True)
class Plan:
    """`result` is the document written to result.json."""

    result: dict[str, Any]


def make_plan(
    job: Job, progress: Progress | None = None, full: bool = False, seed: int = 1, systems: int | None = None
) -> Plan:
    """Compute a job; `progress` hears 0 to 1; raises `AirtrimError`s in one sentence.

    32 systems, with `full` 200, or as many as `systems` says (2 or more).
    """

    def tell(share: float) -> None:
        if progress is not None:
            progress(share)

    weather = weather_of(job)
    found = find(
        job, weather, systems or (SYSTEMS_FULL if full else SYSTEMS), seed, full, lambda done: tell(0.05 * done)
    )
    tell(0.05)
    now = leave_as_is(found)
    now_program = now.program
    assert now_program is not None
    chosen = choose_drive(found, now, weather, lambda done: tell(0.05 + 0.25 * done))
    candidates = [now, *(asked_for(found, one) for one in (fan_auto(found, now), lower_tap(found, now))), chosen]
    run = [candidate for candidate in candidates if candidate.program is not None]
    programs = [candidate.program for candidate in run if candidate.program is not None]
    years = run_years(
        found.system,
        programs,
        weather,
        10.0,
        [candidate.watts for candidate in run],
        lambda done: tell(0.3 + 0.68 * done),
    )
    options = option_results(found, candidates, years)
    recommendation = recommend(found, candidates, options, years)
    winner = next(candidate for candidate in run if candidate.id == recommendation["option"])

    def sheet(candidate: Candidate) -> dict[str, Any]:
        safe = next(option["safe"] for option in options if option["id"] == candidate.id)
        margin = icing_margin_of(years, run.index(candidate)) if candidate in run else None
        return settings_sheet(found, candidate, margin, safe)

    settings = sheet(winner)
    shows_drive = chosen.program is not None or chosen.why_not == "option_why.drive_refused"
    proposed = None
    if winner.id in ("lower_tap", "drive_coil_feedback") and winner.program is not None:
        m = run.index(winner)
        proposed = found.airflow.m3_s * float(years.mean_flow_fraction[:, m].mean())
    result = {
        "schema": SCHEMA,
        "airtrim_version": airtrim.__version__,
        "input_hash": hashlib.sha256(json.dumps(job.model_dump(), sort_keys=True, default=str).encode()).hexdigest(),
        "seed": seed,
        "systems": found.system.count,
        "job": {
            "name": job.name,
            "place": job.house.place,
            "weather": f"{weather.place}: {weather.source}",
            "weather_notes": list(weather.notes),
        },
        "findings": {
            "figures": found.figures,
            "assumed": found.assumed,
            "messages": found.messages,
            "explanations": found.explanations,
            "next_reading": found.next_reading,
        },
        "options": options,
        "now": {
            "tap": job.blower.tap_in_use,
            "now": f"fan {job.thermostat.fan.upper()}, off-delay {now_program.off_delay_s:.0f} s",
        },
        "settings": settings,
        "settings_of_drive": sheet(chosen) if winner.id != chosen.id and shows_drive else None,
        "map": airflow_map(found, proposed),
        "recommendation": recommendation,
        "cautions": _cautions(job, settings["cautions"]),
    }
    tell(1.0)
    return Plan(result)


def _cautions(job: Job, first: list[str]) -> list[str]:
    """Cautions of the work to be done first, then those of every house."""
    cautions = [
        "line_voltage",
        "capacitor",
        *first,
        "frost",
        "mould",
        "sweating",
        "condensate",
        "refrigerant",
        "permit",
    ]
    if job.heat.kind in ("electric_strip", "heat_pump"):
        cautions.append("electric_heat")
    if job.heat.kind in ("furnace", "unknown") or job.house.combustion_appliances:
        cautions.append("combustion")
    if job.system.refrigerant in ("R-32", "R-454B", "unknown"):
        cautions.append("a2l")
    return list(dict.fromkeys(cautions))
