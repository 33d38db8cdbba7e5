"""Trim by slider, and the first look at readings: both asked of the resident process."""

import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from airtrim.report.paper import card_rows
from airtrim.report.readings import figure_name, sentence
from airtrim.report.site_steps import site_step_rows
from airtrim.report.units import display, number_text, shown_number, value_text
from airtrim.report.words import label, say
from airtrim.web.pages import common
from airtrim.web.strips import Strip, strip
from airtrim.web.trim.client import ask

#: What a slider can be set to, in SI, and where it begins.
RANGES = {
    "least_flow": (0.40, 1.00, 0.01, 0.75),
    "sensor_drop_k": (8.0, 18.0, 0.5, 12.0),
    "off_delay_s": (0.0, 180.0, 5.0, 30.0),
    "ramp_time_s": (0.0, 300.0, 15.0, 30.0),
}
UNITS = {"least_flow": "m3/s", "sensor_drop_k": "K", "off_delay_s": "s", "ramp_time_s": "s"}
SHOWN = ("damp_hours", "mean_relative_humidity", "blower_kwh", "hours_set_point_missed")
#: How long a moving slider waits for its answer, and a page for the process to get ready.
WAIT_S, READY_S, SHARP_S = 1.5, 0.3, 0.8


@dataclass(frozen=True)
class Slider:
    """A slider: its places in SI, what it shows, and the wall it cannot pass."""

    id: str
    name: str
    hint: str
    least: float
    most: float
    step: float
    value: float
    text: str
    wall: float | None
    wall_percent: float
    wall_sentence: str
    factor: float
    offset: float
    shown_step: float
    unit: str


@dataclass(frozen=True)
class Broken:
    """A limit that the trimmed values break or come near."""

    name: str
    word: str
    status: str
    figure: str


@dataclass(frozen=True)
class Trimmed:
    """The year under the trimmed values."""

    state: str
    strips: tuple[tuple[Strip, str], ...] = ()
    limits: tuple[Broken, ...] = ()
    safe: bool = True
    sentence: str = ""
    conditions: str = ""
    card: tuple[Mapping[str, Any], ...] = ()
    sharp: bool = False
    ms: float = 0.0


@dataclass(frozen=True)
class TrimPage:
    top: common.JobTop
    state: str
    sentence: str
    sliders: tuple[Slider, ...]
    hand: str


@require_GET
def trim(request: HttpRequest, job_id: Any) -> HttpResponse:
    """The sliders; while the process makes the job ready, a page that looks again."""
    state = common.state_of(job_id)
    frame = common.top(state, "settings")
    if state.draft.job is None or common.missing_first(state.draft):
        page = TrimPage(frame, "incomplete", say("web.trim.incomplete"), (), "")
    else:
        answer = ask({"kind": "ready", "hand": f"ready {job_id}", **_common(state)}, READY_S)
        page = _ready_page(request, frame, state, answer)
    return render(request, "web/trim.html", {"page": page, "top": frame})


def _ready_page(request: HttpRequest, frame: common.JobTop, state: common.State, answer: dict[str, Any]) -> TrimPage:
    if answer["state"] != "done":
        working = answer["state"] == "working"
        return TrimPage(frame, answer["state"], say("web.trim.getting_ready" if working else "web.trim.away"), (), "")
    if answer.get("refused") or answer.get("why_not"):
        return TrimPage(frame, "refused", answer.get("refused") or say(answer["why_not"]), (), "")
    return TrimPage(frame, "ready", "", _sliders(request, state, answer), secrets.token_urlsafe(6))


def _sliders(request: HttpRequest, state: common.State, ready: dict[str, Any]) -> tuple[Slider, ...]:
    sliders = []
    begins = _chosen(state, float(ready["airflow_m3_s"]))
    for name, (least, most, step, begin) in RANGES.items():
        unit = UNITS[name]
        how = display(unit, state.units)
        scale = float(ready["airflow_m3_s"]) if name == "least_flow" else 1.0
        wall = ready["wall"] if name == "least_flow" else None
        at = None if wall is None else float(wall["at"])
        value = min(max(_given(request, name, begins.get(name, begin)), least if at is None else at), most)
        sliders.append(
            Slider(
                name,
                say(f"web.trim.name.{name}"),
                say(f"web.trim.hint.{name}"),
                least,
                most,
                step,
                round(value, 4),
                value_text(value * scale, unit, state.units),
                at,
                0.0 if at is None else round(100.0 * (at - least) / (most - least), 1),
                "" if wall is None else str(wall["sentence"]),
                how.factor * scale,
                how.offset,
                how.step,
                how.unit,
            )
        )
    return tuple(sliders)


def _chosen(state: common.State, airflow_m3_s: float) -> dict[str, float]:
    """Where the plan's own drive stands, for the sliders to begin at; nothing where it has none."""
    if state.outcome is None:
        return {}
    result = state.outcome.result
    sheets = (result["settings"], result.get("settings_of_drive") or {})
    card: list[dict[str, Any]] = next(
        (one["card"] for one in sheets if one.get("option") == "drive_coil_feedback" and one.get("card")), []
    )
    named = {"least_airflow": "least_flow", "coil_sensor_drop": "sensor_drop_k"}
    named |= {"off_delay": "off_delay_s", "ramp_time": "ramp_time_s"}
    values = {named[row["id"]]: float(row["value"]) for row in card if row["id"] in named}
    if "least_flow" in values:
        values["least_flow"] /= airflow_m3_s
    return values


