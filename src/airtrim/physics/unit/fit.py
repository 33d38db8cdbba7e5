"""Fitting the surfaces (surface.py) to the unit in balance: one grid of states for each unit, least squares.

The grid is dense where it ends (Chebyshev's points), reaches a little past the range, and counts less below 38 % of rated airflow.
States without a balance are left out.
"""

from concurrent.futures import ThreadPoolExecutor
from itertools import product

import numpy as np
from numpy.typing import NDArray

from airtrim.core.kernels import fused_kernel, kernel
from airtrim.physics.air.moist import humidity_ratio_from_wet_bulb, wet_bulb_c
from airtrim.physics.coil.wet import bypass_factor, saturation_humidity_fast
from airtrim.physics.unit.balance import FINE, FLOODED, LARGER, STARVED, WET, balance, bend_k, loop_errors
from airtrim.physics.unit.closure import SPREAD_K, UNITS, VALVE_ROUNDING_K, closure, rating_closure
from airtrim.physics.unit.fields import (
    AIR_EXPONENT,
    FAN_SHARE,
    FIXED_ORIFICE,
    METERING,
    POWER,
    RATED_FLOW,
    UnitRow,
    complete_rows,
)
from airtrim.physics.unit.surface import (
    ABOVE_HALF,
    ABOVE_MIDDLE,
    BASE,
    BEND,
    BEND_AT,
    BENT,
    BY_X,
    BY_Y,
    DRY,
    DRY_AT,
    DRY_BEND,
    DRY_BEND_AT,
    DRY_BENT,
    DRY_HALF,
    DRY_MIDDLE,
    DRY_WIDTH_SQUARED,
    FLOW_HALF,
    FLOW_MIDDLE,
    FROM_X,
    FROM_Y,
    OUT_HALF,
    OUT_MIDDLE,
    SURFACE_SIZE,
    WET_HALF,
    WET_MIDDLE,
    WIDTH_SQUARED,
    base,
    bend,
    bent,
    dry,
    dry_bend,
    dry_bent,
    hinge,
)

Array = NDArray[np.float64]

#: Returns less wet bulb while the bend is sought, K.
_BEND_ABOVE = (1.5, 6.0, 11.0)
#: Width of the hinge for each kelvin over which the bend is rounded, K of wet bulb or outdoors.
_WET_PER_K, _OUT_PER_K = 0.7, 1.2
#: Fits that run side by side.
FITTED_AT_ONCE = 2
#: What states outside the trusted envelope count.
_OUTSIDE_WEIGHT = 0.05
#: What states of nearly saturated air count.
_SATURATED_WEIGHT = 1.2
#: The air of a dry coil lies between bone-dry and what would wet it; taken at this part of the latter.
_DRY_PART = 0.75
_VERY_DRY = 0.004
#: Places between the coolest and the driest return at which states are taken: closer where air is nearly saturated.
_RETURN_PARTS = (0.0, 0.2, 0.6, 1.0)
#: A second pass looks harder at states that the first fitted worse than the mean, by the root of how much, within these.
_LEAST_LOOK, _MOST_LOOK = 0.7, 3.0
#: Bends outside the trusted envelope count this much; where there is none, the fitted place must only stay out of reach, and a
#: place that has come into reach is pushed away with this weight, this many times.
_FAR_BEND_WEIGHT, _PUSHED_WEIGHT, _PUSHES = 0.3, 0.03, 5
#: A bend is a smooth surface with few points to hold it: ridge of its fit.
_BEND_RIDGE = 1e-2


def bypass_constants(units: Array, pressure_pa: float) -> Array:
    """Air-side transfer units at rated flow, `[N]`: the bypass factor there is exp(-transfer units).

    The same at every `pressure_pa`, since flow is counted as mass of dry air. NaN where the rating contradicts itself.
    """
    return np.array([closure(row)[UNITS] for row in complete_rows(units)]) + 0.0 * pressure_pa


