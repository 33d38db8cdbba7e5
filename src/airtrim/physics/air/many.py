"""Moist air for long arrays: humidity ratio, enthalpy and wet bulb at once, in lanes of the processor.

A lane has no branch and no library call, so that the compiler runs several states together. Pressure over water and over ice
are polynomials, within 1e-9 of the handbook's formulas; the wet bulb starts from a fitted guess within 0.3 K and takes two
Newton steps of an equation cleared of its fractions. The last step tells the error left (it squares): a state whose last step
was long, or that lies off the polynomials, in the hundredth of a kelvin where water turns to ice, or outside what air can be,
is done again by the exact forms of `moist`. So the answer is that of `moist` everywhere, to 1e-6 K.

At 0 degC the wick is water where the state's enthalpy reaches that of air saturated there, else ice, as in `moist.wet_bulb_c`.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import InputError
from airtrim.core.kernels import fused_kernel, inline_kernel, kernel
from airtrim.physics.air.moist import (
    MASS_RATIO,
    enthalpy_j_kg,
    humidity_ratio_from_relative_humidity,
    wet_bulb_c,
)

Array = NDArray[np.float64]

#: Where the lanes hold: pressure over ice from COLDEST_C to freezing, over water from THAWED_C to HOTTEST_C.
COLDEST_C, THAWED_C, HOTTEST_C = -40.0, 0.011, 60.0
#: Newton's last step; the error it leaves is a fortieth of its square, 4e-7 K.
LAST_STEP_K = 0.004
BLOCK = 512  # six arrays of it fit the nearest cache


def air_states(
    temperature_c: Array | float, relative_humidity: Array | float, pressure_pa: Array | float, out: Array | None = None
) -> tuple[Array, Array, Array]:
    """(humidity ratio kg/kg, enthalpy J/kg dry air, wet bulb degC) of arrays that broadcast: degC, fraction, Pa.

    `out`, float64 `[3, N]` with N states in all, is written into and saves asking for memory. NaN where `moist` gives NaN: no
    number, or relative humidity outside 0 to 1. Quickest from -40 to 60 degC and 60 to 108 kPa. Raises InputError for an `out`
    of another shape or kind. Source: ASHRAE Fundamentals 2017, ch. 1 [ashrae2017].
    """
    given = np.broadcast_arrays(temperature_c, relative_humidity, pressure_pa)
    t, rh, p = (np.ascontiguousarray(one, dtype=np.float64).ravel() for one in given)
    if out is None:
        out = np.empty((3, t.size))
    elif out.shape != (3, t.size) or out.dtype != np.float64 or not out.flags.c_contiguous:
        raise InputError(
            f"air_states: out must be a contiguous float64 array of shape (3, {t.size}), got {out.dtype} {out.shape}: "
            f"make it with numpy.empty((3, {t.size}))."
        )
    _blocks(t, rh, p, out[0], out[1], out[2])
    ratio, enthalpy, wet_bulb = (one.reshape(given[0].shape) for one in out)
    return ratio, enthalpy, wet_bulb


def _over_water_pa(celsius: Array) -> Array:
    t = celsius + 273.15
    powers = -5.8002206e03 / t + 1.3914993 - 4.8640239e-02 * t + 4.1764768e-05 * t**2 - 1.4452093e-08 * t**3
    return np.asarray(np.exp(powers + 6.5459673 * np.log(t)))


def _over_ice_pa(celsius: Array) -> Array:
    t = celsius + 273.15
    powers = -5.6745359e03 / t + 6.3925247 - 9.677843e-03 * t + 6.2215701e-07 * t**2 + 2.0747825e-09 * t**3
    return np.asarray(np.exp(powers - 9.484024e-13 * t**4 + 4.1635019 * np.log(t)))


def _polynomial(pressure: Callable[[Array], Array], low_c: float, high_c: float) -> tuple[float, ...]:
    """Ten coefficients in (t - middle) / half of the width, least relative error at Chebyshev's nodes."""
    nodes = np.cos(np.pi * (np.arange(400) + 0.5) / 400)
    exact = pressure(0.5 * (low_c + high_c) + 0.5 * (high_c - low_c) * nodes)
    columns = np.polynomial.polynomial.polyvander(nodes, 9) / exact[:, None]
    return tuple(float(value) for value in np.linalg.lstsq(columns, np.ones(400), rcond=None)[0])


