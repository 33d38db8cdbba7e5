"""The paper (PDF) of a job, set by Typst from the result alone; data goes in as JSON, never into the template's text."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from airtrim.core.errors import AirtrimError, InputError
from airtrim.report.findings import explanation_lines, explanation_rows
from airtrim.report.fonts import folder
from airtrim.report.letterhead import Letterhead, printed
from airtrim.report.map import difference_sentence, suction_sentence
from airtrim.report.ranking import option_name, option_named, told_lines
from airtrim.report.readings import sentence
from airtrim.report.site_steps import site_step_rows
from airtrim.report.stops import is_stop, stop_lines
from airtrim.report.units import (
    allowed_text,
    display,
    figure_text,
    limit_text,
    range_texts,
    setting_text,
    value_text,
)
from airtrim.report.words import catalogue, known, label, say
from airtrim.report.workings import appendix, taken_rows

_TEMPLATE = Path(__file__).with_name("paper.typ")
PAPERS = {"letter": "us-letter", "a4": "a4"}


def message_text(message: Mapping[str, Any]) -> str:
    """The sentence of a message {id, values}."""
    return say(str(message["id"]), message.get("values"))


def caution_text(identity: str) -> str:
    """The sentence of a caution id, with or without the leading `caution.`."""
    return say(identity if known(identity) else f"caution.{identity}")


def _strip(figure: Mapping[str, Any]) -> dict[str, Any] | None:
    """Places of range, middle and allowed band on a strip from 0 to 1; an end without a bound is open."""
    ends = [figure.get(name) for name in ("low", "mid", "high")]
    if any(end is None for end in ends):
        return None
    low, mid, high = (float(end) for end in ends if end is not None)
    allowed = figure.get("allowed") or [None, None]
    marks = [low, high, *(float(end) for end in allowed if end is not None)]
    width = max(max(marks) - min(marks), 1e-9 * max(abs(mid), 1.0))
    start, span = min(marks) - 0.25 * width, 1.5 * width

    def at(value: float) -> float:
        return (value - start) / span

    strip: dict[str, Any] = {"low": at(low), "mid": at(mid), "high": at(high), "allowed": allowed != [None, None]}
    strip["from"] = 0.0 if allowed[0] is None else at(float(allowed[0]))
    strip["to"] = 1.0 if allowed[1] is None else at(float(allowed[1]))
    return strip | {"open_left": allowed[0] is None, "open_right": allowed[1] is None}


def safe_word(option: Mapping[str, Any]) -> str:
    """Whether an option keeps the safe limits, or does not apply at all."""
    if option.get("status") == "not_applicable":
        return say("paper.not_applicable")
    return say("paper.yes") if option.get("safe") else say("paper.no")


#: Figures printed side by side, in this order, and how many options.
_SIDE_BY_SIDE = (
    "aim_met", "damp_hours", "worst_month_relative_humidity", "mean_relative_humidity", "mean_dew_point_c", "mould_index",
    "mite_safe_hours", "comfortable_hours", "hours_set_point_missed", "design_margin_w", "least_icing_margin_k", "frost_hours",
    "sweat_hours", "sound_change", "external_static", "compressor_kwh", "blower_kwh", "dehumidifier_kwh", "bill", "first_cost",
    "payback", "net_present_value",
)  # fmt: skip
#: Paired differences printed.
_AGAINST_NOW = (
    "damp_hours", "mean_relative_humidity", "mean_dew_point_c", "comfortable_hours", "compressor_kwh", "blower_kwh",
    "dehumidifier_kwh", "bill",
)  # fmt: skip
#: Left out where no option has any of it: nothing to compare.
_ZERO_SAYS_NOTHING = ("frost_hours", "dehumidifier_kwh", "mould_index", "sweat_hours")
_COLUMNS = 4


def side_by_side(result: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """The options printed side by side: leaving it alone, the recommended one, and the next by the ranking."""
    run = [option for option in result.get("options", []) if option.get("status") != "not_applicable"]
    ranking = result.get("ranking")
    if not ranking or len(run) <= _COLUMNS:
        return run
    order = [row["id"] for row in ranking["order"] if row["safe"]]
    first = list(dict.fromkeys([run[0]["id"], result["recommendation"]["option"], *order]))[:_COLUMNS]
    return [option for option in run if option["id"] in first]


def _also(result: Mapping[str, Any], shown: list[Mapping[str, Any]], system: str) -> list[list[str]]:
    """One line an option that was weighed and is not shown: name, change of what the aim looks at, and why not."""
    rest = [one for one in result.get("options", []) if one["status"] == "run" and one not in shown]
    ranking = {row["id"]: row for row in result["ranking"]["order"]} if "ranking" in result else {}
    chosen = next(one for one in result["options"] if one["id"] == result["recommendation"]["option"])
    rows = []
    for option in [*rest, *result.get("screened", [])]:
        change = next((one for one in option["differences"] if one["id"] == "damp_hours"), None)
        other = ranking.get(option["id"], {}).get("dominated_by")
        well = _chance(option) >= _chance(chosen) - _NEAR
        broken = [label(one["id"], "limit") for one in option["limits"] if one["status"] == "fail"]
        if broken:
            why = say("option_list.struck", {"limits": ", ".join(name[0].lower() + name[1:] for name in broken)})
        elif other is not None:
            by = next(one for one in result["options"] if one["id"] == other)
            why = say("option_list.dominated", {"other": option_name(by)})
        elif well:
            why = say("option_list.enough")
        else:
            why = say("option_list.weaker")
        told = [say(note) for note in option.get("will_not", [])]
        read = "" if change is None else figure_text(change, system)
        rows.append([option_name(option), read, "; ".join([why, *told])])
    return rows


#: Chances nearer than this count as equal where an option was screened only.
_NEAR = 0.1


def _chance(option: Mapping[str, Any]) -> float:
    return next((float(one["mid"]) for one in option["figures"] if one["id"] == "aim_met"), 0.0)


def _money_note(result: Mapping[str, Any]) -> str:
    figures = {one["id"] for option in result["options"] for one in option["figures"]}
    if "bill" not in figures:
        return say("money.no_tariff")
    terms = result["terms"]
    note = say("money.terms", {"years": terms["years"], "rate": f"{100 * terms['rate']:g}"})
    return note if "first_cost" in figures else f"{note} {say('money.no_price')}"


def _figure_rows(options: list[Mapping[str, Any]], key: str, system: str) -> list[list[Any]]:
    """One row a figure: its name with the unit, then (value, range) of each option, None where it has none."""
    order = list(dict.fromkeys(str(one["id"]) for option in options for one in option[key]))
    order = [name for name in (_SIDE_BY_SIDE if key == "figures" else _AGAINST_NOW) if name in order]
    rows: list[list[Any]] = []
    for identity in order:
        found = [next((one for one in option[key] if one["id"] == identity), None) for option in options]
        unit = display(str(next(one["unit"] for one in found if one is not None and "unit" in one)), system).unit
        if identity in _ZERO_SAYS_NOTHING and not any(one and _shows(one, system) for one in found):
            continue
        cells = [None if one is None else _cell(one, system) for one in found]
        rows.append([f"{label(identity)}, {unit}" if unit else label(identity), *cells])
    return rows


def _shows(one: Mapping[str, Any], system: str) -> bool:
    """Whether anything but noughts is printed of a figure."""
    step = display(str(one.get("unit", "")), system).step
    return any(abs(float(one.get(end) or 0.0)) >= 0.5 * step for end in ("low", "mid", "high"))


def _cell(one: Mapping[str, Any], system: str) -> list[str]:
    """Value and range; a value without a range stands alone."""
    value, ends = range_texts(one, system)
    return [value, "" if one.get("low") is not None and one["low"] == one["high"] else ends]


def _limit_rows(options: list[Mapping[str, Any]], system: str) -> list[list[Any]]:
    """One row a limit, in the trade's order: its name with the bound, then (status, figure) of each option."""
    order = list(dict.fromkeys(str(one["id"]) for option in options for one in option["limits"]))
    tightest = max(
        (one for option in options for one in option["limits"] if str(one["id"]).startswith("frequency_")),
        key=lambda one: (one["status"] == "fail", one["bound"]),
        default=None,
    )  # of the limits of a frequency the one that binds is printed
    order = [name for name in order if not name.startswith("frequency_") or (tightest and name == tightest["id"])]
    rows: list[list[Any]] = []
    for identity in order:
        found = [next((one for one in option["limits"] if one["id"] == identity), None) for option in options]
        name = label(identity, "limit")
        seen = next((one["figure"] for one in found if one and one.get("figure")), None)
        bounded = next((one for one in found if one and one.get("bound") is not None), None)
        if bounded is not None:
            how = "bound.at_least" if bounded["at_least"] else "bound.at_most"
            name += ", " + say(
                how,
                {
                    "bound": limit_text(
                        float(bounded["bound"]), str(bounded["figure"]["unit"]), bounded["at_least"], system
                    )
                },
            )
        elif seen is not None:
            name += f", {display(str(seen['unit']), system).unit}"
        rows.append([name, *(None if one is None else _limit_cell(one, system) for one in found)])
    return rows


