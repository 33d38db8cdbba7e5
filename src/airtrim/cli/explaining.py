"""The command that shows how a figure was come by."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated, Any

import typer

JobFile = Annotated[Path, typer.Argument(help="The job file (TOML).")]
PLAN_SYSTEMS = 32


def explain(
    job: JobFile,
    figure: Annotated[
        str, typer.Argument(help="Id of a figure, such as reading.1.superheat; all are listed if left out.")
    ] = "",
    plan: Annotated[Path, typer.Option("--plan", help="Folder of the papers, written by airtrim plan.")] = Path(
        "airtrim-plan"
    ),
    as_json: Annotated[bool, typer.Option("--json", help="Print the result as JSON for a program.")] = False,
    units: Annotated[str, typer.Option("--units", help="inch_pound or si.")] = "inch_pound",
) -> None:
    """Show the work of a figure: formula, inputs with units, source. Without an id, list the figures of the job.

    Options and settings are taken from the plan in --plan where it is of this very job, else computed.
    """
    from airtrim.report.words import say
    from airtrim.report.workings import found_working, list_lines, working_lines

    workings, whole = _workings(job, figure, plan, as_json)
    if figure:
        one = found_working(workings, figure)
        if as_json:
            typer.echo(json.dumps(one, allow_nan=False))
            return
        for line in working_lines(one, units):
            typer.echo(line)
        return
    if as_json:
        typer.echo(json.dumps(workings, allow_nan=False))
        return
    typer.echo(say("working.list_head", {"job": job.name}))
    for line in list_lines(workings, units):
        typer.echo(line)
    if not whole:
        typer.echo(say("working.list_plan", {"job": job}))


def _workings(path: Path, figure: str, plan: Path, quiet: bool) -> tuple[list[dict[str, Any]], bool]:
    """The workings that may hold the figure, the cheapest first, and whether they are all there are."""
    from airtrim.cli.computing import computed, job_at
    from airtrim.work.readings import SEA_LEVEL_PA, read_job
    from airtrim.work.weather import weather_of

    job = job_at(path)
    kept = _kept(plan / "result.json", job)
    if kept is not None:
        return kept, True
    if figure.startswith(("option.", "setting.")):
        return list(computed(path, None, False, quiet)["workings"]), True
    of_reading = bool(figure) and not figure.startswith("finding.")
    if of_reading:
        known = job.house.altitude is not None
        workings = list(read_job(job, SEA_LEVEL_PA if known else weather_of(job).pressure_pa)["workings"])
        if any(one["id"] == figure for one in workings):
            return workings, False
    return _quick(job), False


def _kept(result: Path, job: Any) -> list[dict[str, Any]] | None:
    """Workings of a plan that was computed from this very job by this version; None where there is none."""
    import airtrim
    from airtrim.work.plan import hash_of

    if not result.is_file():
        return None
    try:
        read = json.loads(result.read_text(encoding="utf-8"))
    except ValueError:
        return None  # not a plan's result: it is computed anew
    if (
        not isinstance(read, dict)
        or read.get("input_hash") != hash_of(job)
        or read.get("airtrim_version") != airtrim.__version__
    ):
        return None
    workings = read.get("workings")
    return list(workings) if workings else None


def _quick(job: Any) -> list[dict[str, Any]]:
    """Readings and findings, without a year."""
    from airtrim.core.errors import JobError, NoSolutionError
    from airtrim.work.findings import find
    from airtrim.work.findings.find import STANDARD
    from airtrim.work.readings import read_job
    from airtrim.work.weather import weather_of
    from airtrim.work.workings import findings_workings

    weather = weather_of(job)
    workings = list(read_job(job, weather.pressure_pa)["workings"])
    try:
        found = find(job, weather, PLAN_SYSTEMS)
    except (JobError, NoSolutionError) as error:
        typer.echo(str(error), err=True)  # the readings' figures stand without the fit
        return workings
    shown = {"figures": found.figures, "explanations": found.explanations}
    return workings + findings_workings(job, shown, STANDARD, found.system.count)


def add_to(application: typer.Typer) -> None:
    """Put the command into the application."""
    application.command("explain")(explain)
