"""The commands. Everything heavy is imported inside a command, so that help is quick."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from airtrim.cli.computing import computed as _computed
from airtrim.cli.computing import job_at as _job
from airtrim.cli.explaining import add_to as add_explaining
from airtrim.cli.serving import add_to as add_serving
from airtrim.cli.trimming import add_to as add_trimming

if TYPE_CHECKING:
    from airtrim.report.render import Drawing

application = typer.Typer(
    help="Set the airflow of an existing ducted air conditioner so that a humid house dries without harm.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
JobFile = Annotated[Path, typer.Argument(help="The job file (TOML).")]
Out = Annotated[Path, typer.Option("--out", help="Folder for what is written.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print the result as JSON for a program.")]
System = Annotated[str, typer.Option("--units", help="inch_pound or si.")]
PaperSize = Annotated[str, typer.Option("--paper", help="letter or a4.")]
SettingsFile = Annotated[
    Path | None, typer.Option("--letterhead", help="Settings file (TOML) with the firm's [letterhead] for the papers.")
]


@application.command("new")
def new(path: Annotated[Path, typer.Argument(help="The job file to write.")] = Path("job.toml")) -> None:
    """Write a job file to fill in; an existing file is never overwritten."""
    from airtrim.core.errors import JobError

    if path.exists():
        raise JobError(f"{path} exists already; give another name.")
    from airtrim.job import new_job_text

    path.write_text(new_job_text(), encoding="utf-8")
    typer.echo(f"Wrote {path}; fill it in, then run 'airtrim check {path}'.")


@application.command("check")
def check(job: JobFile, as_json: AsJson = False) -> None:
    """Read a job file and say whether it can be computed."""
    read = _job(job)
    from airtrim.job import check_job
    from airtrim.work.weather import weather_remarks

    remarks = [str(one) for one in (check_job(read) or [])] + weather_remarks(read)
    if as_json:
        typer.echo(json.dumps({"usable": True, "remarks": remarks}))
        return
    for remark in remarks:
        typer.echo(remark)
    typer.echo(f"{job} can be computed.")


@application.command("readings")
def readings(job: JobFile, as_json: AsJson = False, units: System = "inch_pound") -> None:
    """Say what the readings show, how sure each figure is, and what looks odd."""
    read = _job(job)
    from airtrim.report.readings import lines
    from airtrim.work.readings import SEA_LEVEL_PA, read_job
    from airtrim.work.weather import weather_of

    # the weather file knows the air pressure of the place; where the altitude was noted it is not opened
    known = read.house.altitude is not None
    answers = read_job(read, SEA_LEVEL_PA if known else weather_of(read).pressure_pa)
    if as_json:
        typer.echo(json.dumps(answers, allow_nan=False))
        return
    for line in lines(answers, units):
        typer.echo(line)


@application.command("schema")
def schema() -> None:
    """Print the JSON schema of a job file."""
    from airtrim.job import json_schema

    typer.echo(json.dumps(json_schema(), indent=2))


@application.command("place")
def place(
    file: Annotated[Path, typer.Argument(help="A weather file: EPW, TMY3 or TMY2.")],
    name: Annotated[str | None, typer.Option("--name", help='What jobs call the place: "Town, ST".')] = None,
    replace: Annotated[bool, typer.Option("--replace", help="Take new figures for a place added before.")] = False,
) -> None:
    """Add a place: keep a weather file's monthly means, so that jobs there need its name only."""
    from airtrim.weather.files import read_hours
    from airtrim.weather.own_places import add_place, means_of

    hours = read_hours(file)
    means = means_of(hours, name)
    path = add_place(means, replace)
    for note in hours.notes:
        typer.echo(note)
    warm, damp = 1.8 * float(means.dry_bulb_c.max()) + 32.0, float(means.humid_hours.sum())
    typer.echo(
        f"Added {means.place}: warmest month {warm:.0f} F, {damp:,.0f} hours with a dew point above 64 F. A job with "
        f'place = "{means.place}" and no weather.file uses it. Kept in {path}.'
    )


