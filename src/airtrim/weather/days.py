"""Days of a made-up year from twelve monthly means: dry-bulb, dew point, clearness, daily range and the rank of wind.

Two-variable first-order persistence (dry-bulb and dew point with the month's correlation), clearness tied to both. Each month is
drawn many times and the draw whose persistence and correlation lie nearest the table's is kept; then a smooth curve takes the
months' means, and a smooth factor their spread, to the table's. All else is own derivation, fitted to ten years of NREL TMY3.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import NoSolutionError
from airtrim.weather.monthly import MonthlyMeans

Array = NDArray[np.float64]

DAYS: Final = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
MONTH_OF_DAY: Final = np.repeat(np.arange(12), DAYS)
DRAWS: Final = 240
#: Correlation of clearness with dry-bulb, and with that part of dew point that dry-bulb does not tell: clear days are dry ones.
CLEAR_WITH_DRY_BULB, CLEAR_WITH_DEW_POINT = 0.1, -0.65
#: By how much dew point holds less from day to day than dry-bulb: that part of it which dry-bulb does not tell, and the whole.
DEW_POINT_HOLDS_LESS, DEW_POINT_LESS_IN_ALL = 0.06, 0.03
#: Persistence of what is left of clearness, and of wind.
CLEAR_PERSISTENCE, WIND_PERSISTENCE = 0.13, 0.25
#: Part of the month's range by which it grows for one standard deviation of clearness, for a dew-point depression e times the
#: month's, and what varies besides.
RANGE_WITH_CLEAR, RANGE_WITH_DEPRESSION, RANGE_BESIDES = 0.14, 0.17, 0.20
#: Correlation of a day's wind with its clearness.
WIND_WITH_CLEAR: Final = -0.2
#: Skewness of daily dew point: of cold months, of months with a mean of 20 C or more, and the dew point where it begins to grow.
#: Humid summers have a lid on dew point and an open floor.
SKEW_COLD, SKEW_HUMID, SKEW_FROM_C, SKEW_TO_C = -0.2, -1.0, 10.0, 20.0
SKEW_DRY_BULB: Final = -0.2
#: Added to a depression before its logarithm is taken: a day of fog has one near zero.
LEAST_DEPRESSION_K: Final = 0.3
#: How softly a day's mean dew point is bent below its mean dry-bulb.
DAY_WIDTH_K: Final = 1.0


@dataclass(frozen=True)
class MadeUpDays:
    """Arrays `[365]`: daily means in degC, daily range in K; `clear_rank` and `wind_rank` are normal deviates.

    `spread_miss_k` (`[12]`) says by how much the spread of dry-bulb or dew point misses the table's.
    """

    dry_bulb_c: Array
    dew_point_c: Array
    daily_range_k: Array
    clear_rank: Array
    wind_rank: Array
    spread_miss_k: Array


def smooth_days(monthly: Array) -> Array:
    """`[365]` daily values without a step, whose means over each month are exactly `monthly` (`[12]`).

    Differences of a periodic cubic spline through the running sum at the months' ends.
    """
    from scipy.interpolate import CubicSpline

    middle = float((monthly * DAYS).sum() / DAYS.sum())
    ends = np.concatenate([[0], np.cumsum(DAYS)]).astype(np.float64)
    sums = np.concatenate([[0.0], np.cumsum((monthly - middle) * DAYS)])
    sums[-1] = 0.0
    spline = CubicSpline(ends, sums, bc_type="periodic")
    return np.asarray(middle + np.diff(spline(np.arange(DAYS.sum() + 1, dtype=np.float64))))


def by_month(values: Array) -> Array:
    """Means over each month of daily (`[365]`) or hourly (`[8760]`) values, `[12]`."""
    per_day = len(values) // 365
    ends = np.concatenate([[0], np.cumsum(DAYS)])[:-1] * per_day
    return np.asarray(np.add.reduceat(values, ends) / (DAYS * per_day))


def spread_by_month(values: Array) -> Array:
    """Standard deviation of daily values within each month, `[12]`."""
    return np.sqrt(np.maximum(by_month(values**2) - by_month(values) ** 2, 0.0))


def persistence(values: Array) -> float:
    """Sum of products of neighbours' departures over the sum of squares; 0 where nothing varies."""
    apart = values - values.mean()
    whole = float((apart**2).sum())
    return float((apart[1:] * apart[:-1]).sum()) / whole if whole > 0.0 else 0.0