def fit_surfaces(units: Array, pressure_pa: float) -> Array:
    """Coefficients `[N, SURFACE_SIZE]` for `surface_state` at one pressure, least squares on one grid for all units.

    Raises NoSolutionError where a rating contradicts itself.
    """
    wet, dry_points = _wet_points(), _dry_points()
    at, dry_at = _coordinates(wet), _dry_coordinates(dry_points)
    designs = [_design(at, BASE, _BASE), _design(at, BENT, _BENT)]
    dry_designs = [_design(dry_at, DRY, _DRY), _design(dry_at, DRY_BENT, _DRY_BENT)]
    result = np.zeros((len(np.atleast_2d(units)), SURFACE_SIZE))

    def fit(row: UnitRow, into: Array) -> None:
        closed = rating_closure(row)
        _fit_bends(row, closed, into, pressure_pa)
        _fit_wet(row, closed, into, wet, at, designs, pressure_pa)
        _fit_dry(row, closed, into, dry_points, dry_at, dry_designs, pressure_pa)

    # each fit by itself: the same bits on any number of threads
    with ThreadPoolExecutor(max_workers=FITTED_AT_ONCE) as pool:
        list(pool.map(fit, complete_rows(units), result))  # raises what a fit raised
    return result


def _fit_wet(
    row: UnitRow, closed: Array, into: Array, points: Array, at: Array, designs: list[Array], pressure_pa: float
) -> None:
    states = _states(row, closed, points, pressure_pa)
    fine = np.isfinite(states[:, 0])
    bends = np.array([_hinge_at(into, one) for one in at])
    terms = np.concatenate([designs[0], designs[1] * bends[:, None]], axis=1)[fine]
    points, states = points[fine], states[fine]
    outside = (points[:, 1] > 24.5) | (points[:, 2] < 14.0) | (np.exp(points[:, 3]) < 0.38) | (points[:, 0] > 32.5)
    weight = np.where(outside, _OUTSIDE_WEIGHT, 1.0) / states[:, 0]
    # nearly saturated air leaves little for superheat, where the state bends most with the return
    weight[points[:, 0] - points[:, 1] < 1.0] *= _SATURATED_WEIGHT
    solved = _least_squares(terms, states, weight)
    away = np.abs((terms @ solved[:, 0]) / states[:, 0] - 1.0)
    mean = np.sqrt(np.mean(away[~outside] ** 2))
    weight *= np.where(outside, 1.0, np.sqrt(np.clip(away / mean, _LEAST_LOOK, _MOST_LOOK)))
    into[:DRY_AT] = _least_squares(terms, states, weight).T.ravel()


def _fit_dry(
    row: UnitRow, closed: Array, into: Array, points: Array, at: Array, designs: list[Array], pressure_pa: float
) -> None:
    as_wet = _dry_as_wet(row, closed, points, pressure_pa)
    fine = np.isfinite(as_wet)
    bends = np.array([_dry_hinge_at(into, one) for one in at])
    terms = np.concatenate([designs[0], designs[1] * bends[:, None]], axis=1)[fine]
    points, target = points[fine], (as_wet[fine, None] - WET_MIDDLE) / WET_HALF
    outside = (points[:, 0] < 17.0) | (points[:, 2] < 14.0) | (np.exp(points[:, 3]) < 0.38)
    solved = _least_squares(terms, target, np.where(outside, _OUTSIDE_WEIGHT, 1.0))
    into[DRY_AT : DRY_AT + DRY + DRY_BENT] = solved[:, 0]


def _least_squares(terms: Array, values: Array, weight: Array, ridge: float = 1e-11) -> Array:
    """Coefficients `[terms, values]`, by the normal equations: the terms are far from alike, and a hinge that never opens has
    columns of zeros, which the small ridge sets to zero."""
    columns = np.ascontiguousarray((terms * weight[:, None]).T)
    square, right = _squares(columns), _products(columns, np.ascontiguousarray((values * weight[:, None]).T))
    square[np.diag_indices_from(square)] += ridge * np.trace(square) / len(square)
    return _solved(square, right)


@fused_kernel
def _squares(rows: Array) -> Array:
    """Each row times each, summed: as `_products` of the rows with themselves, in half the time."""
    found = np.empty((rows.shape[0], rows.shape[0]))
    for i in range(rows.shape[0]):
        for j in range(i + 1):
            total = 0.0
            for k in range(rows.shape[1]):
                total += rows[i, k] * rows[j, k]
            found[i, j] = total
            found[j, i] = total
    return found


