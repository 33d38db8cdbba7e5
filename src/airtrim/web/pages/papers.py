"""Papers: the PDF, the page for the owner, the job file, and the history of versions."""

from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from airtrim.core.errors import AirtrimError
from airtrim.report.words import known, say
from airtrim.web import draft as drafts
from airtrim.web import keeping, selectors, services
from airtrim.web.models import JobVersion, Paper
from airtrim.web.pages import common
from airtrim.web.pages.jobs import text_of
from airtrim.web.pages.options import owner_page
from airtrim.web.pages.working import Work, work_of

VERSIONS_SHOWN = 50


@dataclass(frozen=True)
class Line:
    """A version as the history shows it."""

    number: int
    version: JobVersion
    what: str
    newest: bool


@dataclass(frozen=True)
class PapersPage:
    top: common.JobTop
    state: common.State
    work: Work | None
    paper: Paper | None
    lines: tuple[Line, ...]
    older: int
    file_problem: str = ""


@dataclass(frozen=True)
class ComparePage:
    top: common.JobTop
    before: JobVersion
    after: JobVersion
    differences: tuple[tuple[str, str, str], ...]
    lines: tuple[tuple[str, str], ...]


@require_GET
def papers(request: HttpRequest, job_id: Any) -> HttpResponse:
    return _page(request, job_id)


def _page(request: HttpRequest, job_id: Any, problem: str = "", status: int = 200) -> HttpResponse:
    state = common.state_of(job_id)
    paper = None if state.outcome is None else selectors.paper(state.outcome)
    found = list(state.job.versions.order_by("-number").defer("text")[:VERSIONS_SHOWN])
    lines = tuple(Line(one.number, one, _what(one), one.number == state.number) for one in found)
    page = PapersPage(
        common.top(state, "papers", _following(state, paper)),
        state,
        work_of(state, "paper"),
        paper,
        lines,
        max(state.number - len(lines), 0),
        problem,
    )
    return render(request, "web/papers.html", {"page": page, "top": page.top}, status=status)


def _following(state: common.State, paper: Paper | None) -> common.Next | None:
    if state.outcome is None or not state.current:
        return common.next_towards_answer(state)
    if paper is None:
        url = reverse("make_paper", args=[state.job.pk])
        return common.Next(
            say("web.next.paper"), say("web.next.paper_why"), url, say("web.next.paper_button"), post=True
        )
    url = reverse("owner", args=[state.job.pk])
    return common.Next(say("web.next.owner"), say("web.next.owner_why"), url, say("web.next.owner_button"))


def _what(version: JobVersion) -> str:
    """What a version changed, in words."""
    if known(f"web.version.{version.what}"):
        return say(f"web.version.{version.what}", {"number": version.restores or 0})
    done, _, row = version.what.partition(" ")
    if done in (services.ADDED, services.REMOVED):
        return say(f"web.version.{done}", {"row": common.label(row)})
    return ", ".join(common.label(place) for place in version.what.split(", "))


@require_POST
def make_paper(request: HttpRequest, job_id: Any) -> HttpResponse:
    state = common.state_of(job_id)
    if state.outcome is not None:
        shop = selectors.shop()
        keeping.queue_paper(state.outcome, shop.units, shop.paper)
    return redirect("papers", job_id)


@require_GET
def pdf(request: HttpRequest, job_id: Any) -> HttpResponse:
    """The PDF of the newest plan."""
    state = common.state_of(job_id)
    paper = None if state.outcome is None else selectors.paper(state.outcome)
    if paper is None:
        return redirect("papers", job_id)
    return _download(bytes(paper.pdf), "application/pdf", f"{state.job.name}.pdf")


@require_GET
def job_file(request: HttpRequest, job_id: Any, number: int | None = None) -> HttpResponse:
    """The document, to the letter."""
    job = selectors.job(job_id)
    version = selectors.newest(job) if number is None else selectors.version(job, number)
    return _download(version.text.encode(), "application/toml; charset=utf-8", f"{job.name}.toml")


def _download(content: bytes, kind: str, name: str) -> HttpResponse:
    safe = "".join(letter if letter.isascii() and (letter.isalnum() or letter in " .,-_") else "_" for letter in name)
    response = HttpResponse(content, content_type=kind)
    response["Content-Disposition"] = f"attachment; filename=\"{safe}\"; filename*=UTF-8''{quote(name, safe='')}"
    return response


@require_POST
def replace(request: HttpRequest, job_id: Any) -> HttpResponse:
    """A whole job file as the next version."""
    selectors.job(job_id)
    try:
        services.replace_document(job_id, text_of(request), request.author)
    except AirtrimError as error:
        return _page(request, job_id, str(error), 422)
    return redirect("survey", job_id)


@require_POST
def undo(request: HttpRequest, job_id: Any) -> HttpResponse:
    selectors.job(job_id)
    services.undo(job_id, request.author)
    back = request.POST.get("page", "")
    return redirect(back if back in common.STEPS else "papers", job_id)


@require_POST
def restore(request: HttpRequest, job_id: Any, number: int) -> HttpResponse:
    selectors.version(selectors.job(job_id), number)
    services.restore(job_id, number, request.author)
    return redirect("papers", job_id)


@require_GET
def compare(request: HttpRequest, job_id: Any) -> HttpResponse:
    """Two versions side by side: by value, and line by line."""
    state = common.state_of(job_id)
    numbers = [request.GET.get(name, "") for name in ("before", "after")]
    before, after = (
        selectors.version(state.job, int(text) if text.isdecimal() and len(text) < 9 else state.number)
        for text in numbers
    )
    found = selectors.differences(drafts.read(before.text).table, drafts.read(after.text).table)
    page = ComparePage(
        common.top(state, "papers"),
        before,
        after,
        tuple((common.label(one.place), one.before, one.after) for one in found),
        tuple(selectors.text_lines(before.text, after.text)),
    )
    return render(request, "web/compare.html", {"page": page, "top": page.top})


@require_GET
def owner(request: HttpRequest, job_id: Any) -> HttpResponse:
    """One page to show or print at the kitchen table, under the shop's letterhead."""
    state = common.state_of(job_id)
    if state.outcome is None:
        return redirect("findings", job_id)
    page = owner_page(state, state.outcome)
    return render(request, "web/owner.html", {"page": page, "top": page.top, "shop": selectors.shop()})
