"""Job files in and out: TOML text, one sentence for whatever is wrong with it and where."""

import difflib
import json
import tomllib
import uuid
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from airtrim.core.errors import JobError
from airtrim.job.cards import entered_cards, plain_cause
from airtrim.job.contradictions import check_readings
from airtrim.job.instruments import check_instruments
from airtrim.job.model import Job, Readings

#: Far more tables and lists within one another than any job file has.
NESTED = 12


def load_job(path: Path | str) -> Job:
    """Read a job file; raises `JobError` with the place in the file."""
    path = Path(path)
    return with_cards(parse_job(read_text(path), path.name), path.parent)


def with_cards(job: Job, folder: Path) -> Job:
    """The job with its hardware cards read from `folder`, the job file's; raises `JobError`."""
    cards = entered_cards(job.options.cards, folder)
    return job.model_copy(update={"options": job.options.model_copy(update={"cards": cards})}) if cards else job


def read_text(path: Path) -> str:
    """The text of a job file; raises `JobError` where it cannot be read."""
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise JobError(f"{path} cannot be read ({type(error).__name__}): give a TOML file in UTF-8.") from error


def table_of(text: str, where: str) -> dict[str, Any]:
    """The table of a TOML text; what nests without end is refused before anything walks through it."""
    deep = JobError(
        f"{where} has more than {NESTED} tables or lists within one another: it cannot be a job file; look at its brackets."
    )
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise JobError(f"{where} is not readable TOML: {error}; check quotes and brackets there.") from error
    except RecursionError:
        raise deep from None
    level: list[Any] = [table]
    for _ in range(NESTED):
        level = [
            below
            for one in level
            if isinstance(one, dict | list)
            for below in (one.values() if isinstance(one, dict) else one)
        ]
    if level:
        raise deep
    return table


def parse_job(text: str, where: str) -> Job:
    """A job from TOML text; `where` names it in messages."""
    table = table_of(text, where)
    try:
        job = Job.model_validate(table)
    except ValidationError as error:
        raise JobError(_sentence(error, text, where)) from error
    check_readings(job, where, lambda index, key: _line(text, ("readings", index, key)))
    check_instruments(job, where)
    readings = [_with_id(reading, number) for number, reading in enumerate(job.readings)]
    identities = [reading.id for reading in readings]
    for number, identity in enumerate(identities):
        if identity in identities[:number]:
            at = f"{where}, line {_line(text, ('readings', number, 'id'))}, readings.{number + 1}.id"
            raise JobError(
                f"{at}: {identity} is the id of readings.{identities.index(identity) + 1} as well; leave one of the two lines out "
                "and a new id is made."
            )
    return job.model_copy(update={"readings": readings})


def json_schema() -> dict[str, Any]:
    """JSON Schema of the job file as it is written: dimensional values are texts with a unit."""
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **Job.model_json_schema(mode="validation")}


def _with_id(reading: Readings, number: int) -> Readings:
    """A reading without an id gets one that its content and place decide, the same each time the file is read."""
    if reading.id:
        return reading
    content = json.dumps(reading.model_dump(exclude={"id"}, exclude_defaults=True), sort_keys=True, default=str)
    return reading.model_copy(update={"id": str(uuid.uuid5(uuid.NAMESPACE_URL, f"{number}:{content}"))})


def _line(text: str, place: tuple[Any, ...]) -> int | None:
    """The line on which a key stands, found by walking sections and keys."""
    names = [part for part in place if isinstance(part, str)]
    if not names:
        return None
    wanted_section, wanted_key = ".".join(names[:-1]), names[-1]
    numbers = [part for part in place if isinstance(part, int)]
    section, seen = "", -1
    for number, line in enumerate(text.splitlines(), start=1):
        bare = line.split("#")[0].strip()
        if bare.startswith("["):
            section = bare.strip("[]").strip()
            if section == wanted_section:
                seen += 1
            if section == ".".join(names):
                return number
        elif (
            section == wanted_section
            and bare.split("=")[0].strip() == wanted_key
            and (not numbers or seen == numbers[0])
        ):
            return number
    return None


def _sentence(error: ValidationError, text: str, where: str) -> str:
    # a misspelt key shows twice, as unknown and as missing: the unknown one tells more
    first = sorted(error.errors(), key=lambda one: one["type"] != "extra_forbidden")[0]
    place = tuple(first["loc"])
    dotted = ".".join(str(part + 1) if isinstance(part, int) else str(part) for part in place)
    line = _line(text, place)
    at = f"{where}, line {line}, {dotted}" if line else f"{where}, {dotted}"
    if first["type"] == "extra_forbidden":
        near = difflib.get_close_matches(str(place[-1]), _names(place[:-1]), n=1, cutoff=0.5)
        hint = f'did you mean "{near[0]}"?' if near else f"known here: {', '.join(_names(place[:-1]))}."
        return f"{at}: this key is not known; {hint}"
    if first["type"] == "missing":
        return f"{at}: this value is missing; it is one of those a first answer needs, write it there."
    plain = plain_cause(first)
    if plain is not None:
        return f"{at}: {plain}"
    message = str(first["msg"]).removeprefix("Value error, ")
    cause = first.get("ctx", {}).get("error")
    if cause is not None:
        message = str(cause)
    given = "" if cause is not None else f", got {first['input']!r}"
    return f"{at}: {message}{given}"


def _names(place: tuple[Any, ...]) -> list[str]:
    model: Any = Job
    for part in place:
        if isinstance(part, str):
            annotation = model.model_fields[part].annotation
            inner = getattr(annotation, "__args__", (annotation,))
            model = next(
                (one for one in (*inner, annotation) if isinstance(one, type) and issubclass(one, BaseModel)), model
            )
    return list(model.model_fields)
