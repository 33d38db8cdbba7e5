"""Moist air as a perfect gas, after the ASHRAE Handbook of Fundamentals 2017, ch. 1 [ashrae2017].

Raw formulas on scalars: temperatures in degC, pressures in Pa, humidity ratios in kg/kg dry air, enthalpies in J/kg dry air.
Valid from -50 to 90 degC and 60 to 110 kPa. Below 0.01 degC saturation is over ice. NaN in, NaN out. `states` holds the
checked functions of quantities.
"""

from math import exp, log

import numpy as np

from airtrim.core.kernels import fma, inline_kernel, kernel

MASS_RATIO = 0.621945  # water to dry air, molar masses
GAS_CONSTANT = 287.042  # dry air, J/kg K
TRIPLE_C = 0.01


@kernel
def saturation_pressure_pa(temperature_c: float) -> float:
    """Over liquid water from 0.01 degC up, over ice below (eq. 5 and 6); within 300 ppm of table 3."""
    t = temperature_c + 273.15
    if temperature_c <= TRIPLE_C:
        return exp(
            -5.6745359e03 / t
            + 6.3925247e00
            - 9.677843e-03 * t
            + 6.2215701e-07 * t * t
            + 2.0747825e-09 * t * t * t
            - 9.484024e-13 * t * t * t * t
            + 4.1635019e00 * log(t)
        )
    return exp(
        -5.8002206e03 / t
        + 1.3914993e00
        - 4.8640239e-02 * t
        + 4.1764768e-05 * t * t
        - 1.4452093e-08 * t * t * t
        + 6.5459673e00 * log(t)
    )


@kernel
def saturation_pressure_slope_pa_k(temperature_c: float) -> float:
    """Derivative of `saturation_pressure_pa` with respect to temperature."""
    t = temperature_c + 273.15
    if temperature_c <= TRIPLE_C:
        logarithmic = (
            5.6745359e03 / (t * t)
            - 9.677843e-03
            + 2.0 * 6.2215701e-07 * t
            + 3.0 * 2.0747825e-09 * t * t
            - 4.0 * 9.484024e-13 * t * t * t
            + 4.1635019e00 / t
        )
    else:
        logarithmic = (
            5.8002206e03 / (t * t)
            - 4.8640239e-02
            + 2.0 * 4.1764768e-05 * t
            - 3.0 * 1.4452093e-08 * t * t
            + 6.5459673e00 / t
        )
    return saturation_pressure_pa(temperature_c) * logarithmic


@inline_kernel
def humidity_ratio_from_vapor_pressure(vapor_pa: float, pressure_pa: float) -> float:
    """Eq. 20; 0 <= vapour pressure < pressure."""
    return MASS_RATIO * vapor_pa / (pressure_pa - vapor_pa)


@inline_kernel
def vapor_pressure_pa(humidity_ratio: float, pressure_pa: float) -> float:
    return pressure_pa * humidity_ratio / (MASS_RATIO + humidity_ratio)


@kernel
def saturation_humidity_ratio(temperature_c: float, pressure_pa: float) -> float:
    """Eq. 21."""
    return humidity_ratio_from_vapor_pressure(saturation_pressure_pa(temperature_c), pressure_pa)


@kernel
def humidity_ratio_from_relative_humidity(temperature_c: float, relative_humidity: float, pressure_pa: float) -> float:
    """Relative humidity as a fraction, 0 to 1."""
    return humidity_ratio_from_vapor_pressure(relative_humidity * saturation_pressure_pa(temperature_c), pressure_pa)


@kernel
def humidity_ratio_from_dew_point(dew_point_c: float, pressure_pa: float) -> float:
    return saturation_humidity_ratio(dew_point_c, pressure_pa)


@kernel
def relative_humidity(temperature_c: float, humidity_ratio: float, pressure_pa: float) -> float:
    return vapor_pressure_pa(humidity_ratio, pressure_pa) / saturation_pressure_pa(temperature_c)


