"""How long a search for settings takes, how often its settings keep the limits in truth, and how far they are from the best choice.

`./run bench settings` takes AIRTRIM_BENCH_SETTINGS invented houses; what was done is kept in the file named by
AIRTRIM_BENCH_SETTINGS_FILE, so that a long run can be stopped and taken up again.

A house's truth is the unit, the airflow and the leak its readings were made with (tests/work/findings/invented.py: the loop in
balance, another compressor than the fit takes, capacity and power off, uneven circuits) in a house drawn apart from the sample,
with a coil sensor off within its card's accuracy. Its years are run at 10 s on surfaces of that loop; at its coldest moments the
loop itself is asked, and what it says counts.

Settings are chosen as the product chooses them, proof and steps to more air included. What a proof says of a limit is a chance, so
that no house alone tells anything: over all houses the count that broke a limit stands beside what the proofs let expect.

Regret is what was left of the aim by the setting chosen, part of what the best choice attains over leaving it alone. The best
choice is looked for apart from the search: at some sensor drops the least frequency that keeps the same promise on the same sample
(or, for `.knowing`, the limits in truth), by halving, since less air is colder and carries less; the best of these in truth. The
setting chosen is not among them, so regret can come out below nought.
"""

import json
import os
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.stats import beta

from airtrim.core.lanes.write import LANES
from airtrim.physics.air.moist import humidity_ratio_from_wet_bulb
from airtrim.physics.season.system import SystemSample
from airtrim.physics.season.weeks import DAYS_OF_MONTH, WHOLE_YEAR, Calendar, months_alone
from airtrim.physics.season.year import run_years
from airtrim.physics.unit.closure import closure
from airtrim.physics.unit.fields import complete_rows
from airtrim.physics.unit.fit import bypass_constants, fit_surfaces
from airtrim.physics.unit.steady import full_state
from airtrim.work.findings import Findings, find
from airtrim.work.options.candidates import Candidate, leave_as_is
from airtrim.work.settings.choose import Settings, choose_settings, with_off_delay_of
from airtrim.work.settings.confirm import SCENARIOS
from airtrim.work.settings.judge import LIMITS, Measured, broken, may_break, measured
from airtrim.work.settings.knobs import Choice, Space
from airtrim.work.settings.scenarios import (
    COLD,
    HOT,
    TYPICAL,
    Scenario,
    program_under,
    run_under,
    sensor_accuracy_k,
    system_under,
    years_of,
)
from airtrim.work.settings.trim import Values, ready, run_trimmed
from airtrim.work.weather import weather_of
from tests.work.findings.invented import Invented, invented

HOUSES = int(os.environ.get("AIRTRIM_BENCH_SETTINGS", "2"))
SYSTEMS = 32
OPTION, CARD = "drive_coil_feedback", "speed_control_by_frequency"
#: Sensor drops at which the best choice is looked for, and the systems (the coldest) and moments it is looked at with.
DROPS, COLDEST_MOMENTS = 4, 40
#: Months that come as near to the year's coldest moment are run, K.
NEAR_K = 1.0
#: Limits a proof must hold for a setting to be offered; sweat is told with its chance.
OFFERED_ON = ("coil", "frost", "set_point")
Array = NDArray[np.float64]


def truth_of(house: Invented, found: Findings, weather: Any, seed: int) -> tuple[SystemSample, float]:
    """The true system, alone in a sample, and its coil sensor's error as a part of its accuracy."""
    drawn = find(found.job, weather, 2, seed=1000 + seed).system.first(1)
    rng = np.random.default_rng([seed, 77])
    pressure, units = drawn.pressure_pa, house.unit[None, :]
    system = replace(
        drawn,
        units=units,
        surfaces=fit_surfaces(units, pressure),
        bypass=bypass_constants(units, pressure),
        full_flow_kg_s=np.array([house.dry_air_kg_s]),
        fan_watts=drawn.fan_watts * (house.truth["blower_watts"] / drawn.fan_watts[0, 0]),
        return_leak=np.array([house.truth["return_leak"]]),
    )
    return system, float(rng.uniform(-1.0, 1.0))