def make_days(means: MonthlyMeans, seed: int) -> MadeUpDays:
    """The days of made-up year `seed` (a whole number, 0 or more): the same each time, whatever else was drawn."""
    streams = np.random.SeedSequence(seed).spawn(3)
    weather, ranges, winds = (np.random.default_rng(stream) for stream in streams)
    trend = flattened(smooth_days(means.dry_bulb_c), means.dry_bulb_spread_k)
    dew_trend = flattened(smooth_days(means.dew_point_c), means.dew_point_spread_k)
    dry, dew, rank = _drawn(means, trend, dew_trend, weather)
    dry, dry_miss = with_months(trend, dry, means.dry_bulb_c, means.dry_bulb_spread_k)
    dew, dew_miss = with_months(dew_trend, dew, means.dew_point_c, means.dew_point_spread_k, dry)
    # above 0 and below twice the month's range: no day is turned upside down, none is without measure
    depression = np.log(dry - dew + LEAST_DEPRESSION_K)
    depression -= by_month(depression)[MONTH_OF_DAY]
    widened = 1.0 + np.tanh(
        RANGE_WITH_CLEAR * rank + RANGE_WITH_DEPRESSION * depression + RANGE_BESIDES * ranges.standard_normal(365)
    )
    gust = _persistent(winds.standard_normal(365), WIND_PERSISTENCE)
    gust = WIND_WITH_CLEAR * rank + np.sqrt(1.0 - WIND_WITH_CLEAR**2) * gust
    widened *= (means.daily_range_k / by_month(widened))[MONTH_OF_DAY]
    return MadeUpDays(dry, dew, widened, rank, gust, np.maximum(dry_miss, dew_miss))


def flattened(trend: Array, spread: Array) -> Array:
    """`trend` with less slope inside those months whose `spread` (`[12]`) leaves it little room; means and joints stay.

    The typical months of TMY3 come from different years, so one may hardly warm in itself between a cold and a warm neighbour.
    """
    part = (spread_by_month(trend) / np.maximum(spread, 1e-6)) ** 2
    amount = np.clip((part - 0.4) / 0.3, 0.0, 1.0)[MONTH_OF_DAY]
    day = np.arange(365) - (np.cumsum(DAYS) - DAYS)[MONTH_OF_DAY] + 0.5
    apart = trend - by_month(trend)[MONTH_OF_DAY]
    made = trend.copy()
    for turns in (1, 2, 3, 4):  # nothing at the joints, nothing in sum
        wave = np.sin(2.0 * np.pi * turns * day / DAYS[MONTH_OF_DAY])
        made -= amount * wave * (by_month(apart * wave) / by_month(wave**2))[MONTH_OF_DAY]
    return made


def below(values: Array, bound: Array, width: float) -> Array:
    """`values` bent to lie under `bound`, always and smoothly: the bound less the softened positive part of what lies between."""
    apart = (bound - values) / width
    return np.asarray(bound - width * (np.maximum(apart, 0.0) + np.log1p(np.exp(-np.abs(apart)))))


def with_months(
    trend: Array, apart: Array, target: Array, spread: Array, bound: Array | None = None
) -> tuple[Array, Array]:
    """Daily values `[365]` with the months' means `target` and, as nearly as can be, their `spread`; and its miss by month, K.

    What departs from the `trend` is scaled smoothly and shifted smoothly; with a `bound` the whole is bent below it on the way.
    """
    factor, shift = np.ones(12), np.zeros(365)
    best, nearest = trend + apart, np.full(12, np.inf)
    for _ in range(80):
        made = trend + apart * np.interp(_MIDDAYS, _MIDMONTHS, factor, period=365.0) + shift
        if bound is not None:
            made = below(made, bound, DAY_WIDTH_K)
        short = target - by_month(made)
        shift = shift + smooth_days(short)
        now = spread_by_month(made)
        miss = np.abs(now - spread)
        if np.abs(short).max() < 0.005 and miss.max() < nearest.max():
            best, nearest = made, miss
        if nearest.max() < 2e-3:
            break
        factor = np.clip(factor * (spread / np.maximum(now, 1e-6)) ** 0.7, 0.02, 8.0)
    if not np.isfinite(nearest).all():
        raise NoSolutionError(
            "The monthly means of dew point lie too near those of dry-bulb for a year to be made up: check the two, the dew point "
            "must be the lower one."
        )
    return best, nearest


_MIDDAYS: Final = np.arange(365) + 0.5
_MIDMONTHS: Final = np.cumsum(DAYS) - DAYS / 2.0


