"""The trade's cases S01 to S17 as jobs, and what the tool says to each through the calls a user makes."""

import tomllib
from functools import lru_cache
from pathlib import Path
from typing import Any

from airtrim.job import load_job
from airtrim.job.model import Job
from airtrim.report.readings import lines
from airtrim.report.sentences import sentence
from airtrim.work.findings import Findings, find
from airtrim.work.options.candidates import Candidate, leave_as_is
from airtrim.work.options.every import every_candidate
from airtrim.work.options.refusals import refusals
from airtrim.work.options.weigh import option_results, recommend, run_candidates
from airtrim.work.readings import read_job
from airtrim.work.weather import weather_of

FOLDER = Path(__file__).parent
#: Systems and step of the years that choices are looked at with: directions, not figures; more where a size is chosen by them.
SYSTEMS, MORE, STEP_S = 4, {"S02": 8}, 60.0


def listed() -> list[dict[str, Any]]:
    """The cases as they are listed: id, status, complaint, what was right, what is met and where it is tested."""
    return list(tomllib.loads((FOLDER / "cases.toml").read_text(encoding="utf-8"))["case"])


@lru_cache
def job_of(case: str) -> Job:
    return load_job(FOLDER / "jobs" / f"{case}.toml")


def answers_of(case: str, **changes: Any) -> dict[str, Any]:
    """What the readings say, with parts of the complaint changed where asked."""
    return answers_to(job_of(case), **changes)


def answers_to(job: Job, **changes: Any) -> dict[str, Any]:
    complaint = job.complaint.model_copy(update=changes)
    return read_job(job.model_copy(update={"complaint": complaint}))


def said(case: str) -> str:
    """All that `airtrim readings` prints."""
    return "\n".join(lines(answers_of(case)))


def point_ids(answers: dict[str, Any], number: int = 1) -> list[str]:
    return [one["id"].removeprefix("reading.") for one in answers["points"][number - 1]["messages"]]


def steps_of(answers: dict[str, Any], identity: str) -> list[dict[str, Any]]:
    """The steps of one set, in their order; fails where the set is not asked for."""
    return list(next(one["steps"] for one in answers["site_steps"] if one["id"] == identity))


def step_ids(answers: dict[str, Any], identity: str) -> list[str]:
    return [one["id"].removeprefix(f"site.{identity}.") for one in steps_of(answers, identity)]


@lru_cache
def found_of(case: str) -> Findings:
    return find(job_of(case), weather_of(job_of(case)), count=MORE.get(case, SYSTEMS), seed=1)


def finding_ids(found: Findings) -> list[str]:
    return [str(one["id"]).removeprefix("finding.") for one in found.messages]


def finding(found: Findings, identity: str) -> dict[str, Any]:
    """Values of one message of the findings; fails where it is not said."""
    return dict(next(one["values"] for one in found.messages if one["id"] == f"finding.{identity}"))


def finding_said(found: Findings, identity: str) -> str:
    return sentence(next(one for one in found.messages if one["id"] == f"finding.{identity}"))


@lru_cache
def choice_of(case: str) -> dict[str, Any]:
    """The options the job considers, on few systems at a long step: candidates, results, recommendation, what is told of them."""
    found, weather = found_of(case), weather_of(job_of(case))
    now = leave_as_is(found)
    unasked = Candidate("drive_coil_feedback", None, why_not="option_why.not_asked")
    candidates = every_candidate(found, now, unasked, weather)
    run = [one for one in candidates if one.program is not None]
    years = run_candidates(found, run, weather, STEP_S, hourly=False)
    results = option_results(found, candidates, years)
    return {
        "candidates": {one.id: one for one in candidates},
        "results": {one["id"]: one for one in results},
        "option": recommend(found, run, results, years)["option"],
        "told": [one["id"] for one in refusals(found, results, weather, [])],
    }


def middle(option: dict[str, Any], identity: str, key: str = "figures") -> float:
    return float(next(one["mid"] for one in option[key] if one["id"] == identity))
