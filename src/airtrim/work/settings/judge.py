"""How good a setting is and which limits it breaks, over scenarios, against leaving it alone."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.stats import beta

from airtrim.physics.season.year import YearResults
from airtrim.work.options.limits import SAME_K
from airtrim.work.settings.scenarios import COLD, TYPICAL

Array = NDArray[np.float64]
#: Hours a year that a setting may miss the set-point, or have a register's face sweat, more than now.
MISSED_HOURS_ALLOWED, SWEAT_HOURS_ALLOWED = 20.0, 100.0
#: Kept above 32 F at the coldest inlet by the few systems of a search, for those it does not try.
ICING_MARGIN_K = 0.5
#: The same on whole years, where the coldest system that counts is among those checked: what a step of 60 s may miss.
CHECKED_MARGIN_K = 0.2
#: Hours a year with a gram of frost or more that a setting may bring beside those of now: none worth the name in a typical, a wet
#: or a hot year; in the hardest case, rare all at once, mornings' worth that thaws in the off time [judgement].
FROST_HOURS_ALLOWED, FROST_HOURS_HARDEST = 1.0, 10.0
#: What one kWh counts beside the aim, so that among equals the thriftier is taken; in the aim's unit [judgement].
KWH_COUNTS: Final = {"dry": 0.02, "cheap_to_buy": 0.02, "quiet": 1e-5, "cheap_to_run": 0.0, "even_temperatures": 0.002}
#: Parts of the years' scenarios in the aim.
YEAR_PARTS: Final = {"typical": 0.5, "wet": 0.25, "hot": 0.25}
LIMITS: Final = ("coil", "frost", "set_point", "sweat")


@dataclass(frozen=True)
class Measured:
    """What is judged of M settings on N systems, `[N, M]` each, the first setting being leaving it alone.

    `least_k` is the year's least icing margin, `low_k` its 5th percentile over running time.
    """

    aim: Array
    least_k: Array
    low_k: Array
    frost: Array
    missed: Array
    sweat: Array

    def shifted(self, by: "Measured | None") -> "Measured":
        """With corrections `[N, 1]` added."""
        if by is None:
            return self
        return Measured(*(getattr(self, name) + getattr(by, name) for name in self.__dataclass_fields__))

    def beside(self, other: "Measured") -> "Measured":
        """Both, side by side."""
        return Measured(
            *(np.concatenate([getattr(self, name), getattr(other, name)], axis=1) for name in self.__dataclass_fields__)
        )

    def columns(self, places: list[int]) -> "Measured":
        """Some of the settings."""
        return Measured(*(getattr(self, name)[:, places] for name in self.__dataclass_fields__))


def measured(years: YearResults, aim: str) -> Measured:
    """What a run tells, `[N, M]`; the aim's own quantity, less is better, with energy counted a little."""
    kwh = years.compressor_kwh + years.blower_kwh
    own = {
        "quiet": years.mean_flow_fraction,
        "cheap_to_run": kwh,
        "even_temperatures": years.hours_set_point_missed,
    }.get(aim, years.damp_hours)
    never = 30.0  # a unit that never ran has no margin to lose
    return Measured(
        own + KWH_COUNTS[aim] * kwh,
        np.where(np.isfinite(years.least_icing_margin_k), years.least_icing_margin_k, never),
        np.where(np.isfinite(years.low_icing_margin_k), years.low_icing_margin_k, never),
        years.frost_hours,
        years.hours_set_point_missed,
        years.sweat_hours,
    )


def frost_hours_allowed(scenario: str) -> float:
    return FROST_HOURS_HARDEST if scenario == COLD.id else FROST_HOURS_ALLOWED