def _guess(frozen: bool, offset: float) -> tuple[float, ...]:
    """Ten coefficients of the first guess; made from wet bulbs, for which the humidity ratio is explicit (eq. 33, 35)."""
    low, high = (-40.0, -0.01) if frozen else (0.01, 48.0)
    wet, above, pressure = (one.ravel() for one in np.meshgrid(*(np.linspace(0.0, 1.0, 16),) * 3))
    wet, pressure = low + (high - low) * wet, 60000.0 + 48000.0 * pressure
    dry = wet + above * (14.0 if frozen else 30.0)
    vapour = (_over_ice_pa if frozen else _over_water_pa)(wet)
    heat, slope, melt = (2830.0, 0.24, 2.1) if frozen else (2501.0, 2.326, 4.186)
    saturated = MASS_RATIO * vapour / (pressure - vapour)
    ratio = ((heat - slope * wet) * saturated - 1.006 * (dry - wet)) / (heat + 1.86 * dry - melt * wet)
    known = (ratio >= 0.0) & (dry < 52.0)
    s, z = (
        np.sqrt(1.006 * dry + ratio * (2501.0 + 1.86 * dry) + offset, where=known, out=np.ones_like(dry)),
        pressure * 1e-5,
    )
    columns = np.stack([s**0, s, s**2, s**3, z, z * s, z * s**2, z**2, z**2 * s, dry], axis=1)
    return tuple(float(value) for value in np.linalg.lstsq(columns[known], wet[known], rcond=None)[0])


WARM_OFFSET, COLD_OFFSET = 20.0, 50.0  # kJ/kg, keeps the square root real
(_W0, _W1, _W2, _W3, _W4, _W5, _W6, _W7, _W8, _W9) = _polynomial(_over_water_pa, 0.0, HOTTEST_C)
(_I0, _I1, _I2, _I3, _I4, _I5, _I6, _I7, _I8, _I9) = _polynomial(_over_ice_pa, COLDEST_C, 0.01)
(_G0, _G1, _G2, _G3, _G4, _G5, _G6, _G7, _G8, _G9) = _guess(False, WARM_OFFSET)
(_F0, _F1, _F2, _F3, _F4, _F5, _F6, _F7, _F8, _F9) = _guess(True, COLD_OFFSET)
_WATER_MIDDLE, _WATER_INVERSE = 30.0, 1.0 / 30.0
_ICE_MIDDLE, _ICE_INVERSE = 0.5 * (COLDEST_C + 0.01), 2.0 / (0.01 - COLDEST_C)
_AT_FREEZING_PA = float(_over_ice_pa(np.zeros(1))[0])


@inline_kernel
def _water(t: float) -> float:
    x = (t - _WATER_MIDDLE) * _WATER_INVERSE
    upper = _W5 + x * (_W6 + x * (_W7 + x * (_W8 + x * _W9)))
    return _W0 + x * (_W1 + x * (_W2 + x * (_W3 + x * (_W4 + x * upper))))


@inline_kernel
def _water_slope(t: float) -> float:
    x = (t - _WATER_MIDDLE) * _WATER_INVERSE
    upper = 5.0 * _W5 + x * (6.0 * _W6 + x * (7.0 * _W7 + x * (8.0 * _W8 + x * (9.0 * _W9))))
    return _WATER_INVERSE * (_W1 + x * (2.0 * _W2 + x * (3.0 * _W3 + x * (4.0 * _W4 + x * upper))))


