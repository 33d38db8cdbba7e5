"""What a form asks at a place of the document: derived from the job layer's own schema, so that nothing is said twice."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from airtrim.job import json_schema
from airtrim.report.words import catalogue, known

#: Units offered for a value, keyed by the unit of the schema's example. "F-difference" is a difference of temperatures.
OFFERED: dict[str, tuple[str, ...]] = {
    "ft2": ("ft2", "m2"),
    "ft": ("ft", "m"),
    "tons": ("tons", "kW", "kBtu/h"),
    "kW": ("kW", "W", "kBtu/h"),
    "cfm": ("cfm", "L/s"),
    "inH2O": ("inH2O", "Pa"),
    "psi": ("psi", "kPa", "bar"),
    "F": ("F", "C"),
    "F-difference": ("F", "K"),
    "%": ("%",),
    "s": ("s", "min"),
    "min": ("min", "s"),
    "W": ("W", "kW"),
    "gal": ("gal", "L"),
    "in": ("in", "cm"),
    "ft/min": ("ft/min", "m/s"),
    "kg/day": ("lb/day", "kg/day"),
    "A": ("A",),
    "V": ("V",),
    "uF": ("uF",),
    "cfm/ton": ("cfm/ton", "L/s/kW"),
    "Hz": ("Hz",),
}
#: The job layer's examples of degrees that are differences, not temperatures.
DIFFERENCES, TEMPERATURES = ("45 F", "3 F"), ("75 F", "150 F", "52 F")
SI_FIRST = ("cm", "m/s", "L", "m2", "m", "L/s", "Pa", "kPa", "C", "K", "kg/day", "L/s/kW")
#: How a unit is shown; written into the document is the key.
SHOWN = {
    "ft2": "ft²",
    "m2": "m²",
    "inH2O": "in w.c.",
    "F": "°F",
    "C": "°C",
    "uF": "µF",
    "L/s/kW": "L/s per kW",
    "cfm/ton": "cfm per ton",
}
#: No job file has more digits to a row's number.
DIGITS = 4
_THOUSANDS = re.compile(r"^[-+]?\d{1,3}(,\d{3})+(\.\d*)?$")
#: Between values of a line: a semicolon, or a comma with a blank behind (without one it may be meant as a decimal point).
_PARTED = re.compile(r";|,(?=\s|$)")
_VALUE = re.compile(r"^\s*([-+]?[\d.,]+(?:[eE][-+]?\d+)?)\s*(.*?)\s*$")


@dataclass(frozen=True)
class Field:
    """One thing asked. `kind`: measured, whole, number, choice, choices, yes_no, words; of several values: measures (one unit
    for all), grid (measures in lines), lines (texts, one a line)."""

    place: str
    kind: str
    label: str
    hint: str
    units: tuple[str, ...] = ()
    choices: tuple[tuple[str, str], ...] = ()
    example: str = ""
    required: bool = False
    default: str = ""


def row_number(name: str) -> int | None:
    """The number of a row that a part of a place says, or None."""
    return int(name) if name.isascii() and name.isdigit() and len(name) <= DIGITS else None


def bare(place: str) -> str:
    """A place without the numbers of its rows."""
    return ".".join(part for part in place.split(".") if row_number(part) is None)


def schema_at(place: str) -> tuple[dict[str, Any], bool]:
    """The schema of a place (entry numbers left out of account) and whether it is required where it stands."""
    whole = _schema()
    here: dict[str, Any] = whole
    required = False
    for name in place.split(".") if place else ():
        if row_number(name) is not None:
            here = resolved(here["items"])
            continue
        required = name in here.get("required", [])
        here = resolved(here["properties"][name])
    return here, required


@cache
def _schema() -> dict[str, Any]:
    return json_schema()


def resolved(schema: dict[str, Any]) -> dict[str, Any]:
    """Without references and without the choice of leaving it out."""
    merged = dict(schema)
    if "anyOf" in merged:
        merged |= next(one for one in merged["anyOf"] if one.get("type") != "null")
    if "$ref" in merged:
        merged |= _schema()["$defs"][merged["$ref"].rsplit("/", 1)[-1]] | {
            key: value for key, value in merged.items() if key == "description"
        }
    return merged


@cache
def field_at(place: str) -> Field:
    """The field of a place of the document; raises KeyError where the job layer knows no such place."""
    schema, required = schema_at(place)
    path = bare(place)
    label = catalogue().get(f"web.field.{path}") or path.rsplit(".", 1)[-1].replace("_", " ").capitalize()
    laid_out = known(f"web.field.{path}")
    hint = catalogue().get(f"web.hint.{path}", "" if laid_out else str(schema.get("description", "")))
    common: dict[str, Any] = {"place": place, "label": label, "hint": hint, "required": required}
    given = schema.get("default")
    examples = schema.get("examples")
    if examples:
        example = str(examples[0])
        return Field(kind="measured", units=_offered(example), example=example, **common)
    if "enum" in schema:
        return Field(kind="choice", choices=_named(path, schema["enum"]), default=str(given or ""), **common)
    if schema.get("type") == "array":
        inner = resolved(schema["items"])
        if "enum" in inner:
            return Field(kind="choices", choices=_named(path, inner["enum"]), **common)
        deepest = resolved(inner["items"]) if inner.get("type") == "array" else inner
        if deepest.get("examples"):
            example = str(deepest["examples"][0])
            kind = "measures" if deepest is inner else "grid"
            return Field(kind=kind, units=_offered(example), example=example, **common)
        if "properties" in inner:
            raise KeyError(place)
        return Field(kind="lines", **common)
    if schema.get("type") == "boolean":
        return Field(kind="yes_no", choices=(("true", _choice("yes")), ("false", _choice("no"))), **common)
    if schema.get("type") == "integer":
        return Field(kind="whole", **common)
    if schema.get("type") == "number":
        return Field(kind="number", **common)
    if schema.get("type") == "string":
        return Field(kind="words", **common)
    raise KeyError(place)


@cache
def places() -> tuple[str, ...]:
    """Every place of the document that holds one value, entry numbers left out, in the job layer's order."""

    def below(schema: dict[str, Any], path: str) -> Any:
        schema = resolved(schema)
        if "properties" in schema:
            for name, inside in schema["properties"].items():
                yield from below(inside, f"{path}.{name}" if path else name)
        elif schema.get("type") == "array" and "properties" in resolved(schema["items"]):
            yield from below(schema["items"], f"{path}.1")
        else:
            yield path

    return tuple(below(_schema(), ""))