def _limit_cell(one: Mapping[str, Any], system: str) -> list[str]:
    status = label(str(one["status"]), "status")
    if not one.get("figure"):
        return [status, ""]
    value, ends = range_texts(one["figure"], system)
    return [f"{status}, {value}", ends]


def _assumed(one: Mapping[str, Any], system: str) -> list[str]:
    """Name and value of an assumed figure; a star where it was not drawn."""
    unit, value, ends = str(one.get("unit", "")), one.get("value"), one.get("range") or [None, None]
    if isinstance(value, int | float) and not isinstance(value, bool):
        text = figure_text({"mid": value, "low": ends[0], "high": ends[1], "unit": unit}, system)
    else:
        text = say(str(value)) if known(str(value)) else str(value)
    return [label(str(one["id"]), "assumed"), text + ("*" if one.get("not_drawn") else "")]


def conditions(result: Mapping[str, Any], system: str = "inch_pound") -> dict[str, str]:
    """The state of air that the map and the figures stand at, as texts."""
    state = result["map"]["conditions"]
    return {
        "room": value_text(state["return_c"], "degC", system),
        "humidity": f"{100.0 * state['relative_humidity']:.0f}",
        "outdoor": value_text(state["outdoor_c"], "degC", system),
    }


def card_rows(settings: Mapping[str, Any], system: str) -> list[dict[str, Any]]:
    """The rows of a settings sheet: name, value, allowed band, why."""
    return [
        {
            "name": label(str(row["id"]), "setting"),
            "value": _value(row, system),
            "band": _band(row, system),
            "why": _why(row["why"]),
        }
        for row in settings.get("card", [])
    ]