@inline_kernel
def _ice(t: float) -> float:
    x = (t - _ICE_MIDDLE) * _ICE_INVERSE
    upper = _I5 + x * (_I6 + x * (_I7 + x * (_I8 + x * _I9)))
    return _I0 + x * (_I1 + x * (_I2 + x * (_I3 + x * (_I4 + x * upper))))


@inline_kernel
def _ice_slope(t: float) -> float:
    x = (t - _ICE_MIDDLE) * _ICE_INVERSE
    upper = 5.0 * _I5 + x * (6.0 * _I6 + x * (7.0 * _I7 + x * (8.0 * _I8 + x * (9.0 * _I9))))
    return _ICE_INVERSE * (_I1 + x * (2.0 * _I2 + x * (3.0 * _I3 + x * (4.0 * _I4 + x * upper))))


@inline_kernel
def _water_step_k(guess: float, ratio: float, h: float, p: float) -> float:
    """Newton's step for eq. 33 times (pressure - vapour): heat x 0.621945 vapour + (p - vapour)(a guess - h) = 0."""
    vapour, slope = _water(guess), _water_slope(guess)
    heat, a = MASS_RATIO * (2501.0 - 2.326 * guess), 1.006 + 4.186 * ratio
    rest, gap = a * guess - h, p - vapour
    return (heat * vapour + gap * rest) / (heat * slope - MASS_RATIO * 2.326 * vapour + gap * a - slope * rest)


@inline_kernel
def _ice_step_k(guess: float, ratio: float, h: float, p: float) -> float:
    """The same for eq. 35; h carries the heat of melting, 329 kJ/kg of vapour, as the wick is ice."""
    vapour, slope = _ice(guess), _ice_slope(guess)
    heat, a = MASS_RATIO * (2830.0 - 0.24 * guess), 1.006 + 2.1 * ratio
    rest, gap = a * guess - h - 329.0 * ratio, p - vapour
    return (heat * vapour + gap * rest) / (heat * slope - MASS_RATIO * 0.24 * vapour + gap * a - slope * rest)


@fused_kernel
def _warm_lanes(t: Array, rh: Array, p: Array, ratio: Array, enthalpy: Array, wet_bulb: Array) -> float:
    """Air with a wet bulb above freezing; how many states are not vouched for, whose wet bulb is left NaN."""
    left = 0.0
    for k in range(t.shape[0]):
        vapour = rh[k] * _water(t[k])
        w = MASS_RATIO * vapour / (p[k] - vapour)
        h = 1.006 * t[k] + w * (2501.0 + 1.86 * t[k])
        s, z = np.sqrt(h + WARM_OFFSET), p[k] * 1e-5
        guess = (
            _G0 + s * (_G1 + s * (_G2 + s * _G3)) + z * (_G4 + s * (_G5 + s * _G6) + z * (_G7 + s * _G8)) + _G9 * t[k]
        )
        guess -= _water_step_k(guess, w, h, p[k])
        step = _water_step_k(guess, w, h, p[k])
        guess -= step
        ratio[k], enthalpy[k] = w, 1000.0 * h
        sure = (t[k] > THAWED_C) & (t[k] <= HOTTEST_C) & (rh[k] >= 0.0) & (rh[k] <= 1.0)
        sure = sure & (guess > THAWED_C) & (step < LAST_STEP_K) & (step > -LAST_STEP_K)
        wet_bulb[k] = guess if sure else np.nan
        left += 0.0 if sure else 1.0
    return left