def _write(
    result: dict[str, Any], job_path: Path, out: Path, units: str, paper: str, letterhead: Any, worker: Drawing
) -> None:
    """Write report.pdf, result.json, airflow-map.svg and the copy of the job file."""
    from airtrim.job import read_document
    from airtrim.report.paper import paper_pdf
    from airtrim.report.pictures import paper_pictures

    out.mkdir(parents=True, exist_ok=True)
    picture, months_picture = worker.made(paper_pictures, result, units)
    document = paper_pdf(result, picture, units, paper, months_picture, letterhead)
    copy = read_document(job_path).with_reading_identities().text
    (out / "result.json").write_text(json.dumps(result, indent=1, allow_nan=False) + "\n", encoding="utf-8")
    (out / "airflow-map.svg").write_text(picture, encoding="utf-8")
    (out / "report.pdf").write_bytes(document)
    (out / "job.toml").write_text(copy, encoding="utf-8")


def _plan(job: Path, out: Path, full: bool, as_json: bool, units: str, paper: str, shop: Path | None) -> None:
    from airtrim.report.letterhead import read_letterhead
    from airtrim.report.render import drawing

    letterhead = None if shop is None else read_letterhead(shop)
    _job(job)  # what is wrong with it is said before anything starts
    with drawing() as worker:
        result = _computed(job, out, full, as_json)
        _write(result, job, out, units, paper, letterhead, worker)
    if as_json:
        typer.echo(json.dumps(result, allow_nan=False))
        return
    from rich.console import Console

    from airtrim.report.terminal import print_summary

    print_summary(result, Console(), units)
    typer.echo(f"Written to {out}: report.pdf, result.json, airflow-map.svg, job.toml.")


@application.command("plan")
def plan(
    job: JobFile,
    out: Out = Path("airtrim-plan"),
    full: Annotated[bool, typer.Option("--full", help="More samples; slower.")] = False,
    as_json: AsJson = False,
    units: System = "inch_pound",
    paper: PaperSize = "letter",
    letterhead: SettingsFile = None,
) -> None:
    """Compute findings, options and settings, and write the papers."""
    _plan(job, out, full, as_json, units, paper, letterhead)


@application.command("map")
def airflow_map(
    job: JobFile, out: Out = Path("airflow-map.svg"), as_json: AsJson = False, units: System = "inch_pound"
) -> None:
    """Compute the airflow map, print its table and write it as SVG, with a second picture (-detail) of what else changes.

    --json prints its data and writes nothing.
    """
    from rich.console import Console
    from rich.table import Table

    from airtrim.report.map import answer, detail_specification, difference_sentence, map_specification, map_table
    from airtrim.report.render import svgs

    result = _computed(job, None, False, as_json)
    if as_json:
        typer.echo(json.dumps(result["map"], allow_nan=False))
        return
    detail = out.with_name(f"{out.stem}-detail{out.suffix}")
    pictures = svgs([map_specification(result, units), detail_specification(result, units)])
    for path, picture in zip((out, detail), pictures, strict=True):
        path.write_text(picture, encoding="utf-8")
    heading, *rows = map_table(result, units)
    table = Table(box=None, padding=(0, 2, 0, 0))
    for name in heading:
        table.add_column(name.replace(" (", "\n").rstrip(")"))
    for name, *cells in rows:
        table.add_row(name, *(cell.replace(" (", "\n").rstrip(")") for cell in cells))
    console = Console()
    console.print(table)
    for sentence in (f"{answer(result['map'], units)}.", difference_sentence(result, units)):
        if sentence:
            console.print(sentence, markup=False)
    typer.echo(f"Written to {out} and {detail}.")


def example_job() -> Path:
    """The example job that comes with the source tree."""
    from airtrim.core.errors import JobError

    folder = Path(__file__).resolve().parents[3] / "examples"
    found = sorted(folder.rglob("*.toml")) if folder.is_dir() else []
    if not found:
        raise JobError(f"There is no example job in {folder}; run the demo from the source tree, or use 'airtrim new'.")
    return found[0]


@application.command("demo")
def demo(out: Out = Path("airtrim-demo"), as_json: AsJson = False, units: System = "inch_pound") -> None:
    """Compute the example job and write its papers."""
    _plan(example_job(), out, False, as_json, units, "letter", None)


add_explaining(application)
add_trimming(application)
add_serving(application)
