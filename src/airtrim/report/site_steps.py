"""Steps at the house in words, for terminal, page and paper."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from airtrim.report.sentences import sentence
from airtrim.report.stops import every_message, stop_lines
from airtrim.report.words import say


def site_step_rows(answers: Mapping[str, Any], system: str = "inch_pound") -> list[dict[str, Any]]:
    """Each set of steps of the readings' document: {name, because, steps}, the steps in their order."""
    return [
        {
            "name": say("site.head", {"name": say(f"site.name.{one['id']}")}),
            "because": sentence(one["because"], system),
            "steps": [sentence(step, system) for step in one["steps"]],
        }
        for one in answers.get("site_steps", [])
    ]


def first_of_all(answers: Mapping[str, Any], system: str = "inch_pound") -> Iterator[str]:
    """What is to be done before anything can be computed: stop signs with their cautions, then the steps at the house."""
    for sign in stop_lines(every_message(answers), system):
        yield sign["stop"]
        yield f"  {sign['caution']}"
    yield from site_step_lines(answers, system)


def site_step_lines(answers: Mapping[str, Any], system: str = "inch_pound") -> Iterator[str]:
    """The same a line each, the steps numbered."""
    for one in site_step_rows(answers, system):
        yield one["name"]
        yield f"  {one['because']}"
        yield from (f"  {number}. {step}" for number, step in enumerate(one["steps"], start=1))
