"""A cooling coil as one mean surface: air to surface by a bypass factor, surface to refrigerant by a conductance.

    total = flow (1 - BF) (h1 - h_s(T_surface)) wet, or flow (1 - BF) cp (T1 - T_surface) dry;  BF = exp(-NTU)
    total = UA_refrigerant (T_surface - T_suction)
    NTU = NTU_rated (flow / rated)^(x - 1), where the air-side conductance goes as flow^x

Everything is in enthalpy, so that the surface is found for any entering air: the geometric construction on the chart (a
straight line through entering and leaving air until it meets saturation) has no answer for very wet air. With one mean
surface the larger of the all-wet and the all-dry total is not an approximation: they meet where the surface is at the
entering dew point, and the wet one is larger below it. A real coil is partly wet around there.

Flow is dry air, kg/s; temperatures degC; enthalpy per kilogram of dry air.
"""

import numpy as np

from airtrim.core.elementary import exp, log
from airtrim.core.kernels import fma, inline_kernel, kernel
from airtrim.physics.air.moist import saturation_pressure_fast_pa, saturation_pressure_slope_fast_pa_k

#: Specific heats of dry air and vapour and the heat of evaporation at 0 degC, as in physics/air, J/kg K and J/kg.
_CP_AIR, _CP_VAPOUR, _HEAT = 1006.0, 1860.0, 2501000.0
_MASS_RATIO = 0.621945
_SEA_LEVEL_PA = 101325.0


@inline_kernel
def saturation_humidity_fast(temperature_c: float, pressure_pa: float) -> float:
    """Over water, -20 to 60 degC."""
    saturated = saturation_pressure_fast_pa(temperature_c)
    return _MASS_RATIO * saturated / (pressure_pa - saturated)


@inline_kernel
def saturation_enthalpy_fast_j_kg(temperature_c: float, pressure_pa: float) -> float:
    """Over water, -20 to 60 degC."""
    return _CP_AIR * temperature_c + saturation_humidity_fast(temperature_c, pressure_pa) * (
        _HEAT + _CP_VAPOUR * temperature_c
    )


def _fit_inverse() -> tuple[tuple[float, ...], ...]:
    """First guess of temperature from saturation enthalpy: degree 7 in x = (h - 40 kJ/kg) / 60 kJ/kg, quadratic in the
    pressure.

    From -15 to 32 C and 75 to 105 kPa; rows by power of x, columns by power of (sea level / pressure - 1).
    """
    temperature, excess = (
        grid.ravel() for grid in np.meshgrid(np.linspace(-15.0, 32.0, 120), np.linspace(-0.04, 0.35, 12))
    )
    saturated = 611.2 * np.exp(17.62 * temperature / (243.12 + temperature))  # Magnus form: enough for a first guess
    ratio = _MASS_RATIO * saturated / (_SEA_LEVEL_PA / (1.0 + excess) - saturated)
    x = (_CP_AIR * temperature + ratio * (_HEAT + _CP_VAPOUR * temperature) - 40000.0) / 60000.0
    found = np.linalg.lstsq(np.polynomial.polynomial.polyvander2d(x, excess, [7, 2]), temperature, rcond=None)[
        0
    ].reshape(8, 3)
    return tuple(tuple(float(value) for value in row) for row in found)


_G0, _G1, _G2, _G3, _G4, _G5, _G6, _G7 = _fit_inverse()


