"""The options in the order of an aim, as the page shows them: read from what the plan kept, nothing is computed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from airtrim.report.ranking import (
    answer_lines,
    basis_line,
    entries,
    gain_label,
    gain_of,
    option_named,
    standing_line,
    told_lines,
)
from airtrim.report.units import display, figure_text
from airtrim.report.words import label, say
from airtrim.web.pages.common import State, place_url
from airtrim.web.strips import Strip, strip

_FIGURES = {
    "dry": "damp_hours",
    "quiet": "sound_change",
    "cheap_to_run": "cost_to_run",
    "even_temperatures": "hours_set_point_missed",
}


@dataclass(frozen=True)
class Aim:
    """An aim that can be chosen."""

    id: str
    name: str
    chosen: bool


@dataclass(frozen=True)
class Row:
    """An option in the order: its gain against leaving it alone, its chance of reaching the aim, and why it stands here."""

    name: str
    gain: Strip
    chance: str
    standing: str
    notes: tuple[str, ...]
    chosen: bool
    struck: bool
    serves: bool


@dataclass(frozen=True)
class Group:
    """Options that stand alike: `name` is empty for those that serve the aim; `folded` until somebody asks."""

    name: str
    note: str
    folded: bool
    rows: tuple[Row, ...]


@dataclass(frozen=True)
class Ranked:
    """The order by one aim; `screened` are those that this aim did not take further."""

    aims: tuple[Aim, ...]
    problem: str
    answer: str
    why: str
    basis: str
    gain: str
    unit: str
    met: str
    groups: tuple[Group, ...]
    told: tuple[str, ...]
    own: bool
    survey: str
    has_others: bool


def ranked_by(state: State, result: Mapping[str, Any], asked: str) -> Ranked:
    """The ranking by the aim asked for; by the job's own where none, or an unknown one, is asked for."""
    own, kept = result["ranking"], result.get("rankings", {})
    if "figure" not in own:  # a plan kept before a ranking told what it looks at
        own = own | {"figure": _FIGURES[_judged_by(result, str(own["aim"]))]}
    names = {aim: label(aim, "aim") for aim in kept or [own["aim"]]}
    aim = asked if asked in names else str(own["aim"])
    ranking = own if aim == own["aim"] else kept[aim]
    order = list(ranking["order"])
    below = [row for row in (kept[aim]["order"] if kept else []) if row["id"] not in {one["id"] for one in order}]
    among = [gain_of(result, ranking, row) for row in [*order, *below]]
    unit = display(str(next((one["unit"] for one in among if "unit" in one), "")), state.units).unit
    answer, why = answer_lines(result, ranking)
    problem = say("web.options.unknown_aim", {"aim": asked, "list": ", ".join(names.values())})
    own_name = say("web.options.aim_own", {"aim": label(str(own["aim"]), "aim")})
    return Ranked(
        aims=tuple(Aim(one, own_name if one == own["aim"] else name, one == aim) for one, name in names.items()),
        problem=problem if asked and asked not in names else "",
        answer=answer,
        why=why,
        basis=basis_line(result, ranking),
        gain=gain_label(result, ranking),
        unit=unit,
        met=say("web.options.met", {"aim": say(f"aim_met.{_judged_by(result, aim)}")}),
        groups=_groups(
            result,
            ranking,
            [_row(result, ranking, row, among, state.units) for row in order],
            [_row(result, {**ranking, "recommended": ""}, row, among, state.units) for row in below],
        ),
        told=tuple(told_lines(result, None, ranking)),
        own=aim == own["aim"],
        survey=place_url(state.job, "options.aim"),
        has_others=bool(kept),
    )


def _groups(
    result: Mapping[str, Any], ranking: Mapping[str, Any], rows: list[Row], below: list[Row]
) -> tuple[Group, ...]:
    """Those that serve the aim, those that do less, those that were screened only, and those a limit struck out."""
    confirmed = ranking["basis"] == "confirmed"
    first = [row for row in rows if not row.struck and (confirmed or row.serves)]
    less = [row for row in rows if not row.struck and row not in first]
    screened = [row for row in below if not row.struck]
    values = {"systems": result["screened_systems"], "step": f"{result['screening']['step_s']:.0f}"} if below else {}
    note = say("web.options.screened_note", values) if below else ""
    groups = (
        Group("", "", False, tuple(first)),
        Group(say("web.options.less"), "", True, tuple(less)),
        Group(say("web.options.screened"), note, True, tuple(screened)),
        Group(say("web.options.struck"), "", False, tuple(row for row in [*rows, *below] if row.struck)),
    )
    return tuple(one for one in groups if one.rows)


def _row(
    result: Mapping[str, Any],
    ranking: Mapping[str, Any],
    row: Mapping[str, Any],
    among: Sequence[Mapping[str, Any]],
    units: str,
) -> Row:
    identity = str(row["id"])
    return Row(
        name=option_named(result, identity),
        gain=strip(gain_of(result, ranking, row), units, among, zero=True),
        chance=say("web.options.reaches", {"chance": figure_text(row["chance"], units)}),
        standing=standing_line(result, ranking, row, units),
        notes=tuple(say(str(note)) for note in entries(result).get(identity, {}).get("will_not", [])),
        chosen=identity == ranking["recommended"],
        struck=not row["safe"],
        serves=identity == ranking["recommended"]
        or bool(row["helps" if ranking["aim"] == "cheap_to_buy" else "enough"]),
    )


def _judged_by(result: Mapping[str, Any], aim: str) -> str:
    """The aim whose chance is told: cheap to buy is judged by the complaint's."""
    return str(result["complaint_aim"]) if aim == "cheap_to_buy" else aim
