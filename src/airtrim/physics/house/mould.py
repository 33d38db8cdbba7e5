"""Mould index of a surface, 0 (none) to 6 (covered), hour by hour: the VTT model.

    critical humidity   max(-0.00267 T^3 + 0.160 T^2 - 3.13 T + 100, least of the class), %
    growth              k1 k2 / (7 x weeks to first growth) a day where 0 < T < 50 degC and the humidity is critical
    decline             0.032 a day in the first 6 h, none from 6 to 24 h, 0.016 a day after

Hukka and Viitanen 1999, material classes of Ojanen et al. 2010 [hukka1999].
Untreated pine sapwood is very sensitive, planed wood and paper-faced board sensitive, painted plaster and concrete medium.
"""

from math import exp, log
from typing import Final

from airtrim.core.kernels import kernel

#: (k1 below 1, k1 from 1 up, A, B, C of the greatest index, least critical humidity %).
MouldClass = tuple[float, float, float, float, float, float]
VERY_SENSITIVE: Final[MouldClass] = (1.0, 2.0, 1.0, 7.0, 2.0, 80.0)
SENSITIVE: Final[MouldClass] = (0.578, 0.386, 0.3, 6.0, 1.0, 80.0)
MEDIUM: Final[MouldClass] = (0.072, 0.097, 0.0, 5.0, 1.5, 85.0)
RESISTANT: Final[MouldClass] = (0.033, 0.014, 0.0, 3.0, 1.0, 85.0)
GREATEST_INDEX: Final = 6.0


@kernel
def first_growth_weeks(temperature_c: float, relative_humidity_percent: float) -> float:
    """Weeks until growth shows under the microscope (index 1) on very sensitive wood at a steady state; 0 to 50 degC."""
    return exp(-0.68 * log(temperature_c) - 13.9 * log(relative_humidity_percent) + 66.02)


@kernel
def visible_growth_weeks(temperature_c: float, relative_humidity_percent: float) -> float:
    """Weeks until growth can be seen (index 3) on very sensitive wood at a steady state; 0 to 50 degC."""
    return exp(-0.74 * log(temperature_c) - 12.72 * log(relative_humidity_percent) + 61.50)


@kernel
def critical_humidity_percent(temperature_c: float, least_percent: float) -> float:
    """Relative humidity above which mould grows, %."""
    t = temperature_c
    return max(-0.00267 * t * t * t + 0.160 * t * t - 3.13 * t + 100.0, least_percent)


@kernel
def greatest_index(temperature_c: float, relative_humidity_percent: float, kind: MouldClass) -> float:
    """The index that growth tends to at a steady state."""
    critical = critical_humidity_percent(temperature_c, kind[5])
    x = (critical - relative_humidity_percent) / (critical - 100.0)
    return kind[2] + kind[3] * x - kind[4] * x * x


@kernel
def mould_hour(
    index: float,
    dry_hours: float,
    temperature_c: float,
    relative_humidity_percent: float,
    kind: MouldClass,
    decline: float,
) -> tuple[float, float]:
    """(index, hours since it was last damp) after one hour; `decline` scales the fall (1 wood, 0.5 to 0.1 others)."""
    critical = critical_humidity_percent(temperature_c, kind[5])
    damp = relative_humidity_percent >= critical and temperature_c > 0.0 and temperature_c < 50.0
    if damp:
        humidity = min(relative_humidity_percent, 100.0)
        k1 = kind[0] if index < 1.0 else kind[1]
        limit = greatest_index(temperature_c, humidity, kind)
        k2 = max(1.0 - exp(2.3 * (index - limit)), 0.0)
        index += k1 * k2 / (7.0 * first_growth_weeks(temperature_c, humidity) * 24.0)
        return min(index, GREATEST_INDEX), 0.0
    dry_hours += 1.0
    if dry_hours <= 6.0:
        index -= decline * 0.032 / 24.0
    elif dry_hours > 24.0:
        index -= decline * 0.016 / 24.0
    return max(index, 0.0) if index == index else index, dry_hours
