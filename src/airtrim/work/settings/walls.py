"""Limits that a setting breaks whatever the year does, and what to give way on where no airflow keeps them all."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from airtrim.work.findings import Findings
from airtrim.work.options.candidates import UNCHANGED_RISE, Candidate
from airtrim.work.options.heat import HeatCheck, heat_under
from airtrim.work.options.limits import air_limits, motor_limits
from airtrim.work.settings.knobs import Choice, Space

#: Systems on which fixed limits are looked at in a search; all of them are before a setting is issued.
FEW = 2


def limits_of(found: Findings, candidate: Candidate, line_speed_heat: HeatCheck | None = None) -> list[dict[str, Any]]:
    """The limits of airflow and motor under a candidate, on a few systems.

    `line_speed_heat` is `heat_at_line_speed`, for programs that watch the coil: heat does not depend on their settings.
    """
    program = candidate.program
    assert program is not None
    few = candidate.system_of(found).first(FEW)
    fraction = program.least_flow if candidate.watches_coil else program.cooling_flow
    heat = line_speed_heat if candidate.watches_coil else None
    limits = air_limits(found.job, few, found.airflow.m3_s, found.airflow.sigma, fraction, candidate.watches_coil, heat)
    if candidate.on_a_drive or candidate.rise != UNCHANGED_RISE:
        limits += motor_limits(found, candidate.hertz, candidate.rise, on_a_drive=candidate.on_a_drive)
    return limits


def heat_at_line_speed(found: Findings) -> HeatCheck:
    """Heat under a program that gives it the present airflow."""
    return heat_under(found.job, found.system.first(FEW), None, 1.0, moves_lead=False)


def failed(limits: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """Those that are broken."""
    return [one for one in limits if one["status"] == "fail"]


@dataclass(frozen=True)
class Unmet:
    """Why no airflow will do: the two limits that have no airflow in common (`second` empty: what the hardware can move), and the
    least that one of them would have to give, in its own unit.

    `relaxed` is that limit, `by` how much, `bound` where it stands now, `to` where it would have to stand.
    """

    first: str
    second: str
    relaxed: str
    by: float
    bound: float
    to: float
    unit: str
    at_least: bool


def unmet(found: Findings, space: Space, others: Choice | None = None) -> Unmet | None:
    """The binding pair where no value of the airflow's knob keeps the fixed limits; None where one does."""
    middle = others or tuple(len(knob.values) // 2 for knob in space.knobs)
    rows = []
    heat = None
    for place in range(len(space.knobs[0].values)):
        candidate = space.candidate((place, *middle[1:]))
        if candidate.program is not None:
            if candidate.watches_coil and heat is None:
                heat = heat_at_line_speed(found)
            rows.append(limits_of(found, candidate, heat))
    return binding_pair(rows)


def binding_pair(rows: Sequence[Sequence[Mapping[str, Any]]]) -> Unmet | None:
    """Of the limits at each airflow tried, the pair that leaves none and its least relaxation; None where an airflow keeps all.

    Each row holds the limits at one airflow (`work/options/limits.limit`). A limit is given way on by the difference between its
    figure and its bound, in parts of the bound, at the airflow where that is least and the other is kept.
    """
    if not rows or any(not failed(row) for row in rows):
        return None
    broken = [{str(one["id"]): one for one in failed(row)} for row in rows]
    names = sorted({name for row in broken for name in row})
    alone = [name for name in names if all(name in row for row in broken)]
    if alone:  # one limit that no airflow of this hardware keeps
        pairs = [(name, "") for name in alone]
    else:
        pairs = [
            (one, other)
            for place, one in enumerate(names)
            for other in names[place + 1 :]
            if all(one in row or other in row for row in broken)
        ]
    best: Unmet | None = None
    only = any(len(row) == 1 for row in broken)  # where giving way on one limit is enough
    for pair in pairs or [(names[0], names[-1])]:
        for relaxed, kept in (pair, pair[::-1]):
            for row in broken:
                if relaxed not in row or (kept and kept in row) or (only and len(row) > 1):
                    continue
                made = _relaxation(row[relaxed], pair)
                if made is not None and (best is None or _part(made) < _part(best)):
                    best = made
    return best


def _relaxation(limit: Mapping[str, Any], pair: tuple[str, str]) -> Unmet | None:
    figure, bound = limit["figure"], limit["bound"]
    if figure is None or bound is None:
        return None
    value = float(figure["low"] if limit["id"] == "coil_saturation" else figure["mid"])
    return Unmet(pair[0], pair[1], str(limit["id"]), abs(value - float(bound)), float(bound), value, str(figure["unit"]),
                 bool(limit["at_least"]))  # fmt: skip


def _part(one: Unmet) -> float:
    scale = 10.0 if one.unit == "degC" else abs(one.bound)
    return one.by / max(scale, 1e-12)
