"""What the readings say, as lines of text for terminal and page."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from airtrim.report.units import figure_text, value_text
from airtrim.report.words import label, say


def sentence(one: Mapping[str, Any], system: str = "inch_pound") -> str:
    """A message {id, values} in words: a value is text, a number, {value, unit} in SI, or {id} of another sentence."""
    said = say(str(one["id"]), {name: _shown(value, system) for name, value in one.get("values", {}).items()})
    return said.replace("w.c..", "w.c.")  # a unit that ends with a point ends the sentence as well


def _shown(value: Any, system: str) -> Any:
    if not isinstance(value, Mapping):
        return value
    return say(str(value["id"])) if "id" in value else value_text(float(value["value"]), str(value["unit"]), system)


def lines(answers: Mapping[str, Any], system: str = "inch_pound") -> Iterator[str]:
    """The whole document, a line at a time: airflow and the ways to it, then point by point figures and sentences."""
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
    yield from (f"  {sentence(one, system)}" for one in answers["messages"])
    for point in answers["points"]:
        yield say(
            "reading.page.point",
            {
                "number": point["number"],
                "operation": say(f"reading.operation.{point['operation']}"),
                "tap": point["tap"],
            },
        )
        yield from (f"  {sentence(one, system)}" for one in point["messages"])
        yield from (f"  {label(figure['id'], 'reading')}: {figure_text(figure, system)}" for figure in point["figures"])
