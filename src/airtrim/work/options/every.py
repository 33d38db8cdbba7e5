"""All options of a job: screened on few systems at a long step, the best two together, and which go on to be confirmed."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any

import numpy as np

from airtrim.core.errors import OutOfRangeError
from airtrim.physics.season.system import WeatherArrays
from airtrim.work.findings import Findings
from airtrim.work.options.air_side import (
    aimed_part,
    clean_coil,
    constant_airflow_feedback,
    constant_airflow_motor,
    constant_torque_motor,
    duct_work,
    larger_filter,
    on_path,
    reduced_voltage,
)
from airtrim.work.options.candidates import IDS, Candidate, asked_for, fan_auto, lower_tap, shorter_off_delay
from airtrim.work.options.house_side import (
    exhausts_by_need,
    less_outdoor_air,
    right_sized_unit,
    seal_ducts,
    set_point_higher,
)
from airtrim.work.options.ranking import AIMS
from airtrim.work.options.weigh import aim_of, option_results, ranked, run_candidates

SCREEN_SYSTEMS, SCREEN_STEP_S = 8, 60.0
#: So many go on to all systems at a short step, beside leaving it alone and a drive that could be set.
CONFIRMED = 3
#: Parts of now's airflow above the aimed one at which motors that hold a setting are tried too.
MORE_AIR = (0.1, 0.2)
#: Least icing margin a setting of a new motor keeps in the screening, K: for the systems and steps not tried.
ROOM_K = 0.8
#: Of so many that help, two together are tried.
JOINED_OF = 4
_HOUSE_SIDE = ("seal_ducts", "exhausts_by_need", "less_outdoor_air", "set_point_higher")
_PATH_SIDE = ("larger_filter", "clean_coil", "return_duct", "supply_duct")
#: What is left out of the entry of an option that was screened only.
_LONG = ("by_system", "monthly_relative_humidity", "monthly_relative_humidity_high")
_TAPS = ("lower_tap", "second_lower_tap")


@dataclass(frozen=True)
class Screened:
    """`confirm` go on, the first of them leaving it alone; `aside` do not apply; `left` are entries of those screened only."""

    confirm: list[Candidate]
    aside: list[Candidate]
    left: list[dict[str, Any]]


def every_candidate(found: Findings, now: Candidate, drive: Candidate, weather: WeatherArrays) -> list[Candidate]:
    """Each option but two together, in the trade's order, those not asked for set aside; `drive` as the scan chose it."""
    made: dict[str, Callable[[], Candidate]] = {
        "leave_as_is": lambda: now,
        "fan_auto": lambda: fan_auto(found, now),
        "shorter_off_delay": lambda: shorter_off_delay(found, now),
        "set_point_higher": lambda: set_point_higher(found, now),
        "exhausts_by_need": lambda: exhausts_by_need(found, now),
        "less_outdoor_air": lambda: less_outdoor_air(found, now),
        "larger_filter": lambda: larger_filter(found, now),
        "clean_coil": lambda: clean_coil(found, now),
        "lower_tap": lambda: lower_tap(found, now),
        "second_lower_tap": lambda: lower_tap(found, now, 2),
        "reduced_voltage": lambda: reduced_voltage(found, now),
        "drive_coil_feedback": lambda: drive,
        "constant_torque_motor": lambda: constant_torque_motor(found, now),
        "constant_airflow_motor": lambda: constant_airflow_motor(found, now),
        "constant_airflow_feedback": lambda: constant_airflow_feedback(found, now, drive),
        "seal_ducts": lambda: seal_ducts(found, now),
        "return_duct": lambda: duct_work(found, now, "return"),
        "supply_duct": lambda: duct_work(found, now, "supply"),
        "right_sized_unit": lambda: right_sized_unit(found, now, weather),
    }
    candidates = []
    for identity, make in made.items():
        asked = identity == "leave_as_is" or identity in found.job.options.consider
        wanted = make() if asked else Candidate(identity, None)
        candidates.append(asked_for(found, wanted))
    return candidates


def other_settings(found: Findings, now: Candidate) -> list[Candidate]:
    """The motors that hold a torque or an airflow, set higher than the aimed airflow, for coils that need it."""
    parts = [aimed_part(found) + more for more in MORE_AIR]
    makers = {"constant_torque_motor": constant_torque_motor, "constant_airflow_motor": constant_airflow_motor}
    tried = [
        make(found, now, part)
        for identity, make in makers.items()
        for part in parts
        if identity in found.job.options.consider and part < 1.0
    ]
    return [one for one in tried if one.program is not None]


