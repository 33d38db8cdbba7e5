"""Surfaces fitted to the unit in balance, cheap enough for every step of a year.

For each unit a polynomial of total, power and saturated suction for the coil all wet, in (wet bulb, outdoor, ln(flow /
rated)) with the wet-bulb depression as a linear correction, and one for the coil all dry, in (return, outdoor, ln(flow
/ rated)). Fitting the two separately keeps both smooth; the larger total wins, as in physics/coil/wet. A unit with a fixed
orifice has each of them twice, for superheated and for flooded suction; there the smaller total wins.

Range: wet bulb 10 to 26, outdoor 12 to 48, return 12 to 36 degC, ln(flow / rated) -1.6 to 0.5. How near they come to
`steady_state` is measured in tests/physics/unit/test_surface.py.
"""

from itertools import product
from typing import Final

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import InputError
from airtrim.core.kernels import inline_kernel, kernel
from airtrim.physics.air.moist import humidity_ratio_from_wet_bulb
from airtrim.physics.coil.wet import bypass_factor, split_of_total
from airtrim.physics.unit.fields import UNIT_FIELDS, UnitRow
from airtrim.physics.unit.steady import (
    DRY,
    EITHER,
    EXPANSION_VALVE,
    FLOODED,
    OUTDOOR_FAN_SHARE,
    SUPERHEATED,
    WET,
    balance,
    closure,
    rating_closure,
)

Array = NDArray[np.float64]

#: Middle and half-width of each coordinate.
_WET_MIDDLE, _WET_HALF = 18.0, 8.0
_DRY_MIDDLE, _DRY_HALF = 24.0, 12.0
_OUT_MIDDLE, _OUT_HALF = 30.0, 18.0
_FLOW_MIDDLE, _FLOW_HALF = -0.4, 0.9
#: How fast a regime's points lose weight beyond its own end, K of superheat.
_BEYOND_K = 5.0
#: Depression for which the wet polynomial needs no correction, K.
_DEPRESSION_K = 6.0
_TERMS = 23
#: Three polynomials each for wet, dry, wet flooded, dry flooded; superheat wet and dry; then 1 where all but the first six count
#: (fixed orifice).
SURFACE_SIZE: Final = 14 * _TERMS + 1
_FLOODED_AT, _SUPERHEAT_AT, _HAS_FLOODED = 6 * _TERMS, 12 * _TERMS, 14 * _TERMS
#: Superheat beyond which it alone says which regime counts, K: far from the boundary the other polynomial is not to be trusted.
_SURE_K = 3.0


@inline_kernel
def _polynomial(c: Array, at: int, x: float, y: float, z: float, d: float) -> float:
    """Cubic in coil temperature x, outdoor y and log flow z, to the fifth power in z alone; linear in the depression
    d."""
    alone = c[at] + z * (c[at + 1] + z * (c[at + 2] + z * (c[at + 3] + z * (c[at + 4] + z * c[at + 5]))))
    first = c[at + 6] + z * (c[at + 7] + z * (c[at + 8] + z * c[at + 9]))
    second = c[at + 10] + z * c[at + 11]
    outdoor = c[at + 12] + z * (c[at + 13] + z * c[at + 14])
    both = c[at + 15] + z * c[at + 16]
    value: float = (
        alone
        + x * (first + x * (second + x * c[at + 17]))
        + y * (outdoor + x * both + y * (c[at + 18] + x * c[at + 19] + z * c[at + 20] + y * c[at + 21]))
        + d * c[at + 22]
    )
    return value


def _design(x: Array, y: Array, z: Array, d: Array) -> Array:
    """The terms of `_polynomial` as columns, by evaluating it on unit vectors."""
    powers = [
        z**0,
        z,
        z**2,
        z**3,
        z**4,
        z**5,
        x,
        x * z,
        x * z**2,
        x * z**3,
        x**2,
        x**2 * z,
        y,
        y * z,
        y * z**2,
        x * y,
        x * y * z,
    ]
    return np.stack([*powers, x**3, y**2, x * y**2, y**2 * z, y**3, d], axis=1)


