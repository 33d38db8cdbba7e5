"""A job's document while it is being filled in: TOML text that may still lack values, changed one value at a time.

What a value must be is decided by the job layer alone; here it is only asked, place by place.
"""

import re
from collections.abc import Mapping, MutableMapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import tomlkit
from pydantic import ValidationError

from airtrim.core.errors import JobError
from airtrim.job import Job, parse_job
from airtrim.job.files import table_of
from airtrim.report.words import known, say
from airtrim.web import fields, lists

WHERE = "job.toml"
#: Far more letters in a line than any job file has.
LETTERS_A_LINE = 10_000


@dataclass(frozen=True)
class Problem:
    """Something wrong at a place such as `house.floor_area` or `readings.1.airflow`."""

    place: str
    sentence: str


@dataclass(frozen=True)
class Draft:
    """A document's text, its table, what is missing, what is wrong, and the job where neither is."""

    text: str
    table: Mapping[str, Any]
    missing: tuple[str, ...]
    problems: tuple[Problem, ...]
    job: Job | None

    def value(self, place: str) -> Any:
        """What stands at `place`, or None."""
        here: Any = self.table
        for name in place.split("."):
            if isinstance(here, list):
                index = (fields.row_number(name) or 0) - 1
                here = here[index] if 0 <= index < len(here) else None
            elif isinstance(here, Mapping):
                here = here.get(name)
            else:
                return None
        return here

    def entries(self, place: str) -> int:
        """How many entries the repeated table `place` has."""
        found = self.value(place)
        return len(found) if isinstance(found, list) else 0

    def problem(self, place: str) -> str:
        """What is wrong at `place`, or nothing; `place` holds a value, maybe one of several values (of a grid of points)."""
        return next((one.sentence for one in self.problems if f"{one.place}.".startswith(f"{place}.")), "")

    def problem_of_whole(self, place: str) -> str:
        """What is wrong with a section, a list or a row as a whole."""
        return next((one.sentence for one in self.problems if one.place == place), "")


def _table(text: str) -> dict[str, Any]:
    """The document's table. What nests without end is refused before anything walks through it."""
    longest = max(map(len, text.splitlines()), default=0)
    if longest > LETTERS_A_LINE:
        raise JobError(say("web.wrong.long_line", {"got": longest, "most": LETTERS_A_LINE}))
    return table_of(text, WHERE)


@lru_cache(maxsize=256)
def read(text: str) -> Draft:
    """Read a document that may be incomplete; raises `JobError` where it is no TOML at all."""
    table = _table(text)
    missing: list[str] = []
    problems: list[Problem] = []
    try:
        Job.model_validate(table)
    except ValidationError as error:
        for one in error.errors():
            place = ".".join(str(part + 1) if isinstance(part, int) else str(part) for part in one["loc"])
            if one["type"] == "missing":
                missing += _required_below(place)
            else:
                problems.append(Problem(place, _sentence(told(one))))
        return Draft(text, table, tuple(missing), tuple(problems), None)
    try:
        return Draft(text, table, (), (), parse_job(text, WHERE))
    except JobError as error:
        return Draft(text, table, (), (_placed(str(error)),), None)


def changed(text: str, place: str, value: Any) -> str:
    """The text with one value changed, added or (None) taken out; nothing else in it moves."""
    document = tomlkit.parse(text)
    *sections, key = place.split(".")
    path = _way(document, sections, place, begin=value is not None)
    here = path[-1][0][path[-1][1]] if path else document
    if not path and sections:
        return text
    if not isinstance(here, MutableMapping):
        raise JobError(f"{place} is not a place for a value; name section and key, such as house.floor_area.")
    if value is None:
        here.pop(key, None)
        _prune(path)
    else:
        here[key] = value
    return tomlkit.dumps(document)


