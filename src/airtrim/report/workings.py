"""How figures were come by, in words: lines for the terminal, entries for the paper's appendix."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from typing import Any

from airtrim.core.errors import InputError
from airtrim.report.units import figure_text, limit_text, value_text
from airtrim.report.words import known, label, say

#: SI units as they are printed.
_SI = {"m3/s": "m³/s", "m3_small": "m³", "m2_small": "m²", "W_heat": "W", "degC": "°C", "fraction": "", "Pa_high": "Pa", "1": "",
       "count": "",
       "m3/kg": "m³/kg", "kg/m3": "kg/m³", "J/m3": "J/m³", "m3/s/W": "m³/s per W", "W/(m3/s)": "W per m³/s"}  # fmt: skip
_SIGNS = (("**", "^"), (" * ", " × "), (" - ", " − "), ("_", " "))


def name_of(one: Mapping[str, Any]) -> str:
    """What a working is the working of, in words; from its id."""
    first, *rest = str(one["id"]).split(".")
    match first, rest:
        case "reading", [number, *more]:
            return say("working.of_reading", {"name": label(".".join(more), "reading"), "number": number})
        case "airflow_by", [number, way]:
            return say("working.of_reading", {"name": say(f"reading.way.{way}"), "number": number})
        case "finding", ["chance", name]:
            return say("working.chance", {"name": say(f"explanation.{name}")})
        case "finding", [name]:
            return say("working.of_finding", {"name": label(name)})
        case "option", [option, "against_now", name]:
            name = say("working.against_now", {"name": label(name)})
            return say("working.of_option", {"option": label(option, "option"), "name": name})
        case "option", [option, "limit", name]:
            name = say("working.of_limit", {"name": label(name, "limit")})
            return say("working.of_option", {"option": label(option, "option"), "name": name})
        case "option", [option, name]:
            return say("working.of_option", {"option": label(option, "option"), "name": label(name)})
        case "setting", ["expected", name]:
            return say("working.expected", {"name": label(name)})
        case "setting", [name]:
            return say("working.of_setting", {"name": label(name, "setting")})
    return label(str(one["id"]), "reading")


def formula_text(one: Mapping[str, Any]) -> str:
    """The formula with the signs of print, or the method's sentence."""
    if "formula" not in one:
        return say(str(one["method"]))
    text = str(one["formula"])
    for written, printed in _SIGNS:
        text = text.replace(written, printed)
    return text


def _value(given: Mapping[str, Any], system: str) -> str:
    if isinstance(given["value"], str):
        return str(given["value"])
    if given["name"] in ("least_allowed", "greatest_allowed"):  # a limit: rounded to its safe side
        return limit_text(given["value"], given["unit"], given["name"] == "least_allowed", system)
    return value_text(given["value"], given["unit"], system)


def _figure(one: Mapping[str, Any], system: str) -> str:
    figure = one["figure"]
    ends = {"low": None, "high": None} if figure.get("low") == figure.get("high") else {}
    return figure_text({**figure, **ends}, system)


def si_text(value: float | str, unit: str) -> str:
    """A value in SI with six figures, enough to compute the formula again by hand."""
    return str(value) if isinstance(value, str) else f"{value:.6g} {_SI.get(unit, unit)}".rstrip()


def parts_of(one: Mapping[str, Any], system: str = "inch_pound") -> dict[str, Any]:
    """A working in its parts, as texts: {name, figure, formula, inputs [(name, value, the same in SI)], given, source}.

    `given` says what the formula gives, "" where a method stands in its place; an input without a unit has no SI text.
    """
    inputs = []
    for given in one["inputs"]:
        plain = isinstance(given["value"], str) or given["unit"] == "count"
        si = "" if plain else si_text(given["value"], given["unit"])
        inputs.append((str(given["name"]).replace("_", " "), _value(given, system), si))
    told = ""
    if "formula" in one:
        mid, unit = one["figure"]["mid"], one["figure"]["unit"]
        said = f"{value_text(mid, unit, system)} ({si_text(mid, unit)})"
        told = f"{say('working.given', {'value': said})} {say('working.si_note')}"
    source = say("working.source_is", {"source": say(f"working.source.{one['source']}")})
    formula = f"{'= ' if 'formula' in one else ''}{formula_text(one)}"
    return {"name": name_of(one), "figure": _figure(one, system), "formula": formula, "inputs": inputs, "given": told,
            "source": source}  # fmt: skip


def working_lines(one: Mapping[str, Any], system: str = "inch_pound") -> list[str]:
    """The figure, its formula or method, its inputs (in both units), what it gives, and the source."""
    parts = parts_of(one, system)
    lines = [f"{parts['name']}: {parts['figure']}", f"  {parts['formula']}"]
    width = max((len(name) for name, _, _ in parts["inputs"]), default=0)
    lines += [f"    {name:<{width}}  {value}{f'  ({si})' if si else ''}" for name, value, si in parts["inputs"]]
    lines += [f"  {parts['given']}"] if parts["given"] else []
    return [*lines, f"  {parts['source']}"]


def group_of(one: Mapping[str, Any]) -> str:
    """Title of the group a working belongs to: a reading, the airflow, the findings, how likely, an option, the settings."""
    first, *rest = str(one["id"]).split(".")
    if first == "option":
        return label(rest[0], "option")
    if first == "setting":
        return say("working.group.setting")
    if rest[:1] == ["chance"]:
        return say("working.group.chance")
    return say(f"working.group.{first}", {"number": rest[0]} if first == "reading" else None)