@fused_kernel
def _products(first: Array, second: Array) -> Array:
    """Each row of the first times each row of the second, summed: on one core, since threads of a matrix library get in each
    other's way when several fits run at once."""
    found = np.empty((first.shape[0], second.shape[0]))
    for i in range(first.shape[0]):
        for j in range(second.shape[0]):
            total = 0.0
            for k in range(first.shape[1]):
                total += first[i, k] * second[j, k]
            found[i, j] = total
    return found


@kernel
def _solved(square: Array, right: Array) -> Array:
    """Solution of a symmetric, positive definite system for several right sides, by Cholesky's factors; overwrites `square`."""
    count = square.shape[0]
    for i in range(count):
        for j in range(i + 1):
            total = square[i, j]
            for k in range(j):
                total -= square[i, k] * square[j, k]
            square[i, j] = np.sqrt(total) if i == j else total / square[j, j]
    solved = right.copy()
    for one in range(right.shape[1]):
        for i in range(count):
            for k in range(i):
                solved[i, one] -= square[i, k] * solved[k, one]
            solved[i, one] /= square[i, i]
        for i in range(count - 1, -1, -1):
            for k in range(i + 1, count):
                solved[i, one] -= square[k, i] * solved[k, one]
            solved[i, one] /= square[i, i]
    return solved


def _fit_bends(row: UnitRow, closed: Array, into: Array, pressure_pa: float) -> None:
    """Where the state bends: at a wet bulb (a return when dry) for an orifice, at an outdoor temperature for a valve.

    Searched as the root of `balance.bend_k` along that axis, so its sign is right far away too. Without a bend in reach the hinge
    stays shut.
    """
    orifice = row[METERING] == FIXED_ORIFICE
    into[FROM_X], into[FROM_Y] = (1.0, 0.0) if orifice else (0.0, -1.0)
    into[BY_X], into[BY_Y] = (0.0, 1.0) if orifice else (1.0, 0.0)
    flows = _even(np.log(0.3), np.log(1.33), 9)
    for is_dry in (False, True):
        low, high = ((12.0, 50.0) if is_dry else (4.0, 33.0)) if orifice else (0.0, 58.0)
        returns = _even(16.0, 33.0, 8) if is_dry else _even(9.0, 26.5, 8)
        other = _even(6.0, 47.5, 9) if orifice else returns
        lines = np.array(list(product((0.0,) if is_dry else _BEND_ABOVE, other, flows)))
        places = _bends(row, closed, lines, pressure_pa, low, high, is_dry)
        inside = (places > low + 0.05) & (places < high - 0.05)
        start, count, wide = (DRY_BEND_AT, DRY_BEND, DRY_WIDTH_SQUARED) if is_dry else (BEND_AT, BEND, WIDTH_SQUARED)
        per_k, half = (_WET_PER_K, DRY_HALF if is_dry else WET_HALF) if orifice else (_OUT_PER_K, OUT_HALF)
        into[wide] = (per_k * (closed[SPREAD_K] if orifice else VALVE_ROUNDING_K) / half) ** 2
        if not inside.any():
            into[start + 16] = -1e3
            continue
        first, outdoor = (places, lines[:, 1]) if orifice else (lines[:, 1], places)
        points = np.stack([first + lines[:, 0], first, outdoor, lines[:, 2]], axis=1)
        at = _dry_coordinates(points) if is_dry else _coordinates(points)
        along, target = (at[:, 1], at[:, 0]) if orifice else (at[:, 0], at[:, 1])
        terms = _design(np.stack([along, at[:, 2], at[:, -1]], axis=1), count, _DRY_BEND if is_dry else _BEND)
        middle = 0.5 * (low + high)
        upper = places > middle
        lowest, highest = _scaled(low, orifice, is_dry), _scaled(high, orifice, is_dry)
        trusted = (outdoor > 13.0) & (outdoor < 49.0) & (first < 26.0) & (points[:, 0] < 33.0)
        weight = np.where(inside, np.where(trusted, 1.0, _FAR_BEND_WEIGHT), 0.0)
        for _ in range(_PUSHES):
            found = terms @ _least_squares(terms, target[:, None], weight, _BEND_RIDGE)[:, 0]
            in_reach = ~inside & np.where(upper, found < highest, found > lowest)
            weight[~inside] = np.where(in_reach[~inside], _PUSHED_WEIGHT, 0.0)
        solved = _least_squares(terms, target[:, None], weight, _BEND_RIDGE)[:, 0]
        into[start : start + count] = -solved if orifice else solved


