"""Two options as one: what each changes is laid on the other, and two that touch the same thing are not joined."""

from dataclasses import fields, replace
from itertools import combinations
from typing import Any

import numpy as np

from airtrim.core.errors import OutOfRangeError
from airtrim.physics.season.system import AirflowProgram, SystemSample
from airtrim.work.findings import Findings
from airtrim.work.options.air_side import on_path
from airtrim.work.options.candidates import IDS, Candidate, automatic

_PATH_SIDE = ("registers_open", "freer_filter", "larger_filter", "clean_coil", "return_duct", "supply_duct")
_TAPS = ("lower_tap", "second_lower_tap")
#: A thermostat that dries is tried with each of these: slower, or held, only while it is damp.
DRYING_WITH = (*_TAPS, "drive_coil_feedback", "constant_airflow_feedback")
THERMOSTAT = "thermostat_that_dries"


def pairs_of(found: Findings, by_id: dict[str, Candidate], helping: list[str]) -> list[Candidate]:
    """Pairs among those that help, and the thermostat that dries with whatever sets the airflow."""
    wanted = list(combinations(helping, 2))
    if THERMOSTAT in by_id:
        wanted += [(THERMOSTAT, name) for name in DRYING_WITH if name in by_id]
    names = dict.fromkeys(tuple(sorted(pair, key=IDS.index)) for pair in wanted)
    pairs = [two_together(found, by_id, *pair) for pair in names]
    return [one for one in pairs if one is not None]


def two_together(found: Findings, by_id: dict[str, Candidate], one: str, other: str) -> Candidate | None:
    """Two options that do not touch the same thing, as one; None where they do, or where one of them does not apply."""
    first, second, now = by_id[one], by_id[other], by_id["leave_as_is"]
    if first.program is None or second.program is None or first.job is not None or second.job is not None:
        return None
    made = _slower_on_a_freed_path(found, now, first, second) or _drying_on_demand(first, second)
    made = made or _laid_together(found, now, first, second)
    if made is None or made.program is None:
        return None
    notes = tuple(dict.fromkeys((*first.notes, *second.notes)))
    return replace(made, id="combination", parts=(one, other), notes=notes)


def _slower_on_a_freed_path(found: Findings, now: Candidate, first: Candidate, second: Candidate) -> Candidate | None:
    """A tap on another path: the blower finds its balance anew."""
    path = next((one for one in (first, second) if one.id in _PATH_SIDE), None)
    tap = next((one for one in (first, second) if one.id in _TAPS), None)
    if path is None or tap is None or path.blower is None:
        return None
    return on_path(found, now, "combination", path.blower.path, tap.tap)


def _drying_on_demand(first: Candidate, second: Candidate) -> Candidate | None:
    """The thermostat's damp contact brings the lower tap, or lets the control hold the coil; dry, the airflow stays as it is."""
    thermostat = next((one for one in (first, second) if one.id == THERMOSTAT), None)
    slower = next((one for one in (first, second) if one.id in DRYING_WITH), None)
    if thermostat is None or slower is None or thermostat.program is None or slower.program is None:
        return None
    drying, program = thermostat.program, slower.program
    try:
        if slower.watches_coil:
            return replace(
                slower,
                program=replace(
                    program, hold_only_when_drying=True, humidity_set=drying.humidity_set, overcool_k=drying.overcool_k
                ),
            )
        flow = program.cooling_flow
        switched = replace(
            drying, cooling_flow=1.0, drying_flow=flow, least_flow=min(flow, 1.0), greatest_flow=max(flow, 1.0)
        )
        return replace(slower, program=switched, watts=_on_two_taps(slower))
    except OutOfRangeError:  # set-points that do not go together
        return None


def _on_two_taps(slower: Candidate) -> Any:
    """Watts `[N, 4]` that are the present tap's at full flow and the slower tap's at its own, straight between."""
    assert slower.watts is not None and slower.program is not None and slower.present_watts is not None
    low, high, flow = slower.watts[:, 0], slower.present_watts, slower.program.cooling_flow
    slope = (high - low) / (1.0 - flow)
    watts = np.zeros_like(slower.watts)
    watts[:, 0], watts[:, 1] = high - slope, slope
    return watts


def _laid_together(found: Findings, now: Candidate, first: Candidate, second: Candidate) -> Candidate | None:
    """What each changes of house and program, laid on one another."""
    assert now.program is not None and first.program is not None and second.program is not None
    if first.watts is not None and second.watts is not None:
        return None
    free = automatic(now.program)
    program = _both(free, first.program, second.program)
    system = _both(found.system, first.system_of(found), second.system_of(found))
    if not isinstance(program, AirflowProgram) or not isinstance(system, SystemSample):
        return None
    base = first if first.watts is not None else second
    unchanged = first.system is None and second.system is None
    return replace(base, program=program, system=None if unchanged else system)


def _both(base: Any, first: Any, second: Any) -> Any:
    """`base` with the fields either of two changes; None where both change one, or the two do not go together."""
    changes: dict[str, Any] = {}
    for one in fields(base):
        was, a, b = (getattr(each, one.name) for each in (base, first, second))
        by_first, by_second = (not np.array_equal(was, each) for each in (a, b))
        if by_first and by_second:
            return None
        if by_first or by_second:
            changes[one.name] = a if by_first else b
    try:
        return replace(base, **changes)
    except OutOfRangeError:
        return None