def broken(read: Measured, scenario: str) -> dict[str, NDArray[np.bool_]]:
    """Which systems break which limit under a scenario, `[N, M]`.

    The typical year's coldest moment stays above 32 F; in every other scenario the coil may touch it for moments, not for
    5 % of its time. Either counts only where the setting makes the coil colder than it is now. Frost, set-point and sweat
    are counted against now; the set-point where the scenario is not one of a coil made cold on purpose.
    """
    margin = read.least_k if scenario == TYPICAL.id else read.low_k
    colder = margin < margin[:, :1] - SAME_K
    missed = read.missed - read.missed[:, :1] > 2.0 * MISSED_HOURS_ALLOWED
    return {
        "coil": (margin < 0.0) & colder,
        "frost": read.frost - read.frost[:, :1] > frost_hours_allowed(scenario),
        "set_point": missed if scenario != COLD.id else np.zeros_like(missed),
        "sweat": read.sweat - read.sweat[:, :1] > SWEAT_HOURS_ALLOWED,
    }


def coil_left_k(read: Measured, scenario: str, share: float = 0.0) -> Array:
    """Icing margin that M settings leave under a scenario, K, at the quantile `share` of the systems (0: the worst); `[M]`.

    Infinite where no system's coil gets colder than it is now.
    """
    margin = read.least_k if scenario == TYPICAL.id else read.low_k
    kept = np.where(margin < margin[:, :1] - SAME_K, margin, np.inf)
    return np.asarray(np.sort(kept, axis=0)[int(share * len(kept))])


def late(read: Measured, may: int = 0) -> Array:
    """Hours of a hard year that M settings lose at the set-point, over those allowed, in the worst system but `may`; `[M]`."""
    lost = np.sort(read.missed - read.missed[:, :1], axis=0)[::-1]
    return np.asarray(lost[min(may, len(lost) - 1)] / (2.0 * MISSED_HOURS_ALLOWED))


def violation(
    read: Measured,
    scenario: str,
    margin_k: float = ICING_MARGIN_K,
    share: float = 0.0,
    may: int = 0,
    late_allowed: float = 1.0,
) -> dict[str, Array]:
    """By how much M settings miss each limit under a scenario, in its tolerances (the coil: in K), 0 where it is kept; `[M]`.

    The coil is judged by `coil_left_k` with `margin_k` to spare; the set-point by the mean of the systems in the typical year, in
    the others system by system, as `broken` does: by `late`, of which `late_allowed` is let pass; sweat by the systems' mean.
    """
    if scenario == TYPICAL.id:
        over = (read.missed - read.missed[:, :1]).mean(axis=0) / MISSED_HOURS_ALLOWED - 1.0
    else:
        over = late(read, may) - late_allowed
    frost = np.quantile(read.frost - read.frost[:, :1], 1.0 - share, axis=0)
    return {
        "coil": np.maximum(margin_k - coil_left_k(read, scenario, share), 0.0),
        "frost": np.maximum(frost / frost_hours_allowed(scenario) - 1.0, 0.0),
        "set_point": np.maximum(over, 0.0) * (scenario != COLD.id),
        "sweat": np.maximum((read.sweat - read.sweat[:, :1]).mean(axis=0) / SWEAT_HOURS_ALLOWED - 1.0, 0.0),
    }


@dataclass(frozen=True)
class Chance:
    """How many of how many systems break a limit, and the chance of breaking it that is not passed with 95 % confidence.

    `claimed` says whether "fewer than 1 in 20" may be said: 200 systems or more, and that chance below 5 %.
    """

    limit: str
    systems: int
    broken: int
    at_most: float
    claimed: bool


#: Systems from which on a chance limit is claimed.
CLAIM_SYSTEMS, CLAIMED_CHANCE = 200, 0.05
#: Of fewer systems than make a claim, this part may break a limit; of more, that with which the claim can still be made (4 of 200).
BROKEN_PART, SPARED = 0.05, 0.02


def may_break(systems: int) -> int:
    """How many of so many systems may break a limit."""
    return int((SPARED if systems >= CLAIM_SYSTEMS else BROKEN_PART) * systems)


def chance_of(limit: str, broken_systems: NDArray[np.bool_]) -> Chance:
    """One-sided 95 % Clopper-Pearson bound: with 200 systems 4 broken give 4.5 %, 5 give 5.2 %."""
    count, hits = len(broken_systems), int(broken_systems.sum())
    at_most = float(beta.ppf(0.95, hits + 1, count - hits)) if hits < count else 1.0
    return Chance(limit, count, hits, at_most, count >= CLAIM_SYSTEMS and at_most < CLAIMED_CHANCE)
