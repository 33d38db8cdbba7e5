"""Which days of a year are run: all of them, or one week a month that stands for it."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np

from airtrim.physics.season.system import Array, WeatherArrays

DAYS_OF_MONTH: Final = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
WARM_UP_DAYS: Final = 14
WEEK: Final = 7
#: Days run before each week, uncounted, in which air, furnishings and materials settle to the new weather; deep materials settle
#: more slowly and keep something of the month before, as they would.
SETTLING_DAYS: Final = 3


@dataclass(frozen=True)
class Calendar:
    """Days to run in order, each (day of the year 0 to 364, month 0 to 11 or -1 where it is not counted).

    The first `settling` of them come before the reckoning of what the house holds. `weights` `[12]` is how many days of a
    month each day counted there stands for.
    """

    days: tuple[tuple[int, int], ...]
    settling: int
    weights: tuple[float, ...] = (1.0,) * 12


def _month_of_day() -> list[int]:
    return [month for month, length in enumerate(DAYS_OF_MONTH) for _ in range(length)]


WHOLE_YEAR: Final = Calendar(
    (*((day, -1) for day in range(365 - WARM_UP_DAYS, 365)), *enumerate(_month_of_day())), WARM_UP_DAYS
)


def representative_weeks(weather: WeatherArrays) -> Calendar:
    """One week for each month, that which is nearest to the month; each day stands for a seventh of it.

    Nearest in the means of dry-bulb, humidity ratio and sun and in the spread of dry-bulb and humidity ratio from day to day, each
    over the year's own spread of daily means.
    """
    daily = np.stack(
        [
            column.reshape(365, 24).mean(axis=1)
            for column in (weather.dry_bulb_c, weather.humidity_ratio, weather.ghi_w_m2)
        ]
    )
    scale = np.maximum(daily.std(axis=1), 1e-12)[:, None]
    daily = daily / scale
    days: list[tuple[int, int]] = []
    first = 0
    for month, length in enumerate(DAYS_OF_MONTH):
        whole = daily[:, first : first + length]
        starts = range(length - WEEK + 1)
        apart = [_apart(whole[:, start : start + WEEK], whole) for start in starts]
        begin = first + int(np.argmin(apart))
        settle = WEEK if month == 0 else SETTLING_DAYS
        days += [((begin - before) % 365, -1) for before in range(settle, 0, -1)]
        days += [(begin + day, month) for day in range(WEEK)]
        first += length
    return Calendar(tuple(days), WEEK, tuple(length / WEEK for length in DAYS_OF_MONTH))


def months_alone(months: Iterable[int]) -> Calendar:
    """Whole months (0 to 11) of a year, each after `WARM_UP_DAYS` uncounted days; months one after another are run through.

    The months left out hold nothing: only what is looked at month by month is to be read.
    """
    wanted = sorted(set(months))
    firsts = np.concatenate([[0], np.cumsum(DAYS_OF_MONTH)])
    days: list[tuple[int, int]] = []
    for month in wanted:
        first = int(firsts[month])
        if month - 1 not in wanted or not days:
            days += [((first - before) % 365, -1) for before in range(WARM_UP_DAYS, 0, -1)]
        days += [(first + day, month) for day in range(DAYS_OF_MONTH[month])]
    return Calendar(tuple(days), WARM_UP_DAYS)


def _apart(week: Array, month: Array) -> float:
    means = week.mean(axis=1) - month.mean(axis=1)
    spreads = week[:2].std(axis=1) - month[:2].std(axis=1)
    return float((means**2).sum() + 0.5 * (spreads**2).sum())
