"""Options side by side as an Altair (Vega-Lite 6) specification: each option's range and value on one scale a quantity."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from airtrim.report.fonts import wrapped
from airtrim.report.look import ACCENT, GREY, INK, NAMES, SMALL, styled
from airtrim.report.ranking import option_name
from airtrim.report.units import display, figure_text, range_texts, shown_number
from airtrim.report.words import label, say
from airtrim.work.figure import figure

Entry = Mapping[str, Any]
#: The quantities, in the order shown; `running` is the bill where the tariff is known, else the electricity.
QUANTITIES = ("damp_hours", "worst_month_relative_humidity", "running", "sound_change")
#: What an aim is judged by here; cheap to buy by the complaint's own.
_OF_AIM = {
    "dry": "damp_hours",
    "quiet": "sound_change",
    "cheap_to_run": "running",
    "even_temperatures": "hours_set_point_missed",
}
#: Heights, px: of a line of a name, and of the bar under it with its room.
_LINE, _BAR = 17, 23
#: From this width on two panels stand side by side.
_TWO = 500
_BETWEEN = 30


def shown_options(result: Entry) -> list[Entry]:
    """The options that were run on all systems: leaving it alone first, then by the ranking of the job's own aim."""
    run = [one for one in result["options"] if one["status"] == "run"]
    order = [str(row["id"]) for row in (result.get("ranking") or {"order": []})["order"]]
    rest = sorted(run[1:], key=lambda one: order.index(one["id"]) if one["id"] in order else len(order))
    return [*run[:1], *rest]


def can_be_drawn(result: Entry) -> bool:
    """Whether there is anything to compare: two options with their years."""
    options = shown_options(result)
    return len(options) > 1 and all(one.get("by_system") for one in options)


def quantity(result: Entry, option: Entry, identity: str) -> Entry | None:
    """A figure of an option; None where it has none."""
    if identity == "sound_change" and option["id"] == "leave_as_is":
        return {"id": identity, "low": 0.0, "mid": 0.0, "high": 0.0, "unit": "dB"}
    if identity == "running" and not result.get("cost_in_money"):
        return figure("electricity", np.array(option["by_system"]["cost_to_run"]), str(result["cost_unit"]))
    wanted = "bill" if identity == "running" else identity
    found = next((one for one in option["figures"] if one["id"] == wanted and one.get("mid") is not None), None)
    return None if found is None else dict(found)


def answer(result: Entry, system: str = "inch_pound") -> str:
    """The picture's title: what the recommended option comes to, and now, in what the owner asked for."""
    options = {str(one["id"]): one for one in shown_options(result)}
    chosen = str(result["recommendation"]["option"])
    aim = str(result["complaint_aim"] if result["aim"] == "cheap_to_buy" else result["aim"])
    before = quantity(result, options["leave_as_is"], _OF_AIM[aim])
    after = quantity(result, options[chosen], _OF_AIM[aim]) if chosen in options else None
    if chosen == "leave_as_is" or before is None or after is None:
        return say("options_picture.leave")
    if aim == "quiet":
        after = {**after, "mid": -float(after["mid"]), "low": -float(after["high"]), "high": -float(after["low"])}
    values = {"now": range_texts(before, system)[0], "then": range_texts(after, system)[0]}
    unit = display(str(after["unit"]), system).unit
    return say(f"options_picture.{aim}", {"option": option_name(options[chosen]), "unit": unit, **values})


def name_of(identity: str, result: Entry) -> str:
    """Name of a quantity."""
    if identity != "running":
        return label(identity)
    return label("bill") if result.get("cost_in_money") else say("options_picture.electricity")


def difference_line(result: Entry, system: str = "inch_pound") -> str:
    """What the recommended option changes against now, with ranges; empty where it is leaving it alone."""
    chosen = next((one for one in shown_options(result) if one["id"] == result["recommendation"]["option"]), None)
    parts = []
    told = ("damp_hours", "mean_relative_humidity", "bill", "compressor_kwh", "blower_kwh", "dehumidifier_kwh")
    for one in [] if chosen is None else chosen["differences"]:
        if one["id"] in told and one.get("mid"):  # what does not change is not told
            name = label(str(one["id"]))
            sign = "+" if float(one["mid"]) > 0.0 else ""
            parts.append(f"{name[0].lower()}{name[1:]} {sign}{figure_text(one, system)}")
    return say("map.difference", {"changes": ", ".join(parts)}) if parts else ""


def options_table(result: Entry, system: str = "inch_pound") -> list[list[str]]:
    """The table behind the picture: a heading row, then a row an option with each quantity and its range in brackets."""
    head = [say("paper.head_option")]
    for identity in QUANTITIES:
        some = [quantity(result, one, identity) for one in shown_options(result)]
        unit = display(str(next((one["unit"] for one in some if one and "unit" in one), "")), system).unit
        head.append(f"{name_of(identity, result)}, {unit}")
    rows = [
        [_name(option), *(_cell(quantity(result, option, identity), system) for identity in QUANTITIES)]
        for option in shown_options(result)
    ]
    return [head, *rows]


def _cell(one: Entry | None, system: str) -> str:
    if one is None or one.get("mid") is None:
        return say("map.not_known")
    value, ends = range_texts(one, system)
    return value if one["low"] == one["high"] else f"{value} ({ends})"


def _name(option: Entry) -> str:
    """An option's name, marked where a limit strikes it out."""
    name = option_name(option)
    return name if option["safe"] else say("options_picture.struck", {"option": name})