@inline_kernel
def enthalpy_j_kg(temperature_c: float, humidity_ratio: float) -> float:
    """Eq. 30, from dry air and liquid water at 0 degC."""
    return 1006.0 * temperature_c + humidity_ratio * (2501000.0 + 1860.0 * temperature_c)


@inline_kernel
def temperature_from_enthalpy_c(enthalpy: float, humidity_ratio: float) -> float:
    return (enthalpy - 2501000.0 * humidity_ratio) / (1006.0 + 1860.0 * humidity_ratio)


@inline_kernel
def humidity_ratio_from_enthalpy(temperature_c: float, enthalpy: float) -> float:
    return (enthalpy - 1006.0 * temperature_c) / (2501000.0 + 1860.0 * temperature_c)


@inline_kernel
def specific_volume_m3_kg(temperature_c: float, humidity_ratio: float, pressure_pa: float) -> float:
    """Eq. 26, per kilogram of dry air."""
    return GAS_CONSTANT * (temperature_c + 273.15) * (1.0 + 1.607858 * humidity_ratio) / pressure_pa


@kernel
def humidity_ratio_from_wet_bulb(temperature_c: float, wet_bulb_c: float, pressure_pa: float) -> float:
    """Eq. 33 with a wick of water at or above 0 degC wet bulb, eq. 35 with ice below; negative where impossibly dry."""
    saturated = saturation_humidity_ratio(wet_bulb_c, pressure_pa)
    if wet_bulb_c >= 0.0:
        return ((2501.0 - 2.326 * wet_bulb_c) * saturated - 1.006 * (temperature_c - wet_bulb_c)) / (
            2501.0 + 1.86 * temperature_c - 4.186 * wet_bulb_c
        )
    return ((2830.0 - 0.24 * wet_bulb_c) * saturated - 1.006 * (temperature_c - wet_bulb_c)) / (
        2830.0 + 1.86 * temperature_c - 2.1 * wet_bulb_c
    )


@kernel
def wet_bulb_c(temperature_c: float, humidity_ratio: float, pressure_pa: float) -> float:
    """Inverse of `humidity_ratio_from_wet_bulb`, to 1e-9 K; NaN above saturation.

    At 0 degC the branches overlap for air above freezing: between the humidity ratios that eq. 33 and eq. 35 give for a wick at
    0 degC, a wick of water and one of ice each have a solution. Water is taken; so the answer jumps there, by up to 0.7 K
    at sea level and 0.9 K at 50 kPa.
    """
    vapour, most = vapor_pressure_pa(humidity_ratio, pressure_pa), saturation_pressure_pa(temperature_c)
    if not (humidity_ratio >= 0.0 and vapour <= most * (1.0 + 1e-9)):
        return np.nan
    low, high = temperature_c - 80.0, temperature_c
    if temperature_c >= 0.0:
        if humidity_ratio >= humidity_ratio_from_wet_bulb(temperature_c, 0.0, pressure_pa):
            low = 0.0
        else:
            high = -1e-9
    # between dew point and dry bulb, nearer to the middle the drier the air
    dryness = 1.0 - vapour / most
    guess = temperature_c - dryness * (3.3 + 0.37 * max(temperature_c, 0.0) + 0.11 * dryness * max(temperature_c, 0.0))
    guess = min(max(guess, low), high)
    for _ in range(60):
        saturated = saturation_pressure_pa(guess)
        gap = pressure_pa - saturated
        if gap <= 0.0:  # above boiling, where no wick stays
            high, guess = guess, 0.5 * (low + guess)
            continue
        ratio = MASS_RATIO * saturated / gap
        # the slope by Clausius and Clapeyron is within 1 %, which only costs an iteration
        kelvin = guess + 273.15
        if guess >= 0.0:
            heat, wick, molar = 2501.0 - 2.326 * guess, 2501.0 + 1.86 * temperature_c - 4.186 * guess, 5400.0
            drop = 4.186
        else:
            heat, wick, molar = 2830.0 - 0.24 * guess, 2830.0 + 1.86 * temperature_c - 2.1 * guess, 6140.0
            drop = 2.1
        found = (heat * ratio - 1.006 * (temperature_c - guess)) / wick
        slope = (heat * MASS_RATIO * pressure_pa / (gap * gap) * saturated * molar / (kelvin * kelvin) + 1.006) / wick
        slope += drop * found / wick
        error = found - humidity_ratio
        if error > 0.0:
            high = guess
        else:
            low = guess
        better = guess - error / slope
        if not (better >= low and better <= high):
            better = 0.5 * (low + high)
        if abs(better - guess) < 1e-10:
            return better
        guess = better
    return guess


