"""Moist air for long arrays: humidity ratio, enthalpy and wet bulb at once, in lanes of the processor.

The body has no branch and no library call, so that the compiler runs four or more states together: pressure over water
as a polynomial (within 3e-9 of the handbook's formula from -20 to 60 degC) and a fixed number of Newton steps for the wet
bulb, enough for 2e-6 K. States off the polynomial, frozen, bone dry or over-saturated are done again by the exact
forms of `moist`, so the answer is that of `moist` everywhere.
"""

import numpy as np
from numpy.typing import NDArray

from airtrim.core.kernels import fused_kernel, inline_kernel, kernel
from airtrim.physics.air.moist import (
    enthalpy_j_kg,
    humidity_ratio_from_relative_humidity,
    saturation_pressure_fast_pa,
    wet_bulb_c,
    wet_bulb_step_c,
)

Array = NDArray[np.float64]
#: Where the lane form holds, degC and fraction: on the polynomial, the wet bulb clear of freezing, not bone dry.
LEAST_C, HOTTEST_C, FROST_CLEAR_C, LEAST_HUMIDITY = 0.01, 60.0, 0.5, 0.05
BLOCK = 4096


def air_states(
    temperature_c: Array, relative_humidity: Array, pressure_pa: Array, out: Array | None = None
) -> tuple[Array, Array, Array]:
    """(humidity ratio kg/kg, enthalpy J/kg, wet bulb degC), each `[N]`, of `[N]` temperatures degC, fractions and pressures Pa.

    `out` is a float64 array `[3, N]` to write into. NaN where `moist` gives NaN. ASHRAE Fundamentals 2017, ch. 1 [ashrae2017].
    """
    t, rh, p = (np.ascontiguousarray(one, dtype=np.float64) for one in (temperature_c, relative_humidity, pressure_pa))
    ratio, enthalpy, wet_bulb = np.empty((3, len(t))) if out is None else out
    for start in range(0, len(t), BLOCK):  # a block stays in the nearest cache
        part = slice(start, start + BLOCK)
        block = t[part], rh[part], p[part], ratio[part], enthalpy[part], wet_bulb[part]
        if not _lanes(*block) <= 0.0:  # a NaN in the block counts too
            _exact_where_needed(*block)
    return ratio, enthalpy, wet_bulb


@inline_kernel
def _first_guess_c(temperature_c: float, relative_humidity: float, pressure_pa: float) -> float:
    """Wet bulb within 0.25 K, 0.5 to 60 degC, 5 to 100 %, 70 to 105 kPa: least greatest error against the exact form."""
    d = 1.0 - relative_humidity
    x = temperature_c * (1.0 / 30.0) - 1.0
    q = (pressure_pa - 88000.0) * (1.0 / 18000.0)
    first = -12.5272 + x * (-6.01947 + x * (-1.23823 + x * 0.0727396)) + q * (-0.446335 + x * 0.0957490 + d * 2.13210)
    second = -14.2407 + x * (-15.7743 + x * (8.57078 + x * 1.07367))
    third = 17.1039 + x * (23.1034 - x * 9.97339)
    return temperature_c + d * (first + d * (second + d * (third + d * (-11.2553 - x * 19.0687))))


@inline_kernel
def _holds(temperature_c: float, relative_humidity: float, wet_bulb: float) -> bool:
    """Whether the lane form holds; False for NaN."""
    return (
        (temperature_c > LEAST_C)
        & (temperature_c < HOTTEST_C)
        & (wet_bulb > FROST_CLEAR_C)
        & (relative_humidity <= 1.0)
        & (relative_humidity >= LEAST_HUMIDITY)
    )


@fused_kernel
def _lanes(t: Array, rh: Array, p: Array, ratio: Array, enthalpy: Array, wet_bulb: Array) -> float:
    """Fill a block; returns above zero when the lane form does not hold for some state of it (NaN is right as it is)."""
    off = 0.0
    for k in range(t.shape[0]):
        vapour = rh[k] * saturation_pressure_fast_pa(t[k])
        w = 0.621945 * vapour / (p[k] - vapour)
        guess = _first_guess_c(t[k], rh[k], p[k])
        guess = wet_bulb_step_c(guess, t[k], w, p[k])
        guess = wet_bulb_step_c(guess, t[k], w, p[k])
        ratio[k] = w
        enthalpy[k] = enthalpy_j_kg(t[k], w)
        wet_bulb[k] = guess
        off += max(FROST_CLEAR_C - guess, 0.0) + max(LEAST_C - t[k], 0.0) + max(t[k] - HOTTEST_C, 0.0)
        off += max(rh[k] - 1.0, 0.0) + max(LEAST_HUMIDITY - rh[k], 0.0)
    return off


@kernel
def _exact_where_needed(t: Array, rh: Array, p: Array, ratio: Array, enthalpy: Array, wet_bulb: Array) -> None:
    for k in range(t.shape[0]):
        if not _holds(t[k], rh[k], wet_bulb[k]):
            ratio[k] = humidity_ratio_from_relative_humidity(t[k], rh[k], p[k])
            enthalpy[k] = enthalpy_j_kg(t[k], ratio[k])
            wet_bulb[k] = wet_bulb_c(t[k], ratio[k], p[k])
