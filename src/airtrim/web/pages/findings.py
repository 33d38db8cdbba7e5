"""Findings: what this system does, as strips and the airflow map."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_GET

from airtrim.web.pages import common
from airtrim.web.pages.drawn import map_picture
from airtrim.web.pages.result_page import bare, page_of, shown
from airtrim.web.strips import strip


@require_GET
def findings(request: HttpRequest, job_id: Any) -> HttpResponse:
    state = common.state_of(job_id)
    outcome = state.outcome
    if outcome is None:
        return shown(request, "findings", bare(state, "findings"))
    result = outcome.result
    page = page_of(
        state,
        "findings",
        outcome,
        strips=tuple(strip(one, state.units) for one in result["findings"]["figures"]),
        pictures=(map_picture(state, outcome), map_picture(state, outcome, "detail")),
    )
    return shown(request, "findings", page)
