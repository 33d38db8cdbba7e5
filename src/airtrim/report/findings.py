"""What may be wrong and what to read next, in words for terminal, page and paper."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from airtrim.report.readings import sentence
from airtrim.report.words import say

#: Explanations below this chance are not named.
NAMED = 0.05


def explanation_lines(found: Mapping[str, Any], system: str = "inch_pound") -> list[str]:
    """The answer, what else is possible, reasons of the first, notes, and the next reading; empty where nothing was explained."""
    explained = found.get("explanations")
    if not explained:
        return []
    listed = explained["list"]
    others = [one for one in listed if one["id"] != explained["answer"] and one["probability"] >= NAMED][:3]
    lines = []
    if explained["answer"] == "cannot_tell":
        lines.append(say("explanation.not_told", {"names": _names(others)}))
    else:
        first = next(one for one in listed if one["id"] == explained["answer"])
        name = say(f"explanation.{first['id']}")
        lines.append(say("explanation.answer", {"name": name, "percent": _percent(first)}))
        lines += [sentence(one, system) for one in first["for"][:2]]
        if others:
            lines.append(say("explanation.also", {"names": _names(others)}))
    lines += [sentence(one, system) for one in explained["notes"]]
    return [*lines, next_line(found)]


def explanation_rows(found: Mapping[str, Any], system: str = "inch_pound") -> list[dict[str, Any]]:
    """Every explanation worth naming: {name, with its chance; lines, what speaks for and against}."""
    explained = found.get("explanations") or {"list": []}
    return [
        {"name": _names([one]), "lines": evidence_lines(one, system)}
        for one in explained["list"]
        if one["probability"] >= NAMED
    ]


def evidence_lines(one: Mapping[str, Any], system: str = "inch_pound") -> list[str]:
    """What speaks for and against one explanation of the list, a line each."""
    return [
        f"{say(f'explanation.side.{side}')}: {sentence(reason, system)}"
        for side in ("for", "against")
        for reason in one[side]
    ]


def next_line(found: Mapping[str, Any]) -> str:
    """The reading that tells most for its minutes, and how to take it."""
    asked = found["next_reading"]
    if not asked["list"]:
        return say(str(asked["why"]))
    first = asked["list"][0]
    return say("next_reading.head", {"what": say(f"next_reading.{first['id']}"), "minutes": f"{first['minutes']:.0f}"})


def _names(listed: list[Mapping[str, Any]]) -> str:
    return "; ".join(
        say("explanation.named", {"name": say(f"explanation.{one['id']}"), "percent": _percent(one)}) for one in listed
    )


def _percent(one: Mapping[str, Any]) -> str:
    return f"{100.0 * one['probability']:.0f}"