class House:
    """One house: what the contractor knows, the setting chosen, and the truth."""

    def __init__(self, seed: int) -> None:
        house = invented(seed, "nothing_found")
        job: Any = house.job
        self.weather = weather_of(job)
        self.found = find(job, self.weather, SYSTEMS)
        self.now = leave_as_is(self.found)
        self.years = years_of(job, self.weather)
        self.accuracy_k = sensor_accuracy_k(job, CARD)
        self.truth, self.sensor = truth_of(house, self.found, self.weather, seed)

    def choose(self) -> Settings:
        return choose_settings(self.found, self.now, OPTION, self.weather, years=self.years)

    def in_truth(
        self,
        candidates: list[Candidate],
        scenario: Scenario,
        step_s: float,
        calendar: Calendar = WHOLE_YEAR,
        **asked: Any,
    ) -> Any:
        """Years of candidates in truth under a scenario, its sensor as it truly is."""
        known = replace(scenario, sensor=self.sensor)
        programs, watts = [], []
        for one in candidates:
            assert one.program is not None
            programs.append(program_under(one.program, known, self.found.job, self.accuracy_k))
            share = self.truth.fan_watts[0, 0] / self.found.system.fan_watts[0, 0]
            watts.append(None if one.watts is None else one.watts[:1] * share)
        return run_years(
            system_under(self.truth, scenario), programs, self.years.of(scenario.year), step_s, watts, calendar=calendar, **asked
        )  # fmt: skip

    def loop_less_surface_k(self, candidate: Candidate) -> tuple[float, float, float]:
        """(mean, least, greatest) of the loop's saturated suction less its surface's, K, at the coldest moments of a setting's
        typical year in truth: those of its coldest month."""
        year = self.in_truth([candidate], TYPICAL, 60.0)
        month = int(np.nanargmin(year.monthly_least_icing_margin_k[0, 0]))
        first = sum(DAYS_OF_MONTH[:month])
        days = range(first, first + DAYS_OF_MONTH[month])
        run = self.in_truth([candidate], TYPICAL, 10.0, months_alone([month]), traces=list(days))
        weather, one = self.weather, self.truth
        row = complete_rows(one.units)[0]
        closed = closure(row)
        moments = []
        for day, trace in run.details.traces.items():
            at = {name: values[0, 0] for name, values in trace.items() if name != "time_h"}
            ran = np.flatnonzero((at["call"] == 1.0) & (at["running"] > 0.95) & (at["coil_flow_kg_s"] > 0.0))
            hours = 24.0 * day + trace["time_h"] - 1.0  # hour h ends at index h
            outdoor = np.interp(hours, np.arange(8760.0), weather.dry_bulb_c)
            moments += [
                (at["suction_c"][k], at, k, outdoor[k]) for k in ran[np.argsort(at["suction_c"][ran])[:COLDEST_MOMENTS]]
            ]
        moments.sort(key=lambda moment: moment[0])
        apart = []
        for suction, at, k, outdoor_c in moments[:COLDEST_MOMENTS]:
            around = at["air_c"][k] + one.ducts_in_attic[0] * (at["attic_c"][k] - at["air_c"][k])
            entering = at["air_c"][k] + one.return_leak[0] * (around - at["air_c"][k])
            humidity = humidity_ratio_from_wet_bulb(entering, at["wet_bulb_c"][k], one.pressure_pa)
            state, _, _ = full_state(
                entering, humidity, outdoor_c, at["coil_flow_kg_s"][k], one.pressure_pa, row, closed
            )
            apart.append(state[3] - suction)
        return float(np.mean(apart)), float(np.min(apart)), float(np.max(apart))

    def broken_in_truth(self, candidate: Candidate, loop_k: float) -> dict[str, Any]:
        """By limit, whether the candidate breaks it in truth in any scenario of the proof; its aim and that of leaving it alone."""
        hits = dict.fromkeys(LIMITS, False)
        told: dict[str, Any] = {}
        for scenario in SCENARIOS:
            read = measured(self.in_truth([self.now, candidate], scenario, 10.0), "dry")
            if scenario is TYPICAL:
                told = {"least_k": float(read.least_k[0, 1]), "now_k": float(read.least_k[0, 0])}
            read = with_margin(read, loop_k)
            for name, one in broken(read, scenario.id).items():
                hits[name] |= bool(one[0, 1])
        return {"broken": hits, **told}

    def keeps_promise(self, like: Candidate, space: Space) -> Callable[[list[Choice]], list[bool]]:
        """Whether settings keep the limits on the sample as often as a proof asks: the coil of the coldest systems, at 10 s in the
        months that come near the coldest moment of the typical year, at 60 s in the hardest case; the set-point of those that
        miss it most in the hot year."""
        middle = space.candidate(tuple(len(knob.values) // 2 for knob in space.knobs))
        rough = run_under(self.found, [self.now, middle], TYPICAL, self.years, 60.0, self.accuracy_k)
        places = [int(place) for place in np.argsort(rough.least_icing_margin_k[:, 0])[:LANES]]
        calendar = near_months(rough.monthly_least_icing_margin_k[places])
        hot = run_under(self.found, [self.now, middle], HOT, self.years, 60.0, self.accuracy_k).hours_set_point_missed
        weak = [int(place) for place in np.argsort(hot[:, 0] - hot[:, 1])[:LANES]]

        def keeps(choices: list[Choice]) -> list[bool]:
            made = [self.now, *(with_off_delay_of(space.candidate(one), like) for one in choices)]
            kept = np.ones(len(choices), dtype=bool)
            for scenario, step_s, days, systems, names in (
                (TYPICAL, 10.0, calendar, places, ("coil", "frost")),
                (COLD, 60.0, WHOLE_YEAR, places, ("coil", "frost")),
                (HOT, 60.0, WHOLE_YEAR, weak, ("set_point",)),
            ):
                run = run_under(self.found, made, scenario, self.years, step_s, self.accuracy_k, systems, days)
                hits = broken(measured(run, "dry"), scenario.id)
                for name in names:
                    kept &= hits[name][:, 1:].sum(axis=0) <= may_break(SYSTEMS)
            return kept.tolist()

        return keeps

    def keeps_truth(self, like: Candidate, space: Space, loop_k: float) -> Callable[[list[Choice]], list[bool]]:
        """Whether settings keep the same limits in truth, to somebody who knows it."""
        middle = space.candidate(tuple(len(knob.values) // 2 for knob in space.knobs))
        rough = self.in_truth([self.now, middle], TYPICAL, 60.0)
        calendar = near_months(rough.monthly_least_icing_margin_k)

        def keeps(choices: list[Choice]) -> list[bool]:
            made = [self.now, *(with_off_delay_of(space.candidate(one), like) for one in choices)]
            kept = np.ones(len(choices), dtype=bool)
            for scenario, step_s, days, names in (
                (TYPICAL, 10.0, calendar, ("coil", "frost")),
                (COLD, 60.0, WHOLE_YEAR, ("coil", "frost")),
                (HOT, 60.0, WHOLE_YEAR, ("set_point",)),
            ):
                read = with_margin(measured(self.in_truth(made, scenario, step_s, days), "dry"), loop_k)
                hits = broken(read, scenario.id)
                for name in names:
                    kept &= ~hits[name][0, 1:]
            return kept.tolist()

        return keeps


def with_margin(read: Measured, by_k: float) -> Measured:
    """Icing margins moved by what the loop says of its surface."""
    return replace(read, least_k=read.least_k + by_k, low_k=read.low_k + by_k)


def near_months(monthly: Array) -> Calendar:
    """The months whose coldest moment comes near the year's in any of `[N, M, 12]`."""
    known = np.where(np.isfinite(monthly), monthly, np.inf)
    near = (known <= known.min(axis=2, keepdims=True) + NEAR_K).any(axis=(0, 1))
    return months_alone(np.flatnonzero(near).tolist())


def least_kept(space: Space, keeps: Callable[[list[Choice]], list[bool]]) -> list[Choice]:
    """At some sensor drops the least first knob that is kept, by halving; none where not even the greatest is."""
    count, drops = len(space.knobs[0].values), len(space.knobs[1].values)
    columns = np.unique(np.rint(np.linspace(0, drops - 1, DROPS)).astype(int))
    rest = (0,) * (len(space.knobs) - 2)
    # the last known not to be kept, the first known to be; the greatest is looked at last if nothing below it is kept
    open_ = {int(drop): (-1, count - 1) for drop in columns}
    while any(high - low > 1 for low, high in open_.values()):
        asked = {drop: (low + high) // 2 for drop, (low, high) in open_.items() if high - low > 1}
        kept = keeps([(place, drop, *rest) for drop, place in asked.items()])
        for (drop, place), good in zip(asked.items(), kept, strict=True):
            low, high = open_[drop]
            open_[drop] = (low, place) if good else (place, high)
    ends = [(high, drop, *rest) for drop, (_, high) in open_.items()]
    sure = [one[0] < count - 1 for one in ends]
    if not all(sure):
        sure = keeps(ends)
    return [one for one, good in zip(ends, sure, strict=True) if good]


def judged(seed: int) -> dict[str, Any]:
    """One house: seconds, what was promised and what held in truth, and regret against the best choice."""
    house = House(seed)
    began = time.perf_counter()
    chosen = house.choose()
    told: dict[str, Any] = {"seconds": time.perf_counter() - began, "found": chosen.best is not None, "offered": False}
    if chosen.best is None or chosen.confirmed is None:
        return told
    chances = {one.limit: one.broken / one.systems for one in chosen.confirmed.chances}
    told |= {
        "offered": chosen.confirmed.held,
        "values": chosen.space.values(chosen.choice),
        "moved": chosen.choice[0] - chosen.best.choice[0],
        "stated": chances,
    }
    own = chosen.candidate
    mean, least, greatest = house.loop_less_surface_k(own)
    told |= {"loop_k": mean, "loop_range_k": (least, greatest), **house.broken_in_truth(own, mean)}
    promised = least_kept(chosen.space, house.keeps_promise(own, chosen.space))
    known = least_kept(chosen.space, house.keeps_truth(own, chosen.space, mean))
    others = [with_off_delay_of(chosen.space.candidate(one), own) for one in (*promised, *known)]
    aims = measured(house.in_truth([house.now, own, *others], TYPICAL, 10.0), "dry").aim[0]
    aim = aims[2:]
    told |= {"aim_now": aims[0], "aim": aims[1], "others": [chosen.space.values(one) for one in (*promised, *known)]}
    told["other_aims"] = aim.tolist()
    for name, part in (("regret", aim[: len(promised)]), ("regret_knowing", aim[len(promised) :])):
        best = float(part.min()) if part.size else np.inf
        attainable = aims[0] - best
        # with nothing to attain beyond the noise of a year there is no share of it
        told[name] = (aims[1] - best) / attainable if np.isfinite(best) and attainable > LEAST_ATTAINABLE_H else None
        told[f"attainable_{name}"] = attainable if np.isfinite(best) else None
    return told


#: Less than this improvement of the aim, h/yr, is none to speak of.
LEAST_ATTAINABLE_H = 10.0


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
                    file.write(json.dumps(done[seed], default=float) + "\n")
    return [*entries_of([done[seed] for seed in range(HOUSES)]), *_speeds()]


def entries_of(tried: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Shares, what was stated of them, and regret, with the 90 % ranges of counts (Clopper-Pearson)."""
    offered = [one for one in tried if one["offered"]]
    entries = [_entry("settings_offered", len(offered) / len(tried), "share", "higher")]
    if not offered:
        return entries
    n = len(offered)
    held = sum(not any(one["broken"][name] for name in OFFERED_ON) for one in offered)
    low, high = exact_range(held, n)
    entries += [
        _entry("settings_limits_held", held / n, "share", "higher"),
        _entry("settings_limits_held.low", low, "share", "higher"),
        _entry("settings_limits_held.high", high, "share", "higher"),
        _entry("settings_limits_held.houses", float(n), "houses", "higher"),
    ]
    for name in LIMITS:
        hits = sum(one["broken"][name] for one in offered)
        stated = float(np.mean([one["stated"][name] for one in offered]))
        entries += [
            _entry(f"settings_limits_held.{name}", 1.0 - hits / n, "share", "higher"),
            _entry(f"settings_limits_held.{name}_stated", 1.0 - stated, "share", "higher"),
        ]
    entries.append(
        _entry("settings_loop_less_surface", float(np.median([abs(one["loop_k"]) for one in offered])), "K", "lower")
    )
    for name in ("regret", "regret_knowing"):
        read = [one[name] for one in offered if one[name] is not None]
        if read:
            entries.append(
                _entry(f"settings_{name}".replace("_knowing", ".knowing"), float(np.median(read)), "share", "lower")
            )
    return entries


def exact_range(hits: int, count: int) -> tuple[float, float]:
    """The two-sided 90 % Clopper-Pearson range of a share."""
    low = float(beta.ppf(0.05, hits, count - hits + 1)) if hits > 0 else 0.0
    high = float(beta.ppf(0.95, hits + 1, count - hits)) if hits < count else 1.0
    return low, high


def _entry(name: str, value: float, unit: str, better: str) -> dict[str, Any]:
    return {"bench": name, "value": value, "unit": unit, "better": better, "against": None, "ratio": None}


def _speeds() -> list[dict[str, Any]]:
    return [
        _entry("settings_search", _search_s(), "s", "lower"),
        _entry("trim_by_hand", _trim_ms(), "ms", "lower"),
    ]


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