@inline_kernel
def surface_state(
    coefficients_row: Array, return_c: float, wet_bulb_c: float, outdoor_c: float, flow_ratio_log: float
) -> tuple[float, float, float]:
    """(total W, compressor and outdoor fan W, saturated suction degC) of the unit running steadily."""
    y = (outdoor_c - _OUT_MIDDLE) * (1.0 / _OUT_HALF)
    z = (flow_ratio_log - _FLOW_MIDDLE) * (1.0 / _FLOW_HALF)
    x = (wet_bulb_c - _WET_MIDDLE) * (1.0 / _WET_HALF)
    d = (return_c - wet_bulb_c - _DEPRESSION_K) * (1.0 / _WET_HALF)
    dry_x = (return_c - _DRY_MIDDLE) * (1.0 / _DRY_HALF)
    wet = _polynomial(coefficients_row, 0, x, y, z, d)
    dry = _polynomial(coefficients_row, 3 * _TERMS, dry_x, y, z, 0.0)
    wet_at, dry_at = 0, 3 * _TERMS
    if coefficients_row[_HAS_FLOODED] > 0.0:
        flooded = _polynomial(coefficients_row, _FLOODED_AT, x, y, z, d)
        superheat = _polynomial(coefficients_row, _SUPERHEAT_AT, x, y, z, d)
        if superheat < -_SURE_K or (superheat < _SURE_K and flooded < wet):
            wet, wet_at = flooded, _FLOODED_AT
        flooded = _polynomial(coefficients_row, _FLOODED_AT + 3 * _TERMS, dry_x, y, z, 0.0)
        superheat = _polynomial(coefficients_row, _SUPERHEAT_AT + _TERMS, dry_x, y, z, 0.0)
        if superheat < -_SURE_K or (superheat < _SURE_K and flooded < dry):
            dry, dry_at = flooded, _FLOODED_AT + 3 * _TERMS
    at = wet_at
    total = wet
    if dry > wet:
        at = dry_at
        total = dry
        x = dry_x
        d = 0.0
    power = _polynomial(coefficients_row, at + _TERMS, x, y, z, d)
    return total, power, _polynomial(coefficients_row, at + 2 * _TERMS, x, y, z, d)


@inline_kernel
def split_sensible(
    total_w: float,
    return_c: float,
    humidity_ratio: float,
    flow_kg_s: float,
    bypass_units: float,
    air_exponent: float,
    rated_flow_kg_s: float,
    pressure_pa: float,
) -> tuple[float, float]:
    """(sensible W, mean surface degC) of a total; `bypass_units` comes from `bypass_constants`; latent is never
    negative."""
    touched = flow_kg_s * (1.0 - bypass_factor(flow_kg_s, rated_flow_kg_s, bypass_units, air_exponent))
    return split_of_total(total_w, return_c, humidity_ratio, touched, pressure_pa)


def bypass_constants(units: Array, pressure_pa: float) -> Array:
    """Air-side transfer units at rated flow, `[N]`: the bypass factor there is exp(-transfer units).

    The same at every `pressure_pa`, since flow is counted as mass of dry air. NaN where the rating contradicts itself.
    """
    return np.array([closure(row)[0] for row in _rows(units)]) + 0.0 * pressure_pa


def fit_surfaces(units: Array, pressure_pa: float) -> Array:
    """Coefficients `[N, SURFACE_SIZE]` for `surface_state` at one pressure, least squares on one grid for all units.

    Raises NoSolutionError where a rating contradicts itself. Points without a balance (far outside use) are left out.
    """
    rows = _rows(units)
    points, designs = _grids()
    result = np.zeros((len(rows), SURFACE_SIZE))
    for index, row in enumerate(rows):
        found = np.array(rating_closure(row))
        orifice = row[6] != EXPANSION_VALVE
        result[index, _HAS_FLOODED] = float(orifice)
        wanted = [(WET, SUPERHEATED, 0), (DRY, SUPERHEATED, 3 * _TERMS)]
        if orifice:
            wanted += [(WET, FLOODED, _FLOODED_AT), (DRY, FLOODED, _FLOODED_AT + 3 * _TERMS)]
        for mode, regime, at in wanted:
            weights, states = _states(row, found, points[mode], pressure_pa, mode, regime)
            solved = np.linalg.lstsq(designs[mode] * weights[:, None], states * weights[:, None], rcond=None)[0]
            result[index, at : at + 3 * _TERMS] = solved[:, :3].T.ravel()
        if orifice:
            for mode, at in ((WET, _SUPERHEAT_AT), (DRY, _SUPERHEAT_AT + _TERMS)):
                weights, states = _states(row, found, points[mode], pressure_pa, mode, EITHER)
                fit = np.linalg.lstsq(designs[mode] * weights[:, None], states[:, 3] * weights, rcond=None)[0]
                result[index, at : at + _TERMS] = fit
    return result


