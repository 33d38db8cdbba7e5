"""The paper (PDF) of a job, set by Typst from the result alone; data goes in as JSON, never into the template's text."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from airtrim.core.errors import AirtrimError, InputError
from airtrim.report.map import suction_sentence
from airtrim.report.units import display, figure_text, number_text, value_text
from airtrim.report.words import catalogue, known, label, say

_TEMPLATE = Path(__file__).with_name("paper.typ")
PAPERS = {"letter": "us-letter", "a4": "a4"}


def message_text(message: Mapping[str, Any]) -> str:
    """The sentence of a message {id, values}."""
    return say(str(message["id"]), message.get("values"))


def caution_text(identity: str) -> str:
    """The sentence of a caution id, with or without the leading `caution.`."""
    return say(identity if known(identity) else f"caution.{identity}")


def _strip(figure: Mapping[str, Any]) -> dict[str, float] | None:
    """Places of low, mid and high on a strip that reaches half the range's width beyond either end."""
    if any(figure.get(end) is None for end in ("low", "mid", "high")):
        return None
    low, mid, high = (float(figure[end]) for end in ("low", "mid", "high"))
    width = max(high - low, 1e-9 * max(abs(mid), 1.0))
    start = low - 0.5 * width
    return {
        name: min(max((at - start) / (2.0 * width), 0.0), 1.0)
        for name, at in (("low", low), ("mid", mid), ("high", high))
    }


def safe_word(option: Mapping[str, Any]) -> str:
    """Whether an option keeps the safe limits, or does not apply at all."""
    if any(limit.get("status") == "not_applicable" for limit in option.get("limits", [])):
        return say("paper.not_applicable")
    return say("paper.yes") if option.get("safe") else say("paper.no")


def _option_rows(result: Mapping[str, Any], system: str) -> tuple[list[str], list[list[str]]]:
    """Options side by side: one column an option, one row a figure."""
    options = result.get("options", [])
    head = ["", *(label(str(option["id"]), "option") for option in options)]
    order: list[str] = list(dict.fromkeys(str(f["id"]) for option in options for f in option["figures"]))
    body = []
    for identity in order:
        row = [label(identity)]
        for option in options:
            found = [f for f in option["figures"] if f["id"] == identity]
            row.append(figure_text(found[0], system) if found else "")
        body.append(row)
    body.append([say("paper.within_limits"), *(safe_word(option) for option in options)])
    return head, body


def _assumed(one: Mapping[str, Any], system: str) -> list[str]:
    """Name and value of an assumed figure."""
    unit, value, ends = str(one.get("unit", "")), one.get("value"), one.get("range") or [None, None]
    if isinstance(value, int | float) and not isinstance(value, bool):
        text = figure_text({"mid": value, "low": ends[0], "high": ends[1], "unit": unit}, system)
    else:
        text = "" if value is None else str(value)
    return [str(one.get("text") or label(str(one["id"]))), text]


def paper_data(
    result: Mapping[str, Any], map_svg: str | None, system: str = "inch_pound", paper: str = "letter"
) -> dict[str, Any]:
    """Everything the template prints, as plain text and numbers."""
    if paper not in PAPERS:
        raise InputError(f"Paper '{paper}' is not known; use 'letter' or 'a4'.")
    settings, found = result.get("settings") or {}, result["findings"]
    recommendation = result.get("recommendation") or {}
    chosen = recommendation.get("option")
    head, body = _option_rows(result, system)
    card = [
        [label(str(row["id"]), "setting"), _card_text(row, system), _why(row.get("why"))]
        for row in settings.get("card", [])
    ]
    state = _why(settings.get("why"))
    if not settings.get("issued"):
        state = f"{say('paper.not_issued')} {state}".strip()
        card = []
    elif settings.get("shown") == "not_yet_shown":
        state = say("paper.not_yet_shown")
    cautions = list(dict.fromkeys([*result.get("cautions", []), *settings.get("cautions", [])]))
    words = {key.removeprefix("paper."): text for key, text in catalogue().items() if key.startswith("paper.")}
    return {
        "paper": PAPERS[paper],
        "title": say("paper.title"),
        "subtitle": ", ".join(str(part) for part in (result["job"].get("name"), result["job"].get("place")) if part),
        "recommendation": say("paper.recommended", {"option": label(str(chosen), "option")})
        if chosen
        else say("paper.none_recommended"),
        "why": message_text(recommendation["why"]) if recommendation.get("why") else "",
        "words": words,
        "head_found": ["Figure", "Range", "Value"],
        "findings": [
            {"name": label(str(f["id"])), "strip": _strip(f), "text": figure_text(f, system)}
            for f in found.get("figures", [])
        ],
        "messages": [message_text(one) for one in found.get("messages", [])],
        "range_note": say("paper.range_note"),
        "map": map_svg,
        "map_alt": suction_sentence(result, system) if map_svg is not None else "",
        "options_head": head,
        "options": body,
        "differences": [
            f"{label(str(option['id']), 'option')} against leaving it: {label(str(f['id']))} {figure_text(f, system)}"
            for option in result.get("options", [])
            for f in option.get("differences", [])
        ],
        "settings_state": state,
        "card_head": ["Set", "To", "Because"],
        "card": card,
        "cautions": [caution_text(str(one)) for one in cautions],
        "assumed_head": ["Assumed", "Value"],
        "assumed": [_assumed(one, system) for one in found.get("assumed", [])],
    }


def _why(identity: object) -> str:
    """The sentence of a reason's id; a reason that is no id stands as it is."""
    text = str(identity or "")
    return say(text) if known(text) else text


def _card_text(row: Mapping[str, Any], system: str) -> str:
    value, unit = row.get("value"), str(row.get("unit") or "")
    if isinstance(value, int | float) and not isinstance(value, bool):
        low, high = row.get("low"), row.get("high")
        text = value_text(float(value), unit, system)
        if low is None or high is None or low == high:
            return text
        how = display(unit, system)
        ends = [number_text(float(end) * how.factor + how.offset, how.step) for end in (low, high)]
        return f"{text} ({ends[0]} to {ends[1]})"
    return f"{value} {unit}".strip()


def paper_pdf(
    result: Mapping[str, Any], map_svg: str | None, system: str = "inch_pound", paper: str = "letter"
) -> bytes:
    """The PDF, tagged (PDF/UA-1), the same bytes of text for the same result."""
    import typst

    data = paper_data(result, map_svg, system, paper)
    folders = [str(folder) for folder in (Path("/usr/share/fonts/truetype/dejavu"),) if folder.is_dir()]
    try:
        made = typst.compile(
            str(_TEMPLATE),
            format="pdf",
            sys_inputs={"paper": json.dumps(data)},
            pdf_standards=["ua-1"],
            font_paths=folders,
            ignore_system_fonts=True,
        )
    except RuntimeError as error:
        raise AirtrimError(f"The paper could not be set: {error}; give a complete result or report this.") from error
    return bytes(made)
