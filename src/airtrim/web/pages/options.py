"""Options side by side: the newest plan's, and the few that an owner is shown."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_GET

from airtrim.web.models import Outcome
from airtrim.web.pages import common
from airtrim.web.pages.drawn import hours_picture, map_picture, months_picture, options_picture
from airtrim.web.pages.ranked import ranked_by
from airtrim.web.pages.result_page import ResultPage, bare, compared_on_one_scale, judged, only, page_of, shown

#: What an owner asks about first; the rest of an option's figures is folded under it.
FIRST_SHOWN = ("damp_hours", "mean_relative_humidity", "blower_kwh", "compressor_kwh")


@require_GET
def options(request: HttpRequest, job_id: Any) -> HttpResponse:
    state = common.state_of(job_id)
    outcome = state.outcome
    if outcome is None:
        return shown(request, "options", bare(state, "options"))
    result, units = outcome.result, state.units
    ranked = ranked_by(state, result, request.GET.get("aim", "")[:40])
    status = 422 if ranked.problem else 200
    if request.htmx and not request.htmx.boosted:
        return shown(request, "ranked", page_of(state, "options", outcome, ranked=ranked), status)
    weighed = [one for one in result["options"] if one["status"] != "not_applicable"]
    chosen = str(result["recommendation"]["option"])
    pictures = (options_picture(state, outcome), months_picture(state, outcome), hours_picture(state, outcome))
    page = page_of(
        state,
        "options",
        outcome,
        ranked=ranked,
        compared=compared_on_one_scale(only(weighed, FIRST_SHOWN), "figures", units, chosen),
        more=compared_on_one_scale(only(weighed, FIRST_SHOWN, but=True), "figures", units, chosen),
        differences=compared_on_one_scale(weighed[1:], "differences", units, chosen),
        pictures=tuple(one for one in pictures if one is not None),
        limits=tuple(judged(one, units) for one in weighed),
    )
    return shown(request, "options", page, status)


def owner_page(state: common.State, outcome: Outcome) -> ResultPage:
    """What an owner is shown: the choice, why, what it changes, and the pictures."""
    result, units = outcome.result, state.units
    weighed = [one for one in result["options"] if one["status"] != "not_applicable"]
    chosen = str(result["recommendation"]["option"])
    pair = [one for one in weighed if one["id"] in ("leave_as_is", chosen)]
    few = only(pair, FIRST_SHOWN)
    over_the_year = (months_picture(state, outcome), hours_picture(state, outcome))
    pictures = (map_picture(state, outcome), *(one for one in over_the_year if one is not None))
    return page_of(
        state, "papers", outcome, compared=compared_on_one_scale(few, "figures", units, chosen), pictures=pictures
    )
