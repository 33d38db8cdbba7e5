"""Stop signs: what must be seen to before anything else, each with its caution; above everything on terminal and paper."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from airtrim.report.sentences import sentence
from airtrim.report.words import say

#: The caution that stands with each stop sign.
CAUTION = {
    "superheat": "refrigerant",
    "coil_freezing": "frost",
    "frost": "frost",
    "starved": "refrigerant",
    "amps_above_plate": "line_voltage",
    "carbon_monoxide": "carbon_monoxide",
    "backdraft": "backdraft",
    "bare_conductor": "line_voltage",
}
_PREFIX = "reading.stop."


def is_stop(one: Mapping[str, Any]) -> bool:
    """Whether a message is a stop sign."""
    return str(one["id"]).startswith(_PREFIX)


def stop_lines(messages: Iterable[Mapping[str, Any]], system: str = "inch_pound") -> list[dict[str, str]]:
    """[{stop, caution}] of the stop signs among messages, each said once, in their order."""
    found: dict[str, str] = {}
    for one in messages:
        if is_stop(one):
            found.setdefault(sentence(one, system), say(f"caution.{CAUTION[str(one['id']).removeprefix(_PREFIX)]}"))
    return [{"stop": stop, "caution": caution} for stop, caution in found.items()]


def every_message(answers: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """All messages of the readings' document, the job's first."""
    return [*answers["messages"], *(one for point in answers["points"] for one in point["messages"])]