@inline_kernel
def surface_from_enthalpy_fast_c(enthalpy: float, pressure_pa: float) -> float:
    """Temperature of saturated air of this enthalpy, over water, -15 to 32 degC, 75 to 105 kPa: polynomial and a Newton
    step."""
    x = (enthalpy - 40000.0) * (1.0 / 60000.0)
    r = _SEA_LEVEL_PA / pressure_pa - 1.0
    g0, g1, g2, g3 = (
        _G0[0] + r * (_G0[1] + r * _G0[2]),
        _G1[0] + r * (_G1[1] + r * _G1[2]),
        _G2[0] + r * (_G2[1] + r * _G2[2]),
        _G3[0] + r * (_G3[1] + r * _G3[2]),
    )
    g4, g5, g6, g7 = (
        _G4[0] + r * (_G4[1] + r * _G4[2]),
        _G5[0] + r * (_G5[1] + r * _G5[2]),
        _G6[0] + r * (_G6[1] + r * _G6[2]),
        _G7[0] + r * (_G7[1] + r * _G7[2]),
    )
    square = x * x
    upper = fma(square, fma(g7, x, g6), fma(g5, x, g4))
    guess = fma(square, fma(square, upper, fma(g3, x, g2)), fma(g1, x, g0))
    guess = min(max(guess, -19.0), 45.0)
    saturated = saturation_pressure_fast_pa(guess)
    inverse = 1.0 / (pressure_pa - saturated)
    ratio = _MASS_RATIO * saturated * inverse
    vapour = _HEAT + _CP_VAPOUR * guess
    ratio_slope = _MASS_RATIO * pressure_pa * inverse * inverse * saturation_pressure_slope_fast_pa_k(guess)
    return guess - (_CP_AIR * guess + ratio * vapour - enthalpy) / (_CP_AIR + _CP_VAPOUR * ratio + vapour * ratio_slope)


@inline_kernel
def bypass_factor(flow_kg_s: float, rated_flow_kg_s: float, rated_transfer_units: float, air_exponent: float) -> float:
    """Part of the air that leaves as it came; falls when the air slows. Transfer units are NTU at rated flow."""
    return exp(-rated_transfer_units * exp((air_exponent - 1.0) * log(flow_kg_s / rated_flow_kg_s)))


@inline_kernel
def coil_total_w(
    surface_c: float, return_c: float, humidity_ratio: float, touched_kg_s: float, pressure_pa: float
) -> float:
    """Total for a mean surface temperature, W: the larger of wet and dry. `touched_kg_s` = flow (1 - bypass factor)."""
    return max(
        wet_total_w(surface_c, return_c, humidity_ratio, touched_kg_s, pressure_pa),
        dry_total_w(surface_c, return_c, humidity_ratio, touched_kg_s),
    )


@inline_kernel
def wet_total_w(
    surface_c: float, return_c: float, humidity_ratio: float, touched_kg_s: float, pressure_pa: float
) -> float:
    """Total as if the surface were wet, W, whatever the entering air."""
    enthalpy = _CP_AIR * return_c + humidity_ratio * (_HEAT + _CP_VAPOUR * return_c)
    return touched_kg_s * (enthalpy - saturation_enthalpy_fast_j_kg(surface_c, pressure_pa))


@inline_kernel
def dry_total_w(surface_c: float, return_c: float, humidity_ratio: float, touched_kg_s: float) -> float:
    """Total as if the surface were dry, W, whatever the entering air."""
    return touched_kg_s * (_CP_AIR + _CP_VAPOUR * humidity_ratio) * (return_c - surface_c)


@inline_kernel
def split_of_total(
    total_w: float, return_c: float, humidity_ratio: float, touched_kg_s: float, pressure_pa: float
) -> tuple[float, float]:
    """Sensible part, W, and mean surface temperature, degC, of a known total; latent is never negative; continuous.

    Holds for entering enthalpies that put the surface between -15 and 32 degC.
    """
    drop = total_w / touched_kg_s
    dry_c = return_c - drop / (_CP_AIR + _CP_VAPOUR * humidity_ratio)
    enthalpy = _CP_AIR * return_c + humidity_ratio * (_HEAT + _CP_VAPOUR * return_c)
    wet_c = surface_from_enthalpy_fast_c(enthalpy - drop, pressure_pa)
    saturated = saturation_humidity_fast(wet_c, pressure_pa)
    if saturated >= humidity_ratio or drop <= 0.0:
        return total_w, dry_c
    return touched_kg_s * (_CP_AIR + _CP_VAPOUR * saturated) * (return_c - wet_c), wet_c


@kernel
def leaving_air(
    total_w: float, sensible_w: float, return_c: float, humidity_ratio: float, flow_kg_s: float
) -> tuple[float, float]:
    """Leaving temperature, degC, and humidity ratio: sensible is counted at the leaving humidity, latent at entering
    temperature."""
    leaving_w = humidity_ratio - (total_w - sensible_w) / (flow_kg_s * (_HEAT + _CP_VAPOUR * return_c))
    return return_c - sensible_w / (flow_kg_s * (_CP_AIR + _CP_VAPOUR * leaving_w)), leaving_w