def _scaled(place: float, orifice: bool, is_dry: bool) -> float:
    if not orifice:
        return (place - OUT_MIDDLE) / OUT_HALF
    return (place - DRY_MIDDLE) / DRY_HALF if is_dry else (place - WET_MIDDLE) / WET_HALF


@kernel
def _hinge_at(c: Array, at: Array) -> float:
    along = c[BY_X] * at[0] + c[BY_Y] * at[1]
    return hinge(c[FROM_X] * at[0] + c[FROM_Y] * at[1] + bend(c, BEND_AT, along, at[2], at[3]), c[WIDTH_SQUARED])


@kernel
def _dry_hinge_at(c: Array, at: Array) -> float:
    along = c[BY_X] * at[0] + c[BY_Y] * at[1]
    return hinge(c[FROM_X] * at[0] + c[FROM_Y] * at[1] + dry_bend(c, DRY_BEND_AT, along, at[2]), c[DRY_WIDTH_SQUARED])


def _even(low: float, high: float, count: int) -> Array:
    """Chebyshev's points, the outermost on the ends."""
    points = np.cos(np.pi * (np.arange(count) + 0.5) / count) / np.cos(0.5 * np.pi / count)
    return np.asarray(0.5 * (low + high) + 0.5 * (high - low) * points)


def _wet_points() -> Array:
    """(return, wet bulb, outdoor, log flow): returns from 16 degC or near saturation to where a coil would be dry."""
    wet_bulbs, outdoors, flows = _even(9.0, 26.5, 10), _even(11.0, 47.0, 10), _even(np.log(0.3), np.log(1.33), 9)
    points = []
    for wet, part, outdoor, flow in product(wet_bulbs, _RETURN_PARTS, outdoors, flows):
        coolest = max(wet + 0.7, 16.0)
        points.append((coolest + part * (wet + 12.5 - coolest), wet, outdoor, flow))
    return np.array(points)


def _dry_points() -> Array:
    returns, outdoors, flows = _even(15.0, 34.0, 8), _even(6.0, 47.5, 9), _even(np.log(0.3), np.log(1.33), 8)
    return np.array([(one, 0.0, outdoor, flow) for one, outdoor, flow in product(returns, outdoors, flows)])


def _outdoor_flow(points: Array) -> tuple[Array, Array]:
    return (points[:, 2] - OUT_MIDDLE) / OUT_HALF, (points[:, 3] - FLOW_MIDDLE) / FLOW_HALF


def _coordinates(points: Array) -> Array:
    """(x, y, z, d) of (return, wet bulb, outdoor, log flow)."""
    above = (points[:, 0] - points[:, 1] - ABOVE_MIDDLE) / ABOVE_HALF
    return np.stack([(points[:, 1] - WET_MIDDLE) / WET_HALF, *_outdoor_flow(points), above], axis=1)


def _dry_coordinates(points: Array) -> Array:
    """(t, y, z) of (return, anything, outdoor, log flow)."""
    return np.stack([(points[:, 0] - DRY_MIDDLE) / DRY_HALF, *_outdoor_flow(points)], axis=1)


_BASE, _BENT, _DRY, _DRY_BENT, _BEND, _DRY_BEND = range(6)


@kernel
def _design(at: Array, count: int, kind: int) -> Array:
    """The terms of one of the forms as columns, by evaluating it on unit vectors."""
    terms = np.empty((at.shape[0], count))
    unit = np.zeros(count)
    for j in range(count):
        unit[j] = 1.0
        for k in range(at.shape[0]):
            if kind == _BASE:
                terms[k, j] = base(unit, 0, at[k, 0], at[k, 1], at[k, 2], at[k, 3])
            elif kind == _BENT:
                terms[k, j] = bent(unit, 0, at[k, 0], at[k, 1], at[k, 2], at[k, 3])
            elif kind == _DRY:
                terms[k, j] = dry(unit, 0, at[k, 0], at[k, 1], at[k, 2])
            elif kind == _DRY_BENT:
                terms[k, j] = dry_bent(unit, 0, at[k, 0], at[k, 1], at[k, 2])
            elif kind == _BEND:
                terms[k, j] = bend(unit, 0, at[k, 0], at[k, 1], at[k, 2])
            else:
                terms[k, j] = dry_bend(unit, 0, at[k, 0], at[k, 1])
        unit[j] = 0.0
    return terms


