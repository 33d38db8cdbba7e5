"""Properties of the refrigerant inside the loop: short polynomials fitted to the refrigerants' tables, one row for each.

A balance asks for some hundred states; a polynomial takes a few nanoseconds, has no search and no branch. The rows stand in
physics/data/loop_properties.py and are what `fit_properties` makes of the tables (a test says so). `code` is the place in
REFRIGERANTS.

Range: suction dew -35 to 25 degC with 0 to 25 K superheat, condensing dew 10 to 65.5 degC with 0 to 20 K subcooling. Error
against the tables, held by tests/physics/unit/test_properties.py: saturation 0.02 K (bubble points 0.04 K), suction density 0.3 %,
effect 0.5 % up to condensing at 58 degC.
"""

from math import exp, log

import numpy as np
from numpy.typing import NDArray

from airtrim.core.kernels import inline_kernel
from airtrim.physics.data.loop_properties import PROPERTIES
from airtrim.physics.refrigerant import saturation
from airtrim.physics.refrigerant.table import RefrigerantTable

Array = NDArray[np.float64]

#: ln(Pa) about which the inverse is written.
_LOG_MIDDLE = 13.8
#: Where each polynomial begins in a row, and how many terms it has.
_LOG_PRESSURE, _DEW, _GLIDE, _SHARE = (0, 7), (7, 7), (14, 4), (18, 2)
_LOG_DENSITY, _THINNING, _VAPOUR, _WARMING = (20, 6), (26, 5), (32, 6), (38, 5)
_LIQUID, _SUBCOOLED, _EXPONENT = (44, 8), (52, 3), (55, 4)
WIDTH = 59


@inline_kernel
def _power_7(at: int, code: int, t: float) -> float:
    c = PROPERTIES
    found: float = c[code, at] + t * (
        c[code, at + 1]
        + t
        * (
            c[code, at + 2]
            + t * (c[code, at + 3] + t * (c[code, at + 4] + t * (c[code, at + 5] + t * c[code, at + 6])))
        )
    )
    return found


@inline_kernel
def _power_6(at: int, code: int, t: float) -> float:
    c = PROPERTIES
    found: float = c[code, at] + t * (
        c[code, at + 1] + t * (c[code, at + 2] + t * (c[code, at + 3] + t * (c[code, at + 4] + t * c[code, at + 5])))
    )
    return found


@inline_kernel
def _by_superheat(at: int, code: int, t: float, superheat_k: float) -> float:
    c = PROPERTIES
    found: float = superheat_k * (
        c[code, at]
        + t * (c[code, at + 1] + t * c[code, at + 2])
        + superheat_k * (c[code, at + 3] + t * c[code, at + 4])
    )
    return found


@inline_kernel
def log_dew_pressure(code: int, dew_c: float) -> float:
    """ln(Pa)."""
    return _power_7(0, code, 0.01 * dew_c)


@inline_kernel
def dew_pressure_pa(code: int, dew_c: float) -> float:
    return exp(log_dew_pressure(code, dew_c))


@inline_kernel
def dew_c_from_pressure(code: int, pressure_pa: float) -> float:
    return _power_7(7, code, log(pressure_pa) - _LOG_MIDDLE)


@inline_kernel
def glide_k(code: int, dew_c: float) -> float:
    """Dew less bubble point at the pressure of this dew point, K."""
    t = 0.01 * dew_c
    c = PROPERTIES
    found: float = c[code, 14] + t * (c[code, 15] + t * (c[code, 16] + t * c[code, 17]))
    return found


@inline_kernel
def boiling_c(code: int, dew_c: float, quality: float) -> float:
    """Temperature of a boiling blend at the pressure of this dew point."""
    c = PROPERTIES
    share = quality * (c[code, 18] + quality * (c[code, 19] + quality * (1.0 - c[code, 18] - c[code, 19])))
    found: float = dew_c - glide_k(code, dew_c) * (1.0 - share)
    return found


@inline_kernel
def suction_density_kg_m3(code: int, dew_c: float, superheat_k: float) -> float:
    t = 0.01 * dew_c
    return exp(_power_6(20, code, t) + _by_superheat(26, code, t, superheat_k))


