"""Settings of the newest plan, what its pictures are drawn from, and the work that makes it."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from airtrim.web import keeping, queue, selectors
from airtrim.web.models import WorkItem
from airtrim.web.pages import common
from airtrim.web.pages.result_page import bare, page_of, shown
from airtrim.web.pages.working import shown_work
from airtrim.web.strips import strip
from airtrim.web.tasks import WIDTHS


@require_GET
def settings(request: HttpRequest, job_id: Any) -> HttpResponse:
    state = common.state_of(job_id)
    outcome = state.outcome
    if outcome is None:
        return shown(request, "settings", bare(state, "settings"))
    sheet = outcome.result["settings"]
    expected = tuple(strip(one, state.units) for one in sheet["expected"])
    return shown(
        request, "settings", page_of(state, "settings", outcome, strips=expected, issued=bool(sheet["issued"]))
    )


@require_GET
def specification(request: HttpRequest, job_id: Any, name: str, width: str) -> HttpResponse:
    """What a picture is drawn from, for the browser to draw it to be explored."""
    state = common.state_of(job_id)
    found = None
    if state.outcome is not None:
        wanted = dict(zip(("narrow", "wide"), WIDTHS, strict=True))[width]
        found = state.outcome.pictures.filter(name=name, units=state.units, width=wanted).first()
    if found is None:
        raise Http404
    return JsonResponse(found.specification)


@require_POST
def compute(request: HttpRequest, job_id: Any) -> HttpResponse:
    """Queue the plan of the newest version; asked twice, it is computed once."""
    keeping.queue_plan(selectors.job(job_id), full=request.POST.get("full") == "1")
    return redirect("findings", job_id)


@require_GET
def work(request: HttpRequest, item_id: Any) -> HttpResponse:
    """How far some work is; the page is shown anew when it has ended."""
    item = WorkItem.objects.filter(pk=item_id).first()
    if item is None or item.state not in queue.LIVE:
        return HttpResponse(status=286, headers={"HX-Refresh": "true"})
    return render(request, "web/work.html", {"work": shown_work(item)})


@require_POST
def cancel(request: HttpRequest, item_id: Any) -> HttpResponse:
    item = WorkItem.objects.filter(pk=item_id).first()
    if item is None:
        return redirect("jobs")
    queue.ask_to_cancel(item)
    return redirect("findings", item.job_id)