def _rows(units: Array) -> Array:
    rows = np.ascontiguousarray(np.atleast_2d(units), dtype=np.float64)
    if rows.shape[1] != len(UNIT_FIELDS):
        raise InputError(
            f"The array of cooling units has {rows.shape[1]} columns where {len(UNIT_FIELDS)} were expected: "
            "give the columns of UNIT_FIELDS in their order."
        )
    return rows


def _grids() -> tuple[dict[int, Array], dict[int, Array]]:
    """Points (return, wet bulb, outdoor, log flow) and their design matrices, wet and dry."""
    flows = _FLOW_MIDDLE + _FLOW_HALF * np.array([-1.33, -1.1, -0.85, -0.55, -0.25, 0.05, 0.35, 0.65, 0.95])
    outdoors = np.array([12.0, 17.0, 24.0, 31.0, 37.0, 43.0, 48.0])
    wet_bulbs = np.array([10.0, 12.5, 15.0, 18.0, 21.0, 24.0, 26.0])
    wet = np.array([(w + d, w, o, f) for w, d, o, f in product(wet_bulbs, (1.0, 10.0), outdoors, flows)])
    returns = np.array([12.0, 16.0, 20.0, 24.0, 28.0, 32.0, 36.0])
    dry = np.array([(r, 5.0, o, f) for r, o, f in product(returns, outdoors, flows)])
    designs = {}
    for mode, grid, middle, half, column in (
        (WET, wet, _WET_MIDDLE, _WET_HALF, 1),
        (DRY, dry, _DRY_MIDDLE, _DRY_HALF, 0),
    ):
        depression = (grid[:, 0] - grid[:, 1] - _DEPRESSION_K) / _WET_HALF if mode == WET else np.zeros(len(grid))
        y, z = (grid[:, 2] - _OUT_MIDDLE) / _OUT_HALF, (grid[:, 3] - _FLOW_MIDDLE) / _FLOW_HALF
        designs[mode] = _design((grid[:, column] - middle) / half, y, z, depression)
    return {WET: wet, DRY: dry}, designs


@kernel
def _states(
    row: UnitRow, found: Array, points: Array, pressure_pa: float, mode: int, regime: int
) -> tuple[Array, Array]:
    """Weights (0 without a balance, less at the edges of use) and total, power, suction, superheat of every point."""
    count = points.shape[0]
    weights, states = np.zeros(count), np.zeros((count, 4))
    fan = OUTDOOR_FAN_SHARE * row[1]
    for k in range(count):
        return_c, log_flow = points[k, 0], points[k, 3]
        flow = row[5] * np.exp(log_flow)
        touched = flow * (1.0 - bypass_factor(flow, row[5], found[0], row[4]))
        humidity = 0.005
        if mode == WET:
            humidity = humidity_ratio_from_wet_bulb(return_c, points[k, 1], pressure_pa)
        total, power, suction, _, superheat, _ = balance(
            return_c,
            humidity,
            points[k, 2],
            touched,
            pressure_pa,
            found[1],
            found[2],
            found[3],
            found[4],
            found[5],
            mode,
            regime,
        )
        if total == total:
            weights[k] = 0.3 if log_flow < -1.0 else 1.0
            beyond = -superheat if regime == SUPERHEATED else superheat
            if (
                regime != EITHER and beyond > 0.0
            ):  # there the other regime counts; this one only has to stay out of the way
                weights[k] /= 1.0 + (beyond / _BEYOND_K) ** 2
            states[k, 0], states[k, 1], states[k, 2], states[k, 3] = total, power + fan, suction, superheat
    return weights, states
