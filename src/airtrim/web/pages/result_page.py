"""What findings, options and settings have in common: the frame of a page of results, and figures of options on one scale."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from airtrim.report.paper import paper_data
from airtrim.report.units import display, figure_text
from airtrim.report.words import label, say
from airtrim.web import selectors
from airtrim.web.models import Outcome
from airtrim.web.pages import common
from airtrim.web.pages.drawn import Drawn
from airtrim.web.pages.ranked import Ranked
from airtrim.web.pages.working import Work, work_of
from airtrim.web.strips import Strip, strip

Rows = tuple[tuple[str, str, str, str], ...]


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
    ranked: Ranked | None = None
    found: Any = None
    workings: tuple[Any, ...] = ()


def shown(request: HttpRequest, name: str, page: ResultPage, status: int = 200) -> HttpResponse:
    return render(request, f"web/{name}.html", {"page": page, "top": page.top}, status=status)


def bare(state: common.State, page: str) -> ResultPage:
    work = work_of(state, "plan")
    following = None
    if work is not None and work.live:
        following = common.Next(say("web.next.wait"), say("web.next.wait_why"))
    return ResultPage(common.top(state, page, following), state, work, False)


def page_of(state: common.State, page: str, outcome: Outcome, **parts: Any) -> ResultPage:
    work = None if state.current else work_of(state, "plan")
    following = None
    if work is not None and work.live:
        following = common.Next(say("web.next.wait"), say("web.next.wait_why"))
    data = paper_data(outcome.result, None, state.units, selectors.shop().paper)
    if data["stops"]:
        following = common.Next(say("web.next.stop"), say("web.next.stop_why"))
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


def compared_on_one_scale(options: list[Mapping[str, Any]], key: str, system: str, chosen: str) -> tuple[Compared, ...]:
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


def only(options: list[Mapping[str, Any]], shown: tuple[str, ...], but: bool = False) -> list[Mapping[str, Any]]:
    """The options with these figures alone, in this order; with `but` all others."""
    if but:
        return [dict(one) | {"figures": [f for f in one["figures"] if f["id"] not in shown]} for one in options]
    return [
        dict(one)
        | {"figures": sorted((f for f in one["figures"] if f["id"] in shown), key=lambda f: shown.index(f["id"]))}
        for one in options
    ]


def judged(option: Mapping[str, Any], system: str) -> tuple[str, Rows, Rows]:
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
