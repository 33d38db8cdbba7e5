"""How long a search for settings takes, how often its settings keep the limits in truth, and how far they are from the best choice.

`./run bench settings` takes AIRTRIM_BENCH_SETTINGS invented houses; what was done is kept in the file named by
AIRTRIM_BENCH_SETTINGS_FILE, so that a long run can be stopped and taken up again. A house's truth is a system that fits its
readings (drawn apart from the sample the search sees), with what the search does not know: another compressor (the AHRI 540
example's map), capacity and power 5 % off, circuits that share unevenly, a coil sensor off within its accuracy; its surfaces
are those of the loop so described, its years are run at 10 s.
"""

import json
import os
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from airtrim.physics.season.year import run_years
from airtrim.physics.unit.fields import BY_MAP, COMPRESSOR, REFRIGERANT, UNIT_FIELDS, refrigerant_code
from airtrim.physics.unit.fit import bypass_constants, fit_surfaces
from airtrim.work.findings import Findings, find
from airtrim.work.options.candidates import Candidate, leave_as_is
from airtrim.work.settings.choose import choose_settings
from airtrim.work.settings.judge import CHECKED_MARGIN_K, broken, measured, violation
from airtrim.work.settings.knobs import Choice, Space
from airtrim.work.settings.scenarios import COLD, TYPICAL, Years, program_under, run_under, system_under
from airtrim.work.settings.search import Effort
from airtrim.work.settings.trim import Values, ready, run_trimmed
from airtrim.work.weather import weather_of
from tests.work.findings.invented import invented

HOUSES = int(os.environ.get("AIRTRIM_BENCH_SETTINGS", "2"))
#: The search of a house in the benchmark: as thorough as the plan's, with the hardest case beside the typical year.
EFFORT = Effort(4, 8, 3, 12, 3, (TYPICAL,), (TYPICAL, COLD))
SYSTEMS, GRID = 32, (12, 4)


def truth_of(found: Findings, weather: Any, seed: int) -> tuple[Findings, float]:
    """Findings of one system, the truth, and its sensor's error as a part of its accuracy."""
    drawn = find(found.job, weather, 2, seed=1000 + seed)
    rng = np.random.default_rng([seed, 77])
    units = drawn.system.units[:1].copy()
    units[:, 0] *= 1.0 + 0.05 * rng.standard_normal()
    units[:, 1] *= 1.0 + 0.05 * rng.standard_normal()
    units[:, COMPRESSOR], units[:, REFRIGERANT] = BY_MAP, refrigerant_code("R-410A")
    units[:, UNIT_FIELDS.index("uneven_circuits")] = rng.uniform(0.0, 0.3)
    one = drawn.system.first(1)
    surfaces = fit_surfaces(units, one.pressure_pa)
    system = replace(one, units=units, surfaces=surfaces, bypass=bypass_constants(units, one.pressure_pa))
    return replace(found, system=system), float(rng.uniform(-1.0, 1.0))


def run_truth(
    truth: Findings, sensor: float, candidates: list[Candidate], weather: Any, cold: bool, step_s: float
) -> Any:
    """Years of candidates in truth, in its typical year or in the hardest case of it."""
    scenario = replace(COLD if cold else TYPICAL, sensor=sensor)
    programs, watts = [], []
    for one in candidates:
        assert one.program is not None
        programs.append(program_under(one.program, scenario, truth.job, 2.0 / 1.8))
        watts.append(None if one.watts is None else one.watts[:1])
    return run_years(system_under(truth.system, scenario), programs, weather, step_s, watts)


def grid_of(space: Space, around: Choice) -> list[Choice]:
    """Choices evenly over the space, with the one chosen among them."""
    axes = [
        np.unique(np.rint(np.linspace(0, len(knob.values) - 1, count)).astype(int))
        for knob, count in zip(space.knobs, GRID, strict=False)
    ]
    every = [tuple(int(value) for value in place) for place in np.stack(np.meshgrid(*axes), -1).reshape(-1, len(axes))]
    return list(dict.fromkeys([around, *every]))


