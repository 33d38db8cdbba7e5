"""When in the year the energy is used: a year's kWh spread over months and hours of the day, for tariffs that ask.

The year tells its sums; where the hours lie is reckoned from the weather: cooling by how far sun and outdoor air lie above what
the house stands without it, heating by how far below, a fan left ON evenly [judgement].
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from airtrim.job.tariff import DAYS_BEFORE
from airtrim.physics.season.system import AirflowProgram, WeatherArrays

Array = NDArray[np.float64]
#: Sun and habits hold a house this much above the outdoors, K, and the sun counts like so many K for each W/m2 (sol-air).
STANDS_ABOVE_K, SUN_K_M2_W = 4.0, 0.01
#: Months with less than this part of the cooling are taken to bring no demand of it.
_LEAST_PART = 0.005


@dataclass(frozen=True)
class Spread:
    """Parts `[12, 24]` of a year's cooling and heating in each month and hour of the day, standard time; each sums to 1."""

    cooling: Array
    heating: Array

    @property
    def cooling_months(self) -> Array:
        """1 in months with cooling, else 0, `[12]`."""
        return np.asarray((self.cooling.sum(axis=1) > _LEAST_PART).astype(np.float64))


def spread_of(program: AirflowProgram, weather: WeatherArrays) -> Spread:
    """How a program's cooling and heating lie over the year."""
    felt = weather.dry_bulb_c + SUN_K_M2_W * weather.ghi_w_m2
    cooling = np.maximum(felt + STANDS_ABOVE_K - program.cooling_set_point_c, 0.0)
    heating = np.maximum(program.heating_set_point_c - STANDS_ABOVE_K - weather.dry_bulb_c, 0.0)
    return Spread(_by_month_and_hour(cooling), _by_month_and_hour(heating))


def _by_month_and_hour(weights: Array) -> Array:
    hours = np.arange(8760)
    month = np.searchsorted(np.array(DAYS_BEFORE[1:]), hours // 24, side="right")
    summed = np.zeros((12, 24))
    np.add.at(summed, (month, hours % 24), weights)
    total = summed.sum()
    return summed / total if total > 0.0 else np.full((12, 24), 1.0 / 288.0)


def by_month_and_hour(
    spread: Spread, compressor_kwh: Array, blower_kwh: Array, heat_kwh: Array, always_on: float
) -> Array:
    """Energy `[N, 12, 24]` kWh of year sums `[N]`; `always_on` is the part of the blower's that runs without any call."""
    with_cooling = compressor_kwh + (1.0 - always_on) * blower_kwh
    even = np.full((12, 24), 1.0 / 288.0)
    return np.asarray(
        with_cooling[:, None, None] * spread.cooling
        + heat_kwh[:, None, None] * spread.heating
        + (always_on * blower_kwh)[:, None, None] * even
    )