@inline_kernel
def thinning(code: int, dew_c: float, superheat_k: float) -> float:
    """ln of the suction density over that of saturated vapour."""
    return _by_superheat(26, code, 0.01 * dew_c, superheat_k)


@inline_kernel
def suction_enthalpy_j_kg(code: int, dew_c: float, superheat_k: float) -> float:
    t = 0.01 * dew_c
    return _power_6(32, code, t) + _by_superheat(38, code, t, superheat_k)


@inline_kernel
def liquid_enthalpy_j_kg(code: int, bubble_c: float, subcooling_k: float) -> float:
    """Of liquid below its bubble point, by its own temperature and a little by its pressure."""
    t = 0.01 * (bubble_c - subcooling_k)
    c = PROPERTIES
    b = 0.01 * bubble_c
    steep = b * b * b * b * b
    saturated = _power_7(44, code, t) + c[code, 51] * t * t * t * t * t * t * t
    found: float = saturated + subcooling_k * (c[code, 52] + steep * (c[code, 53] + subcooling_k * c[code, 54]))
    return found


@inline_kernel
def compression_work_j_kg_density(code: int, suction_c: float, condensing_c: float) -> float:
    """Isentropic work times the suction density, J/m3: p k/(k-1) ((p2/p1)^((k-1)/k) - 1), k fitted to the tables' isentropes."""
    te, tc = 0.01 * suction_c, 0.01 * condensing_c
    c = PROPERTIES
    k = c[code, 55] + te * c[code, 56] + tc * (c[code, 57] + tc * c[code, 58])
    m = (k - 1.0) / k
    low = log_dew_pressure(code, suction_c)
    found: float = exp(low) / m * (exp(m * (log_dew_pressure(code, condensing_c) - low)) - 1.0)
    return found


def fit_properties(table: RefrigerantTable) -> Array:
    """One row for `PROPERTIES`, least squares to a refrigerant's table over the range above and a little more."""
    row = np.zeros(WIDTH)
    cold, whole = np.linspace(-39.0, 30.0, 139), np.linspace(-39.0, 65.6, 210)
    warm = np.linspace(-39.0, 65.2, 210)
    logs = np.array([np.log(saturation.dew_pressure_pa(table, t)) for t in whole])

    def put(place: tuple[int, int], terms: Array, values: Array) -> None:
        row[place[0] : place[0] + place[1]] = np.linalg.lstsq(terms, values, rcond=None)[0]

    put(_LOG_PRESSURE, np.vander(0.01 * whole, 7, increasing=True), logs)
    put(_DEW, np.vander(logs - _LOG_MIDDLE, 7, increasing=True), whole)
    bubbles = np.array([saturation.bubble_temperature_c(table, np.exp(p)) for p in logs])
    fine = np.isfinite(bubbles)
    put(_GLIDE, np.vander(0.01 * whole[fine], 4, increasing=True), (whole - bubbles)[fine])
    if np.max(np.abs(whole - bubbles)[fine]) < 1e-3:
        row[_GLIDE[0] : _GLIDE[0] + 4] = 0.0
    else:
        quality = np.linspace(0.02, 0.7, 35)
        pressure = saturation.dew_pressure_pa(table, 5.0)
        boiling = np.array([saturation.boiling_temperature_c(table, pressure, q) for q in quality])
        bubble = saturation.bubble_temperature_c(table, pressure)
        share = (boiling - bubble) / (5.0 - bubble)
        put(
            _SHARE,
            np.stack([quality - quality**3, quality**2 - quality**3], axis=1),
            share - quality**3,
        )
    dry = np.array([saturation.vapour_density_kg_m3(table, t, 0.0) for t in cold])
    put(_LOG_DENSITY, np.vander(0.01 * cold, 6, increasing=True), np.log(dry))
    full = np.array([saturation.vapour_enthalpy_j_kg(table, t, 0.0) for t in cold])
    put(_VAPOUR, np.vander(0.01 * cold, 6, increasing=True), full)
    t, s = (one.ravel() for one in np.meshgrid(cold, np.linspace(1.0, 30.0, 15), indexing="ij"))
    shape = np.stack([s, 0.01 * t * s, (0.01 * t) ** 2 * s, s * s, 0.01 * t * s * s], axis=1)
    more = [
        saturation.vapour_density_kg_m3(table, a, b) / dry[np.searchsorted(cold, a)] for a, b in zip(t, s, strict=True)
    ]
    put(_THINNING, shape, np.log(more))
    heat = [
        saturation.vapour_enthalpy_j_kg(table, a, b) - full[np.searchsorted(cold, a)] for a, b in zip(t, s, strict=True)
    ]
    put(_WARMING, shape, np.array(heat))
    liquid = np.array([saturation.saturated_liquid_enthalpy_j_kg(table, one) for one in warm])
    # near R-410A's critical point enthalpy turns up steeply, where no unit works for long
    part = np.where(warm > 59.0, 0.1, 1.0)
    put(_LIQUID, np.vander(0.01 * warm, 8, increasing=True) * part[:, None], liquid * part)
    b, s = (one.ravel() for one in np.meshgrid(np.linspace(10.0, 65.0, 56), np.linspace(1.0, 20.0, 20), indexing="ij"))
    below = np.vander(0.01 * (b - s), 8, increasing=True) @ row[_LIQUID[0] : _LIQUID[0] + 8]
    exact = np.array([saturation.liquid_enthalpy_j_kg(table, x, y) for x, y in zip(b, s, strict=True)])
    part = np.where(b > 59.0, 0.1, 1.0)
    put(
        _SUBCOOLED,
        np.stack([s, (0.01 * b) ** 5 * s, (0.01 * b) ** 5 * s * s], axis=1) * part[:, None],
        (exact - below) * part,
    )
    points = [(te, tc) for te in np.arange(-30.0, 21.0, 5.0) for tc in np.arange(20.0, 65.1, 5.0) if tc > te + 10.0]
    exponents = np.array([_exponent(table, te, tc) for te, tc in points])
    found = np.isfinite(exponents)
    te, tc = (0.01 * np.array(points)[found]).T
    put(_EXPONENT, np.stack([np.ones_like(te), te, tc, tc * tc], axis=1), exponents[found])
    return row


