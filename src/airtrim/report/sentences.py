"""Messages in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from airtrim.report.units import value_text
from airtrim.report.words import say


def sentence(one: Mapping[str, Any], system: str = "inch_pound") -> str:
    """A message {id, values} in words: a value is text, a number, {value, unit} in SI, or {id} of another sentence."""
    said = say(str(one["id"]), {name: _shown(value, system) for name, value in one.get("values", {}).items()})
    return said.replace("w.c..", "w.c.")  # a unit that ends with a point ends the sentence as well


def _shown(value: Any, system: str) -> Any:
    if not isinstance(value, Mapping):
        return value
    return say(str(value["id"])) if "id" in value else value_text(float(value["value"]), str(value["unit"]), system)
