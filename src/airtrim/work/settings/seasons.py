"""Sets by season: whether the mild months are better served by a set of their own, with its dates and what it gains."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from airtrim.physics.season.weeks import DAYS_OF_MONTH
from airtrim.physics.season.year import YearResults
from airtrim.work.figure import Figure, figure
from airtrim.work.settings.judge import CHECKED_MARGIN_K, SPARED, Array
from airtrim.work.settings.knobs import Choice
from airtrim.work.settings.scenarios import TYPICAL, run_under
from airtrim.work.settings.search import SCREEN_STEP_S, Search

#: A month this much cooler outdoors than the set-point, in its mean, K, is a mild one.
MILD_K: Final = 2.0
#: Months with fewer hours of running than this say nothing about settings.
LEAST_RUN_H: Final = 10.0
#: A set by season is worth its visits where it gains at least so much beyond doubt: hours damp, kWh, or this part of the year's.
WORTH, WORTH_PART = 20.0, 0.05
#: Settings tried for each season.
MOST_TRIED: Final = 10
_DAMP_LINE: Final = 2  # place of 60 % in the year's humidity lines


@dataclass(frozen=True)
class Season:
    """A set for part of the year: its months (1 to 12), the day it begins (month, day), its settings, and what it gains over one
    set for the year, with its range; `worth` says whether that is worth changing it."""

    name: str
    months: tuple[int, ...]
    begins: tuple[tuple[int, int], ...]
    settings: dict[str, dict[str, Any]]
    choice: Choice
    gain: Figure
    worth: bool


def seasons_of(search: Search, choice: Choice) -> list[Season]:
    """The best set of the mild and of the warm months beside `choice`; empty where the aim or the climate has no seasons.

    By monthly sums of whole years under each set: what a set leaves in the house's materials when it is changed is not counted.
    """
    if search.aim not in ("dry", "cheap_to_buy", "cheap_to_run"):
        return []
    tried = [choice, *_others(search, choice)]
    years = run_under(
        search.found, [search.space.candidate(one) for one in tried], TYPICAL, search.years, SCREEN_STEP_S,
        search.accuracy_k, search.places(True),
    )  # fmt: skip
    ours = _monthly(years, search.aim)
    runs = years.monthly_run_hours[:, 0].mean(axis=0) >= LEAST_RUN_H
    warm = _warm_months(search)
    if not (runs & warm).any() or not (runs & ~warm).any():
        return []
    made = []
    for name, months in (("mild", runs & ~warm), ("warm", runs & warm)):
        margin = years.monthly_least_icing_margin_k[:, :, months]
        least = np.sort(np.nanmin(np.where(np.isfinite(margin), margin, 30.0), axis=2), axis=0)
        # the set for the year holds its limits by its own proof
        keeps = least[int(SPARED * len(least))] >= CHECKED_MARGIN_K
        keeps[0] = True
        summed = ours[:, :, months].sum(axis=2)
        best = int(np.argmin(np.where(keeps, summed.mean(axis=0), np.inf)))
        gain = summed[:, 0] - summed[:, best]
        made.append(_season(search, name, months, tried[best], gain, summed[:, 0]))
    return [one for one in made if one.choice != choice]


def _others(search: Search, choice: Choice) -> list[Choice]:
    """Settings around the year's: other airflows, and other values of the rest, evenly spread."""
    others = []
    for place, knob in enumerate(search.space.knobs):
        count = MOST_TRIED // len(search.space.knobs)
        for value in np.unique(np.rint(np.linspace(0, len(knob.values) - 1, count)).astype(int)):
            others.append((*choice[:place], int(value), *choice[place + 1 :]))
    return [one for one in dict.fromkeys(others) if one != choice and not search.refusal(one)]


def _monthly(years: YearResults, aim: str) -> Array:
    """`[N, M, 12]` of what the aim looks at."""
    if aim == "cheap_to_run":
        return years.monthly_compressor_kwh + years.monthly_blower_kwh
    return np.asarray(years.monthly_hours_over_humidity[..., _DAMP_LINE, :])


def _warm_months(search: Search) -> Any:
    outdoor = search.years.typical.dry_bulb_c
    ends = np.cumsum([24 * days for days in DAYS_OF_MONTH])
    means = np.array([part.mean() for part in np.split(outdoor, ends[:-1])])
    return means > search.found.job.thermostat.set_point.si - MILD_K


def _season(search: Search, name: str, months: Any, choice: Choice, gain: Array, before: Array) -> Season:
    unit = "kWh/yr" if search.aim == "cheap_to_run" else "h/yr"
    read = figure("gain", gain, unit)
    worth = float(read["low"]) > 0.0 and float(read["mid"]) > max(WORTH, WORTH_PART * float(np.median(before)))
    numbers = tuple(int(month) + 1 for month in np.flatnonzero(months))
    begins = tuple((month, 1) for month in numbers if (month - 2) % 12 + 1 not in numbers)
    settings = {
        knob.id: {"value": value, "unit": knob.unit}
        for knob, value in zip(search.space.knobs, search.space.values(choice), strict=True)
    }
    return Season(name, numbers, begins, settings, choice, read, worth)