def _read(figure: Mapping[str, Any], system: str) -> str:
    """A figure with its range, or without one where it has none."""
    if figure.get("low") is not None and figure["low"] == figure["high"]:
        return value_text(float(figure["mid"]), str(figure["unit"]), system)
    return figure_text(figure, system)


def _heat_rows(heat: Mapping[str, Any], system: str) -> list[list[str]]:
    """One row a thing judged: its name with the bound, the figure, the verdict."""
    air = heat["airflow"]
    rows = [[label("heat_airflow"), figure_text(air, system), ""]] if air else []
    for row in heat["rows"]:
        figure, bound = row["figure"], ""
        for end, how in (("least", "bound.at_least"), ("greatest", "bound.at_most")):
            if row[end] is not None and figure and "unit" in figure:
                text = limit_text(float(row[end]), str(figure["unit"]), end == "least", system)
                bound = ", " + say(how, {"bound": text})
        name = f"{label(row['id'], 'heat_row')} ({label(row['kind'], 'heat_kind')}){bound}"
        read = _read(figure, system) if figure else ""
        rows.append([name, read, label(row["verdict"], "heat_verdict")])
    return rows


def _heat_sentences(heat: Mapping[str, Any]) -> list[str]:
    """Verdict first, then what would settle it, then what was taken for granted."""
    sentences = [say(heat["why"])]
    if heat["missing"]:
        places = "; ".join(label(place, "heat_missing") for place in heat["missing"])
        sentences.append(say("paper.heat_missing", {"places": places}))
    return sentences + [say(note) for note in heat["notes"]]


