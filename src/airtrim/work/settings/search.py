"""The best setting of an option inside the safe limits: screened on stitched weeks, checked on whole years."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, ClassVar, Final

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import Cancelled
from airtrim.physics.season.weeks import WHOLE_YEAR, Calendar, representative_weeks
from airtrim.physics.season.year import YearResults
from airtrim.work.findings import Findings
from airtrim.work.findings.find import child_seed
from airtrim.work.options.candidates import Candidate
from airtrim.work.options.heat import HeatCheck
from airtrim.work.options.weigh import aim_of
from airtrim.work.settings.judge import (
    CHECKED_MARGIN_K,
    ICING_MARGIN_K,
    SPARED,
    YEAR_PARTS,
    Array,
    Measured,
    coil_left_k,
    late,
    may_break,
    measured,
    violation,
)
from airtrim.work.settings.knobs import CARDS, Choice, Space
from airtrim.work.settings.scenarios import ALL, COLD, HOT, TYPICAL, Scenario, Years, run_under, sensor_accuracy_k
from airtrim.work.settings.walls import failed, heat_at_line_speed, limits_of

Progress = Callable[[float], object]
SCREEN_STEP_S: Final = 60.0
#: Added to the aim of what breaks a limit, so that anything that keeps them all comes first.
BROKEN: Final = 1e6
#: A setting counts as better only from this much of the aim on, in standard errors of its paired difference.
NOISE_SIGMAS: Final = 2.0
#: How the winner of whole years moves on: its strides, moves of each while they serve, and neighbours looked at in whole years.
SETTLING_STRIDES: Final = (4, 2, 1)
SETTLING_MOVES, NEAREST = 3, 3
#: Stitched weeks and the one weak system run on them tell hours lost in a hot year no better than this, over those allowed: whole
#: years decide.
LATE_ON_WEEKS: Final = 1.5


@dataclass(frozen=True)
class Effort:
    """How much is tried: systems and settings of a screening generation, generations, and systems of the whole-year check."""

    systems: int
    population: int
    generations: int
    checked: int
    finalists: int
    screened: tuple[Scenario, ...]
    check: tuple[Scenario, ...]


#: For a plan of all options; within some seconds.
QUICK: Final = Effort(4, 8, 2, 8, 2, (TYPICAL,), (TYPICAL, COLD))
#: For the settings themselves.
THOROUGH: Final = Effort(4, 16, 4, 12, 3, (TYPICAL, COLD, HOT), ALL)


@dataclass(frozen=True)
class Found:
    """A setting that was tried: its aim (weighed over the years it was run in), how far it breaks limits, and both by scenario."""

    choice: Choice
    aim: float
    broken: float
    by_system: Array
    violations: dict[str, dict[str, float]]
    #: Icing margin left in the worst scenario, K; infinite where the coil gets no colder.
    coil_left_k: float = np.inf
    #: Hours lost at the set-point in the worst hard year, over those allowed.
    late: float = 0.0

    @property
    def score(self) -> float:
        """What is made least."""
        return self.aim if self.broken == 0.0 else BROKEN * (1.0 + self.broken)


@dataclass
class Search:
    """One search of a space; `best` after `run`, the settings tried on stitched weeks in `tried`."""

    found: Findings
    now: Candidate
    space: Space
    years: Years
    effort: Effort = THOROUGH
    progress: Progress | None = None
    seed: int | None = None
    tried: dict[Choice, Found] = field(default_factory=dict)
    checked: dict[Choice, Found] = field(default_factory=dict)
    stitching: dict[str, float] = field(default_factory=dict)
    margin_k: float = ICING_MARGIN_K
    late_allowed: float = LATE_ON_WEEKS
    best: Found | None = None
    on_first: Callable[[Candidate], object] | None = None
    ROUNDS: ClassVar[int] = 5
    #: The first setting that keeps all limits on stitched weeks.
    first: Found | None = None

    def __post_init__(self) -> None:
        self.aim = aim_of(self.found)
        self.accuracy_k = sensor_accuracy_k(self.found.job, CARDS.get(self.space.option, "speed_control_by_frequency"))
        self._calendars: dict[str, Calendar] = {}
        self._now: dict[tuple[str, bool, bool], Measured] = {}
        self._places: dict[bool, list[int]] = {}
        self._bias: dict[str, Measured] = {}
        self._refused: dict[Choice, str] = {}
        self._heat: HeatCheck | None = None
        self._order: NDArray[np.int64] | None = None
        self._weak: list[int] | None = None
        self._done = 0.0

    # what a caller sees -----------------------------------------------------------------------------------------------------

    def run(self) -> Found | None:
        """Screen, then check on whole years; None where nothing keeps the limits. Raises `Cancelled`."""
        self._measure_stitching()
        self._tell(0.12)
        self._evolve()
        self._poll()
        self._tell(0.7)
        self.best = self._whole_years()
        self._tell(1.0)
        return self.best

    def judge(self, choices: Sequence[Choice], whole: bool) -> list[Found]:
        """Settings on stitched weeks and few systems, or on whole years and more; those judged before are not run again."""
        kept = self.checked if whole else self.tried
        new = [one for one in dict.fromkeys(choices) if one not in kept]
        able = [one for one in new if not self.refusal(one)]
        for one in new:
            if one not in able:
                kept[one] = Found(one, np.inf, 100.0, np.empty(0), {"any": {self.refusal(one): 100.0}})
        read: dict[Choice, dict[str, Measured]] = {one: {} for one in able}
        for scenario in self.effort.check if whole else self.effort.screened:
            if not able:
                break
            run = self._run(scenario, able, whole).shifted(None if whole else self._bias.get(scenario.id))
            for place, choice in enumerate(able, start=1):
                read[choice][scenario.id] = run.columns([0, place])
                kept[choice] = self._weighed(choice, read[choice], whole)
            if whole:  # what fails in one year is not run in the next
                able = [one for one in able if kept[one].broken == 0.0]
        return [kept[one] for one in choices]

    def refusal(self, choice: Choice) -> str:
        """The limit a setting breaks whatever the year does, or why hardware cannot do it; empty where it may be run."""
        if choice not in self._refused:
            candidate = self.space.candidate(choice)
            if candidate.program is None:
                self._refused[choice] = candidate.why_not
            else:
                if candidate.watches_coil and self._heat is None:
                    self._heat = heat_at_line_speed(self.found)
                broken = failed(limits_of(self.found, candidate, self._heat))
                self._refused[choice] = str(broken[0]["id"]) if broken else ""
        return self._refused[choice]

    def better(self, one: Found, other: Found) -> bool:
        """Whether one setting is better than another beyond the noise of the systems tried."""
        if (one.broken == 0.0) != (other.broken == 0.0):
            return one.broken == 0.0
        if one.broken > 0.0:
            return one.broken < other.broken
        gain = other.by_system - one.by_system
        noise = NOISE_SIGMAS * float(gain.std(ddof=1)) / np.sqrt(len(gain)) if len(gain) > 1 else 0.0
        return float(gain.mean()) > noise

    # how ------------------------------------------------------------------------------------------------------------------------

    def _tell(self, done: float) -> None:
        self._done = max(done, self._done)
        if self.progress is not None and self.progress(self._done) is True:
            raise Cancelled("The search for settings was stopped: start it again for the answer.")

    def _run(
        self, scenario: Scenario, choices: Sequence[Choice], whole: bool, calendar: Calendar | None = None
    ) -> Measured:
        """Leaving it alone, which is run once, and the choices; `[N, 1 + M]`."""
        if calendar is None:
            calendar = WHOLE_YEAR if whole else self.weeks(scenario)
        key = (scenario.id, whole, calendar is WHOLE_YEAR)
        candidates = [self.space.candidate(one) for one in choices]
        if key not in self._now:
            candidates = [self.now, *candidates]
        read = None
        if candidates:
            years = run_under(
                self.found, candidates, scenario, self.years, SCREEN_STEP_S, self.accuracy_k, self.places(whole), calendar,
                self._heard,
            )  # fmt: skip
            read = measured(years, self.aim)
        if key in self._now:
            return self._now[key] if read is None else self._now[key].beside(read)
        assert read is not None
        self._now[key] = read.columns([0])
        return read

    def _heard(self, _: float) -> bool | None:
        """Whether the caller wants to stop, asked between the days of a run."""
        return self.progress is not None and self.progress(self._done) is True

    @property
    def _may(self) -> int:
        """How many systems may break a limit, where a hot year is checked; a quick search leaves it to what follows it."""
        return may_break(self.found.system.count) if HOT in self.effort.check else 0

    def places(self, whole: bool) -> list[int]:
        """Which systems are tried: the coldest coil but the spared ones, the others spread evenly over how cold coils get.

        Where a hot year is checked, beside them those that miss their set-point most there: on whole years as many more as may.
        """
        if whole not in self._places:
            count = self.effort.checked if whole else self.effort.systems
            if self._order is None:
                run = self._on_all(TYPICAL, [self.now])
                self._order = np.argsort(measured(run, self.aim).least_k[:, 0], kind="stable").astype(np.int64)
            if HOT not in self.effort.check:
                self._places[whole] = spread_places(self._order, count)
            else:
                weak = self._weakest()[: self._may + 2] if whole else self._weakest()[self._may : self._may + 1]
                cold = spread_places(self._order, max(count - len(weak), count // 2), self._may)
                self._places[whole] = list(dict.fromkeys([*cold, *weak]))
        return self._places[whole]

    def _on_all(self, scenario: Scenario, candidates: list[Candidate]) -> YearResults:
        """Stitched weeks of all systems."""
        return run_under(
            self.found, candidates, scenario, self.years, SCREEN_STEP_S, self.accuracy_k, None, self.weeks(scenario),
            self._heard,
        )  # fmt: skip

    def _weakest(self) -> list[int]:
        """Systems by the hours of the hot year that a middle setting loses (or now misses), most first."""
        if self._weak is None:
            middle = self._middle()
            candidates = [self.now] if self.refusal(middle) else [self.now, self.space.candidate(middle)]
            missed = self._on_all(HOT, candidates).hours_set_point_missed
            lost = missed[:, -1] - (missed[:, 0] if len(candidates) > 1 else 0.0)
            self._weak = [int(place) for place in np.argsort(-lost, kind="stable")]
        return self._weak

    def stopped(self) -> bool:
        """Whether the caller wants to stop."""
        return self._heard(0.0) is True

    def weeks(self, scenario: Scenario) -> Calendar:
        """The stitched weeks of a scenario's year."""
        if scenario.year not in self._calendars:
            self._calendars[scenario.year] = representative_weeks(self.years.of(scenario.year))
        return self._calendars[scenario.year]

    def _weighed(self, choice: Choice, read: dict[str, Measured], whole: bool) -> Found:
        """A setting from what was read of it, beside leaving it alone, under each scenario."""
        violations, left, lateness = {}, np.inf, 0.0
        margin, may, let = (CHECKED_MARGIN_K, self._may, 1.0) if whole else (ICING_MARGIN_K, 0, LATE_ON_WEEKS)
        aims, parts = [], []
        for name, pair in read.items():
            over = violation(pair, name, margin, may=may, late_allowed=let)
            violations[name] = {key: float(value[1]) for key, value in over.items()}
            if name not in (TYPICAL.id, COLD.id):
                lateness = max(lateness, float(late(pair, may)[1]))
            left = min(left, float(coil_left_k(pair, name)[1]))
            if name in YEAR_PARTS:
                aims.append(pair.aim[:, 1])
                parts.append(YEAR_PARTS[name])
        by_system = np.average(np.stack(aims), axis=0, weights=parts)
        total = sum(sum(each.values()) for each in violations.values())
        return Found(choice, float(by_system.mean()), total, by_system, violations, left, lateness)

    def _middle(self) -> Choice:
        """Half-way between what changes little and what changes most."""
        return tuple(len(knob.values) // 2 for knob in self.space.knobs)

    def _measure_stitching(self) -> None:
        """What stitched weeks make of a year: leaving it alone and a middle setting in both; the mean difference is taken off."""
        middle = self._middle()
        choices = [middle] if not self.refusal(middle) else []
        for scenario in self.effort.screened:
            weeks = self._run(scenario, choices, False)
            year = self._run(scenario, choices, False, WHOLE_YEAR)
            parts: dict[str, Array] = {}
            for name in Measured.__dataclass_fields__:
                parts[name] = (getattr(year, name) - getattr(weeks, name)).mean(axis=1, keepdims=True)
            self._bias[scenario.id] = Measured(**parts)
            if scenario.id == TYPICAL.id:
                self.stitching = _stitching_error(year, weeks)

    def _evolve(self) -> None:
        """Differential evolution over the places of the knobs, a generation a batch; small spaces are searched whole."""
        from scipy.optimize import differential_evolution
        from scipy.stats import qmc

        sizes = [len(knob.values) for knob in self.space.knobs]
        budget = self.effort.population * (self.effort.generations + 1)
        if int(np.prod(sizes)) <= budget:
            every = [tuple(int(i) for i in place) for place in np.ndindex(*sizes)]
            self._note(self.judge(every, whole=False))
            return
        seed = self.found.seed if self.seed is None else self.seed
        generator = child_seed(seed, "settings")
        sobol = qmc.Sobol(d=len(sizes), rng=generator).random(self.effort.population)
        first = np.floor(sobol * np.array(sizes))
        first[0] = self._middle()
        generation = 0

        def scores(places: NDArray[np.float64]) -> Array:
            nonlocal generation
            columns = places.reshape(len(sizes), -1)
            choices = [tuple(int(value) for value in np.rint(column)) for column in columns.T]
            judged = self.judge(choices, whole=False)
            self._note(judged)
            generation += 1
            self._tell(0.12 + 0.48 * generation / (self.effort.generations + 1))
            return np.array([min(one.score, 1e12) for one in judged])

        differential_evolution(
            scores,
            [(0, size - 1) for size in sizes],
            integrality=np.ones(len(sizes), dtype=bool),
            vectorized=True,
            updating="deferred",
            init=first,
            maxiter=self.effort.generations,
            tol=0.0,
            polish=False,
            rng=generator,
        )

    def _note(self, judged: Sequence[Found]) -> None:
        if self.first is None:
            good = [one for one in judged if one.broken == 0.0]
            self.first = min(good, key=lambda one: one.score) if good else None
            if self.first is not None and self.on_first is not None:
                self.on_first(self.space.candidate(self.first.choice))

    def _poll(self) -> None:
        """From the best, neighbours one and several steps away until none is better."""
        sizes = [len(knob.values) for knob in self.space.knobs]
        best = min((self._tight(one) for one in self.tried.values()), key=lambda one: one.score)
        for stride in (4, 2, 1):
            for _ in range(8):
                judged = self.judge(neighbours(best.choice, sizes, stride), whole=False)
                self._note(judged)
                winner = min([best, *(self._tight(one) for one in judged)], key=lambda one: one.score)
                self._tell(0.62)
                if winner is best:
                    break
                best = winner

    def _tight(self, one: Found) -> Found:
        """A setting tried on stitched weeks, where it leaves less margin, or loses more hours, than is asked for there counted as
        breaking the limit."""
        short = 0.0
        if one.broken == 0.0:
            short = max(self.margin_k - one.coil_left_k, 0.0) + max(one.late - self.late_allowed, 0.0)
        failed_before = one.choice in self.checked and self.checked[one.choice].broken > 0.0
        return replace(one, broken=one.broken + short + 1e-3 * failed_before)

    def _whole_years(self) -> Found | None:
        """The best few on whole years and more systems; what weeks made too warm or lost too little is asked for there, and it is
        tried again."""
        for _ in range(self.ROUNDS):
            good = sorted((self._tight(one) for one in self.tried.values()), key=lambda one: one.score)
            finalists = self._finalists([one.choice for one in good if one.broken == 0.0])
            if not finalists:
                return None
            judged = self.judge(finalists, whole=True)
            held = [one for one in judged if one.broken == 0.0]
            if held:
                return self._settle(min(held, key=lambda one: one.score))
            warm = [
                self.tried[one.choice].coil_left_k - one.coil_left_k for one in judged if np.isfinite(one.coil_left_k)
            ]
            self.margin_k = max(self.margin_k, CHECKED_MARGIN_K + max(warm, default=0.0))
            missed = [self.tried[one.choice].late - (one.late - 1.0) for one in judged if one.late > 1.0]
            self.late_allowed = min([self.late_allowed, *missed])
            self._tell(self._done + 0.05)
            self._poll()
        return None

    def _finalists(self, good: Sequence[Choice]) -> list[Choice]:
        """The best of each value of the first knob, the airflow's: the coil hangs on that, and one failing fails its like."""
        by_first: dict[int, Choice] = {}
        for choice in good:
            by_first.setdefault(choice[0], choice)
        return list(by_first.values())[: self.effort.finalists]

    def _settle(self, best: Found) -> Found:
        """From the winner on whole years, to neighbours that weeks say are better, while they are so on whole years."""
        if self.effort is QUICK:
            return best
        sizes = [len(knob.values) for knob in self.space.knobs]
        for stride in SETTLING_STRIDES:
            for _ in range(SETTLING_MOVES):
                places = [*neighbours(best.choice, sizes, stride), *along_limits(best.choice, sizes, stride)]
                around = self.judge(places, whole=False)
                own, before = self.tried[best.choice].aim, best
                near = sorted((one for one in around if one.broken == 0.0 and one.aim < own), key=lambda one: one.aim)
                for one in self.judge([one.choice for one in near[:NEAREST]], whole=True):
                    if self.better(one, best):
                        best = one
                self._tell(min(self._done + 0.02, 0.98))
                if best is before:
                    break
        return best


def spread_places(order: NDArray[np.int64], count: int, spared: int = 0) -> list[int]:
    """`count` of the systems in `order` (coldest first): the first after the spared (a part, or so many), then evenly to the other
    end."""
    first = max(int(SPARED * len(order)), spared)
    if count >= len(order) - first:
        return [int(place) for place in order[first:]]
    ranks = np.unique(np.rint(np.linspace(first, len(order) - 1, count)).astype(int))
    return [int(order[rank]) for rank in ranks]


def neighbours(choice: Choice, sizes: Sequence[int], stride: int) -> list[Choice]:
    """Settings `stride` places away in one knob, both ways, inside the space."""
    around = []
    for place, size in enumerate(sizes):
        for step in (-stride, stride):
            moved = min(max(choice[place] + step, 0), size - 1)
            if moved != choice[place]:
                around.append((*choice[:place], moved, *choice[place + 1 :]))
    return around


def along_limits(choice: Choice, sizes: Sequence[int], stride: int) -> list[Choice]:
    """Settings to which the first knob moves by `stride` and the second by one: a limit that hangs on both runs aslant, and no move
    of one knob alone goes along it."""
    moved = []
    for first in (choice[0] - stride, choice[0] + stride):
        for second in (choice[1] - 1, choice[1] + 1) if len(choice) > 1 else ():
            if 0 <= first < sizes[0] and 0 <= second < sizes[1]:
                moved.append((first, second, *choice[2:]))
    return moved


def _stitching_error(year: Measured, weeks: Measured) -> dict[str, float]:
    """What stitched weeks miss of a year before correction: means over settings and systems, and of the difference between two."""
    names = {"aim": "aim", "least_k": "icing_margin", "missed": "set_point_missed"}
    told: dict[str, Any] = {
        name: float((getattr(weeks, key) - getattr(year, key)).mean()) for key, name in names.items()
    }
    if year.aim.shape[1] > 1:
        apart = (weeks.aim - weeks.aim[:, :1])[:, 1:] - (year.aim - year.aim[:, :1])[:, 1:]
        told["aim_difference"] = float(apart.mean())
    return told