def _drawn(means: MonthlyMeans, trend: Array, dew_trend: Array, rng: np.random.Generator) -> tuple[Array, Array, Array]:
    """Departures of dry-bulb and dew point from their trends, and the rank of clearness, `[365]` each."""
    dry, dew, rank = np.empty(365), np.empty(365), np.empty(365)
    last = np.zeros(3)  # deviates of dry-bulb, dew point's own part, clearness's own part on the day before
    rest = np.sqrt(1.0 - CLEAR_WITH_DRY_BULB**2 - CLEAR_WITH_DEW_POINT**2)
    first = 0
    for month, days in enumerate(DAYS.tolist()):
        span = slice(first, first + days)
        spread, dew_spread = means.dry_bulb_spread_k[month], means.dew_point_spread_k[month]
        own = np.sqrt(max(spread**2 - trend[span].var(), (0.1 * spread) ** 2))
        dew_own = np.sqrt(max(dew_spread**2 - dew_trend[span].var(), (0.1 * dew_spread) ** 2))
        wanted = float(means.dry_bulb_persistence[month])
        # a month of some 30 days shows less persistence than the process behind it has, and the trend's part is there already
        held = min(max(wanted + (1.0 + 4.0 * wanted) / days, -0.3), 0.92)
        tie = float(np.clip(means.dry_bulb_dew_point_correlation[month], -0.95, 0.95))
        z = rng.standard_normal((DRAWS, days, 3))
        steps = np.array([held, held - DEW_POINT_HOLDS_LESS, CLEAR_PERSISTENCE])
        widths = np.sqrt(1.0 - steps**2)
        before = np.tile(last, (DRAWS, 1))
        for day in range(days):
            before = steps * before + widths * z[:, day]
            z[:, day] = before
        warm = skewed(z[..., 0], SKEW_DRY_BULB)
        damp = skewed(tie * z[..., 0] + np.sqrt(1.0 - tie**2) * z[..., 1], _skew_of(means.dew_point_c[month]))
        clear = CLEAR_WITH_DRY_BULB * z[..., 0] + CLEAR_WITH_DEW_POINT * z[..., 1] + rest * z[..., 2]
        whole = trend[span] + own * warm
        whole_dew = below(dew_trend[span] + dew_own * damp, whole, DAY_WIDTH_K)
        kept = _nearest(whole, whole_dew, clear, means, month)
        last = z[kept, -1]
        dry[span], dew[span], rank[span] = own * warm[kept], dew_own * damp[kept], clear[kept]
        first += days
    return dry, dew, rank


def _nearest(dry: Array, dew: Array, clear: Array, means: MonthlyMeans, month: int) -> int:
    """Which of the draws `[draw, day]` has figures nearest the month's; each miss over what one month's chance makes of it."""

    def normal(values: Array) -> tuple[Array, Array]:
        apart = values - values.mean(axis=1, keepdims=True)
        width = np.sqrt((apart**2).mean(axis=1))
        return apart / width[:, None], width

    (t, t_width), (d, d_width) = normal(dry), normal(dew)
    t_next, d_next = (t[:, 1:] * t[:, :-1]).sum(axis=1) / t.shape[1], (d[:, 1:] * d[:, :-1]).sum(axis=1) / t.shape[1]
    wanted = means.dry_bulb_persistence[month]
    misses = np.stack(
        [
            (t_next - wanted) / 0.05,
            (d_next - wanted + DEW_POINT_LESS_IN_ALL) / 0.10,
            ((t * d).mean(axis=1) - means.dry_bulb_dew_point_correlation[month]) / 0.05,
            np.log(t_width / means.dry_bulb_spread_k[month]) / 0.15,
            np.log(d_width / means.dew_point_spread_k[month]) / 0.15,
            clear.mean(axis=1) / 0.2,
            (dry.mean(axis=1) - means.dry_bulb_c[month]) / (0.2 * means.dry_bulb_spread_k[month]),
            (dew.mean(axis=1) - means.dew_point_c[month]) / (0.2 * means.dew_point_spread_k[month]),
        ]
    )
    return int(np.argmin((misses**2).sum(axis=0)))


def _persistent(noise: Array, held: float) -> Array:
    made = np.empty_like(noise)
    before = noise[0]
    for day, drawn in enumerate(noise):
        before = held * before + np.sqrt(1.0 - held**2) * drawn
        made[day] = before
    return made


def _skew_of(dew_point_c: float) -> float:
    return float(np.interp(dew_point_c, [SKEW_FROM_C, SKEW_TO_C], [SKEW_COLD, SKEW_HUMID]))


def skewed(z: Array, skewness: float) -> Array:
    """Normal deviates `z` bent to a negative `skewness` (0 to -2), mean 0, spread 1: a shifted lognormal, mirrored."""
    # skewness of a lognormal of log-width w: (exp(w2) + 2) sqrt(exp(w2) - 1); w from it by a table fine enough for 0.01
    widths = np.linspace(1e-3, 0.6, 600)
    grown = np.exp(widths**2)
    width = float(np.interp(-skewness, (grown + 2.0) * np.sqrt(grown - 1.0), widths))
    middle, deviation = np.exp(0.5 * width**2), np.exp(0.5 * width**2) * np.sqrt(np.exp(width**2) - 1.0)
    return np.asarray((middle - np.exp(-width * z)) / deviation)