def text_alternative(result: Entry, system: str = "inch_pound") -> str:
    """A plain-text twin of the picture."""
    head, *rows = options_table(result, system)
    parts = [
        f"{row[0]}: " + "; ".join(f"{name} {cell}" for name, cell in zip(head[1:], row[1:], strict=True))
        for row in rows
    ]
    return f"{answer(result, system)}. " + ". ".join(parts) + "."


def options_specification(result: Entry, system: str = "inch_pound", width_px: int = 250) -> dict[str, Any] | None:
    """The Vega-Lite specification, or None where there is nothing to compare; one column of panels on a phone, else two."""
    import altair as alt

    if not can_be_drawn(result):
        return None
    two = width_px >= _TWO
    each = (width_px - _BETWEEN) // 2 if two else width_px
    panels = [panel for identity in QUANTITIES if (panel := _panel(result, identity, system, each)) is not None]
    columns = 2 if two else 1
    rows = [alt.hconcat(*panels[at : at + columns], spacing=_BETWEEN) for at in range(0, len(panels), columns)]
    title = alt.TitleParams(
        wrapped(answer(result, system), width_px + 30.0, 18, 600),
        subtitle=wrapped(say("options_picture.subtitle"), width_px + 30.0, SMALL),
        anchor="start",
    )
    return dict(styled(alt.vconcat(*rows, spacing=18).properties(title=title)).to_dict())


def _panel(result: Entry, identity: str, system: str, width: int) -> Any:
    """One quantity: name and value of each option, under them its range as a bar and its value as a tick."""
    import altair as alt

    chosen = str(result["recommendation"]["option"])
    rows: list[dict[str, Any]] = []
    names: list[dict[str, Any]] = []
    unit, height = "", 0
    for option in shown_options(result):
        one = quantity(result, option, identity)
        if one is None or one.get("mid") is None:
            continue
        unit, is_chosen = str(one["unit"]), str(option["id"]) == chosen
        lines = wrapped(_name(option), width - 62.0, NAMES, 600 if is_chosen else 400)
        names += [
            {"y": height + 9 + _LINE * index, "name": line, "chosen": is_chosen} for index, line in enumerate(lines)
        ]
        y = height + _LINE * len(lines) + 7
        ends = {end: shown_number(float(one[end]), unit, system) for end in ("low", "mid", "high")}
        text = {"at": height + 9, "value": range_texts(one, system)[0], "option": _name(option)}
        rows.append(
            {**ends, **text, "y": y, "top": y - 6, "foot": y + 6, "chosen": is_chosen, "range": _cell(one, system)}
        )
        height = y + _BAR - 7
    if not rows:
        return None
    how = display(unit, system)
    scale = _scale(rows, 60.0 if identity == "worst_month_relative_humidity" else None, how.step)
    down = alt.Scale(domain=[height, 0], nice=False)

    def x(field: str) -> Any:
        return alt.X(f"{field}:Q", scale=scale, axis=alt.Axis(title=None, tickCount=4, grid=False))

    def y_of(field: str) -> Any:
        return alt.Y(f"{field}:Q", scale=down, axis=None)

    told = [alt.Tooltip("option:N", title=" "), alt.Tooltip("range:N", title=how.unit or " ")]
    layers: list[Any] = []
    if identity == "worst_month_relative_humidity":  # at the bars only: the names stay free of it
        marks = alt.Chart(alt.Data(values=[{"limit": 60.0, "top": row["y"] - 7, "foot": row["y"] + 7} for row in rows]))
        layers.append(
            marks.mark_rule(color=GREY, size=1.5, strokeDash=[3, 2]).encode(x=x("limit"), y=y_of("top"), y2="foot:Q")
        )
    for is_chosen, colour, weight in ((False, INK, 400), (True, ACCENT, 600)):
        own = alt.Chart(alt.Data(values=[row for row in rows if row["chosen"] == is_chosen]))
        own_names = alt.Chart(alt.Data(values=[one for one in names if one["chosen"] == is_chosen]))
        layers += [
            own.mark_bar(color=colour, opacity=0.3, height=8).encode(
                x=x("low"), x2="high:Q", y=y_of("y"), tooltip=told
            ),
            own.mark_rule(color=colour, size=4 if is_chosen else 2).encode(
                x=x("mid"), y=y_of("top"), y2="foot:Q", tooltip=told
            ),
            own_names.mark_text(align="left", fontSize=NAMES, fontWeight=weight, color=INK, baseline="middle").encode(
                x=alt.value(0), y=y_of("y"), text="name:N"
            ),
            own.mark_text(align="right", fontSize=NAMES, fontWeight=600, color=INK, baseline="middle").encode(
                x=alt.value(width), y=y_of("at"), text="value:N"
            ),
        ]
    name = name_of(identity, result)
    title = alt.TitleParams(
        wrapped(f"{name}, {how.unit}" if how.unit else name, float(width), NAMES, 600), fontSize=NAMES
    )
    return alt.layer(*layers).properties(width=width, height=height, title=title)


def _scale(rows: Sequence[Mapping[str, Any]], limit: float | None, step: float) -> Any:
    """One scale for all options of a panel, with a little room at both ends."""
    import altair as alt

    marks = [float(row[end]) for row in rows for end in ("low", "high")] + ([] if limit is None else [limit])
    room = max(0.06 * (max(marks) - min(marks)), step)
    return alt.Scale(domain=[min(marks) - room, max(marks) + room], zero=False, nice=False)
