"""The whole plan of a job: findings, options, settings and the airflow map, as one result document."""

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import airtrim
from airtrim.job.model import Job
from airtrim.physics.season.many import compile_years_ahead
from airtrim.work.airflow_map import airflow_map
from airtrim.work.findings import find
from airtrim.work.findings.find import STANDARD
from airtrim.work.findings.reconciled import airflow_reconciled
from airtrim.work.options.by_hour import humidity_by_hour
from airtrim.work.options.candidates import Candidate, leave_as_is
from airtrim.work.options.every import SCREEN_STEP_S, SCREEN_SYSTEMS, every_candidate, screen
from airtrim.work.options.ranking import every_ranking
from airtrim.work.options.refusals import refusals
from airtrim.work.options.weigh import option_results, ranked, ranking_base, recommend, run_candidates
from airtrim.work.readings import read_job
from airtrim.work.settings.choose import choose_drive
from airtrim.work.settings.sheet import icing_margin_of, settings_sheet
from airtrim.work.weather import weather_of
from airtrim.work.workings import findings_workings, options_workings, settings_workings

SCHEMA = "airtrim-result-2"
SYSTEMS, SYSTEMS_FULL = 32, 200
Progress = Callable[[float], object]


@dataclass(frozen=True)
class Plan:
    """`result` is the document written to result.json."""

    result: dict[str, Any]


def hash_of(job: Job) -> str:
    """Tells two jobs apart: the same hash is the same job."""
    return hashlib.sha256(json.dumps(job.model_dump(), sort_keys=True, default=str).encode()).hexdigest()


def make_plan(
    job: Job, progress: Progress | None = None, full: bool = False, seed: int = 1, systems: int | None = None
) -> Plan:
    """Compute a job; `progress` hears 0 to 1; raises `AirtrimError`s in one sentence.

    32 systems, with `full` 200, or as many as `systems` says (2 or more).
    """

    def tell(share: float) -> None:
        if progress is not None:
            progress(share)

    compile_years_ahead(lanes=True)
    weather = weather_of(job)
    found = find(
        job, weather, systems or (SYSTEMS_FULL if full else SYSTEMS), seed, full, lambda done: tell(0.05 * done)
    )
    tell(0.05)
    now = leave_as_is(found)
    now_program = now.program
    assert now_program is not None
    chosen = choose_drive(found, now, weather, lambda done: tell(0.05 + 0.2 * done))
    screened = screen(
        found, every_candidate(found, now, chosen, weather), weather, lambda done: tell(0.25 + 0.15 * done)
    )
    run = screened.confirm
    years = run_candidates(found, run, weather, 10.0, lambda done: tell(0.4 + 0.58 * done))
    options = option_results(found, [*run, *screened.aside], years, weather)
    recommendation = recommend(found, run, options, years)
    winner = next(candidate for candidate in run if candidate.id == recommendation["option"])

    def sheet(candidate: Candidate) -> dict[str, Any]:
        safe = next((option["safe"] for option in options if option["id"] == candidate.id), False)
        margin = icing_margin_of(years, run.index(candidate)) if candidate in run else None
        return settings_sheet(found, candidate, margin, safe)

    settings = sheet(winner)
    shows_drive = chosen in run or chosen.why_not == "option_why.drive_refused"
    proposed = None
    if winner.program is not None and winner.program.least_flow < 0.98 and winner.system is None:
        m = run.index(winner)
        proposed = found.airflow.m3_s * float(years.mean_flow_fraction[:, m].mean())
    result = {
        "schema": SCHEMA,
        "airtrim_version": airtrim.__version__,
        "input_hash": hash_of(job),
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
        "screened": screened.left,
        "screened_systems": min(SCREEN_SYSTEMS, found.system.count),
        "screening": {"step_s": SCREEN_STEP_S, "options": screened.all},
        **{name: value for name, value in ranking_base(found, options).items() if name != "options"},
        "ranking": ranked(found, options),
        "told": refusals(found, options, weather, screened.left),
        "humidity_by_hour": humidity_by_hour(
            years, [one.id for one in run], ["leave_as_is", str(recommendation["option"])]
        ),
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
    read = read_job(job, weather.pressure_pa)
    result["rankings"] = every_ranking(result)
    result["workings"] = [
        *read.pop("workings"),
        *findings_workings(job, result["findings"], STANDARD, found.system.count),
        *options_workings(result, job),
        *settings_workings(settings, found.system.count),
    ]
    result["readings"] = read
    result["findings"]["told_airflow"] = airflow_reconciled(read, found.figures)
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
