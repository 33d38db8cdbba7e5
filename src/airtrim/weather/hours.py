"""Hours of a made-up year from its days: the daily swing of dry-bulb, dew point under saturation, sun through the clouds, wind.

Dew point can never pass the dry-bulb: its depression is the softened positive part of what would separate the two, so it is above
zero by construction; days are shifted until their means are kept.
"""

import warnings
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import NoSolutionError
from airtrim.weather.checks import HOURS
from airtrim.weather.days import MONTH_OF_DAY, MadeUpDays, below, by_month
from airtrim.weather.monthly import MonthlyMeans

Array = NDArray[np.float64]

#: Least and greatest part of a clear sky's sun that a day can have (ten NREL TMY3 years: 0.17 to 1.15).
LEAST_CLEAR, MOST_CLEAR = 0.10, 1.16
#: How much the hours of a day half clear stray from it, and how long a cloud field holds from hour to hour.
CLOUD_SPREAD, CLOUD_PERSISTENCE = 1.4, 0.6
#: How softly an hour's dew point is bent below its dry-bulb.
HOUR_WIDTH_K: Final = 1.2
#: Hours from noon to the warmest hour, of the sine's lengthening and of the night's decay, and from sunrise to the coldest hour.
#: Parton and Logan 1981 (parton1981), air at 1.5 m [from-memory].
WARMEST_LAG_H, NIGHT_DECAY, COLDEST_LAG_H = 1.86, 2.20, -0.17
#: Wind's daily swing for a whole swing of dry-bulb, the day's part in its variance, its hourly persistence (the same ten years).
WIND_SWING, WIND_OF_DAY, WIND_PERSISTENCE = 0.7, 0.35, 0.6
#: Shape of the Weibull distribution of hourly wind about its daily course; 2 is Rayleigh's, common-practice for wind.
WIND_SHAPE: Final = 2.1


@dataclass(frozen=True)
class MadeUpHours:
    """Arrays `[8760]`: degC, m/s, W/m2; `range_miss_k` (`[12]`) says by how much the mean daily range misses the table's."""

    dry_bulb_c: Array
    dew_point_c: Array
    wind_m_s: Array
    ghi_w_m2: Array
    dni_w_m2: Array
    dhi_w_m2: Array
    range_miss_k: Array


def make_hours(means: MonthlyMeans, days: MadeUpDays, seed: int) -> MadeUpHours:
    """The hours of made-up year `seed`; monthly means of all but dew point to rounding, dew point within 0.01 K."""
    clouds, gusts = (np.random.default_rng(stream) for stream in np.random.SeedSequence([seed, 1]).spawn(2))
    shape = daily_swing(means)
    dry, miss = _dry_bulb(days, means.daily_range_k, shape)
    ghi, dni, dhi = _sun(means, days.clear_rank, clouds)
    dew, wind = _dew_point(days.dew_point_c, dry), _wind(means, days.wind_rank, shape, gusts)
    return MadeUpHours(dry, dew, wind, ghi, dni, dhi, miss)


def between_days(daily: Array) -> Array:
    """`[8760]` from `[365]`: straight lines from midnight to noon to midnight, a day's mean kept, no step; the year is a ring."""
    midnight = 0.5 * (daily + np.roll(daily, 1))
    following = np.roll(midnight, -1)
    noon = 2.0 * daily - 0.5 * (midnight + following)
    part = (np.arange(24) + 0.5) / 12.0
    morning, afternoon = np.maximum(1.0 - part, 0.0), np.maximum(part - 1.0, 0.0)
    return np.asarray(
        (
            midnight[:, None] * morning + following[:, None] * afternoon + noon[:, None] * (1.0 - morning - afternoon)
        ).ravel()
    )