def without_row(text: str, row: str) -> str:
    """The text without the row at `row` (its list and number), and without a list or section that is empty then."""
    document = tomlkit.parse(text)
    *sections, name = row.split(".")
    path = _way(document, sections, row, begin=False)
    parent = path[-1][0][path[-1][1]] if path else None
    number = fields.row_number(name)
    if not isinstance(parent, list) or number is None or not 1 <= number <= len(parent):
        raise JobError(say("web.failure.no_row", {"place": row[:80]}))
    del parent[number - 1]
    _prune(path)
    return tomlkit.dumps(document)


def _way(document: Any, sections: list[str], place: str, begin: bool) -> list[tuple[Any, Any]]:
    """The steps from the document down to the last of `sections`, each a table or list and the name in it.

    What is not there is begun, or (`begin` false) the way is empty.
    """
    here: Any = document
    path: list[tuple[Any, Any]] = []
    for depth, name in enumerate(sections):
        if isinstance(here, list):
            index = _index(name, len(here), place)
            if index == len(here):
                if not begin:
                    return []
                here.append(tomlkit.inline_table() if isinstance(here, tomlkit.items.Array) else tomlkit.table())
            path.append((here, index))
            here = here[index]
            continue
        if not isinstance(here, MutableMapping):
            raise JobError(f"{place} is not a place for a value; name section and key, such as house.floor_area.")
        if name not in here:
            if not begin:
                return []
            here[name] = _begun(here, ".".join(sections[: depth + 1]))
        path.append((here, name))
        here = here[name]
    return path


def _begun(parent: Any, place: str) -> Any:
    """A new section, or the list of a row to come; within a table that stands in one line they stand in it as well."""
    inline = isinstance(parent, tomlkit.items.InlineTable)
    if lists.is_list(place):
        return tomlkit.array() if inline else tomlkit.aot()
    return tomlkit.inline_table() if inline else tomlkit.table()


def _prune(path: list[tuple[Any, Any]]) -> None:
    """Take out what is empty now; of a reading nothing but its id may be left either."""
    for parent, name in reversed(path):
        inside = parent[name]
        if any(key != "id" for key in inside) if isinstance(inside, Mapping) else len(inside):
            return
        del parent[name]


def _index(name: str, length: int, place: str) -> int:
    number = fields.row_number(name)
    if number is None or not 1 <= number <= length + 1:
        raise JobError(f"{place} names entry {name} of {length}; count from 1, or {length + 1} to add one.")
    return number - 1


def _required_below(place: str) -> list[str]:
    """The places a missing value or whole section stands for."""
    model: Any = Job
    for name in place.split("."):
        if fields.row_number(name) is not None:
            continue
        annotation = model.model_fields[name].annotation
        model = next(
            (one for one in (annotation, *getattr(annotation, "__args__", ())) if hasattr(one, "model_fields")), None
        )
        if model is None or not annotation.__class__.__name__.endswith("ModelMetaclass"):
            return [place]
        if not hasattr(model, "si"):
            continue
        return [place]
    if model is None or "si" in model.model_fields:
        return [place]
    return [f"{place}.{name}" for name, field in model.model_fields.items() if field.is_required()]


_PLACE = re.compile(r"^[^,]*(?:, line [^,]*)?, ([a-z0-9_.]+): (.*)$", re.DOTALL)


def _placed(message: str) -> Problem:
    """A message of the job layer as a problem at its place; the file and line it names are of no use in a form."""
    found = _PLACE.match(message)
    return Problem(found.group(1), _sentence(found.group(2))) if found else Problem("", message)


def told(error: Any) -> str:
    """The job layer's own sentence; where only the bare rule is given, the rule in words."""
    given = error.get("ctx", {})
    cause = given.get("error")
    if cause is not None:
        return str(cause)
    key = f"web.wrong.{error['type']}"
    if known(key):
        rule = {
            name: value for name, value in given.items() if name in ("ge", "gt", "le", "lt", "min_length", "max_length")
        }
        return say(key, rule | {"got": str(error["input"])[:60], "expected": given.get("expected", "")})
    return str(error["msg"]).removeprefix("Value error, ")


def _sentence(message: str) -> str:
    return message[:1].upper() + message[1:]