def _exponent(table: RefrigerantTable, suction_c: float, condensing_c: float, superheat_k: float = 10.0 / 1.8) -> float:
    """Exponent of the closed form that gives the isentropic work from suction to condensing, dh = dp/density along the path;
    NaN where the gas leaves the table's superheat."""
    low, high = (np.log(saturation.dew_pressure_pa(table, t)) for t in (suction_c, condensing_c))
    enthalpy = saturation.vapour_enthalpy_j_kg(table, suction_c, superheat_k)
    start, density_at_start = enthalpy, saturation.vapour_density_kg_m3(table, suction_c, superheat_k)
    steps = 60

    def slope(log_p: float, h: float) -> float:
        dew = saturation.dew_temperature_c(table, np.exp(log_p))
        superheat = 20.0
        for _ in range(12):
            at = saturation.vapour_enthalpy_j_kg(table, dew, superheat)
            rate = (saturation.vapour_enthalpy_j_kg(table, dew, 1.001 * superheat) - at) / (0.001 * superheat)
            superheat += (h - at) / rate
        return float(np.exp(log_p) / saturation.vapour_density_kg_m3(table, dew, superheat))

    step = (high - low) / steps
    for k in range(steps):
        p = low + k * step
        middle = enthalpy + 0.5 * step * slope(p, enthalpy)
        enthalpy += step * slope(p + 0.5 * step, middle)
    work = (enthalpy - start) * density_at_start / np.exp(low)
    exponent = 1.1
    for _ in range(40):
        m = (exponent - 1.0) / exponent
        value = (np.exp(m * (high - low)) - 1.0) / m
        other = 1e-6
        m2 = (exponent + other - 1.0) / (exponent + other)
        rate = ((np.exp(m2 * (high - low)) - 1.0) / m2 - value) / other
        exponent -= (value - work) / rate
    return float(exponent)
