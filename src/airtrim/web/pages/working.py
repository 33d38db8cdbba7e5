"""Work in the table of work as a page shows it."""

from dataclasses import dataclass

from django.urls import reverse

from airtrim.web import queue, selectors
from airtrim.web.models import WorkItem
from airtrim.web.pages import common


@dataclass(frozen=True)
class Work:
    """Work that waits, runs or ended without a result, as a page shows it."""

    item: WorkItem
    percent: int
    live: bool
    url: str


def shown_work(item: WorkItem) -> Work:
    return Work(item, round(100.0 * item.share), item.state in queue.LIVE, reverse("work", args=[item.pk]))


def work_of(state: common.State, kind: str) -> Work | None:
    """The newest item of a kind, unless it ended well."""
    item = selectors.newest_work(state.job, kind)
    return None if item is None or item.state == WorkItem.DONE else shown_work(item)
