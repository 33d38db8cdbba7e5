"""All options of a job: screened on few systems at a long step, the best two together, and which go on to be confirmed."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np

from airtrim.physics.season.system import WeatherArrays
from airtrim.work.findings import Findings
from airtrim.work.options.air_side import (
    aimed_part,
    clean_coil,
    constant_airflow_feedback,
    constant_airflow_motor,
    constant_torque_motor,
    duct_work,
    freer_filter,
    larger_filter,
    reduced_voltage,
    registers_open,
)
from airtrim.work.options.candidates import IDS, Candidate, asked_for, fan_auto, lower_tap, shorter_off_delay
from airtrim.work.options.drying import ducted_dehumidifier, free_standing_dehumidifier, thermostat_that_dries
from airtrim.work.options.house_side import (
    exhausts_by_need,
    less_outdoor_air,
    right_sized_unit,
    seal_ducts,
    set_point_higher,
    staged_unit,
)
from airtrim.work.options.ranking import AIMS
from airtrim.work.options.together import pairs_of
from airtrim.work.options.weigh import option_results, ranked, run_candidates, watched_aim

SCREEN_SYSTEMS, SCREEN_STEP_S = 8, 60.0
#: So many go on to all systems at a short step, beside leaving it alone: the best by the ranking, and the surest.
CONFIRMED = 3
#: Parts of now's airflow above the aimed one at which motors that hold a setting are tried too.
MORE_AIR = (0.1, 0.2)
#: Least icing margin a setting of a new motor keeps in the screening, K: for the systems and steps not tried.
ROOM_K = 0.8
#: Of so many that help, two together are tried.
JOINED_OF = 4
#: What is left out of the entry of an option that was screened only.
_LONG = ("by_system", "series", "monthly_relative_humidity", "monthly_relative_humidity_high")


@dataclass(frozen=True)
class Screened:
    """`confirm` go on, the first of them leaving it alone; `aside` do not apply; `left` are entries of those screened only; `all`
    holds what another aim needs of everything that was run."""

    confirm: list[Candidate]
    aside: list[Candidate]
    left: list[dict[str, Any]]
    all: list[dict[str, Any]]


def every_candidate(found: Findings, now: Candidate, drive: Candidate, weather: WeatherArrays) -> list[Candidate]:
    """Each option but two together, in the trade's order, those not asked for set aside; `drive` as the scan chose it.

    A new unit is made for the few systems of the screening only, since fitting it takes a while; see `whole`.
    """
    few = replace(found, system=found.system.first(SCREEN_SYSTEMS))
    right_sized = lru_cache(maxsize=1)(lambda: right_sized_unit(few, now, weather))
    made: dict[str, Callable[[], Candidate]] = {
        "leave_as_is": lambda: now,
        "fan_auto": lambda: fan_auto(found, now),
        "shorter_off_delay": lambda: shorter_off_delay(found, now),
        "registers_open": lambda: registers_open(found, now),
        "set_point_higher": lambda: set_point_higher(found, now),
        "exhausts_by_need": lambda: exhausts_by_need(found, now),
        "less_outdoor_air": lambda: less_outdoor_air(found, now),
        "freer_filter": lambda: freer_filter(found, now),
        "larger_filter": lambda: larger_filter(found, now),
        "clean_coil": lambda: clean_coil(found, now),
        "lower_tap": lambda: lower_tap(found, now),
        "second_lower_tap": lambda: lower_tap(found, now, 2),
        "thermostat_that_dries": lambda: thermostat_that_dries(found, now),
        "reduced_voltage": lambda: reduced_voltage(found, now),
        "drive_coil_feedback": lambda: drive,
        "free_standing_dehumidifier": lambda: free_standing_dehumidifier(found, now),
        "constant_torque_motor": lambda: constant_torque_motor(found, now),
        "constant_airflow_motor": lambda: constant_airflow_motor(found, now),
        "constant_airflow_feedback": lambda: constant_airflow_feedback(found, now, drive),
        "seal_ducts": lambda: seal_ducts(found, now),
        "return_duct": lambda: duct_work(found, now, "return"),
        "supply_duct": lambda: duct_work(found, now, "supply"),
        "ducted_dehumidifier": lambda: ducted_dehumidifier(found, now),
        "right_sized_unit": right_sized,
        "staged_unit": lambda: staged_unit(few, now, right_sized()),
    }
    candidates = []
    for identity, make in made.items():
        asked = identity == "leave_as_is" or identity in found.job.options.consider
        wanted = make() if asked else Candidate(identity, None)
        candidates.append(asked_for(found, wanted))
    return candidates


def whole(found: Findings, now: Candidate, candidate: Candidate, weather: WeatherArrays) -> Candidate:
    """The candidate on all systems."""
    if candidate.system is None or candidate.system.count == found.system.count:
        return candidate
    right_sized = right_sized_unit(found, now, weather)
    return right_sized if candidate.id == "right_sized_unit" else staged_unit(found, now, right_sized)


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
    has_bill = found.job.tariff.is_known
    tried = [*candidates, *other_settings(found, candidates[0])]
    short = [_first(candidate) for candidate in tried]
    years = run_candidates(few, short, weather, SCREEN_STEP_S, lambda part: progress(0.8 * part), hourly=has_bill)
    entries = option_results(few, short, years, weather)
    best = _best_settings(few, tried, entries)
    candidates, results = [tried[index] for index in best], [entries[index] for index in best]
    order = _order(few, results)
    helping = [row["id"] for row in order if row["helps"] and row["safe"]][:JOINED_OF]
    joined = pairs_of(found, {one.id: one for one in candidates}, helping)
    together = Candidate("combination", None, why_not="option_why.no_two_help")
    if "combination" not in found.job.options.consider:
        together = asked_for(found, together)
    elif joined:
        pairs = [_first(candidates[0]), *(_first(one) for one in joined)]
        pair_results = option_results(
            few,
            pairs,
            run_candidates(
                few, pairs, weather, SCREEN_STEP_S, lambda part: progress(0.8 + 0.2 * part), hourly=has_bill
            ),
            weather,
        )
        together = _best_pair(few, joined, pair_results[1:], results) or together
        if together.program is not None:
            results.append(next(one for one, which in zip(pair_results[1:], joined, strict=True) if which is together))
            order = _order(few, results)
    everything = [*candidates, together]
    chosen = [row["id"] for row in order if row["safe"] and row["id"] != "leave_as_is"]
    keep = {"leave_as_is", *list(dict.fromkeys([*chosen[:1], *_surest(few, results), *chosen]))[:CONFIRMED]}
    confirm = [
        whole(found, candidates[0], one, weather) for one in everything if one.program is not None and one.id in keep
    ]
    left = [
        {key: value for key, value in entry.items() if key not in _LONG} | {"status": "screened"}
        for one in everything
        if one.program is not None and one.id not in keep
        for entry in results
        if entry["id"] == one.id
    ]
    short_entries = [
        {key: entry[key] for key in ("id", "parts", "price", "safe", "status", "by_system")}
        for entry in results
        if entry["status"] == "run"
    ]
    return Screened(confirm, [one for one in everything if one.program is None], left, short_entries)


def _best_settings(found: Findings, tried: list[Candidate], entries: list[dict[str, Any]]) -> list[int]:
    """Of each option the setting that is safe with room for other systems, and of those the one that serves the aim best."""
    name = AIMS[watched_aim(found)][0]
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


def _surest(found: Findings, results: list[dict[str, Any]]) -> list[str]:
    surest = ranked(found, results)["surest"]
    return [surest["id"]] if surest is not None and surest["id"] != "leave_as_is" else []


def _first(candidate: Candidate) -> Candidate:
    """The candidate on the few systems of the screening."""
    return replace(
        candidate,
        system=None if candidate.system is None else candidate.system.first(SCREEN_SYSTEMS),
        watts=None if candidate.watts is None else candidate.watts[:SCREEN_SYSTEMS],
        present_watts=None if candidate.present_watts is None else candidate.present_watts[:SCREEN_SYSTEMS],
    )


def _best_pair(
    found: Findings, joined: list[Candidate], entries: list[dict[str, Any]], singles: list[dict[str, Any]]
) -> Candidate | None:
    """The safe pair with the least of what the aim looks at, if it is less than with either part alone beyond doubt."""
    name = AIMS[watched_aim(found)][0]
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
