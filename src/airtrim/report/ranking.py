"""A ranking of options in words: who wins and why, what speaks against the others, and which cannot be told apart."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from airtrim.report.units import figure_text, limit_text
from airtrim.report.words import known, label, say

Entry = Mapping[str, Any]


def option_name(option: Entry) -> str:
    """Name of an option; two together by their parts."""
    parts = [label(str(part), "option") for part in option.get("parts") or []]
    if len(parts) == 2:
        return say("option_list.name_of_two", {"one": parts[0], "other": parts[1]})
    return label(str(option["id"]), "option")


def entries(result: Entry) -> dict[str, Entry]:
    """Every option that was run, by id: confirmed on all systems, or screened only."""
    confirmed = {str(one["id"]): one for one in result["options"] if one["status"] == "run"}
    return {str(one["id"]): one for one in result.get("screened", [])} | confirmed


def option_named(result: Entry, identity: str) -> str:
    """Name of an option of a result by its id."""
    found = entries(result).get(identity) or next((one for one in result["options"] if one["id"] == identity), None)
    return option_name(found if found is not None else {"id": identity})


def told_lines(result: Entry, pairs: int | None = None, ranking: Entry | None = None) -> list[str]:
    """What no option can promise, which one is surer, and (the first `pairs`) which two cannot be told apart and what would.

    `ranking` is the result's own where none is given; what no option can promise goes with that aim alone.
    """
    own = result.get("ranking") or {}
    ranking = own if ranking is None else ranking
    lines = []
    if ranking.get("aim") == own.get("aim"):
        lines += [say(str(one["id"]), one.get("values")) for one in result.get("told", [])]
    surest = ranking.get("surest")
    if surest is not None:
        values = {"option": option_named(result, surest["id"]), "chance": figure_text(surest["chance"], "si")}
        lines.append(say("option_list.surer", values) + ".")
    for pair in ranking.get("cannot_tell", [])[:pairs]:
        one, other = (option_named(result, name) for name in pair["options"])
        values = {"one": one, "other": other}
        if pair["reading"] is None:
            lines.append(say("option_list.cannot_tell", values) + ".")
        else:
            reading = say(f"option_reading.{pair['reading']}")
            lines.append(say("option_list.cannot_tell_by", values | {"reading": reading}) + ".")
    return lines


def answer_lines(result: Entry, ranking: Entry) -> tuple[str, str]:
    """The option a ranking recommends, and what it gains, as two sentences."""
    chosen = str(ranking["recommended"])
    head = say(f"ranking.answer.{ranking['aim']}", {"option": option_named(result, chosen)})
    gain = next(gain_of(result, ranking, row) for row in ranking["order"] if row["id"] == chosen)
    if chosen == "leave_as_is" or gain.get("mid") is None:
        return head, say("ranking.leave")
    values = {"low": f"{gain['low']:.0f}", "high": f"{gain['high']:.0f}", "unit": gain["unit"]}
    return head, say(_of_season(f"recommendation.{ranking['figure']}", result), values)


def gain_label(result: Entry, ranking: Entry) -> str:
    """What the gain of a ranking counts."""
    return say(_of_season(f"ranking.gain.{ranking['figure']}", result))


def _of_season(key: str, result: Entry) -> str:
    """The sentence for the season complained of where there is one."""
    named = f"{key}_{result.get('season')}"
    return named if known(named) else key


def gain_of(result: Entry, ranking: Entry, row: Entry) -> Entry:
    """What an option gains in a ranking; how much quieter with the range of the fan laws, which the systems alone do not show."""
    found = entries(result).get(str(row["id"]), {"figures": []})
    heard = next((one for one in found["figures"] if one["id"] == "sound_change" and one.get("mid") is not None), None)
    if ranking["figure"] != "sound_change" or heard is None:
        gain: Entry = row["gain"]
        return gain
    return {"id": "gain", "low": -heard["high"], "mid": -heard["mid"], "high": -heard["low"], "unit": heard["unit"]}


def basis_line(result: Entry, ranking: Entry) -> str:
    """What a ranking was worked out on."""
    if ranking["basis"] == "confirmed":
        return say("ranking.confirmed", {"systems": result["systems"]})
    values = {"systems": result["screened_systems"], "step": f"{result['screening']['step_s']:.0f}"}
    return say("ranking.screened", values)


def standing_line(result: Entry, ranking: Entry, row: Entry, system: str = "inch_pound") -> str:
    """Where an option stands in a ranking and why: recommended, struck out by which limit, dominated by which, enough, or less."""
    found = entries(result).get(str(row["id"]), {})
    if not row["safe"]:
        broken = broken_lines(found, system)
        return say("option_list.struck", {"limits": "; ".join(broken)}) if broken else say("ranking.struck_unnamed")
    if row["id"] == ranking["recommended"]:
        return say("ranking.recommended")
    if row["dominated_by"] is not None:
        return say("option_list.dominated", {"other": option_named(result, str(row["dominated_by"]))})
    return say("option_list.enough" if row["enough"] and row["id"] != "leave_as_is" else "ranking.less")


def broken_lines(option: Entry, system: str = "inch_pound") -> list[str]:
    """The limits that an option breaks: name, figure with its range, bound."""
    return [_limit_line(one, system) for one in option.get("limits", []) if one["status"] == "fail"]


def _limit_line(one: Entry, system: str) -> str:
    name = label(str(one["id"]), "limit")
    name, figure = name[0].lower() + name[1:], one.get("figure")
    if not figure:
        return name
    text = f"{name}, {figure_text(figure, system)}"
    if one.get("bound") is None:
        return text
    bound = limit_text(float(one["bound"]), str(figure["unit"]), bool(one["at_least"]), system)
    return f"{text}; {say('bound.at_least' if one['at_least'] else 'bound.at_most', {'bound': bound})}"
