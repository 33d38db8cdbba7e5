"""What the readings say, as lines of text for terminal and page."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from airtrim.report.sentences import sentence
from airtrim.report.site_steps import site_step_lines
from airtrim.report.stops import every_message, is_stop, stop_lines
from airtrim.report.units import figure_text
from airtrim.report.words import label, say

__all__ = ["figure_name", "lines", "sentence"]


def lines(answers: Mapping[str, Any], system: str = "inch_pound") -> Iterator[str]:
    """The whole document, a line at a time: stop signs, airflow and the ways to it, steps at the house, then point by point
    figures and sentences."""
    for sign in stop_lines(every_message(answers), system):
        yield sign["stop"]
        yield f"  {sign['caution']}"
    airflow = answers["airflow"]
    if airflow["ways"]:
        yield say("reading.page.airflow", {"tap": airflow["tap"]})
    for figure in airflow["figures"]:
        yield f"  {label(figure['id'], 'reading')}: {figure_text(figure, system)}"
    for way in airflow["ways"]:
        name = say(f"reading.way.{way['id']}")
        if "figure" not in way:
            continue
        weight = (
            say("reading.page.weight", {"weight": f"{100.0 * way['weight']:.0f}"})
            if way["joined"]
            else say("reading.page.not_joined")
        )
        yield f"    {name}: {figure_text(way['figure'], system)}, {weight}"
    yield from (f"  {sentence(one, system)}" for one in answers["messages"] if not is_stop(one))
    yield from site_step_lines(answers, system)
    for point in answers["points"]:
        yield say(
            "reading.page.point",
            {
                "number": point["number"],
                "operation": say(f"reading.operation.{point['operation']}"),
                "tap": point["tap"],
            },
        )
        yield from (f"  {sentence(one, system)}" for one in point["messages"] if not is_stop(one))
        yield from (f"  {figure_name(figure, point)}: {figure_text(figure, system)}" for figure in point["figures"])


def figure_name(figure: Mapping[str, Any], point: Mapping[str, Any]) -> str:
    """The name of a reading's figure; a pressure drop's says whether the coil was wet or dry."""
    name = label(str(figure["id"]), "reading")
    if not str(figure["id"]).endswith("_drop"):
        return name
    return say("reading.drop_state", {"name": name, "state": say(f"reading.coil.{point['coil']}")})
