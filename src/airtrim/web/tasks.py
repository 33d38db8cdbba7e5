"""What the worker's child computes: plain data in, plain data out, no database. Run in a spawned process only."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from airtrim.core.errors import WeatherError
from airtrim.job import Job, parse_job
from airtrim.report.words import say

#: Inner widths of a picture's panel, px: for a phone of 360 px, and for a laptop.
WIDTHS = (250, 520)
Tell = Callable[[float], None]


def run(kind: str, arguments: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Compute one item; `tell` hears its share done, 0 to 1."""
    return {"plan": _plan, "pictures": _pictures, "paper": _paper}[kind](arguments, tell)


def with_weather(job: Job, folder: str) -> Job:
    """The job with its weather file where this server keeps such files: a name in `folder`, never a path of the caller's."""
    from airtrim.weather.files import EMBEDDED

    name = job.weather.file
    if name is None or name in EMBEDDED:
        return job
    path = Path(folder) / Path(name).name
    if not path.is_file():
        raise WeatherError(say("web.failure.no_weather", {"file": Path(name).name}))
    return job.model_copy(update={"weather": job.weather.model_copy(update={"file": str(path)})})


def _plan(arguments: dict[str, Any], tell: Tell) -> dict[str, Any]:
    from airtrim.work.plan import make_plan

    job = with_weather(parse_job(arguments["text"], "job.toml"), arguments["weather"])
    full, systems = bool(arguments.get("full")), arguments.get("systems")
    result = make_plan(job, progress=lambda share: tell(0.95 * share), full=full, systems=systems).result
    pictures = _drawn(result, arguments["units"])
    tell(1.0)
    return {"result": result, "pictures": pictures}


def _pictures(arguments: dict[str, Any], tell: Tell) -> dict[str, Any]:
    return {"pictures": _drawn(arguments["result"], arguments["units"])}


def _drawn(result: dict[str, Any], units: str) -> list[dict[str, Any]]:
    """Every picture of a result that can be drawn, at every width."""
    from airtrim.report.pictures import page_pictures
    from airtrim.report.render import svgs

    made = [
        (name, width, _untitled(specification))
        for width in WIDTHS
        for name, specification in page_pictures(result, units, width).items()
    ]
    drawn = svgs([specification for _, _, specification in made])
    return [
        {"name": name, "width": width, "units": units, "svg": svg, "specification": specification}
        for (name, width, specification), svg in zip(made, drawn, strict=True)
    ]


def _untitled(specification: dict[str, Any]) -> dict[str, Any]:
    """Without its title, which the page sets in its own letters above the picture; panels keep theirs."""
    return {key: value for key, value in specification.items() if key != "title"}


def _paper(arguments: dict[str, Any], tell: Tell) -> dict[str, Any]:
    from airtrim.report.letterhead import Letterhead
    from airtrim.report.paper import paper_pdf
    from airtrim.report.pictures import paper_pictures
    from airtrim.report.render import drawing

    result, units = arguments["result"], arguments["units"]
    with drawing() as worker:
        picture, months = worker.made(paper_pictures, result, units)
    tell(0.7)
    head = Letterhead(**arguments.get("letterhead", {}))
    pdf = paper_pdf(result, picture, units, arguments["size"], months, head)
    return {"pdf": pdf}
