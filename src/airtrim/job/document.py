"""The job file as it stands on disk: comments, order and spelling kept whatever is changed in it."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import uuid4

import tomlkit
from pydantic import BaseModel
from tomlkit.items import AoT, Table

from airtrim.core.errors import JobError
from airtrim.job.files import parse_job, read_text
from airtrim.job.measured import Measured
from airtrim.job.model import Job


@dataclass(frozen=True)
class JobDocument:
    """A job file's text and the job it means; `text` is exactly what was read until something is changed."""

    text: str
    job: Job
    where: str

    def with_value(self, place: str, value: str | int | float | bool | list[str]) -> "JobDocument":
        """A document with one value changed or added, such as ("house.floor_area", "1700 ft2").

        List entries are counted from 1: "readings.2.airflow"; the next number adds one. Nothing else in the text moves.
        Raises `JobError` where the place or the value is not allowed.
        """
        document = tomlkit.parse(self.text)
        *sections, key = place.split(".")
        table: Any = document
        for name in sections:
            table = _inside(table, name, place, self.where)
        if not isinstance(table, Table | tomlkit.TOMLDocument):
            raise JobError(
                f"{self.where}: {place} is not a place for a value; name section and key, such as house.floor_area."
            )
        table[key] = value
        return from_text(tomlkit.dumps(document), self.where)

    def with_reading_identities(self) -> "JobDocument":
        """A document in which every reading carries its own UUID; the same document when all do."""
        document = tomlkit.parse(self.text)
        readings = document.get("readings")
        missing = [one for one in readings or [] if "id" not in one]
        if not missing:
            return self
        for reading in missing:
            reading.add("id", str(uuid4()))
        return from_text(tomlkit.dumps(document), self.where)


def read_document(path: Path | str) -> JobDocument:
    """Read a job file with its text; raises `JobError` as `load_job` does."""
    path = Path(path)
    return from_text(read_text(path), path.name)


def from_text(text: str, where: str) -> JobDocument:
    """A document from TOML text; `where` names it in messages."""
    return JobDocument(text, parse_job(text, where), where)


def job_text(job: Job) -> str:
    """TOML text that means this job: every value as its user wrote it, defaults left out."""
    document = tomlkit.document()
    for name, value in _plain(job).items():
        document[name] = value
    return tomlkit.dumps(document)


def _plain(model: BaseModel) -> dict[str, Any]:
    """Field -> what stands in the file; nothing that equals its default but the version."""
    plain: dict[str, Any] = {}
    for name, field in type(model).model_fields.items():
        value = getattr(model, name)
        if value is None or (not field.is_required() and value == field.get_default(call_default_factory=True)):
            continue
        plain[name] = _written(value)
    return plain


def _written(value: Any) -> Any:
    if isinstance(value, Measured):
        return value.text
    if isinstance(value, BaseModel):
        return _plain(value)
    if isinstance(value, list):
        return [_written(one) for one in value]
    return value


def _inside(table: Any, name: str, place: str, where: str) -> Any:
    if isinstance(table, AoT):
        if not name.isdigit() or not 1 <= int(name) <= len(table) + 1:
            raise JobError(
                f"{where}: {place} names entry {name} of {len(table)}; count from 1, or {len(table) + 1} to add one."
            )
        if int(name) == len(table) + 1:
            table.append(tomlkit.table())
        return table[int(name) - 1]
    if name not in table:
        table[name] = tomlkit.aot() if name == "readings" else tomlkit.table()
    return table[name]
