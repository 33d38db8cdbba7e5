"""Findings: what this system does, as strips with their workings and the airflow map; what to read next; every figure's working."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_GET

from airtrim.report.findings import explanation_lines
from airtrim.report.words import say
from airtrim.report.workings import group_of, parts_of
from airtrim.web.pages import common
from airtrim.web.pages.drawn import map_picture
from airtrim.web.pages.result_page import bare, page_of, shown
from airtrim.web.strips import Strip, strip


@dataclass(frozen=True)
class Working:
    """How a figure was come by: `id` is what `airtrim explain` asks for."""

    id: str
    name: str
    figure: str
    formula: str
    inputs: tuple[tuple[str, str, str], ...]
    given: str
    source: str


@dataclass(frozen=True)
class Found:
    """What the findings page shows besides the strips' frame: each figure with its working, and the readings to take next."""

    told: tuple[tuple[Strip, Working | None], ...]
    explained: tuple[str, ...]
    to_read: tuple[tuple[str, str], ...]
    why: str


@require_GET
def findings(request: HttpRequest, job_id: Any) -> HttpResponse:
    state = common.state_of(job_id)
    outcome = state.outcome
    if outcome is None:
        return shown(request, "findings", bare(state, "findings"))
    result = outcome.result
    pictures = (map_picture(state, outcome), map_picture(state, outcome, "detail"))
    return shown(
        request, "findings", page_of(state, "findings", outcome, found=_found(result, state.units), pictures=pictures)
    )


@require_GET
def workings(request: HttpRequest, job_id: Any) -> HttpResponse:
    """Every figure of the plan with its working, grouped as the work goes."""
    state = common.state_of(job_id)
    outcome = state.outcome
    if outcome is None:
        return shown(request, "findings", bare(state, "findings"))
    groups: dict[str, list[Working]] = {}
    for one in outcome.result.get("workings", []):
        groups.setdefault(group_of(one), []).append(_working(one, state.units))
    return shown(request, "workings", page_of(state, "findings", outcome, workings=tuple(groups.items())))


def _found(result: Mapping[str, Any], units: str) -> Found:
    by_id = {str(one["id"]): one for one in result.get("workings", [])}
    figures = result["findings"]["figures"]
    told = ((strip(one, units), by_id.get(f"finding.{one['id']}")) for one in figures)
    asked = result["findings"]["next_reading"]
    to_read = (
        (_sentence(say(f"next_reading.{one['id']}")), say("web.findings.minutes", {"minutes": f"{one['minutes']:.0f}"}))
        for one in asked["list"]
    )
    return Found(
        told=tuple((one, None if kept is None else _working(kept, units)) for one, kept in told),
        # the last line is the next reading, which has a place of its own
        explained=tuple(explanation_lines(result["findings"], units)[:-1]),
        to_read=tuple(to_read),
        why=say(str(asked["why"])),
    )


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}"


def _working(one: Mapping[str, Any], units: str) -> Working:
    parts = parts_of(one, units)
    return Working(id=str(one["id"]), **(parts | {"inputs": tuple(parts["inputs"])}))
