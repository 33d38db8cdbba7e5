"""A made-up year from twelve monthly means, one or several."""

import json

import numpy as np

from airtrim.core.errors import OutOfRangeError
from airtrim.weather.change import Change, changed_means
from airtrim.weather.checks import HOURS, Head
from airtrim.weather.days import make_days
from airtrim.weather.hours import make_hours
from airtrim.weather.kept import kept
from airtrim.weather.monthly import MonthlyMeans
from airtrim.weather.year import Hours, WeatherYear, year_of

#: A miss of the table's spread or range that is worth a sentence, K.
MISS_SAID_K = 0.1
MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
          "December")  # fmt: skip


def made_up_hours(means: MonthlyMeans, seed: int = 1) -> Hours:
    """The hours of made-up year `seed` (0 or more) of a place: the same for the same seed and figures.

    Monthly means of dry-bulb, sun and wind are the table's, of dew point within 0.01 K; the order of days is chance. Pressure is
    the place's mean.
    """
    if seed < 0:
        raise OutOfRangeError(f"The number of a made-up year must be 0 or more, got {seed}: use 1 for the first.")
    days = make_days(means, seed)
    made = make_hours(means, days, seed)
    notes = [
        f"The {what} of daily dry-bulb or dew point in {MONTHS[month]} misses the monthly figures by {miss[month]:.1f} K."
        for what, miss in (("spread", days.spread_miss_k), ("range", made.range_miss_k))
        for month in np.flatnonzero(miss > MISS_SAID_K)
    ]
    head = Head(means.place, means.latitude_deg, means.longitude_deg, means.timezone_h, means.altitude_m)
    return Hours(
        head,
        f"made-up year {seed} from monthly means, {means.origin}",
        made.dry_bulb_c,
        made.dew_point_c,
        np.full(HOURS, 100.0 * means.pressure_hpa),
        made.wind_m_s,
        made.ghi_w_m2,
        made.dni_w_m2,
        made.dhi_w_m2,
        tuple(notes),
    )


def made_up_year(means: MonthlyMeans, seed: int = 1, change: Change | None = None) -> WeatherYear:
    """Made-up year `seed` as the season reads it; its design hour is the place's own, not that of the chance year.

    A `change` is made to the monthly figures before any hour is drawn, so that the changed year is under saturation as well. The
    year is kept on disk by what it was made from.
    """
    figures = changed_means(means, change or Change())
    made_from = json.dumps([seed, {key: _plain(value) for key, value in vars(figures).items()}]).encode()
    design = (figures.design_dry_bulb_c, figures.design_dew_point_c)
    return kept(made_from, lambda: year_of(made_up_hours(figures, seed), design))


def made_up_years(means: MonthlyMeans, count: int, first: int = 1, change: Change | None = None) -> list[WeatherYear]:
    """Several years, `first` and those that follow: months alike in mean and spread, days in other order."""
    if count < 1:
        raise OutOfRangeError(f"The number of made-up years must be 1 or more, got {count}: ask for at least one.")
    return [made_up_year(means, first + index, change) for index in range(count)]


def _plain(value: object) -> object:
    return value.tolist() if isinstance(value, np.ndarray) else value
