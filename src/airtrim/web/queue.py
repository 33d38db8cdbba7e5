"""The table of work: put in by the web, claimed and finished by the worker, and safe against either being killed.

An item is claimed by one UPDATE that only one worker can win. Whoever computes it says so every second; an item not heard of
for `STALE_S` goes back into the queue, at most `TRIES` times. Results are kept under the item's key, so that a second
run of the same work changes nothing.
"""

from datetime import timedelta
from typing import Any
from uuid import uuid4

from django.db import IntegrityError, transaction
from django.utils import timezone

from airtrim.report.words import say
from airtrim.web.models import Job, WorkItem

STALE_S = 6.0
TRIES = 3
LIVE = (WorkItem.QUEUED, WorkItem.RUNNING)


def put(job: Job, kind: str, key: str, arguments: dict[str, Any]) -> WorkItem:
    """Queue some work; the item already waiting or running under this key where there is one."""
    found = WorkItem.objects.filter(key=key, state__in=LIVE).first()
    if found is not None:
        return found
    try:
        with transaction.atomic():
            return WorkItem.objects.create(job=job, kind=kind, key=key, arguments=arguments)
    except IntegrityError:  # somebody else was quicker
        return WorkItem.objects.get(key=key, state__in=LIVE)


def ask_to_cancel(item: WorkItem) -> None:
    """Take a waiting item out at once; a running one is stopped by its worker."""
    taken = WorkItem.objects.filter(pk=item.pk, state=WorkItem.QUEUED).update(
        state=WorkItem.CANCELLED, finished=timezone.now()
    )
    if not taken:
        WorkItem.objects.filter(pk=item.pk, state=WorkItem.RUNNING).update(cancel=True)


def give_back_stale() -> int:
    """Put items whose worker has gone silent back, or end them after `TRIES`; how many went back."""
    before = timezone.now() - timedelta(seconds=STALE_S)
    silent = WorkItem.objects.filter(state=WorkItem.RUNNING, beat__lt=before)
    silent.filter(tries__gte=TRIES).update(
        state=WorkItem.FAILED, finished=timezone.now(), sentence=say("web.work.gave_up", {"tries": TRIES})
    )
    return int(silent.filter(tries__lt=TRIES).update(state=WorkItem.QUEUED, claim="", share=0.0))


def claim() -> WorkItem | None:
    """The next waiting item, now ours under a fresh claim, or None."""
    while True:
        waiting = WorkItem.objects.filter(state=WorkItem.QUEUED).order_by("created").first()
        if waiting is None:
            return None
        ours = str(uuid4())
        won = WorkItem.objects.filter(pk=waiting.pk, state=WorkItem.QUEUED).update(
            state=WorkItem.RUNNING, claim=ours, beat=timezone.now(), tries=waiting.tries + 1, share=0.0
        )
        if won:
            return WorkItem.objects.get(pk=waiting.pk)


def beat(item: WorkItem, share: float) -> str:
    """Say that the item is being worked on: 'go on', 'cancel', or 'lost' where another worker has it."""
    ours = WorkItem.objects.filter(pk=item.pk, claim=item.claim, state=WorkItem.RUNNING)
    if not ours.update(beat=timezone.now(), share=share):
        return "lost"
    return "cancel" if ours.filter(cancel=True).exists() else "go on"


def finish(item: WorkItem, state: str, sentence: str = "") -> bool:
    """End an item that is still ours; False where it is not."""
    return bool(
        WorkItem.objects.filter(pk=item.pk, claim=item.claim, state=WorkItem.RUNNING).update(
            state=state, finished=timezone.now(), sentence=sentence, share=1.0 if state == WorkItem.DONE else item.share
        )
    )