@kernel
def temperature_from_wet_bulb_c(wet_bulb_c: float, relative_humidity: float, pressure_pa: float) -> float:
    """Dry-bulb whose air has this wet-bulb and relative humidity (0 to 1), to 1e-9 K; NaN where there is none below 120 degC.

    Relative humidity falls steadily as the dry-bulb rises above the wet-bulb; safeguarded false position on its excess.
    """
    if not (relative_humidity >= 0.0 and relative_humidity <= 1.0):
        return np.nan
    low, high = wet_bulb_c, 120.0
    above = 1.0 - relative_humidity
    below = _humidity_excess(high, wet_bulb_c, relative_humidity, pressure_pa)
    if not (above >= 0.0 and below <= 0.0):
        return np.nan
    if above == 0.0:
        return low
    for _ in range(200):
        guess = low + (high - low) * above / (above - below)
        excess = _humidity_excess(guess, wet_bulb_c, relative_humidity, pressure_pa)
        # an end that stays put is given half its weight, so that both ends close in
        if excess > 0.0:
            low, above, below = guess, excess, 0.5 * below
        else:
            high, below, above = guess, excess, 0.5 * above
        if abs(excess) < 1e-15 or high - low < 1e-10:
            return guess
    return 0.5 * (low + high)


@kernel
def _humidity_excess(temperature_c: float, wet_bulb_c: float, relative_humidity: float, pressure_pa: float) -> float:
    ratio = humidity_ratio_from_wet_bulb(temperature_c, wet_bulb_c, pressure_pa)
    return vapor_pressure_pa(ratio, pressure_pa) / saturation_pressure_pa(temperature_c) - relative_humidity


@kernel
def dew_point_c(humidity_ratio: float, pressure_pa: float) -> float:
    """Temperature at which this air is saturated (frost point below 0.01 degC), by Newton on the logarithm; NaN if dry."""
    if not humidity_ratio > 0.0:
        return np.nan
    target = log(vapor_pressure_pa(humidity_ratio, pressure_pa))
    guess = 15.0
    for _ in range(60):
        saturated = saturation_pressure_pa(guess)
        step = (log(saturated) - target) * saturated / saturation_pressure_slope_pa_k(guess)
        guess -= step
        if abs(step) < 1e-10:
            break
    return guess


@kernel
def saturation_enthalpy_j_kg(temperature_c: float, pressure_pa: float) -> float:
    return enthalpy_j_kg(temperature_c, saturation_humidity_ratio(temperature_c, pressure_pa))


@kernel
def temperature_from_saturation_enthalpy_c(enthalpy: float, pressure_pa: float) -> float:
    """Inverse of `saturation_enthalpy_j_kg`, -50 to 80 degC, by safeguarded Newton."""
    guess = 15.0
    low, high = -60.0, 85.0
    for _ in range(80):
        saturated = saturation_pressure_pa(guess)
        ratio = MASS_RATIO * saturated / (pressure_pa - saturated)
        error = enthalpy_j_kg(guess, ratio) - enthalpy
        if error > 0.0:
            high = guess
        else:
            low = guess
        gap = pressure_pa - saturated
        ratio_slope = MASS_RATIO * pressure_pa / (gap * gap) * saturation_pressure_slope_pa_k(guess)
        better = guess - error / (1006.0 + 1860.0 * ratio + (2501000.0 + 1860.0 * guess) * ratio_slope)
        if not (better > low and better < high):
            better = 0.5 * (low + high)
        if abs(better - guess) < 1e-10:
            return better
        guess = better
    return guess