def found_working(workings: Sequence[Mapping[str, Any]], identity: str) -> Mapping[str, Any]:
    """The working of a figure; raises `InputError` with near ids where there is none of this id."""
    ids = [str(one["id"]) for one in workings]
    if identity in ids:
        return workings[ids.index(identity)]
    last = {one.rsplit(".", 1)[-1]: one for one in reversed(ids)}  # superheat alone is near reading.1.superheat
    near = get_close_matches(identity, ids, 3, 0.5) + [last[one] for one in get_close_matches(identity, last, 3, 0.6)]
    near = list(dict.fromkeys(near))[:4]
    if near:
        raise InputError(say("working.unknown", {"figure": identity, "near": ", ".join(near)}))
    raise InputError(say("working.unknown_alone", {"figure": identity}))


def list_lines(workings: Sequence[Mapping[str, Any]], system: str = "inch_pound") -> list[str]:
    """Id, name and figure of every working, a line each."""
    width = max((len(str(one["id"])) for one in workings), default=0)
    return [f"  {one['id']:<{width}}  {name_of(one)}: {_figure(one, system)}" for one in workings]


def appendix(result: Mapping[str, Any], system: str = "inch_pound") -> dict[str, Any]:
    """{groups, sources} of the readings and findings: a group is {title, rows}, a row {name, figure, formula, inputs, source}.

    `source` is a number into `sources` from 1. What was read as it stands is left out: it is among the readings.
    """
    groups: dict[str, list[dict[str, Any]]] = {}
    sources: list[str] = []
    for one in result.get("workings", []):
        first, *rest = str(one["id"]).split(".")
        as_read = one.get("formula") in [given["name"] for given in one["inputs"]]
        if as_read or first in ("option", "setting") or rest[:1] == ["chance"]:  # the chances stand in the findings
            continue
        source = say(f"working.source.{one['source']}")
        if source not in sources:
            sources.append(source)
        title = say(f"working.group.{first}", {"number": rest[0]} if first == "reading" else None)
        given = "; ".join(f"{str(one['name']).replace('_', ' ')} {_value(one, system)}" for one in one["inputs"])
        groups.setdefault(title, []).append(
            {
                "name": label(rest[-1], "figure") if first == "finding" else _plain_name(one),
                "figure": _figure(one, system),
                "formula": formula_text(one),
                "inputs": given,
                "source": sources.index(source) + 1,
            }
        )
    return {"groups": [{"title": title, "rows": rows} for title, rows in groups.items()], "sources": sources}


def _plain_name(one: Mapping[str, Any]) -> str:
    """The name without its reading's number, which stands in the group's title."""
    first, *rest = str(one["id"]).split(".")
    return label(".".join(rest[1:]), "reading") if first == "reading" else name_of(one)


def taken_rows(result: Mapping[str, Any], system: str = "inch_pound") -> list[dict[str, Any]]:
    """Of each reading: {title, rows of (name, as written, range, instrument), questions}."""
    from airtrim.report.readings import sentence

    read = result.get("readings") or {"taken": [], "points": []}
    shown = []
    for point, answers in zip(read["taken"], read["points"], strict=True):
        head = {
            "number": point["number"],
            "operation": say(f"reading.operation.{point['operation']}"),
            "tap": point["tap"],
        }
        title = say("reading.page.point", head) + (f", {point['time']}" if point["time"] else "")
        rows = [[_reading_name(row), row["given"], _ends(row, system), _instrument(row)] for row in point["rows"]]
        asked = [one for one in answers["messages"] if one["id"].startswith("reading.ask.")]
        shown.append({"title": title, "rows": rows, "questions": [sentence(one, system) for one in asked]})
    return shown


def _reading_name(row: Mapping[str, Any]) -> str:
    """The reading in words; inside a table behind the table's name and place, such as "Grilles, hall: airflow"."""
    key = f"web.field.readings.{row['id']}"
    name = say(key) if known(key) else label(str(row["id"]), "reading")
    if "." not in row["id"]:
        return f"{name} {row['of']}".rstrip()
    where = ", ".join(part for part in (row["id"].split(".")[0].replace("_", " "), row["of"]) if part)
    return f"{where[0].upper()}{where[1:]}: {name[0].lower()}{name[1:]}"


def _ends(row: Mapping[str, Any], system: str) -> str:
    """The range of a reading in the unit it was written in, to two digits of its half-width."""
    figure, written = row["figure"], row.get("written")
    if written is not None:
        half = 0.5 * (written["high"] - written["low"])
        decimals = max(0, 1 - math.floor(math.log10(half))) if half > 0.0 else 2
        low, high = (f"{written[end]:,.{decimals}f}" for end in ("low", "high"))
        return f"{low} to {high} {written['unit']}"
    if figure is None or "mid" not in figure:
        return ""
    ends = [value_text(float(figure[end]), str(figure["unit"]), system) for end in ("low", "high")]
    unit = ends[1].split(" ", 1)[-1]
    return f"{ends[0].removesuffix(f' {unit}')} to {ends[1]}"


def _instrument(row: Mapping[str, Any]) -> str:
    if row["kind"] is None:
        return ""
    if row["kind"] == "stated":
        return say("instrument.stated")
    kind = say(f"instrument.{row['kind']}")
    return f"{row['instrument']}, {kind}" if row["instrument"] else f"({kind})"