def _drive_list(settings: Mapping[str, Any], system: str) -> dict[str, Any] | None:
    """The compatibility list of a drive: [name, state, why and what to do]; those not met first."""
    check = settings.get("drive")
    if not check:
        return None
    rows = []
    for one in sorted(check["items"], key=lambda item: ("not_met", "not_yet_known", "met").index(item["status"])):
        figure = one["figure"]
        read = ""
        if figure and one["bound"] is not None:
            # of what a drive is asked, only the heat where it hangs has a greatest
            bound = limit_text(float(one["bound"]), str(figure["unit"]), one["id"] != "ambient", system)
            read = f" ({_read(figure, system)}; {bound})"
        do = f": {say(one['do'])}" if one["do"] else ""
        rows.append([label(one["id"], "drive_item"), label(one["status"], "drive_status"), say(one["why"]) + read + do])
    met = sum(one["status"] == "met" for one in check["items"])
    return {"rows": rows, "note": say("paper.drive_note", {"met": met, "all": len(rows)})}


def paper_data(
    result: Mapping[str, Any],
    map_svg: str | None,
    system: str = "inch_pound",
    paper: str = "letter",
    months_svg: str | None = None,
    letterhead: Letterhead | None = None,
) -> dict[str, Any]:
    """Everything the template prints, as plain text and numbers."""
    if paper not in PAPERS:
        raise InputError(f"Paper '{paper}' is not known; use 'letter' or 'a4'.")
    settings, found = result["settings"], result["findings"]
    recommendation = result["recommendation"]
    chosen, weighed = str(recommendation["option"]), side_by_side(result)
    state = conditions(result, system)
    words = {key.removeprefix("paper."): text for key, text in catalogue().items() if key.startswith("paper.")}
    words |= {
        "appendix": say("working.appendix"),
        "appendix_note": say("working.appendix_note"),
        "sources": say("working.sources"),
    }
    cautions = list(dict.fromkeys(result.get("cautions", [])))
    drive = result.get("settings_of_drive")
    foot = {"name": result["job"]["name"], "version": result["airtrim_version"]}
    foot |= {name: str(result[name]) for name in ("systems", "seed")}
    return {
        "paper": PAPERS[paper],
        "letterhead": printed(letterhead),
        "title": say("paper.title"),
        "subtitle": ", ".join(str(part) for part in (result["job"].get("name"), result["job"].get("place")) if part),
        "foot": say("paper.foot", foot),
        "recommendation": say("paper.recommended", {"option": option_named(result, chosen)}),
        "why": message_text(recommendation["why"]),
        "words": words,
        "findings": [
            {"name": label(str(f["id"])), "strip": _strip(f), "text": figure_text(f, system)} for f in found["figures"]
        ],
        "conditions": say("paper.conditions", state),
        "stops": stop_lines(found["messages"], system),
        "messages": [
            sentence(one, system) for one in [*found["messages"], *found.get("told_airflow", [])] if not is_stop(one)
        ],
        "site_steps": site_step_rows(result.get("readings", {}), system),
        "taken": taken_rows(result, system),
        "appendix": appendix(result, system),
        "explained": explanation_lines(found, system),
        "explanations": explanation_rows(found, system),
        "map": map_svg,
        "map_alt": suction_sentence(result, system) if map_svg is not None else "",
        "map_difference": difference_sentence(result, system),
        "months": months_svg,
        "options_head": [option_name(option) for option in weighed],
        "options_note": say("paper.options_note", {"place": result["job"]["weather"], "systems": result["systems"]}),
        "options": _figure_rows(weighed, "figures", system),
        "safe": [safe_word(option) for option in weighed],
        "differences_head": [option_name(option) for option in weighed[1:]],
        "also": _also(result, weighed, system),
        "also_note": say(
            "paper.also_note",
            {
                "systems": result.get("screened_systems", result["systems"]),
                "figure": label("damp_hours").replace("Hours", "hours"),
            },
        ),
        "aim": say("paper.aim", {"aim": label(str(result["aim"]), "aim")}) if "aim" in result else "",
        "told": told_lines(result, 2),
        "money_note": _money_note(result),
        "differences": _figure_rows(weighed[1:], "differences", system),
        "limits": _limit_rows(weighed, system),
        "refused": [
            [label(str(option["id"]), "option"), _why(option.get("why"))]
            for option in result["options"]
            if option.get("status") == "not_applicable"
        ],
        "drive": _drive_sentence(drive, system) if drive and drive["card"] else "",
        "settings_option": option_named(result, str(settings["option"])),
        "settings_state": _why(settings["why"])
        if settings["issued"]
        else f"{say('paper.not_issued')} {_why(settings['why'])}",
        "card": card_rows(settings, system),
        "heat": _heat_rows(settings["heat"], system),
        "heat_sentences": _heat_sentences(settings["heat"]),
        "drive_list": _drive_list(drive if drive and drive["drive"]["refused"] else settings, system),
        "expected": [[label(str(f["id"])), figure_text(f, system)] for f in settings["expected"]],
        "expect_note": say("paper.expect_note", state),
        "back": say(f"back.{settings['option']}", result["now"]) if settings["issued"] else "",
        "settings_cautions": [caution_text(str(one)) for one in settings["cautions"]],
        "cautions": [caution_text(str(one)) for one in cautions if one not in settings["cautions"]],
        "assumed": [_assumed(one, system) for one in found["assumed"]],
        "weather_notes": [str(note) for note in result["job"].get("weather_notes", [])],
    }


