"""What is read from the database. Nothing here changes it."""

import difflib
import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.http import Http404

import airtrim
from airtrim.job import Job as JobOfFile
from airtrim.report.letterhead import Letterhead
from airtrim.report.words import say
from airtrim.web import draft as drafts
from airtrim.web.fields import written
from airtrim.web.models import Instrument, Job, JobVersion, Outcome, Paper, Shop, WorkItem

PAGE = 25


@dataclass(frozen=True)
class JobPage:
    """Part of the list of jobs."""

    jobs: tuple[Job, ...]
    number: int
    more: bool


def jobs(search: str, number: int) -> JobPage:
    """Page `number` (from 1) of the jobs whose name or place holds every word of `search`, the last changed first."""
    found: QuerySet[Job] = Job.objects.order_by("-changed", "id").only("id", "name", "place", "changed")
    for word in search.casefold().split()[:8]:
        found = found.filter(search__contains=word)
    start = (number - 1) * PAGE
    rows = list(found[start : start + PAGE + 1])
    return JobPage(tuple(rows[:PAGE]), number, len(rows) > PAGE)


def job(job_id: UUID) -> Job:
    """A job; 404 where there is none."""
    found = Job.objects.filter(pk=job_id).first()
    if found is None:
        raise Http404(say("web.failure.no_job"))
    return found


def newest(of: Job) -> JobVersion:
    return of.versions.get(number=of.latest)


def version(of: Job, number: int) -> JobVersion:
    """One version; 404 where there is none."""
    found = of.versions.filter(number=number).first()
    if found is None:
        raise Http404(say("web.failure.no_version", {"number": number}))
    return found


def shop() -> Shop:
    """The shop's settings; the defaults where nobody has set any."""
    return Shop.objects.filter(pk=1).first() or Shop()


def letterhead() -> Letterhead:
    """What stands at the head of the shop's papers."""
    found = shop()
    return Letterhead(found.firm, found.address, found.telephone, found.licence)


def paper(of: Outcome) -> Paper | None:
    """The PDF of an outcome as the shop would have it now."""
    found = shop()
    return of.papers.filter(units=found.units, size=found.paper, letterhead=letterhead().mark).first()


def plan_key(job_of_file: JobOfFile) -> str:
    """What a plan depends on: the values of the document and the program that computes it."""
    dumped = json.dumps(job_of_file.model_dump(), sort_keys=True, default=str)
    return hashlib.sha256(f"{airtrim.__version__} {dumped}".encode()).hexdigest()


def outcome(of: Job, draft: drafts.Draft) -> tuple[Outcome | None, bool]:
    """The newest plan of a job, and whether it stands for the document as it is now."""
    if draft.job is not None:
        found = of.outcomes.filter(key=plan_key(draft.job)).first()
        if found is not None:
            return found, True
    return of.outcomes.order_by("-at").first(), False


def newest_work(of: Job, kind: str) -> WorkItem | None:
    """The item of a kind that was put in last."""
    return of.work.filter(kind=kind).order_by("-created").first()


def newest_of_key(key: str) -> WorkItem | None:
    """The item of a key that was put in last."""
    return WorkItem.objects.filter(key=key).order_by("-created").first()


@dataclass(frozen=True)
class Difference:
    """A place at which two documents differ; an empty text where one has nothing there."""

    place: str
    before: str
    after: str


def differences(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[Difference]:
    """Places at which two documents' tables differ, in the order of the newer one."""
    old, new = dict(_leaves(before, "")), dict(_leaves(after, ""))
    places = [*new, *(place for place in old if place not in new)]
    return [
        Difference(place, written(old.get(place)), written(new.get(place)))
        for place in places
        if old.get(place) != new.get(place) and not place.endswith(".id")
    ]


def _leaves(value: Any, place: str) -> Any:
    if isinstance(value, Mapping):
        for key, inside in value.items():
            yield from _leaves(inside, f"{place}.{key}" if place else str(key))
    elif isinstance(value, list) and value and isinstance(value[0], Mapping):
        for number, inside in enumerate(value, start=1):
            yield from _leaves(inside, f"{place}.{number}")
    else:
        yield place, value


def text_lines(before: str, after: str) -> list[tuple[str, str]]:
    """Lines that differ between two texts: (sign, line)."""
    return [
        (line[:1], line[1:].rstrip("\n"))
        for line in list(difflib.unified_diff(before.splitlines(), after.splitlines(), n=0, lineterm=""))[2:]
        if not line.startswith("@@")
    ]


def instruments() -> list[Instrument]:
    """The shop's ways of reading airflow, by name."""
    return list(Instrument.objects.all())