@fused_kernel
def _frost_lanes(t: Array, rh: Array, p: Array, ratio: Array, enthalpy: Array, wet_bulb: Array) -> float:
    """As `_warm_lanes`, for air on either side of freezing whose wick is ice."""
    left = 0.0
    for k in range(t.shape[0]):
        over_water, over_ice = _water(t[k]), _ice(t[k])
        vapour = rh[k] * (over_water if t[k] > THAWED_C else over_ice)
        w = MASS_RATIO * vapour / (p[k] - vapour)
        h = 1.006 * t[k] + w * (2501.0 + 1.86 * t[k])
        s, z = np.sqrt(h + COLD_OFFSET), p[k] * 1e-5
        guess = (
            _F0 + s * (_F1 + s * (_F2 + s * _F3)) + z * (_F4 + s * (_F5 + s * _F6) + z * (_F7 + s * _F8)) + _F9 * t[k]
        )
        guess -= _ice_step_k(guess, w, h, p[k])
        step = _ice_step_k(guess, w, h, p[k])
        guess -= step
        ratio[k], enthalpy[k] = w, 1000.0 * h
        inside = (t[k] >= COLDEST_C) & (t[k] <= HOTTEST_C) & ((t[k] > THAWED_C) | (t[k] <= 0.01))
        inside = inside & (rh[k] >= 0.0) & (rh[k] <= 1.0) & (guess > COLDEST_C) & (guess < -1e-6)
        # water, or too near it to say: the state holds as much heat as air saturated at 0 degC
        ice = h * (p[k] - _AT_FREEZING_PA) < 2501.0 * MASS_RATIO * _AT_FREEZING_PA * (1.0 - 1e-9)
        sure = inside & (ice | (t[k] < 0.0)) & (step < LAST_STEP_K) & (step > -LAST_STEP_K)
        wet_bulb[k] = guess if sure else np.nan
        left += 0.0 if sure else 1.0
    return left


@kernel
def _blocks(t: Array, rh: Array, p: Array, ratio: Array, enthalpy: Array, wet_bulb: Array) -> None:
    """Block by block through the lanes that last fitted best; what they leave is gathered for the other ones."""
    place, gathered, count = np.empty(2 * BLOCK, np.int64), np.empty((6, 2 * BLOCK)), t.shape[0]
    left, frosty = 0, False
    for start in range(0, count, BLOCK):
        stop = min(start + BLOCK, count)
        x, y, z = t[start:stop], rh[start:stop], p[start:stop]
        u, v, w = ratio[start:stop], enthalpy[start:stop], wet_bulb[start:stop]
        unsure = _frost_lanes(x, y, z, u, v, w) if frosty else _warm_lanes(x, y, z, u, v, w)
        if unsure > 0.0:
            for k in range(start, stop):
                place[left] = k
                left += 1 if np.isnan(wet_bulb[k]) else 0
        other = unsure > 0.5 * (stop - start)
        if left >= BLOCK or other or stop == count:
            _left_over(place[:left], not frosty, gathered, t, rh, p, ratio, enthalpy, wet_bulb)
            left, frosty = 0, frosty ^ other


@kernel
def _left_over(
    place: NDArray[np.int64],
    frosty: bool,
    gathered: Array,
    t: Array,
    rh: Array,
    p: Array,
    ratio: Array,
    enthalpy: Array,
    wet_bulb: Array,
) -> None:
    """The states at `place` through the frost or the warm lanes, and one by one by the exact forms where those are unsure."""
    n = len(place)
    for i in range(n):
        gathered[0, i], gathered[1, i], gathered[2, i] = t[place[i]], rh[place[i]], p[place[i]]
    x, y, z = gathered[0, :n], gathered[1, :n], gathered[2, :n]
    u, v, w = gathered[3, :n], gathered[4, :n], gathered[5, :n]
    if frosty:
        _frost_lanes(x, y, z, u, v, w)
    else:
        _warm_lanes(x, y, z, u, v, w)
    for i in range(n):
        k = place[i]
        ratio[k], enthalpy[k], wet_bulb[k] = u[i], v[i], w[i]
        if np.isnan(w[i]):
            ratio[k] = humidity_ratio_from_relative_humidity(x[i], y[i], z[i])
            enthalpy[k] = enthalpy_j_kg(x[i], ratio[k])
            wet_bulb[k] = wet_bulb_c(x[i], ratio[k], z[i])