def _drive_sentence(settings: Mapping[str, Any], system: str) -> str:
    parts = ", ".join(
        f"{row['name'][0].lower()}{row['name'][1:]} {row['value']}" for row in card_rows(settings, system)
    )
    items = settings["drive"]["items"]
    met = sum(one["status"] == "met" for one in items)
    return say("paper.drive_settings", {"settings": parts, "met": met, "all": len(items)})


def _why(identity: object) -> str:
    """The sentence of a reason's id; a reason that is no id stands as it is."""
    text = str(identity or "")
    return say(text) if known(text) else text


def _value(row: Mapping[str, Any], system: str) -> str:
    value, unit = row["value"], str(row.get("unit") or "")
    if isinstance(value, int | float):
        return setting_text(str(row["id"]), float(value), unit, system)
    return _why(value)


def _band(row: Mapping[str, Any], system: str) -> str:
    low, high = row.get("low"), row.get("high")
    if low is None or high is None or low == high:
        return ""
    return allowed_text(float(low), float(high), str(row.get("unit") or ""), system)


def paper_pdf(
    result: Mapping[str, Any],
    map_svg: str | None,
    system: str = "inch_pound",
    paper: str = "letter",
    months_svg: str | None = None,
    letterhead: Letterhead | None = None,
) -> bytes:
    """The PDF, tagged (PDF/UA-1), the same bytes of text for the same result."""
    import typst

    data = paper_data(result, map_svg, system, paper, months_svg, letterhead)
    try:
        made = typst.compile(
            str(_TEMPLATE),
            format="pdf",
            sys_inputs={"paper": json.dumps(data)},
            pdf_standards=["ua-1"],
            font_paths=[str(folder())],
            ignore_system_fonts=True,
        )
    except RuntimeError as error:
        raise AirtrimError(f"The paper could not be set: {error}; give a complete result or report this.") from error
    return bytes(made)
