"""What electricity costs: flat, in tiers, by time of use, by season, with a fixed charge and a charge for demand.

Only what is written down and whether it can be meant; work/options/money counts with it.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated, Final, Literal, Self, TypeAlias
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray
from pydantic import AfterValidator, Field, model_validator

from airtrim.job.measured import Measured, Section, field

if TYPE_CHECKING:
    MeanUse: TypeAlias = Measured
    Part: TypeAlias = Measured
else:
    MeanUse = field("W", 1.0, 20000.0, "700 kWh/month")
    Part = field("", 0.0, 0.5, "6 %")

#: Prices are told apart by the quarter of an hour.
QUARTERS: Final = 96
DAYS_BEFORE: Final = tuple(int(sum((31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)[:month])) for month in range(13))
_KINDS: Final = ("weekdays", "weekend")


def clock_minutes(text: str) -> int:
    """Minutes after midnight of a checked time of day."""
    hours, _, minutes = text.partition(":")
    return 60 * int(hours) + int(minutes)


def _clock(text: str) -> str:
    hours, _, minutes = text.partition(":")
    if not (hours.isdigit() and minutes.isdigit() and len(minutes) == 2 and int(hours) < 24 and int(minutes) < 60):
        raise ValueError(f'the value needs a time of day such as "22:00", got "{text}": write hours and minutes.')
    return text


def _month_day(text: str) -> str:
    month, _, day = text.partition("-")
    good = month.isdigit() and day.isdigit() and 1 <= int(month) <= 12
    if not (good and 1 <= int(day) <= DAYS_BEFORE[int(month)] - DAYS_BEFORE[int(month) - 1]):
        raise ValueError(f'the value needs a month and a day such as "06-01", got "{text}": write month-day.')
    return text


def _zone(name: str) -> str:
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError) as error:
        raise ValueError(
            f'the time zone "{name}" is not known: write one such as "America/New_York" or "America/Chicago".'
        ) from error
    return name


ClockTime: TypeAlias = Annotated[str, AfterValidator(_clock)]
MonthDay: TypeAlias = Annotated[str, AfterValidator(_month_day)]
ZoneName: TypeAlias = Annotated[str, AfterValidator(_zone)]


class Tier(Section):
    up_to_kwh: float | None = Field(
        default=None, gt=0.0, le=100000.0, description="kWh a month up to which this price holds; left out in the last"
    )
    price_per_kwh: float = Field(gt=0.0, le=5.0, description="Price of a kWh in this tier")


class Period(Section):
    name: str = Field(min_length=1, description="What the papers call it, such as on-peak")
    days: Literal["every_day", "weekdays", "weekend"] = Field(default="every_day", description="Days it holds on")
    start: ClockTime = Field(description="Time of day it begins, civil time")
    end: ClockTime = Field(description="Time of day it ends; 00:00 is midnight")
    price_per_kwh: float = Field(gt=0.0, le=5.0, description="Price of a kWh in it")

    @property
    def quarters(self) -> NDArray[np.bool_]:
        """Which quarters of an hour it holds in, `[2, 96]`: weekdays, weekend."""
        first, last = clock_minutes(self.start) // 15, clock_minutes(self.end) // 15
        held = np.zeros((2, QUARTERS), dtype=bool)
        time = np.arange(QUARTERS)
        inside = (time >= first) & (time < last) if first < last else (time >= first) | (time < last)
        for kind, name in enumerate(_KINDS):
            if self.days in ("every_day", name):
                held[kind] = inside
        return held


class Prices(Section):
    """One price, tiers, or periods."""

    price_per_kwh: float | None = Field(default=None, gt=0.0, le=5.0, description="One price of a kWh")
    tiers: list[Tier] = Field(default_factory=list, description="Prices by the month's kWh, cheapest use first")
    periods: list[Period] = Field(default_factory=list, description="Prices by time of day, all hours covered once")

    @property
    def ways(self) -> list[str]:
        """Which of the three ways to state prices were taken."""
        given = {"price_per_kwh": self.price_per_kwh is not None, "tiers": self.tiers, "periods": self.periods}
        return [name for name, one in given.items() if one]

    @model_validator(mode="after")
    def _can_be_meant(self) -> Self:
        if len(self.ways) > 1:
            raise ValueError(f"{self.ways[0]} and {self.ways[1]} each set the price: leave one of them out.")
        ends = [tier.up_to_kwh for tier in self.tiers]
        if ends and (ends[-1] is not None or any(end is None for end in ends[:-1])):
            raise ValueError("the last tier, and it alone, has no up_to_kwh: it holds for all use above the others.")
        known = [end for end in ends if end is not None]
        if sorted(set(known)) != known:
            raise ValueError(f"the tiers' up_to_kwh must rise, got {', '.join(f'{end:g}' for end in known)}.")
        if self.periods:
            self._covers_the_week()
        return self

    def _covers_the_week(self) -> None:
        for one in self.periods:
            if clock_minutes(one.start) % 15 or clock_minutes(one.end) % 15:
                raise ValueError(
                    f"period {one.name} begins or ends off the quarter hour: use 00, 15, 30 or 45 minutes."
                )
        held = np.array([one.quarters for one in self.periods])
        for kind, name in enumerate(_KINDS):
            twice = np.nonzero(held[:, kind].sum(axis=0) > 1)[0]
            if twice.size:
                both = [self.periods[index].name for index in np.nonzero(held[:, kind, twice[0]])[0]]
                raise ValueError(
                    f"{name} {_time(int(twice[0]))} lies in both {both[0]} and {both[1]}: change a start or an end."
                )
            gap = np.nonzero(held[:, kind].sum(axis=0) == 0)[0]
            if gap.size:
                last = int(gap[0])
                while last + 1 in gap:
                    last += 1
                raise ValueError(
                    f"{name} {_time(int(gap[0]))} to {_time(last + 1)} have no price: add a period for these hours."
                )


def _time(quarter: int) -> str:
    return f"{quarter // 4 % 24:02d}:{quarter % 4 * 15:02d}"


class PriceSeason(Prices):
    name: str = Field(min_length=1, description="What the papers call it, such as summer")
    start: MonthDay = Field(description="First day, month-day")
    end: MonthDay = Field(description="Last day, month-day")

    @property
    def days(self) -> NDArray[np.bool_]:
        """Which days of the year belong to it, `[365]`."""
        first, last = (day_of_year(text) for text in (self.start, self.end))
        day = np.arange(365)
        return np.asarray((day >= first) & (day <= last) if first <= last else (day >= first) | (day <= last))

    @model_validator(mode="after")
    def _has_a_price(self) -> Self:
        if not self.ways:
            raise ValueError(f"season {self.name} has no price: give price_per_kwh, tiers or periods.")
        return self


def day_of_year(text: str) -> int:
    """0 to 364 of a checked month-day."""
    month, _, day = text.partition("-")
    return DAYS_BEFORE[int(month) - 1] + int(day) - 1


class Tariff(Prices):
    """Prices of the whole year, or of its seasons; with all that comes on top."""

    currency: str = Field(default="USD", min_length=1, max_length=8, description="What the prices are in")
    seasons: list[PriceSeason] = Field(default_factory=list, description="Parts of the year with prices of their own")
    rider_per_kwh: float = Field(default=0.0, ge=-1.0, le=5.0, description="Added to every kWh: fuel, riders")
    tax: Part | None = Field(default=None, description="Tax on the whole bill")
    fixed_per_month: float = Field(default=0.0, ge=0.0, le=1000.0, description="Fixed charge a month")
    demand_per_kw: float = Field(default=0.0, ge=0.0, le=200.0, description="Charge a month for each kW of demand")
    other_use: MeanUse | None = Field(default=None, description="What the rest of the house uses; tiers need it")
    time_zone: ZoneName | None = Field(default=None, description="Civil time zone; periods need it")

    @property
    def is_known(self) -> bool:
        """Whether any price was given."""
        return bool(self.ways or self.seasons)

    @property
    def parts(self) -> Sequence[Prices]:
        """The seasons, or the year as one."""
        return self.seasons or ([self] if self.ways else [])

    @model_validator(mode="after")
    def _adds_up(self) -> Self:
        if self.seasons and self.ways:
            raise ValueError(
                f"{self.ways[0]} and seasons each set the price: write {self.ways[0]} inside the seasons, or leave them out."
            )
        if self.seasons:
            self._covers_the_year()
        if any(part.periods for part in self.parts) and self.time_zone is None:
            raise ValueError('prices by time of day need time_zone, such as "America/New_York".')
        if any(part.tiers for part in self.parts) and self.other_use is None:
            raise ValueError(
                'tiers need other_use, what the rest of the house uses, such as "700 kWh/month": read it off a mild month\'s bill.'
            )
        lowest = [price for part in self.parts for price in _prices(part)]
        if lowest and min(lowest) + self.rider_per_kwh <= 0.0:
            raise ValueError(
                f"with rider_per_kwh {self.rider_per_kwh:g} a kWh would cost nothing or less: check its sign."
            )
        return self

    def _covers_the_year(self) -> None:
        held = np.array([season.days for season in self.seasons])
        twice = np.nonzero(held.sum(axis=0) > 1)[0]
        if twice.size:
            both = [self.seasons[index].name for index in np.nonzero(held[:, twice[0]])[0]]
            raise ValueError(f"{_date(int(twice[0]))} lies in both {both[0]} and {both[1]}: change a start or an end.")
        gap = np.nonzero(held.sum(axis=0) == 0)[0]
        if gap.size:
            raise ValueError(f"{_date(int(gap[0]))} lies in no season: the seasons must cover the whole year.")


def _prices(part: Prices) -> list[float]:
    one = [] if part.price_per_kwh is None else [part.price_per_kwh]
    return [*one, *(tier.price_per_kwh for tier in part.tiers), *(period.price_per_kwh for period in part.periods)]


def _date(day: int) -> str:
    month = next(month for month in range(12) if day < DAYS_BEFORE[month + 1])
    return f"{month + 1:02d}-{day - DAYS_BEFORE[month] + 1:02d}"
