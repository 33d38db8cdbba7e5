"""The commands that choose settings and trim them by hand."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated, Any

import typer

JobFile = Annotated[Path, typer.Argument(help="The job file (TOML).")]
AsJson = Annotated[bool, typer.Option("--json", help="Print the result as JSON for a program.")]
Units = Annotated[str, typer.Option("--units", help="inch_pound or si.")]


def _found(path: Path, systems: int) -> tuple[Any, Any, Any]:
    from airtrim.core.errors import JobError

    if not path.is_file():
        raise JobError(f"There is no job file at {path}; make one with 'airtrim new {path.name}'.")
    from airtrim.job import load_job
    from airtrim.work.findings import find
    from airtrim.work.options.candidates import leave_as_is
    from airtrim.work.weather import weather_of

    job = load_job(path)
    weather = weather_of(job)
    found = find(job, weather, systems)
    return found, leave_as_is(found), weather


def _pairs(given: list[str]) -> dict[str, str]:
    from airtrim.core.errors import InputError

    pairs = {}
    for one in given:
        name, equals, text = one.partition("=")
        if not equals or not text:
            raise InputError(
                f'--set {one} is not understood: write a setting and its value, such as least_airflow="900 cfm".'
            )
        pairs[name.strip()] = text.strip()
    return pairs


def trim(
    job: JobFile,
    given: Annotated[
        list[str] | None,
        typer.Option("--set", help='A setting and its value, such as least_airflow="900 cfm"; may be repeated.'),
    ] = None,
    systems: Annotated[int, typer.Option("--systems", min=2, help="Systems of the second answer.")] = 16,
    as_json: AsJson = False,
    units: Units = "inch_pound",
) -> None:
    """Change settings of the drive by hand and see the year: one system at once, then the sample.

    Settings: least_airflow, coil_sensor_drop, off_delay, ramp_time. What is not set begins at the plan's own choice.
    """
    pairs = _pairs(given or [])
    from airtrim.core.errors import InputError, NoSolutionError
    from airtrim.report.settings_page import trim_lines
    from airtrim.report.words import known, say
    from airtrim.work.settings.choose import choose_drive
    from airtrim.work.settings.trim import BEGIN, SCREEN_STEP_S, WORDS, read_values, ready, trimmed, values_of

    if not set(pairs) <= set(WORDS):
        read_values(pairs, BEGIN, 1.0)  # says what is not known before anything is computed
    found, now, weather = _found(job, systems)
    begin = (
        BEGIN
        if set(pairs) >= {"least_airflow", "coil_sensor_drop"}
        else values_of(choose_drive(found, now, weather, lambda _: None))
    )
    values = read_values(pairs, begin, found.airflow.m3_s)
    answers = []
    try:
        for count in (1, found.system.count):
            answer = trimmed(ready(found, weather, count), values, count, SCREEN_STEP_S)
            answers.append(answer)
            if not as_json:
                for line in trim_lines(answer, found.airflow.m3_s, units):
                    typer.echo(line)
    except NoSolutionError as error:
        raise InputError(say(str(error)) if known(str(error)) else str(error)) from error
    if as_json:
        typer.echo(json.dumps(answers, allow_nan=False))


def settings(
    job: JobFile,
    option: Annotated[
        str, typer.Option("--option", help="The option whose settings are searched.")
    ] = "drive_coil_feedback",
    out: Annotated[Path, typer.Option("--out", help="The settings sheet to write (PDF).")] = Path("settings-sheet.pdf"),
    full: Annotated[bool, typer.Option("--full", help="Prove it on 200 systems.")] = False,
    seed: Annotated[int, typer.Option("--seed", help="The same seed gives the same answer.")] = 1,
    as_json: AsJson = False,
    units: Units = "inch_pound",
    paper: Annotated[str, typer.Option("--paper", help="letter or a4.")] = "letter",
    letterhead: Annotated[
        Path | None,
        typer.Option("--letterhead", help="Settings file (TOML) with the firm's [letterhead] for the sheet."),
    ] = None,
) -> None:
    """Search the settings of an option inside the safe limits, prove them, and write the settings sheet."""
    from rich.console import Console
    from rich.progress import Progress

    from airtrim.report.letterhead import read_letterhead
    from airtrim.report.settings_page import settings_lines, settings_pdf
    from airtrim.work.settings.issue import issue_settings

    head = None if letterhead is None else read_letterhead(letterhead)
    found, now, weather = _found(job, 200 if full else 32)
    with Progress(console=Console(stderr=True), transient=True, disable=as_json) as bar:
        task = bar.add_task("Searching", total=1.0)

        def report(share: float) -> None:
            bar.update(task, completed=share)

        result = issue_settings(found, now, option, weather, report, seed)
    if as_json:
        typer.echo(json.dumps(result, allow_nan=False))
        return
    for line in settings_lines(result, units):
        typer.echo(line)
    if result["sheet"]["card"]:
        out.write_bytes(settings_pdf(result, units, paper, head))
        typer.echo(f"Written to {out}.")


def add_to(application: typer.Typer) -> None:
    """Put the commands into the application."""
    application.command("settings")(settings)
    application.command("trim")(trim)
