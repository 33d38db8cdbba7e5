"""The settings of an option: a quick choice for the plan of all options, and the thorough one with its proof and its chances."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from airtrim.core.errors import Cancelled, JobError
from airtrim.core.lanes.write import LANES
from airtrim.physics.season.system import AirflowProgram, WeatherArrays
from airtrim.physics.season.weeks import months_alone
from airtrim.physics.season.year import run_years
from airtrim.work.findings import Findings
from airtrim.work.options.candidates import Candidate, asked_for, drive
from airtrim.work.settings.confirm import Confirmed, confirm, with_best_off_delay
from airtrim.work.settings.drive_check import drive_check
from airtrim.work.settings.judge import CHECKED_MARGIN_K
from airtrim.work.settings.knobs import Choice, Space, space_of
from airtrim.work.settings.scenarios import Years, years_of
from airtrim.work.settings.search import QUICK, SCREEN_STEP_S, THOROUGH, Effort, Found, Search
from airtrim.work.settings.seasons import Season, seasons_of
from airtrim.work.settings.walls import Unmet, unmet

Progress = Callable[[float], object]
#: Settings with more air each that are looked at together, in steps from the first.
LEAPS = (0, 2, 4, 8)
#: A month is looked at again at a short step where a minute's step came so near to the year's coldest moment, K; twice what the two
#: steps were seen to differ by.
NEAR_COLDEST_K = 0.3
#: How often a setting whose chances fail in the proof is given one step more air.
MORE_AIR = 4


def choose_drive(found: Findings, now: Candidate, weather: WeatherArrays, progress: Progress) -> Candidate:
    """The best drive setting of a quick search that keeps the coil in all systems; none, and why, otherwise."""
    identity = "drive_coil_feedback"
    if not found.job.options.consider.count("drive_coil_feedback"):
        return asked_for(found, drive(found, now, 1.0, 0.0))
    if drive_check(found)["refused"]:
        return Candidate(identity, None, why_not="option_why.drive_refused")
    space = space_of(found, now, identity)
    if space is None:
        probe = drive(found, now, 1.0, 12.0)
        return Candidate(identity, None, why_not=probe.why_not or "option_why.card_out_of_range")
    search = Search(found, now, space, Years(weather, weather, weather), QUICK, progress)
    best = search.run()
    if best is not None:
        most = len(space.knobs[0].values)
        choices = [space.candidate((first, *best.choice[1:])) for first in range(best.choice[0], most)]
        kept = _first_warm_enough(choices, _Coldest(found, choices[0], weather))
        if kept is not None:
            return kept
    return Candidate(identity, None, why_not=_why_none(search))


def _why_none(search: Search) -> str:
    """Why nothing was found: where the hardware itself refused every setting, its reason."""
    refused = [search.refusal(choice) for choice in search.tried]
    hardware = [why for why in refused if why.startswith("option_why.")]
    return hardware[0] if hardware and len(hardware) == len(refused) else "option_why.no_safe_setting"


def _first_warm_enough(choices: list[Candidate], coldest: "_Coldest") -> Candidate | None:
    """The first of some settings in order of rising airflow, so of a warmer coil, that keeps the margin; a few are run at once.

    The search has left little to add, so the first few come first, in leaps that grow. Between two that are known, those nearest to
    where a straight line keeps it, and one that halves the rest, come next.
    """
    seen: dict[int, float] = {}
    low, high = -1, len(choices)  # the last known to be too cold, the first known to be warm enough
    while high - low > 1:
        places = _next_places(low, high, len(choices), seen)
        seen |= dict(zip(places, coldest.least_margins_k([choices[place] for place in places]), strict=True))
        high = min((place for place in places if seen[place] >= CHECKED_MARGIN_K), default=high)
        low = max((place for place in places if place < high), default=low)
    return choices[high] if high < len(choices) else None


def _warm_enough_from(choice: Choice, space: Space, found: Findings, weather: WeatherArrays) -> Choice:
    """The choice with the first airflow, from its own on, whose coil keeps its margin at 10 s.

    A search at a minute's step does not see how far a feedback dips at a call's beginning. Where no airflow keeps it, or nothing
    follows the coil, the choice stays and the proof judges it.
    """
    if not space.candidate(choice).watches_coil:
        return choice
    choices = [(first, *choice[1:]) for first in range(choice[0], len(space.knobs[0].values))]
    able = [one for one in choices if space.candidate(one).program is not None]
    candidates = [space.candidate(one) for one in able]
    kept = _first_warm_enough(candidates, _Coldest(found, candidates[0], weather))
    return choice if kept is None else next(one for one in able if space.candidate(one) is kept)


def _next_places(low: int, high: int, count: int, seen: dict[int, float]) -> list[int]:
    inside = range(low + 1, high)
    if low in seen and high in seen:
        at = low + (high - low) * (CHECKED_MARGIN_K - seen[low]) / max(seen[high] - seen[low], 1e-9)
        crossing = min(max(math.ceil(at), inside[0]), inside[-1])
        wanted = {crossing - 1, crossing, crossing + 1, (low + high) // 2}
        return sorted(wanted & set(inside))
    step = max(low, 1)
    first = 0 if low < 0 else low + step
    return sorted({min(first + step * far, inside[-1]) for far in LEAPS})


class _Coldest:
    """The systems and months that decide whether a coil ices: those coldest at 60 s under the first of some settings.

    They are run at 10 s, since a feedback dips further than a minute's step shows.
    """

    def __init__(self, found: Findings, first: Candidate, weather: WeatherArrays) -> None:
        self.system, self.weather = found.system, weather
        rough = run_years(self.system, _programs([first]), weather, SCREEN_STEP_S, [first.watts])
        self.margins = rough.least_icing_margin_k[:, 0]
        self.places = np.argsort(self.margins)[: max(LANES, self.system.count // 8)]
        by_month = rough.monthly_least_icing_margin_k[self.places, 0]  # NaN where it never ran: not near
        near = (by_month <= self.margins[self.places, None] + NEAR_COLDEST_K).any(axis=0)
        self.calendar = months_alone(np.flatnonzero(near).tolist())

    def least_margins_k(self, tried: list[Candidate]) -> list[float]:
        """Least icing margin of the year that 19 of 20 of all systems keep, for each of a few settings, K."""
        own = [None if one.watts is None else one.watts[self.places] for one in tried]
        fine = run_years(
            self.system.rows(self.places), _programs(tried), self.weather, 10.0, own, calendar=self.calendar
        ).least_icing_margin_k
        found_k = []
        for m in range(len(tried)):
            margins = self.margins.copy()
            margins[self.places] = fine[:, m]
            found_k.append(float(np.quantile(margins, 0.05)))
        return found_k


def _programs(candidates: list[Candidate]) -> list[AirflowProgram]:
    programs = [one.program for one in candidates if one.program is not None]
    assert len(programs) == len(candidates)
    return programs


@dataclass(frozen=True)
class Settings:
    """A thorough choice. `candidate` has no program where nothing keeps the limits; then `unmet` may say which pair binds.

    `first` is the first setting that kept all limits on stitched weeks (the answer within seconds), `stitching` what those weeks
    missed of a year before it was corrected.
    """

    option: str
    space: Space
    candidate: Candidate
    choice: tuple[int, ...]
    first: Candidate | None
    confirmed: Confirmed | None
    unmet: Unmet | None
    stitching: dict[str, float]
    tried: int
    checked: int
    seasons: list[Season]
    best: Found | None


def choose_settings(
    found: Findings,
    now: Candidate,
    option: str,
    weather: WeatherArrays,
    progress: Progress | None = None,
    seed: int | None = None,
    effort: Effort = THOROUGH,
    years: Years | None = None,
    proof: bool = True,
    on_first: Callable[[Candidate], object] | None = None,
) -> Settings:
    """Search an option's settings, prove the best at 10 s on all systems of `found`, and look for sets by season.

    `progress` hears 0 to 1 and stops by returning True (`Cancelled`). `on_first` hears the first setting that keeps the limits on
    stitched weeks. The same seed (the findings' own if None) gives the same answer. Raises `JobError` for an option without
    settings.
    """
    space = space_of(found, now, option)
    if space is None:
        raise JobError(
            f"The option '{option}' has no settings to search on this job: name a card with ranges, or another option."
        )
    share = 0.35 if proof else 0.95

    def tell(start: float, part: float) -> Progress:
        def heard(done: float) -> bool:
            return progress is not None and progress(start + part * done) is True

        return heard

    search = Search(found, now, space, years or years_of(found.job, weather), effort, tell(0.0, share), seed)
    search.on_first = on_first
    best = search.run()
    first = None if search.first is None else space.candidate(search.first.choice)
    nothing = Settings(option, space, Candidate(option, None, why_not=_why_none(search)), (), first, None, None,
                       search.stitching, len(search.tried), len(search.checked), [], None)  # fmt: skip
    if best is None:
        return replace(nothing, unmet=unmet(found, space))
    choice = _warm_enough_from(best.choice, space, found, weather)
    candidate = with_best_off_delay(search, space.candidate(choice))
    made = replace(nothing, candidate=candidate, choice=choice, best=best)
    if not proof:
        return made
    confirmed = None
    for attempt in range(MORE_AIR + 1):
        confirmed = confirm(search, candidate, tell(share, 0.9 - share))
        if confirmed.held or choice[0] + 1 >= len(space.knobs[0].values) or attempt == MORE_AIR:
            break
        choice = (choice[0] + 1, *choice[1:])
        candidate = with_off_delay_of(space.candidate(choice), candidate)
    seasons = seasons_of(search, choice)
    if progress is not None and progress(1.0) is True:
        raise Cancelled("The search for settings was stopped: start it again for the answer.")
    return replace(made, candidate=candidate, choice=choice, confirmed=confirmed, seasons=seasons)


def with_off_delay_of(candidate: Candidate, like: Candidate) -> Candidate:
    """The candidate with another's off-delay."""
    assert candidate.program is not None and like.program is not None
    return replace(candidate, program=replace(candidate.program, off_delay_s=like.program.off_delay_s))


def as_result(settings: Settings) -> dict[str, Any]:
    """What the papers need of a choice, in plain values."""
    confirmed = settings.confirmed
    return {
        "option": settings.option,
        "settings": {
            knob.id: {"value": value, "unit": knob.unit}
            for knob, value in zip(settings.space.knobs, settings.space.values(settings.choice), strict=True)
        }
        if settings.choice
        else {},
        "tried": settings.tried,
        "checked": settings.checked,
        "stitching": settings.stitching,
        "unmet": None if settings.unmet is None else vars(settings.unmet),
        "chances": [] if confirmed is None else [vars(one) for one in confirmed.chances],
        "gains": [] if confirmed is None else confirmed.gains,
        "seasons": [vars(one) for one in settings.seasons],
    }
