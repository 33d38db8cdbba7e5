"""Findings, options and settings: the newest plan as strips, pictures and sentences."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_GET, require_POST

from airtrim.report.map import answer, conditions_text, difference_sentence, map_table, suction_sentence
from airtrim.report.months import monthly_humidity
from airtrim.report.paper import paper_data
from airtrim.report.units import display, figure_text, number_text
from airtrim.report.words import label, say
from airtrim.web import keeping, queue, selectors
from airtrim.web.models import Outcome, WorkItem
from airtrim.web.pages import common
from airtrim.web.strips import Strip, strip
from airtrim.web.tasks import WIDTHS

Rows = tuple[tuple[str, str, str, str], ...]
#: What an owner asks about first; the rest of an option's figures is folded under it.
FIRST_SHOWN = ("damp_hours", "mean_relative_humidity", "blower_kwh", "compressor_kwh")


@dataclass(frozen=True)
class Work:
    """Work that waits, runs or ended without a result, as a page shows it."""

    item: WorkItem
    percent: int
    live: bool
    url: str


@dataclass(frozen=True)
class Table:
    """The figures behind a picture."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Drawn:
    """A picture with what it says, in words and as a table; `svgs` by width name, empty while it is not drawn yet."""

    id: str
    title: str
    note: str
    words: str
    sentence: str
    svgs: tuple[tuple[str, str], ...]
    table: Table
    work: Work | None


@dataclass(frozen=True)
class Compared:
    """A figure of every option on one scale."""

    name: str
    unit: str
    strips: tuple[tuple[str, Strip, bool], ...]


@dataclass(frozen=True)
class ResultPage:
    """A page of results; `data` is what the paper says in words, None before the first plan."""

    top: common.JobTop
    state: common.State
    work: Work | None
    stale: bool
    data: Mapping[str, Any] | None = None
    strips: tuple[Strip, ...] = ()
    pictures: tuple[Drawn, ...] = ()
    compared: tuple[Compared, ...] = ()
    more: tuple[Compared, ...] = ()
    differences: tuple[Compared, ...] = ()
    limits: tuple[tuple[str, Rows, Rows], ...] = ()
    issued: bool = False


@require_GET
def findings(request: HttpRequest, job_id: Any) -> HttpResponse:
    state = common.state_of(job_id)
    outcome = state.outcome
    if outcome is None:
        return _shown(request, "findings", _bare(state, "findings"))
    result = outcome.result
    page = _page(
        state,
        "findings",
        outcome,
        strips=tuple(strip(one, state.units) for one in result["findings"]["figures"]),
        pictures=(_map(state, outcome), _map(state, outcome, "detail")),
    )
    return _shown(request, "findings", page)


@require_GET
def options(request: HttpRequest, job_id: Any) -> HttpResponse:
    state = common.state_of(job_id)
    outcome = state.outcome
    if outcome is None:
        return _shown(request, "options", _bare(state, "options"))
    result, units = outcome.result, state.units
    weighed = [one for one in result["options"] if one["status"] != "not_applicable"]
    chosen = str(result["recommendation"]["option"])
    months = _months(state, outcome)
    page = _page(
        state,
        "options",
        outcome,
        compared=_compared(_only(weighed, FIRST_SHOWN), "figures", units, chosen),
        more=_compared(_only(weighed, FIRST_SHOWN, but=True), "figures", units, chosen),
        differences=_compared(weighed[1:], "differences", units, chosen),
        pictures=() if months is None else (months,),
        limits=tuple(_judged(one, units) for one in weighed),
    )
    return _shown(request, "options", page)


@require_GET
def settings(request: HttpRequest, job_id: Any) -> HttpResponse:
    state = common.state_of(job_id)
    outcome = state.outcome
    if outcome is None:
        return _shown(request, "settings", _bare(state, "settings"))
    sheet = outcome.result["settings"]
    expected = tuple(strip(one, state.units) for one in sheet["expected"])
    return _shown(request, "settings", _page(state, "settings", outcome, strips=expected, issued=bool(sheet["issued"])))


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
    return render(request, "web/work.html", {"work": _work(item)})


@require_POST
def cancel(request: HttpRequest, item_id: Any) -> HttpResponse:
    item = WorkItem.objects.filter(pk=item_id).first()
    if item is None:
        return redirect("jobs")
    queue.ask_to_cancel(item)
    return redirect("findings", item.job_id)


def _shown(request: HttpRequest, name: str, page: ResultPage) -> HttpResponse:
    return render(request, f"web/{name}.html", {"page": page, "top": page.top})


def _work(item: WorkItem) -> Work:
    return Work(item, round(100.0 * item.share), item.state in queue.LIVE, reverse("work", args=[item.pk]))


def work_of(state: common.State, kind: str) -> Work | None:
    """The newest item of a kind, unless it ended well."""
    item = selectors.newest_work(state.job, kind)
    return None if item is None or item.state == WorkItem.DONE else _work(item)


def _bare(state: common.State, page: str) -> ResultPage:
    work = work_of(state, "plan")
    following = None
    if work is not None and work.live:
        following = common.Next(say("web.next.wait"), say("web.next.wait_why"))
    return ResultPage(common.top(state, page, following), state, work, False)


def _page(state: common.State, page: str, outcome: Outcome, **parts: Any) -> ResultPage:
    work = None if state.current else work_of(state, "plan")
    following = None
    if work is not None and work.live:
        following = common.Next(say("web.next.wait"), say("web.next.wait_why"))
    data = paper_data(outcome.result, None, state.units, selectors.shop().paper)
    if page == "settings" and following is None and state.current:
        following = _before_the_drive(state, outcome.result["settings"], data)
    return ResultPage(common.top(state, page, following), state, work, not state.current, data, **parts)