def daily_swing(means: MonthlyMeans) -> Array:
    """Dry-bulb's course of the day `[365, 24]`, mean 0, greatest less least 1, at the hours' ends.

    A sine from after sunrise to sunset, then decay to the morning (Parton and Logan 1981). Where the sun stays up or down, the
    course is that of a day of 22 or 2 hours.
    """
    day = np.arange(365)[:, None]
    declination = np.radians(23.45) * np.sin(2.0 * np.pi * (284.0 + day + 1.0) / 365.0)  # cooper1969
    cosine = -np.tan(np.radians(means.latitude_deg)) * np.tan(declination)
    length = 24.0 / np.pi * np.arccos(np.clip(cosine, np.cos(np.pi * 22.0 / 24.0), np.cos(np.pi * 2.0 / 24.0)))
    noon = 12.0 + means.timezone_h - means.longitude_deg / 15.0
    rise, fall = noon - 0.5 * length + COLDEST_LAG_H, noon + 0.5 * length
    hour = np.arange(1.0, 25.0)[None, :]
    since = np.mod(hour - rise, 24.0)
    lit = since <= fall - rise
    sine = np.sin(np.pi * since / (length + 2.0 * WARMEST_LAG_H))
    dusk = np.sin(np.pi * (fall - rise) / (length + 2.0 * WARMEST_LAG_H))
    night = 24.0 - (fall - rise)
    spent = np.maximum(since - (fall - rise), 0.0) / night
    course = np.where(lit, sine, dusk * (np.exp(-NIGHT_DECAY * spent) - np.exp(-NIGHT_DECAY) * spent))
    course -= course.mean(axis=1, keepdims=True)
    return np.asarray(course / (course.max(axis=1, keepdims=True) - course.min(axis=1, keepdims=True)))


def _dry_bulb(days: MadeUpDays, monthly_range: Array, shape: Array) -> tuple[Array, Array]:
    """Daily means and swing together, the swing scaled by month until the mean of greatest less least is the table's; the miss.

    Where the days' own changes make more than the range already, a twentieth of the swing is left.
    """
    level = between_days(days.dry_bulb_c).reshape(365, 24)
    factor = np.ones(12)
    made = level
    for _ in range(25):
        made = level + (days.daily_range_k * factor[MONTH_OF_DAY])[:, None] * shape
        factor = np.maximum(factor * (monthly_range / by_month(made.max(axis=1) - made.min(axis=1))) ** 1.2, 0.05)
    return made.ravel(), np.abs(by_month(made.max(axis=1) - made.min(axis=1)) - monthly_range)


def _dew_point(daily: Array, dry: Array) -> Array:
    """Below dry-bulb in every hour; a day's mean within 0.01 K of `daily`."""
    level, short = daily.copy(), np.zeros(365)
    dew = below(between_days(level), dry, HOUR_WIDTH_K)
    for _ in range(400):
        short = daily - dew.reshape(365, 24).mean(axis=1)
        if np.abs(short).max() < 0.01:
            return dew
        level = level + 0.7 * short * np.where(short > 0.0, 1.5, 1.0)
        dew = below(between_days(level), dry, HOUR_WIDTH_K)
    worst = int(np.abs(short).argmax())
    raise NoSolutionError(
        f"The dew point of day {worst + 1} could not be brought within 0.01 K ({short[worst]:.3f} K off): check that the "
        "monthly dew points lie below the dry-bulbs."
    )


def _sun(means: MonthlyMeans, rank: Array, rng: np.random.Generator) -> tuple[Array, Array, Array]:
    """Global horizontal, direct normal, diffuse, W/m2: a clear sky by pvlib, dimmed by day and hour, split after erbs1982."""
    import pandas as pd
    from pvlib import irradiance
    from pvlib.location import Location
    from scipy.stats import norm

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # pvlib's own calls into pandas
        middle = pd.date_range("2001-01-01 00:30", periods=HOURS, freq="h", tz="UTC")
        middle -= pd.Timedelta(hours=means.timezone_h)
        place = Location(means.latitude_deg, means.longitude_deg, altitude=means.altitude_m)
        sun = place.get_solarposition(middle)
        clear = place.get_clearsky(middle, solar_position=sun)["ghi"].to_numpy().reshape(365, 24)
        daily = _clearness(means, rank, norm.cdf(rank), clear.sum(axis=1) / 1000.0)
        noise = np.empty((365, 24))
        before = rng.standard_normal(365)
        for hour in range(24):
            before = CLOUD_PERSISTENCE * before + np.sqrt(1.0 - CLOUD_PERSISTENCE**2) * rng.standard_normal(365)
            noise[:, hour] = before
        ghi = clear * _strayed(daily, noise, clear)
        flat = ghi.ravel()
        split = irradiance.erbs(flat, sun["zenith"].to_numpy(), middle)
    return flat, np.asarray(split["dni"], dtype=np.float64), np.asarray(split["dhi"], dtype=np.float64)


