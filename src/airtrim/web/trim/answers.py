"""What the resident process computes: first findings, the walls of the sliders, and the year under trimmed values."""

from dataclasses import dataclass, replace
from typing import Any

from airtrim.core.errors import NoSolutionError
from airtrim.job import Job
from airtrim.physics.season.system import SystemSample
from airtrim.physics.season.year import YearResults, run_years
from airtrim.report.units import limit_text
from airtrim.report.words import known, label, say
from airtrim.weather.year import WeatherYear
from airtrim.work.findings import Findings, find
from airtrim.work.options.candidates import Candidate, drive, leave_as_is
from airtrim.work.options.limits import air_limits, motor_limits
from airtrim.work.options.weigh import option_results
from airtrim.work.readings import SEA_LEVEL_PA, read_job
from airtrim.work.settings.sheet import icing_margin_of, settings_sheet
from airtrim.work.settings.trim import SCREEN_STEP_S, SHARP_STEP_S, Ready, Stop, run_trimmed
from airtrim.work.settings.trim import Values as Values
from airtrim.work.weather import weather_of

#: Systems of the answer while a slider moves, and of the sharpened one on release.
SCREEN_SYSTEMS, SHARP_SYSTEMS = 4, 16


@dataclass(frozen=True)
class Wall:
    """A slider's end that a safe limit sets, and the sentence that says so."""

    at: float
    sentence: str


@dataclass(frozen=True)
class Prepared:
    """A job made ready: its systems, and the year as it is now, at screening and sharp."""

    job: Job
    found: Findings
    weather: WeatherYear
    now: Candidate
    now_screen: YearResults
    least_wall: Wall | None
    why_not: str


def what_readings_say(job: Job) -> dict[str, Any]:
    """What the readings say, each with its range: figures, what looks odd, whether it had settled (`work/readings`)."""
    return read_job(job, SEA_LEVEL_PA if job.house.altitude is not None else weather_of(job).pressure_pa)


def prepare(job: Job, units: str) -> Prepared:
    """Fit the systems and run the year as it is now at screening step."""
    weather = weather_of(job)
    found = find(job, weather, SHARP_SYSTEMS)
    now = leave_as_is(found)
    probe = drive(found, now, 1.0, 12.0)
    screen = found.system.first(SCREEN_SYSTEMS)
    assert now.program is not None
    years = run_years(screen, [now.program], weather, SCREEN_STEP_S)
    wall = _least_wall(found, now, units) if probe.program is not None else None
    return Prepared(job, found, weather, now, years, wall, probe.why_not)


def _least_wall(found: Findings, now: Candidate, units: str) -> Wall | None:
    """The least airflow that motor, maker and heat allow, and which of their limits says so; None where none does."""
    few = found.system.first(2)
    as_it_is = {one["id"] for one in _fails(found, few, now, 1.0)}
    last = 1.0
    for percent in range(98, 38, -2):
        part = percent / 100.0
        broken = [one for one in _fails(found, few, now, part) if one["id"] not in as_it_is]
        if broken:
            return Wall(last, _wall_sentence(broken[0], last * found.airflow.m3_s, units))
        last = part
    return None


def _fails(found: Findings, few: SystemSample, now: Candidate, part: float) -> list[dict[str, Any]]:
    """Limits a least airflow breaks whatever the year does."""
    candidate = drive(found, now, part, 12.0)
    if candidate.program is None:
        return [{"id": "winding_rise", "figure": None, "bound": None}]
    limits = motor_limits(found, candidate.hertz, candidate.rise, on_a_drive=True)
    limits += air_limits(found.job, few, found.airflow.m3_s, found.airflow.sigma, part, True)
    return [one for one in limits if one["status"] == "fail"]


def _wall_sentence(limit: dict[str, Any], airflow: float, units: str) -> str:
    values = {"limit": label(str(limit["id"]), "limit"), "airflow": limit_text(airflow, "m3/s", True, units)}
    if limit["bound"] is None or limit["figure"] is None:
        return say("web.trim.wall", values)
    return say(
        "web.trim.wall_at",
        values
        | {"bound": limit_text(float(limit["bound"]), str(limit["figure"]["unit"]), bool(limit["at_least"]), units)},
    )


def year(prepared: Prepared, values: Values, sharp: bool, stop: Stop | None = None) -> dict[str, Any]:
    """The option as `work/settings/trim` weighs it, with the trimmed values, against leaving it alone; sharp adds the sheet."""
    made = Ready(prepared.found, prepared.weather, prepared.now, prepared.now_screen, SCREEN_SYSTEMS)
    count, step_s = (SHARP_SYSTEMS, SHARP_STEP_S) if sharp else (SCREEN_SYSTEMS, SCREEN_STEP_S)
    found = replace(prepared.found, system=prepared.found.system.first(count))
    try:
        candidate, years = run_trimmed(made, values, count, step_s, stop)
    except NoSolutionError as error:
        raise NoSolutionError(say(str(error)) if known(str(error)) else str(error)) from error
    now, own = option_results(found, [prepared.now, candidate], years)
    answer = {"now": now["figures"], "systems": count, "step_s": step_s}
    answer |= {key: own[key] for key in ("figures", "differences", "limits", "safe")}
    if sharp:
        answer["sheet"] = settings_sheet(found, candidate, icing_margin_of(years, 1), bool(own["safe"]))
    return answer