def _given(request: HttpRequest, name: str, otherwise: float) -> float:
    """A slider's value from the query, held within its range; what is no number counts as not given."""
    least, most, _, _ = RANGES[name]
    try:
        value = float(request.GET.get(name, ""))
    except ValueError:
        return otherwise
    return min(max(value, least), most) if value == value else otherwise


def _common(state: common.State) -> dict[str, Any]:
    return {"text": state.draft.text, "weather": str(settings.DATA / "weather"), "units": state.units}


@require_GET
def year(request: HttpRequest, job_id: Any) -> HttpResponse:
    """The year under the sliders' values: at screening step while they move, sharp (`sharp=1`) on release."""
    state = common.state_of(job_id)
    if state.draft.job is None:
        return HttpResponse(status=204)
    values = {name: round(_given(request, name, begin), 4) for name, (_, _, _, begin) in RANGES.items()}
    sharp = request.GET.get("sharp") == "1"
    asked = {
        "kind": "year",
        "hand": request.GET.get("hand", "")[:40],
        "values": values,
        "sharp": sharp,
        **_common(state),
    }
    answer = ask(asked, SHARP_S if sharp else WAIT_S)
    if answer["state"] == "out_of_date":
        return HttpResponse(status=204)
    query = request.GET.urlencode()
    return render(request, "web/year.html", {"year": _trimmed(state, answer, sharp), "query": query, "job": state.job})


def _trimmed(state: common.State, answer: dict[str, Any], sharp: bool) -> Trimmed:
    if answer["state"] != "done":
        return Trimmed(answer["state"], sharp=sharp)
    if answer.get("refused"):
        return Trimmed("refused", sentence=str(answer["refused"]), safe=False)
    units = state.units
    now = {str(one["id"]): one for one in answer["now"]}
    then = {str(one["id"]): one for one in answer["figures"]}
    changes = {str(one["id"]): one for one in answer["differences"]}
    strips = tuple(
        (strip(then[name], units, [now[name], then[name]]), _change(changes.get(name), units)) for name in SHOWN
    )
    told = [one for one in answer["limits"] if one["status"] in ("fail", "warn")]
    limits = tuple(
        Broken(
            label(str(one["id"]), "limit"),
            label(str(one["status"]), "status"),
            str(one["status"]),
            value_text(float(one["figure"]["mid"]), str(one["figure"]["unit"]), units)
            if one.get("figure") and one["figure"].get("mid") is not None
            else "",
        )
        for one in told
    )
    broken = [one for one in limits if one.status == "fail"]
    verdict = (
        say("web.trim.broken", {"limits": ", ".join(one.name for one in broken)}) if broken else say("web.trim.safe")
    )
    values = {"systems": answer["systems"], "step": round(answer["step_s"])}
    conditions = say("web.trim.sharp" if sharp else "web.trim.screen", values)
    sheet = answer.get("sheet") or {}
    card = tuple(card_rows(sheet, units)) if sheet.get("issued") else ()
    return Trimmed("done", strips, limits, bool(answer["safe"]), verdict, conditions, card, sharp, answer["ms"])


def _change(figure: Mapping[str, Any] | None, units: str) -> str:
    """A paired difference as words; nothing where there is none."""
    if figure is None or figure.get("mid") is None:
        return ""
    how = display(str(figure["unit"]), units)
    low, mid, high = (
        number_text(shown_number(float(figure[end]), str(figure["unit"]), units), how.step)
        for end in ("low", "mid", "high")
    )
    sign = "+" if float(figure["mid"]) > 0.0 else ""
    return say("web.trim.change", {"mid": f"{sign}{mid}", "unit": how.unit, "low": low, "high": high})


def _read(figure: Mapping[str, Any], units: str, name: str | None = None) -> Strip:
    return strip(figure, units, name=name or label(str(figure["id"]), "reading"))


@require_GET
def first_look(request: HttpRequest, job_id: Any) -> HttpResponse:
    """What the readings say so far: asked again until it is there."""
    state = common.state_of(job_id)
    context: dict[str, Any] = {
        "job": state.job,
        "strips": (),
        "messages": (),
        "site_steps": (),
        "state": "incomplete",
        "sentence": "",
    }
    job = state.draft.job
    if job is not None and (job.complaint.signs or not common.missing_first(state.draft)):
        asked = {"kind": "first", "hand": f"first {job_id}", **_common(state)}
        answer = ask(asked, READY_S)
        context["state"] = answer["state"]
        if answer["state"] == "done" and answer.get("refused"):
            context |= {"state": "refused", "sentence": answer["refused"]}
        elif answer["state"] == "done":
            context["messages"] = [sentence(one, state.units) for one in answer["messages"]]
            context["site_steps"] = site_step_rows(answer, state.units)
            context["strips"] = tuple(_read(one, state.units) for one in answer["airflow"]["figures"])
            context["points"] = [
                (
                    say("web.entry.point", {"number": point["number"]}),
                    [sentence(one, state.units) for one in point["messages"]],
                    tuple(_read(one, state.units, figure_name(one, point)) for one in point["figures"]),
                )
                for point in answer["points"]
            ]
    return render(request, "web/first.html", context)