def _strayed(daily: Array, noise: Array, clear: Array) -> Array:
    """Hourly clearness `[365, 24]` between its two ends, straying by `noise`, each day's sun kept as `daily` clearness gives it."""
    wide = MOST_CLEAR - LEAST_CLEAR
    share = (daily - LEAST_CLEAR) / wide
    base = np.log(share / (1.0 - share))[:, None] + CLOUD_SPREAD * noise
    weight = clear / np.maximum(clear.sum(axis=1, keepdims=True), 1e-9)
    low, high = np.full((365, 1), -8.0), np.full((365, 1), 8.0)
    for _ in range(50):  # halving: the sum grows with the shift
        middle = 0.5 * (low + high)
        over = (weight / (1.0 + np.exp(-(base + middle)))).sum(axis=1, keepdims=True) > share[:, None]
        low, high = np.where(over, low, middle), np.where(over, middle, high)
    return np.asarray(LEAST_CLEAR + wide / (1.0 + np.exp(-(base + 0.5 * (low + high)))))


def _clearness(means: MonthlyMeans, rank: Array, chance: Array, clear: Array) -> Array:
    """Part of a clear sky's sun `[365]`: beta distribution by month, its two parameters such that sums have the table's figures."""
    from scipy.stats import beta

    made = np.empty(365)
    wide = MOST_CLEAR - LEAST_CLEAR
    for month in range(12):
        days = month == MONTH_OF_DAY
        sums, target, spread = clear[days], means.ghi_kwh_m2_day[month], means.ghi_spread_kwh_m2_day[month]
        if sums.mean() < 0.05:  # the sun hardly rises: no clearness to tell
            made[days] = min(target / max(sums.mean(), 1e-9), 1.0)
            continue
        middle, deviation = target / sums.mean(), max(spread / sums.mean(), 1e-3)
        best, nearest = None, np.inf
        for _ in range(60):
            at = min(max((middle - LEAST_CLEAR) / wide, 0.01), 0.99)
            width = min(deviation / wide, 0.95 * np.sqrt(at * (1.0 - at)))
            size = at * (1.0 - at) / width**2 - 1.0
            drawn = LEAST_CLEAR + wide * beta.ppf(chance[days], at * size, (1.0 - at) * size)
            now = drawn * sums
            miss = max(abs(now.mean() / target - 1.0), 0.3 * abs(now.std() / max(spread, 1e-6) - 1.0))
            if miss < nearest:
                best, nearest = drawn, miss
            if miss < 1e-4:
                break
            middle += 0.8 * (target - now.mean()) / sums.mean()
            deviation = float(np.clip(deviation * (spread / now.std()) ** 0.8, 1e-3, wide))
        assert best is not None
        made[days] = best * target / (best * sums).mean()
    # only where the sun hardly rises do the two figures ask for days beyond the ends; the month's sun then misses a little
    return np.clip(made, LEAST_CLEAR + 1e-3, MOST_CLEAR - 1e-3)


def _wind(means: MonthlyMeans, rank: Array, shape: Array, rng: np.random.Generator) -> Array:
    from scipy.stats import norm

    made = np.empty((365, 24))
    gust = rng.standard_normal(365)
    for hour in range(24):
        gust = WIND_PERSISTENCE * gust + np.sqrt(1.0 - WIND_PERSISTENCE**2) * rng.standard_normal(365)
        made[:, hour] = gust
    deviate = np.sqrt(WIND_OF_DAY) * rank[:, None] + np.sqrt(1.0 - WIND_OF_DAY) * made
    wind = (-norm.logsf(deviate)) ** (1.0 / WIND_SHAPE) * (1.0 + WIND_SWING * shape)
    return np.asarray((wind * (means.wind_m_s / by_month(wind.ravel()))[MONTH_OF_DAY][:, None]).ravel())
