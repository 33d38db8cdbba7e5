"""Lists of records in a job's document, such as the rows of a fan table: which there are and what a row holds.

Derived from the job layer's schema, so that a list added there has its forms without anything said here.
A list's place is that of its rows without their number: `blower.fan_table`, `readings.2.log`, `tariff.seasons.1.tiers`.
"""

import hashlib
import json
from dataclasses import dataclass
from functools import cache
from typing import Any

from airtrim.report.words import known, say
from airtrim.web import fields
from airtrim.web.fields import bare, row_number


@dataclass(frozen=True)
class RowKind:
    """What a row of a list holds: keys of single values, those it needs first, and keys of lists within the row."""

    keys: tuple[str, ...]
    lists: tuple[str, ...]


@cache
def every() -> tuple[str, ...]:
    """All lists of records of a job file, numbers left out, in the job layer's order."""

    def below(schema: dict[str, Any], path: str) -> Any:
        schema = fields.resolved(schema)
        if schema.get("type") == "array" and "properties" in fields.resolved(schema["items"]):
            yield path
            schema = fields.resolved(schema["items"])
        for name, inside in schema.get("properties", {}).items():
            yield from below(inside, f"{path}.{name}" if path else name)

    return tuple(below(fields.schema_at("")[0], ""))


@cache
def row_kind(place: str) -> RowKind:
    """What a row of the list at `place` holds; raises KeyError where there is no such list."""
    path = bare(place)
    if path not in every():
        raise KeyError(place)
    row = fields.resolved(fields.schema_at(first_of(path))[0]["items"])
    lists = tuple(key for key in row["properties"] if f"{path}.{key}" in every())
    keys = [key for key in row["properties"] if key not in lists]
    return RowKind(tuple(sorted(keys, key=lambda key: key not in row.get("required", ()))), lists)


def first_of(path: str) -> str:
    """A bare place as it stands in the first row of every list above it: readings.log gives readings.1.log."""
    here = ""
    for name in path.split("."):
        above = bare(here)
        here = f"{here}.1.{name}" if above in every() else f"{here}.{name}" if here else name
    return here


def is_list(place: str) -> bool:
    """Whether `place` is that of a list of records, its rows above it numbered."""
    return bare(place) in every() and row_number(place.rsplit(".", 1)[-1]) is None


def rows_above(place: str) -> tuple[str, ...]:
    """The rows that `place` lies in (or is), outermost first: readings.1.log.2.at gives readings.1 and readings.1.log.2."""
    parts = place.split(".")
    return tuple(".".join(parts[: end + 1]) for end, part in enumerate(parts) if row_number(part) is not None)


def parted(row: str) -> tuple[str, int]:
    """A row's list and number."""
    place, _, number = row.rpartition(".")
    return place, int(number)


def mark(value: Any) -> str:
    """A short mark that tells a row from another: its own identity, else its content, so that a change made meanwhile is seen."""
    if isinstance(value, dict) and value.get("id"):
        value = value["id"]
    return hashlib.sha256(json.dumps(value, sort_keys=True, default=str).encode()).hexdigest()[:16]


def name(place: str) -> str:
    """What a list is called; of a row its number as well."""
    path = bare(place)
    key = f"web.list.{path}"
    title = say(key) if known(key) else path.rsplit(".", 1)[-1].replace("_", " ").capitalize()
    last = row_number(place.rsplit(".", 1)[-1])
    return title if last is None else say("web.rows.of", {"name": title, "number": last})