def judged(seed: int) -> dict[str, Any]:
    """One house: seconds, whether the limits hold in truth, and regret against the best choice."""
    job = invented(seed, "nothing_found").job
    weather = weather_of(job)
    found = find(job, weather, SYSTEMS)
    now = leave_as_is(found)
    years = Years(weather, weather, weather)
    began = time.perf_counter()
    chosen = choose_settings(found, now, "drive_coil_feedback", weather, effort=EFFORT, years=years, proof=False)
    seconds = time.perf_counter() - began
    if chosen.best is None:
        return {"seconds": seconds, "found": False}
    truth, sensor = truth_of(found, weather, seed)
    held = True
    for cold in (False, True):
        read = measured(run_truth(truth, sensor, [now, chosen.candidate], weather, cold, 10.0), "dry")
        hits = broken(read, "cold" if cold else "typical")
        held = held and not (hits["coil"][0, 1] or hits["frost"][0, 1])
    # the best choice: of those that keep the sample's limits, the one best in truth; and of those that keep the truth's
    grid = [one for one in grid_of(chosen.space, chosen.choice) if chosen.space.candidate(one).program is not None]
    made = [now, *(chosen.space.candidate(one) for one in grid)]
    in_truth = measured(run_truth(truth, sensor, made, weather, False, 60.0), "dry")
    places = list(range(0, SYSTEMS, 3))
    allowed = np.ones(len(grid), dtype=bool)
    for scenario in (TYPICAL, COLD):
        in_sample = measured(run_under(found, made, scenario, years, 60.0, 2.0 / 1.8, places), "dry")
        short = violation(in_sample, scenario.id, CHECKED_MARGIN_K)
        allowed &= np.sum(list(short.values()), axis=0)[1:] == 0.0
    allowed[0] = True
    aims, present = in_truth.aim[0, 1:], float(in_truth.aim[0, 0])
    own, best = float(aims[0]), float(aims[allowed].min())
    seen = ~broken(in_truth, "typical")["coil"][0, 1:]
    knowing = min(float(aims[seen].min()), own) if seen.any() else own
    return {
        "seconds": seconds,
        "found": True,
        "held": bool(held),
        "regret": (own - best) / max(present - best, 1.0),
        "regret_knowing": (own - knowing) / max(present - knowing, 1.0),
    }


def run() -> list[dict[str, Any]]:
    """Entries of the benchmark."""
    kept_at = os.environ.get("AIRTRIM_BENCH_SETTINGS_FILE")
    done: dict[int, dict[str, Any]] = {}
    if kept_at and Path(kept_at).is_file():
        done = {one["seed"]: one for one in map(json.loads, Path(kept_at).read_text().splitlines())}
    for seed in range(HOUSES):
        if seed not in done:
            done[seed] = {"seed": seed, **judged(seed)}
            if kept_at:
                with Path(kept_at).open("a") as file:
                    file.write(json.dumps(done[seed]) + "\n")
    tried = [done[seed] for seed in range(HOUSES)]
    found = [one for one in tried if one["found"]]

    def entry(name: str, value: float, unit: str, better: str) -> dict[str, Any]:
        return {"bench": name, "value": value, "unit": unit, "better": better, "against": None, "ratio": None}

    entries = [
        entry("settings_search", _search_s(), "s", "lower"),
        entry("trim_by_hand", _trim_ms(), "ms", "lower"),
        entry("settings_found", len(found) / len(tried), "share", "higher"),
    ]
    if found:
        entries += [
            entry("settings_limits_held", float(np.mean([one["held"] for one in found])), "share", "higher"),
            entry("settings_regret", float(np.median([one["regret"] for one in found])), "share", "lower"),
            entry(
                "settings_regret.knowing", float(np.median([one["regret_knowing"] for one in found])), "share", "lower"
            ),
        ]
    return entries


def _ready() -> tuple[Findings, Candidate, Any]:
    job = invented(0, "nothing_found").job
    weather = weather_of(job)
    found = find(job, weather, SYSTEMS)
    return found, leave_as_is(found), weather


def _search_s() -> float:
    """A thorough search without its proof."""
    found, now, weather = _ready()
    began = time.perf_counter()
    choose_settings(found, now, "drive_coil_feedback", weather, proof=False)
    return time.perf_counter() - began


def _trim_ms() -> float:
    """One system at the screening step under new settings: the run alone, its candidate with it."""
    found, _, weather = _ready()
    made = ready(found, weather, 1)
    run_trimmed(made, Values(0.8, 12.0, 30.0, 30.0), 1, 60.0)
    times = []
    for place in range(9):
        began = time.perf_counter()
        run_trimmed(made, Values(0.75 + 0.01 * place, 13.0, 30.0, 30.0), 1, 60.0)
        times.append(1000.0 * (time.perf_counter() - began))
    return float(np.median(times))
