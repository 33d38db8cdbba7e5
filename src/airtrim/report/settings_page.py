"""The settings sheet as one page, and the lines a terminal prints of settings and of a trim."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from airtrim.core.errors import AirtrimError, InputError
from airtrim.report.fonts import folder
from airtrim.report.letterhead import Letterhead, printed
from airtrim.report.paper import PAPERS, card_rows, caution_text
from airtrim.report.units import display, figure_text, limit_text, number_text, setting_text, value_text
from airtrim.report.words import catalogue, known, label, say

_TEMPLATE = Path(__file__).with_name("settings_page.typ")
MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
          "December")  # fmt: skip


def chance_sentence(chances: Sequence[Mapping[str, Any]]) -> str:
    """How often each limit is broken, and whether fewer than 1 in 20 may be said."""
    if not chances:
        return ""
    each = "; ".join(
        say(
            "settings_page.chance",
            {
                "limit": label(str(one["limit"]), "settings_limit"),
                "broken": one["broken"],
                "at_most": f"{100.0 * float(one['at_most']):.1f} %",
            },
        )
        + (f", {say('settings_page.claimed')}" if one["claimed"] else "")
        for one in chances
    )
    if not any(one["claimed"] for one in chances):
        each += f" ({say('settings_page.not_claimed')})"
    return say("settings_page.chances", {"systems": chances[0]["systems"], "each": each})


def unmet_sentence(unmet: Mapping[str, Any], system: str) -> str:
    """The binding pair and the least relaxation, in one sentence."""
    unit = str(unmet["unit"])
    names = {name: label(str(unmet[name]), "limit") for name in ("first", "second", "relaxed") if unmet[name]}
    values = {name: name_of[0].lower() + name_of[1:] for name, name_of in names.items()}
    values["bound"] = limit_text(float(unmet["bound"]), unit, bool(unmet["at_least"]), system)
    values["to"] = value_text(float(unmet["to"]), unit, system)
    values["by"] = value_text(float(unmet["by"]), "K" if unit == "degC" else unit, system)
    return say("settings_page.no_airflow" if unmet["second"] else "settings_page.no_airflow_alone", values)


def owner_lines(advice: Sequence[Mapping[str, Any]]) -> list[str]:
    """What the owner is told, dates in words."""

    def text(value: Any) -> str:
        return f"{value[1]} {MONTHS[int(value[0]) - 1]}" if isinstance(value, list | tuple) else str(value)

    return [say(str(one["id"]), {name: text(value) for name, value in one["values"].items()}) for one in advice]


def _season_lines(choice: Mapping[str, Any], system: str) -> list[str]:
    lines = []
    for one in choice["seasons"]:
        if not one["worth"]:
            continue
        settings = ", ".join(
            f"{_small(label(name, 'setting'))} {setting_text(name, float(each['value']), str(each['unit']), system)}"
            for name, each in one["settings"].items()
        )
        gain, how = one["gain"], display(str(one["gain"]["unit"]), system)
        ends = [number_text(float(gain[end]) * how.factor, how.step) for end in ("low", "high")]
        begin = f"1 {MONTHS[int(one['begins'][0][0]) - 1]}" if one["begins"] else ""
        told = f"{ends[0]} to {ends[1]} {how.unit.replace(' a year', '')}"
        lines.append(say("settings_page.season", {"begin": begin, "gain": told, "settings": settings}))
    return lines


def _small(name: str) -> str:
    return name[0].lower() + name[1:]


def _change(figure: Mapping[str, Any], system: str) -> str:
    """A change with its sign and its range, without its unit."""
    how = display(str(figure["unit"]), system)
    low, mid, high = (_signed(float(figure[end]) * how.factor, how.step) for end in ("low", "mid", "high"))
    return f"{mid} ({low} to {high})"


def _signed(value: float, step: float) -> str:
    text = number_text(abs(value), step)
    if not any(digit in "123456789" for digit in text):
        return text
    return ("+" if value > 0.0 else "\u2212") + text


def _effect_rows(effects: Sequence[Mapping[str, Any]], system: str) -> list[list[str]]:
    rows = []
    for one in effects:
        kind = "K" if one["unit"] == "degC" else str(one["unit"])
        by = value_text(float(one["by"]), kind, system)
        name = f"{label(str(one['id']), 'setting')}, {by} {say('settings_page.' + str(one['way']))}"
        rows.append([name, *(_change(figure, system) for figure in one["figures"])])
    return rows


def _fault_lines(result: Mapping[str, Any]) -> list[str]:
    """Behaviour on faults as tested, line by line; then what the card says."""
    drive = result["sheet"].get("drive")
    lines = []
    modes = ("drive_fault", "sensor_loss", "heat_call", "defrost", "leak_signal")
    for one in drive["items"] if drive else []:
        if one["id"] in modes:
            values = {
                "mode": label(str(one["id"]), "drive_item").removeprefix("Proven: ").capitalize(),
                "status": label(str(one["status"]), "drive_status"),
                "why": say(str(one["why"])),
            }
            lines.append(say("settings_page.tested", values))
    events = result["on_fault"]
    if events:
        lines.append(
            say("settings_page.card_says", {name: str(text).replace("_", " ") for name, text in events.items()})
        )
    return lines


def settings_data(
    result: Mapping[str, Any],
    system: str = "inch_pound",
    paper: str = "letter",
    letterhead: Letterhead | None = None,
) -> dict[str, Any]:
    """Everything the page prints, as plain text; `result` is `work/settings/issue.issue_settings`."""
    if paper not in PAPERS:
        raise InputError(f"Paper '{paper}' is not known; use 'letter' or 'a4'.")
    sheet = result["sheet"]
    words = {
        key.removeprefix("settings_page."): text
        for key, text in catalogue().items()
        if key.startswith("settings_page.")
    }
    job = result["job"]
    why = say(str(sheet["why"])) if known(str(sheet["why"])) else str(sheet["why"])
    heat = [say(str(sheet["heat"]["why"]))]
    back = f"back.{sheet['option']}"
    return {
        "paper": PAPERS[paper],
        "letterhead": printed(letterhead),
        "words": words | {"head_margin": say("settings_page.head_margin", {"unit": display("K", system).unit}),
                          "effects_note": say("settings_page.effects_note", {"systems": min(12, result["systems"])})},
        "title": say("settings_page.title"),
        "subtitle": f"{job['name']}, {job['place']}: {_small(label(str(sheet['option']), 'option'))}",
        "state": why if sheet["issued"] else say("settings_page.refused", {"why": why}),
        "chances": chance_sentence(result["choice"]["chances"]),
        "seasons": _season_lines(result["choice"], system),
        "card": card_rows(sheet, system),
        "effects": _effect_rows(result["effects"], system),
        "steps": [say(f"step_on_site.{one}") for one in result["steps"]],
        "expected": [[label(str(f["id"])), figure_text(f, system)] for f in sheet["expected"]],
        "faults": _fault_lines(result),
        "heat": heat,
        "cautions": [caution_text(str(one)) for one in sheet["cautions"]],
        "back": say(back, result["now"]) if sheet["issued"] and known(back) else "",
        "owner": owner_lines(result["advice"]),
        "foot": say("settings_page.foot", {"name": job["name"], "place": job["place"], "systems": result["systems"],
                                           "seed": result["seed"], "version": result["airtrim_version"]}),
    }  # fmt: skip


def settings_pdf(
    result: Mapping[str, Any],
    system: str = "inch_pound",
    paper: str = "letter",
    letterhead: Letterhead | None = None,
) -> bytes:
    """The page as PDF, tagged (PDF/UA-1)."""
    import typst

    try:
        made = typst.compile(
            str(_TEMPLATE),
            format="pdf",
            sys_inputs={"sheet": json.dumps(settings_data(result, system, paper, letterhead))},
            pdf_standards=["ua-1"],
            font_paths=[str(folder())],
            ignore_system_fonts=True,
        )
    except RuntimeError as error:
        raise AirtrimError(f"The sheet could not be set: {error}; give a complete result or report this.") from error
    return bytes(made)


def settings_lines(result: Mapping[str, Any], system: str) -> list[str]:
    """What a terminal prints of settings."""
    data = settings_data(result, system)
    lines = [data["subtitle"], data["state"]]
    if result["choice"]["unmet"] is not None:
        lines.append(unmet_sentence(result["choice"]["unmet"], system))
    lines += [f"  {row['name']}: {row['value']}" + (f" ({row['band']})" if row["band"] else "") for row in data["card"]]
    return [*lines, *([data["chances"]] if data["chances"] else []), *data["seasons"], *data["owner"]]


def trim_lines(answer: Mapping[str, Any], full_m3_s: float, system: str) -> list[str]:
    """What a terminal prints of a trim: settings, figures with their changes, limits."""
    values = answer["values"]
    settings = ", ".join(
        f"{_small(label(name, 'setting'))} {setting_text(name, value, unit, system)}"
        for name, value, unit in (
            ("least_airflow", values["least_flow"] * full_m3_s, "m3/s"),
            ("coil_sensor_drop", values["sensor_drop_k"], "K"),
            ("off_delay", values["off_delay_s"], "s"),
            ("ramp_time", values["ramp_time_s"], "s"),
        )
    )
    head = {"systems": answer["systems"], "step": f"{answer['step_s']:g}", "settings": settings}
    lines = [say("settings_page.trimmed", head)]
    figures = {str(one["id"]): one for one in answer["figures"]}
    for change in answer["differences"]:
        name = str(change["id"])
        if name not in figures:
            continue
        told = {"name": label(name), "figure": figure_text(figures[name], system), "change": _change(change, system)}
        lines.append(say("settings_page.trim_line", told))
    broken = [_small(label(str(one["id"]), "limit")) for one in answer["limits"] if one["status"] == "fail"]
    lines.append(
        say("settings_page.trim_broken", {"limits": ", ".join(broken)}) if broken else say("settings_page.trim_safe")
    )
    return lines