@inline_kernel
def pressure_at_altitude_pa(altitude_m: float) -> float:
    """Standard atmosphere, eq. 3; -500 to 11,000 m."""
    return 101325.0 * float((1.0 - 2.25577e-5 * altitude_m) ** 5.2559)


def _fit_polynomial(degree: int, low_c: float, high_c: float) -> tuple[float, ...]:
    """Chebyshev-node fit of pressure over water in x = (t - middle) / half-width, relative error minimised."""
    nodes = np.cos(np.pi * (np.arange(400) + 0.5) / 400)
    middle, half = 0.5 * (low_c + high_c), 0.5 * (high_c - low_c)
    kelvin = middle + half * nodes + 273.15
    over_water = np.exp(
        -5.8002206e03 / kelvin
        + 1.3914993e00
        - 4.8640239e-02 * kelvin
        + 4.1764768e-05 * kelvin**2
        - 1.4452093e-08 * kelvin**3
        + 6.5459673e00 * np.log(kelvin)
    )
    powers = np.polynomial.polynomial.polyvander(nodes, degree) / over_water[:, None]
    coefficients = np.linalg.lstsq(powers, np.ones(400), rcond=None)[0]
    return tuple(float(value) for value in coefficients)


(_P0, _P1, _P2, _P3, _P4, _P5, _P6, _P7, _P8, _P9, _P10) = _PRESSURE = _fit_polynomial(10, -20.0, 60.0)
#: Of its derivative, 1/K.
(_D1, _D2, _D3, _D4, _D5, _D6, _D7, _D8, _D9, _D10) = (0.025 * power * _PRESSURE[power] for power in range(1, 11))


@inline_kernel
def saturation_pressure_fast_pa(temperature_c: float) -> float:
    """Over water, -20 to 60 degC, as a polynomial the processor can run in lanes; within 1e-6 of `saturation_pressure_pa`."""
    x = (temperature_c - 20.0) * 0.025
    upper = fma(x, fma(x, fma(x, fma(x, fma(x, _P10, _P9), _P8), _P7), _P6), _P5)
    return fma(x, fma(x, fma(x, fma(x, fma(x, upper, _P4), _P3), _P2), _P1), _P0)


@inline_kernel
def saturation_pressure_slope_fast_pa_k(temperature_c: float) -> float:
    """Derivative of `saturation_pressure_fast_pa`."""
    x = (temperature_c - 20.0) * 0.025
    upper = fma(x, fma(x, fma(x, fma(x, _D10, _D9), _D8), _D7), _D6)
    return fma(x, fma(x, fma(x, fma(x, fma(x, upper, _D5), _D4), _D3), _D2), _D1)


@inline_kernel
def wet_bulb_step_c(guess_c: float, temperature_c: float, humidity_ratio: float, pressure_pa: float) -> float:
    """One Newton step towards the wet bulb over water; from the step before's answer one is enough."""
    saturated = saturation_pressure_fast_pa(guess_c)
    inverse = 1.0 / (pressure_pa - saturated)
    ratio = 0.621945 * saturated * inverse
    ratio_slope = 0.621945 * pressure_pa * saturation_pressure_slope_fast_pa_k(guess_c) * inverse * inverse
    heat = 2501.0 - 2.326 * guess_c
    error = (
        heat * ratio
        - 1.006 * (temperature_c - guess_c)
        - humidity_ratio * (2501.0 + 1.86 * temperature_c - 4.186 * guess_c)
    )
    return guess_c - error / (heat * ratio_slope - 2.326 * ratio + 1.006 + 4.186 * humidity_ratio)