def screen(
    found: Findings, candidates: list[Candidate], weather: WeatherArrays, progress: Callable[[float], Any]
) -> Screened:
    """Few systems at 60 s: which options are worth all systems at 10 s, by the owner's aim."""
    few = replace(found, system=found.system.first(SCREEN_SYSTEMS))
    tried = [*candidates, *other_settings(found, candidates[0])]
    short = [_first(candidate) for candidate in tried]
    years = run_candidates(few, short, weather, SCREEN_STEP_S, lambda part: progress(0.8 * part))
    entries = option_results(few, short, years, weather)
    best = _best_settings(few, tried, entries)
    candidates, results = [tried[index] for index in best], [entries[index] for index in best]
    order = _order(few, results)
    joined = _together(found, candidates, [row["id"] for row in order if row["helps"] and row["safe"]][:JOINED_OF])
    together = Candidate("combination", None, why_not="option_why.no_two_help")
    if "combination" not in found.job.options.consider:
        together = asked_for(found, together)
    elif joined:
        pairs = [_first(candidates[0]), *(_first(one) for one in joined)]
        pair_results = option_results(
            few,
            pairs,
            run_candidates(few, pairs, weather, SCREEN_STEP_S, lambda part: progress(0.8 + 0.2 * part)),
            weather,
        )
        together = _best_pair(few, joined, pair_results[1:], results) or together
        if together.program is not None:
            results.append(next(one for one, which in zip(pair_results[1:], joined, strict=True) if which is together))
            order = _order(few, results)
    everything = [*candidates, together]
    chosen = [row["id"] for row in order if row["safe"] and row["id"] != "leave_as_is"][:CONFIRMED]
    keep = {"leave_as_is", "drive_coil_feedback", *chosen}
    confirm = [one for one in everything if one.program is not None and one.id in keep]
    left = [
        {key: value for key, value in entry.items() if key not in _LONG} | {"status": "screened"}
        for one in everything
        if one.program is not None and one.id not in keep
        for entry in results
        if entry["id"] == one.id
    ]
    return Screened(confirm, [one for one in everything if one.program is None], left)


def _best_settings(found: Findings, tried: list[Candidate], entries: list[dict[str, Any]]) -> list[int]:
    """Of each option the setting that is safe with room for other systems, and of those the one that serves the aim best."""
    name = AIMS[aim_of(found)][0]
    best: dict[str, int] = {}

    def worth(index: int) -> tuple[bool, bool, float]:
        own = entries[index].get("by_system")
        return (not entries[index]["safe"], not _roomy(entries[index]), float(np.median(own[name])) if own else 0.0)

    for index, candidate in enumerate(tried):
        held = best.get(candidate.id)
        if held is None or worth(index) < worth(held):
            best[candidate.id] = index
    return sorted(best.values(), key=lambda index: IDS.index(tried[index].id))


def _roomy(entry: dict[str, Any]) -> bool:
    """Whether the coil keeps a margin for the systems that were not tried."""
    coil = next((one["figure"] for one in entry["limits"] if one["id"] == "coil_of_the_year"), None)
    return coil is None or float(coil["low"]) >= ROOM_K


def _order(found: Findings, results: list[dict[str, Any]]) -> list[dict[str, Any]]:
    order: list[dict[str, Any]] = ranked(found, results)["order"]
    return order


def _first(candidate: Candidate) -> Candidate:
    """The candidate on the few systems of the screening."""
    return replace(
        candidate,
        system=None if candidate.system is None else candidate.system.first(SCREEN_SYSTEMS),
        watts=None if candidate.watts is None else candidate.watts[:SCREEN_SYSTEMS],
    )


def _together(found: Findings, candidates: list[Candidate], helping: list[str]) -> list[Candidate]:
    by_id = {candidate.id: candidate for candidate in candidates}
    pairs = [two_together(found, by_id, *sorted(pair, key=IDS.index)) for pair in combinations(helping, 2)]
    return [one for one in pairs if one is not None]


def two_together(found: Findings, by_id: dict[str, Candidate], one: str, other: str) -> Candidate | None:
    """Two options that do not touch the same thing, as one; None where they do."""
    now = by_id["leave_as_is"]
    house = next((name for name in (one, other) if name in _HOUSE_SIDE), None)
    if house is not None:
        rest = by_id[other if house == one else one]
        return _on_house(found, by_id[house], rest, (one, other))
    path = next((name for name in (one, other) if name in _PATH_SIDE), None)
    tap = next((name for name in (one, other) if name in _TAPS), None)
    if path is None or tap is None:
        return None
    blower, slower = by_id[path].blower, by_id[tap].tap
    assert blower is not None
    made = on_path(found, now, "combination", blower.path, slower)
    notes = tuple(dict.fromkeys((*by_id[path].notes, *by_id[tap].notes)))
    return replace(made, parts=(one, other), notes=notes) if made.program is not None else None


def _on_house(found: Findings, house: Candidate, rest: Candidate, parts: tuple[str, str]) -> Candidate | None:
    """The house side of one and the air side of the other; two of the house side are left apart."""
    if rest.id in _HOUSE_SIDE or rest.program is None or house.program is None or rest.system is not None:
        return None
    try:
        program = replace(rest.program, cooling_set_point_c=house.program.cooling_set_point_c)
    except OutOfRangeError:  # set-points that do not go together
        return None
    notes = tuple(dict.fromkeys((*house.notes, *rest.notes)))
    return replace(rest, id="combination", program=program, system=house.system, parts=parts, notes=notes)


def _best_pair(
    found: Findings, joined: list[Candidate], entries: list[dict[str, Any]], singles: list[dict[str, Any]]
) -> Candidate | None:
    """The safe pair with the least of what the aim looks at, if it is less than with either part alone beyond doubt."""
    name = AIMS[aim_of(found)][0]
    best: tuple[float, Candidate] | None = None
    for candidate, entry in zip(joined, entries, strict=True):
        own = np.array(entry["by_system"][name])
        parts = [np.array(one["by_system"][name]) for one in singles if one["id"] in candidate.parts]
        if not entry["safe"] or any(float(np.quantile(part - own, 0.05)) <= 0.0 for part in parts):
            continue
        middle = float(np.median(own))
        if best is None or middle < best[0]:
            best = (middle, candidate)
    return None if best is None else best[1]