def _before_the_drive(state: common.State, sheet: Mapping[str, Any], data: Mapping[str, Any]) -> common.Next | None:
    """What a drive's list asks for next, as long as it is not met."""
    items = (sheet.get("drive") or {}).get("items", [])
    if all(one["status"] == "met" for one in items):
        return None
    name, _, why = data["drive_list"]["rows"][0]
    url = f"{reverse('survey', args=[state.job.pk])}?at=drive#s-drive"
    return common.Next(say("web.next.drive", {"name": name}), why, url, say("web.next.go"))


def _svgs(state: common.State, outcome: Outcome, name: str) -> tuple[tuple[tuple[str, str], ...], Work | None]:
    """The drawn widths of a picture; where none is drawn in these units the worker is asked for it."""
    drawn = {one.width: one.svg for one in outcome.pictures.filter(name=name, units=state.units)}
    if not drawn:
        return (), _work(keeping.queue_pictures(outcome, state.units))
    names = dict(zip(WIDTHS, ("narrow", "wide"), strict=True))
    # drawn by our own worker from numbers and catalogue words only
    return tuple((names[width], mark_safe(svg)) for width, svg in sorted(drawn.items()) if width in names), None


def _map(state: common.State, outcome: Outcome, name: str = "map") -> Drawn:
    """The airflow map, or (`detail`) what else goes with the airflow; one table stands behind both."""
    result, units = outcome.result, state.units
    picture = result["map"]
    svgs, work = _svgs(state, outcome, name)
    head, *rows = map_table(result, units)
    table = Table(say("web.table.map"), tuple(head), tuple(tuple(row) for row in rows))
    note = f"{conditions_text(picture, units).rstrip('.')}. {say('map.subtitle')}"
    if name == "detail":
        return Drawn(name, say("map.detail"), note, say("map.detail"), "", svgs, table, work)
    words, sentence = suction_sentence(result, units), difference_sentence(result, units)
    return Drawn(name, answer(picture, units), note, words, sentence, svgs, table, work)


def _months(state: common.State, outcome: Outcome) -> Drawn | None:
    result = outcome.result
    chosen = str(result["recommendation"]["option"])
    now = monthly_humidity(result, "leave_as_is")
    then = monthly_humidity(result, chosen) if chosen != "leave_as_is" else None
    if now is None or then is None:
        return None
    svgs, work = _svgs(state, outcome, "months")
    names = say("web.table.months").split()
    rows = tuple(
        (name, number_text(before, 1.0), number_text(after, 1.0))
        for name, before, after in zip(names, now, then, strict=True)
    )
    head = (say("web.table.month"), label("leave_as_is", "option"), label(chosen, "option"))
    words = say("map.months", {"mid": round(max(now)), "proposed": round(max(then))})
    return Drawn("months", words, say("map.months_subtitle"), words, "", svgs, Table(words, head, rows), work)


def _compared(options: list[Mapping[str, Any]], key: str, system: str, chosen: str) -> tuple[Compared, ...]:
    order = list(dict.fromkeys(str(one["id"]) for option in options for one in option[key]))
    compared = []
    for identity in order:
        found = [
            (option, next(one for one in option[key] if one["id"] == identity))
            for option in options
            if any(one["id"] == identity for one in option[key])
        ]
        among = [one for _, one in found]
        unit = display(str(next((one["unit"] for one in among if "unit" in one), "")), system).unit
        compared.append(
            Compared(
                label(identity),
                unit,
                tuple(
                    (
                        label(str(option["id"]), "option"),
                        strip(one, system, among, zero=key == "differences"),
                        option["id"] == chosen,
                    )
                    for option, one in found
                ),
            )
        )
    return tuple(compared)


def _only(options: list[Mapping[str, Any]], shown: tuple[str, ...], but: bool = False) -> list[Mapping[str, Any]]:
    """The options with these figures alone, in this order; with `but` all others."""
    if but:
        return [dict(one) | {"figures": [f for f in one["figures"] if f["id"] not in shown]} for one in options]
    return [
        dict(one)
        | {"figures": sorted((f for f in one["figures"] if f["id"] in shown), key=lambda f: shown.index(f["id"]))}
        for one in options
    ]


def _judged(option: Mapping[str, Any], system: str) -> tuple[str, Rows, Rows]:
    """An option's name, its limits that want a look, and those that are kept."""
    rows = _limits(option, system)
    kept = tuple(row for row in rows if row[2] == "pass")
    return label(str(option["id"]), "option"), tuple(row for row in rows if row[2] != "pass"), kept


def _limits(option: Mapping[str, Any], system: str) -> Rows:
    """Rows of an option's limits: name, status word, status id, figure."""
    return tuple(
        (
            label(str(one["id"]), "limit"),
            label(str(one["status"]), "status"),
            str(one["status"]),
            figure_text(one["figure"], system) if one.get("figure") else "",
        )
        for one in option["limits"]
    )


def owner_page(state: common.State, outcome: Outcome) -> ResultPage:
    """What an owner is shown: the choice, why, what it changes, and the two pictures."""
    result, units = outcome.result, state.units
    weighed = [one for one in result["options"] if one["status"] != "not_applicable"]
    chosen = str(result["recommendation"]["option"])
    pair = [one for one in weighed if one["id"] in ("leave_as_is", chosen)]
    few = _only(pair, FIRST_SHOWN)
    months = _months(state, outcome)
    pictures = (_map(state, outcome), *(() if months is None else (months,)))
    return _page(state, "papers", outcome, compared=_compared(few, "figures", units, chosen), pictures=pictures)
