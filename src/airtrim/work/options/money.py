"""What an option costs and saves: the bill by the job's tariff, payback and net present value.

Energy comes by month and hour of the day in standard time, as the year tells it; the tariff counts in civil time. A typical year
has no weekdays: five days in seven are taken to be weekdays, the mean over many years. Public holidays are not known.
"""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import InputError, OutOfRangeError
from airtrim.job.tariff import DAYS_BEFORE, QUARTERS, Prices, PriceSeason, Tariff

Array = NDArray[np.float64]
#: Which non-leap year's dates of daylight saving time are counted.
_YEAR = 2025
_WEEK = np.array([5.0 / 7.0, 2.0 / 7.0])
DAYS = np.diff(np.array(DAYS_BEFORE)).astype(np.float64)


@lru_cache(maxsize=8)
def _ahead_quarters(zone: str | None) -> NDArray[np.int64]:
    """How many quarters of an hour civil time is ahead of standard time, for each hour of the year, `[8760]`."""
    if zone is None:
        return np.zeros(8760, dtype=np.int64)
    known = ZoneInfo(zone)
    offsets = [
        (datetime(_YEAR, 1, 1, tzinfo=UTC) + timedelta(hours=hour)).astimezone(known).utcoffset() or timedelta()
        for hour in range(-24, 8760 + 24)
    ]
    standard = min(offsets)
    shift = round(standard / timedelta(hours=1))
    ahead = [(offsets[hour + 24 - shift] - standard) // timedelta(minutes=15) for hour in range(8760)]
    return np.array(ahead, dtype=np.int64)


def _held(tariff: Tariff, part: Prices) -> Array:
    """Of each month and hour (standard time) the part that lies in a season's dates, by quarter of the civil day and kind of
    day: `[12, 24, 2, 96]`; weekdays and weekend weighed 5 to 2."""
    days = part.days if isinstance(part, PriceSeason) else np.ones(365, dtype=bool)
    standard = np.arange(8760 * 4)
    civil = standard + np.repeat(_ahead_quarters(tariff.time_zone), 4)
    inside = days[(civil // QUARTERS) % 365]
    month = np.searchsorted(np.array(DAYS_BEFORE[1:]), standard // QUARTERS, side="right")
    held = np.zeros((12, 24, QUARTERS))
    np.add.at(held, (month, standard // 4 % 24, civil % QUARTERS), inside / (4.0 * DAYS[month]))
    return np.asarray(held[:, :, None, :] * _WEEK[:, None])


def monthly_bills(tariff: Tariff, energy_kwh: Array, demand_kw: Array | None = None) -> Array:
    """Bills `[..., 12]` of a house with `energy_kwh` `[..., 12, 24]` on top of the tariff's other use, which is spread evenly.

    `energy_kwh` is what is used in each month and hour of the day (the first from midnight to one, standard time), 0 and up;
    `demand_kw` `[..., 12]` what each month's greatest demand is. Raises `InputError` where the tariff states no price.
    """
    if not tariff.is_known:
        raise InputError("The tariff states no price: give tariff.price_per_kwh, tiers, periods or seasons.")
    energy = np.asarray(energy_kwh, dtype=np.float64)
    if energy.shape[-2:] != (12, 24) or not np.all(energy >= 0.0):  # NaN fails too
        raise OutOfRangeError(
            f"energy must be 0 or more in each of 12 months and 24 hours, got shape {energy.shape}: check the year's result."
        )
    other = tariff.other_use.si / 1000.0 if tariff.other_use is not None else 0.0
    total = energy + other * DAYS[:, None]
    bills = tariff.fixed_per_month + tariff.rider_per_kwh * total.sum(axis=-1)
    for part in tariff.parts:
        held = _held(tariff, part)
        if part.periods:
            for period in part.periods:
                bills = bills + period.price_per_kwh * np.sum(
                    total * (held * period.quarters).sum(axis=(2, 3)), axis=-1
                )
            continue
        used = np.sum(total * held.sum(axis=(2, 3)), axis=-1)
        days_part = held.sum(axis=(2, 3)).mean(axis=1)
        bills = bills + (
            used * part.price_per_kwh if part.price_per_kwh is not None else _tiered(part, used, days_part)
        )
    if demand_kw is not None:
        bills = bills + tariff.demand_per_kw * demand_kw
    return np.asarray(bills * (1.0 + (tariff.tax.si if tariff.tax is not None else 0.0)))


def _tiered(part: Prices, used: Array, days_part: Array) -> Array:
    """Cost of a month's use `[..., 12]` in tiers; a season that holds for a part of the month has that part of each tier."""
    cost, below = np.zeros_like(used), np.zeros(12)
    for tier in part.tiers:
        end = np.inf if tier.up_to_kwh is None else tier.up_to_kwh * days_part
        cost = cost + tier.price_per_kwh * np.clip(used - below, 0.0, end - below)
        below = np.asarray(end, dtype=np.float64)
    return cost


def added_bill(tariff: Tariff, energy_kwh: Array, demand_kw: Array | None = None) -> Array:
    """What the system adds to a year's bills, `[...]`: tiers as they fall on top of the rest of the house."""
    nothing = monthly_bills(tariff, np.zeros((12, 24)), None if demand_kw is None else np.zeros(12))
    return np.asarray((monthly_bills(tariff, energy_kwh, demand_kw) - nothing).sum(axis=-1))


@dataclass(frozen=True)
class Terms:
    """How money is counted over time: a real rate a year (0 to 0.2) and a number of years (1 to 40)."""

    rate: float
    years: int


def payback_years(first_cost: float, saving: Array) -> Array:
    """Simple payback, years: cost over yearly saving; infinite where nothing is saved, 0 where nothing is spent."""
    if first_cost == 0.0:
        return np.zeros_like(saving)
    return np.where(saving > 0.0, first_cost / np.where(saving > 0.0, saving, 1.0), np.inf)


def net_present_value(first_cost: float, saving: Array, terms: Terms) -> Array:
    """-C + S (1 - (1 + r)^-n) / r: what the saving of n years is worth today less what is spent now (NIST Handbook 135)."""
    factor = float(terms.years) if terms.rate == 0.0 else (1.0 - (1.0 + terms.rate) ** -terms.years) / terms.rate
    return np.asarray(saving * factor - first_cost)
