"""Between the table of work and what the child computes: an item's input, and its result kept under the item's key."""

from dataclasses import asdict
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from airtrim.report.pictures import wanted
from airtrim.web import pictures, queue, selectors
from airtrim.web.models import Job, Outcome, Paper, Picture, WorkItem

#: Pictures that could not be drawn are tried again after this time: their page must not ask for ever.
AGAIN = timedelta(minutes=10)


def queue_plan(job: Job, full: bool = False) -> WorkItem | None:
    """Queue the plan of a job's newest version; None where the document cannot be computed yet."""
    from airtrim.web import draft as drafts

    version = selectors.newest(job)
    found = drafts.read(version.text).job
    if found is None:
        return None
    key = selectors.plan_key(found)
    return queue.put(job, "plan", f"plan {job.pk} {key}"[:100], {"version": version.number, "key": key, "full": full})


def ask_for_pictures(outcome: Outcome, units: str) -> WorkItem:
    """The work that draws what can be drawn of an outcome in a unit system: queued once; again only where an earlier try did not
    end well and is a while ago."""
    key = f"pictures {outcome.pk} {units} {','.join(wanted(outcome.result))}"[:100]
    last = selectors.newest_of_key(key)
    if last is not None and (last.state == WorkItem.DONE or (last.finished and timezone.now() - last.finished < AGAIN)):
        return last
    return queue.put(outcome.job, "pictures", key, {"outcome": outcome.pk, "units": units})


def queue_paper(outcome: Outcome, units: str, size: str) -> WorkItem:
    """Queue the PDF of an outcome, under the letterhead of this moment."""
    head = selectors.letterhead()
    arguments = {"outcome": outcome.pk, "units": units, "size": size, "letterhead": asdict(head), "mark": head.mark}
    return queue.put(outcome.job, "paper", f"paper {outcome.pk} {units} {size} {head.mark}".rstrip(), arguments)


def arguments_of(item: WorkItem) -> dict[str, Any]:
    """Everything the child needs, as plain data."""
    given = dict(item.arguments)
    if item.kind == "plan":
        version = item.job.versions.get(number=given["version"])
        weather = str(settings.DATA / "weather")
        more = {"units": selectors.shop().units, "weather": weather, "systems": settings.PLAN_SYSTEMS}
        return given | {"text": version.text} | more
    outcome = Outcome.objects.get(pk=given["outcome"])
    return given | {"result": outcome.result}


@transaction.atomic
def keep(item: WorkItem, value: dict[str, Any]) -> None:
    """Keep a result once, however often it was computed."""
    given = item.arguments
    if item.kind == "plan":
        outcome, _ = Outcome.objects.get_or_create(
            job=item.job, key=given["key"], defaults={"version": given["version"], "result": value["result"]}
        )
    else:
        outcome = Outcome.objects.get(pk=given["outcome"])
    for one in value.get("pictures", []):
        Picture.objects.get_or_create(
            outcome=outcome,
            name=one["name"],
            units=one["units"],
            width=one["width"],
            defaults={"svg": pictures.for_page(one["svg"]), "specification": one["specification"]},
        )
    if "pdf" in value:
        Paper.objects.get_or_create(
            outcome=outcome,
            units=given["units"],
            size=given["size"],
            letterhead=given.get("mark", ""),
            defaults={"pdf": value["pdf"]},
        )