@kernel
def _touched(row: UnitRow, closed: Array, log_flow: float) -> float:
    flow = row[RATED_FLOW] * np.exp(log_flow)
    found: float = flow * (1.0 - bypass_factor(flow, row[RATED_FLOW], closed[UNITS], row[AIR_EXPONENT]))
    return found


@kernel
def _states(row: UnitRow, closed: Array, points: Array, pressure_pa: float) -> Array:
    """Total, power with the fan, suction of every point with the coil wet; NaN without a balance."""
    states = np.full((points.shape[0], 3), np.nan)
    for k in range(points.shape[0]):
        return_c, outdoor = points[k, 0], points[k, 2]
        touched = _touched(row, closed, points[k, 3])
        humidity = humidity_ratio_from_wet_bulb(return_c, points[k, 1], pressure_pa)
        surface, suction, condensing, superheat, _, reason = balance(
            return_c, humidity, outdoor, touched, pressure_pa, closed, row, WET
        )
        if reason == FINE:
            found = loop_errors(
                surface, suction, condensing, superheat, return_c, humidity, outdoor, touched, pressure_pa, closed, row, WET
            )  # fmt: skip
            states[k, 0], states[k, 1], states[k, 2] = found[4], found[5] + row[FAN_SHARE] * row[POWER], suction
    return states


@kernel
def _dry_as_wet(row: UnitRow, closed: Array, points: Array, pressure_pa: float) -> Array:
    """Wet bulb of the air that would give a wet coil the surface that the dry one has; NaN without a balance."""
    as_wet = np.full(points.shape[0], np.nan)
    for k in range(points.shape[0]):
        return_c = points[k, 0]
        touched = _touched(row, closed, points[k, 3])
        humidity = _VERY_DRY
        for _ in range(2):
            # a surface below the dew point of air so dry is that of a dry coil all the same: the humidity follows it
            surface, _, _, _, _, reason = balance(
                return_c, humidity, points[k, 2], touched, pressure_pa, closed, row, LARGER
            )
            saturated = saturation_humidity_fast(surface, pressure_pa)
            humidity = _DRY_PART * saturated
        if reason == FINE:
            as_wet[k] = wet_bulb_c(return_c, saturated, pressure_pa)
    return as_wet


@kernel
def _bends(
    row: UnitRow, closed: Array, lines: Array, pressure_pa: float, low: float, high: float, is_dry: bool
) -> Array:
    """Place of the bend along the wet bulb (orifice; the return when dry) or outdoors (valve) for (return less wet bulb, the other,
    log flow); an end where it is not between `low` and `high`."""
    places = np.empty(lines.shape[0])
    orifice = row[METERING] == FIXED_ORIFICE
    sign = 1.0 if orifice else -1.0
    for k in range(lines.shape[0]):
        a, b = low, high
        touched = _touched(row, closed, lines[k, 2])
        for _ in range(14):
            middle = 0.5 * (a + b)
            wet, outdoor = (middle, lines[k, 1]) if orifice else (lines[k, 1], middle)
            return_c = wet + lines[k, 0]
            humidity, mode = _VERY_DRY, LARGER
            if not is_dry:
                humidity, mode = humidity_ratio_from_wet_bulb(return_c, wet, pressure_pa), WET
            surface, suction, condensing, superheat, _, reason = balance(
                return_c, humidity, outdoor, touched, pressure_pa, closed, row, mode
            )
            side = sign * (middle - 0.5 * (low + high))  # no state: outside whichever end is nearer
            if reason == STARVED:
                side = 1.0
            elif reason == FLOODED:
                side = -1.0
            elif reason == FINE:
                found = loop_errors(
                    surface, suction, condensing, superheat, return_c, humidity, outdoor, touched, pressure_pa, closed, row, mode
                )  # fmt: skip
                side = bend_k(suction, condensing, superheat, found[7], found[6], closed, row)
            if sign * side > 0.0:
                b = middle
            else:
                a = middle
        places[k] = 0.5 * (a + b)
    return places