def _offered(example: str) -> tuple[str, ...]:
    unit = split(example)[1]
    kind = "F-difference" if example in DIFFERENCES else unit
    return OFFERED.get(kind, (unit,))


def _named(path: str, values: list[str]) -> tuple[tuple[str, str], ...]:
    return tuple((value, _choice(value, path)) for value in values)


def _choice(value: str, path: str = "") -> str:
    for key in (f"web.choice.{path}.{value}", f"web.choice.{value}", f"option.{value}"):
        if known(key):
            return catalogue()[key]
    return value.replace("_", " ")


def split(text: str) -> tuple[str, str]:
    """A written value as (number, unit); what has no number stays whole."""
    found = _VALUE.match(text)
    return (found.group(1), found.group(2)) if found else (text, "")


def shown(field: Field, value: Any) -> tuple[str, str]:
    """A document's value as a form shows it: the text in the field, and the unit beside it (nothing where there is none)."""
    if value is None or not field.units:
        return (texts_of(value) if field.kind == "lines" else written(value)), ""
    if field.kind == "measured":
        return split(written(value))
    lines = value if field.kind == "grid" and isinstance(value, list) else [value]
    parts = [[split(written(one)) for one in (line if isinstance(line, list) else [line])] for line in lines]
    units = {unit for line in parts for _, unit in line}
    if len(units) == 1:
        return "\n".join(" ".join(number for number, _ in line) for line in parts), units.pop()
    return "\n".join("; ".join(f"{number} {unit}".strip() for number, unit in line) for line in parts), ""


def texts_of(value: Any) -> str:
    """The texts of a list, one a line; a record among them (a card written into the job file) is not shown."""
    return (
        "\n".join(str(one) for one in value if not isinstance(one, Mapping))
        if isinstance(value, list)
        else written(value)
    )


def has_decimal_comma(value: Any) -> bool:
    """Whether a written value has a comma that parts no thousands: the job layer would read 0,62 as 62."""
    if isinstance(value, list):
        return any(has_decimal_comma(one) for one in value)
    number = split(value)[0] if isinstance(value, str) else ""
    return "," in number and _VALUE.match(value) is not None and not _THOUSANDS.match(number)


def joined(number: str, unit: str) -> str:
    """A value as it is written down: the text typed, with its unit unless one was typed along."""
    number = " ".join(number.split())
    return number if not number or re.search(r"[A-Za-z%°]", number) else f"{number} {unit}".strip()


def default_unit(field: Field, system: str) -> str:
    """The unit a blank field begins with."""
    if system == "si":
        return next((unit for unit in field.units if unit in SI_FIRST), field.units[0])
    return field.units[0]


def typed(field: Field, number: str, unit: str) -> Any:
    """What a form sent, as it stands in the document; blank is None. Whatever cannot be read stays text, and is refused there."""
    text = number.strip()
    if not text:
        return None
    if field.kind == "measured":
        return joined(text, unit)
    if field.kind == "measures":
        return _measures(text.replace("\n", " ; "), unit)
    if field.kind == "grid":
        return [_measures(line, unit) for line in text.splitlines() if line.strip()]
    if field.kind in ("whole", "number"):
        try:
            return int(text) if field.kind == "whole" or text.lstrip("+-").isdigit() else float(text)
        except ValueError:
            return text
    if field.kind == "yes_no":
        return {"true": True, "false": False}.get(text, text)
    if field.kind == "lines":
        return [part.strip() for part in text.splitlines() if part.strip()]
    return text


def _measures(text: str, unit: str) -> list[str]:
    """Several values in a line, each with the unit unless one was typed along.

    Parted by blanks, or (units among them) by semicolons or commas with a blank behind.
    """
    parts = [part.strip() for part in _PARTED.split(text) if part.strip()]
    bare = [number for part in parts for number in (part.split() if not re.search(r"[A-Za-z%°]", part) else [part])]
    return [joined(number, unit) for number in bare]


def written(value: Any) -> str:
    """A document's value as one text: what two versions of a value are told apart by."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return ("; " if any(isinstance(one, list) for one in value) else ", ").join(written(one) for one in value)
    return str(value)
