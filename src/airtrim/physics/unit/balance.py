"""The loop's four equations and their solution.

    coil        what the surface takes from the air = conductance x boiling part x (surface - mean boiling temperature)
    compressor  the same = refrigerant flow x enthalpy gained
    condenser   total + compressor power = air rate x effectiveness x (condensing - outdoors)
    metering    an expansion valve: the superheat is the set one, until the valve is wide open and passes no more;
                a fixed orifice: it passes what the condensing pressure and the subcooling push through it

Unknown are the mean surface, saturated suction and condensing (dew points) and the superheat. Newton's method with differences for
slopes, steps that shrink until the error falls, and bounds; where it stops without an answer the reason is kept.

Saturation falls along the coil's circuit by the pressure drop, flow^1.8 over density; a blend boils below its dew point besides;
the mean boiling temperature is that of inlet and end. Suction and liquid lines have no drop of their own.
"""

from math import exp, log, nan, sqrt

import numpy as np
from numpy.typing import NDArray

from airtrim.core.kernels import inline_kernel, kernel
from airtrim.physics.coil.wet import dry_total_w, surface_from_enthalpy_fast_c, wet_total_w
from airtrim.physics.unit.closure import (
    CONDENSER_RATE,
    CONDENSER_TRANSFER,
    CONDUCTANCE,
    DROP,
    FEED,
    FLOW_FACTOR,
    LIQUID_PART,
    POWER_FACTOR,
    RATED_CONDENSING_C,
    RATED_CONDENSING_PA,
    RATED_FALL_PA,
    RATED_OUTDOOR_C,
    RATED_REFRIGERANT_FLOW,
    RATED_SUBCOOLING,
    RATED_SUCTION_C,
    RATED_SURFACE_C,
    RATED_TOTAL,
    RATED_WET_BULB_C,
    SET_SUPERHEAT,
    SPREAD_K,
    VALVE_ROUNDING_K,
    VALVE_SPAN_K,
    boiling_part,
    coil_inlet_c,
    gas_and_liquid_k,
    liquid_subcooling_k,
    vapour_leaving_j_kg,
)
from airtrim.physics.unit.compressor import flow_and_power, suction_flow_part
from airtrim.physics.unit.fields import (
    COMPRESSOR,
    EXPANSION_VALVE,
    MAP_FLOW,
    METERING,
    REFRIGERANT,
    VALVE_RESERVE,
    UnitRow,
)
from airtrim.physics.unit.properties import (
    dew_c_from_pressure,
    dew_pressure_pa,
    glide_k,
    liquid_enthalpy_j_kg,
    suction_density_kg_m3,
)

Array = NDArray[np.float64]

#: What the coil is taken for: as it is (the larger of wet and dry), or wet whatever the air (for the fitted surfaces).
LARGER, WET = 0.0, 1.0
#: Why there is no state.
FINE, NO_AIR, NO_RATING, SUCTION_LOW, CONDENSING_HIGH, SURFACE_LOW, STARVED, FLOODED, NO_STATE, PRESSURES_CLOSE = range(
    10
)
#: The compressor's envelope: saturated suction and condensing, degC (-18 and 150 F), and the least pressure ratio.
LOWEST_SUCTION_C, HIGHEST_CONDENSING_C, LEAST_RATIO = -28.0, 65.5, 1.1
#: Surfaces that the saturation formulas reach, degC.
LOWEST_SURFACE_C, HIGHEST_SURFACE_C = -19.0, 32.0
#: Superheat, K, beyond which the coil is starved or flooded through.
GREATEST_SUPERHEAT_K, LEAST_SUPERHEAT_K = 30.0, -20.0
#: Flow of an orifice against condensing pressure: a half for choked liquid, less what subcooling does besides [own-derivation;
#: held against the trade's superheat table in the tests].
ORIFICE_EXPONENT = 0.40
#: More subcooling, more flow through any metering device, 1/K [from-memory: 10 to 20 % for the first 10 K].
_FLOW_PER_SUBCOOLING = 0.015
_TOLERANCE = 1e-10
_STEPS = 60


@inline_kernel
def greatest_valve_flow(
    subcooling_k: float, suction_c: float, condensing_c: float, closed: Array, row: UnitRow
) -> float:
    """What the expansion valve passes wide open, kg/s; NaN where suction is above condensing."""
    code = int(row[REFRIGERANT])
    fall = (dew_pressure_pa(code, condensing_c) - dew_pressure_pa(code, suction_c)) / closed[RATED_FALL_PA]
    feed = closed[FEED] * (1.0 + _FLOW_PER_SUBCOOLING * (subcooling_k - closed[RATED_SUBCOOLING]))
    found: float = closed[RATED_REFRIGERANT_FLOW] * row[VALVE_RESERVE] * feed * (sqrt(fall) if fall > 0.0 else nan)
    return found


@inline_kernel
def metering_error(
    flow: float,
    superheat_k: float,
    subcooling_k: float,
    suction_c: float,
    condensing_c: float,
    closed: Array,
    row: UnitRow,
) -> float:
    """Zero where the metering device passes `flow`; rises with superheat.

    The valve: the smaller of (superheat over the set one) and (room left to open), rounded off where they meet, since a valve opens
    over some kelvins.
    """
    if row[METERING] == EXPANSION_VALVE:
        held = superheat_k - closed[SET_SUPERHEAT]
        room = VALVE_SPAN_K * (greatest_valve_flow(subcooling_k, suction_c, condensing_c, closed, row) / flow - 1.0)
        apart = held - room
        found: float = 0.1 * (0.5 * (held + room - sqrt(apart * apart + VALVE_ROUNDING_K * VALVE_ROUNDING_K)))
        return found
    feed = closed[FEED] * (1.0 + _FLOW_PER_SUBCOOLING * (subcooling_k - closed[RATED_SUBCOOLING]))
    high = dew_pressure_pa(int(row[REFRIGERANT]), condensing_c)
    pushed = closed[RATED_REFRIGERANT_FLOW] * feed * exp(ORIFICE_EXPONENT * log(high / closed[RATED_CONDENSING_PA]))
    error: float = (pushed - flow) / closed[RATED_REFRIGERANT_FLOW]
    return error


@inline_kernel
def bend_k(
    suction_c: float,
    condensing_c: float,
    superheat_k: float,
    subcooling_k: float,
    flow: float,
    closed: Array,
    row: UnitRow,
) -> float:
    """Distance from where the state bends, K: above zero an orifice's suction is superheated, a valve is wide open."""
    if row[METERING] != EXPANSION_VALVE:
        return superheat_k
    room = VALVE_SPAN_K * (greatest_valve_flow(subcooling_k, suction_c, condensing_c, closed, row) / flow - 1.0)
    found: float = superheat_k - closed[SET_SUPERHEAT] - room
    return found


@inline_kernel
def loop_errors(
    surface_c: float,
    suction_c: float,
    condensing_c: float,
    superheat_k: float,
    return_c: float,
    humidity_ratio: float,
    outdoor_c: float,
    touched_kg_s: float,
    pressure_pa: float,
    closed: Array,
    row: UnitRow,
    mode: float,
) -> tuple[float, float, float, float, float, float, float, float, float]:
    """(errors of coil, compressor, condenser, metering; total W, compressor W, flow kg/s, subcooling K, coil inlet degC).

    The first three errors are parts of the rated total, the last is in tenths of a kelvin or parts of the rated flow.
    """
    code = int(row[REFRIGERANT])
    gas, liquid = gas_and_liquid_k(superheat_k, closed[SPREAD_K])
    bubble = condensing_c - glide_k(code, condensing_c)
    subcooling = liquid_subcooling_k(closed[LIQUID_PART], bubble - outdoor_c)
    liquid_j_kg = liquid_enthalpy_j_kg(code, bubble, subcooling)
    base_flow, base_power = flow_and_power(row[COMPRESSOR], row, MAP_FLOW, code, suction_c, condensing_c)
    flow = closed[FLOW_FACTOR] * base_flow * suction_flow_part(code, suction_c, gas, liquid)
    power = closed[POWER_FACTOR] * base_power
    inlet_dew = suction_c
    if closed[DROP] > 0.0 and flow > 0.0:
        drop = closed[DROP] * exp(1.8 * log(flow)) / suction_density_kg_m3(code, suction_c, 0.0)
        inlet_dew = dew_c_from_pressure(code, dew_pressure_pa(code, suction_c) + drop)
    inlet = coil_inlet_c(code, inlet_dew, liquid_j_kg)
    total = wet_total_w(surface_c, return_c, humidity_ratio, touched_kg_s, pressure_pa)
    if mode == LARGER:
        total = max(total, dry_total_w(surface_c, return_c, humidity_ratio, touched_kg_s))
    boiled = closed[CONDUCTANCE] * boiling_part(gas, return_c - suction_c) * (surface_c - 0.5 * (inlet + suction_c))
    pumped = flow * (vapour_leaving_j_kg(code, suction_c, gas, liquid) - liquid_j_kg)
    effective = 1.0 - exp(-closed[CONDENSER_TRANSFER] * (1.0 - closed[LIQUID_PART]))
    rejected = closed[CONDENSER_RATE] * effective * (condensing_c - 0.5 * glide_k(code, condensing_c) - outdoor_c)
    scale = 1.0 / closed[RATED_TOTAL]
    return (
        (total - boiled) * scale,
        (total - pumped) * scale,
        (total + power - rejected) * scale,
        metering_error(flow, superheat_k, subcooling, suction_c, condensing_c, closed, row),
        total,
        power,
        flow,
        subcooling,
        inlet,
    )


@kernel
def loop_residuals(unknowns: Array, air: Array, closed: Array, row: UnitRow) -> Array:
    """The four errors at unknowns (surface, suction, condensing, superheat) and air (return, humidity, outdoor, touched flow,
    pressure): what `balance` brings to zero, for other solvers."""
    a = loop_errors(
        unknowns[0], unknowns[1], unknowns[2], unknowns[3], air[0], air[1], air[2], air[3], air[4], closed, row, LARGER
    )
    return np.array([a[0], a[1], a[2], a[3]])


@inline_kernel
def _largest(a: float, b: float, c: float, d: float) -> float:
    """NaN if any is."""
    if a != a or b != b or c != c or d != d:
        return nan
    return max(max(abs(a), abs(b)), max(abs(c), abs(d)))


@inline_kernel
def _solve_4(m: Array) -> None:
    """Elimination with pivots in the 4 x 5 array; the solution replaces the last column."""
    for k in range(4):
        best = k
        for i in range(k + 1, 4):
            if abs(m[i, k]) > abs(m[best, k]):
                best = i
        if best != k:
            for j in range(k, 5):
                m[k, j], m[best, j] = m[best, j], m[k, j]
        inverse = 1.0 / m[k, k] if m[k, k] != 0.0 else nan
        for i in range(k + 1, 4):
            factor = m[i, k] * inverse
            for j in range(k + 1, 5):
                m[i, j] -= factor * m[k, j]
    for k in range(3, -1, -1):
        value = m[k, 4]
        for j in range(k + 1, 4):
            value -= m[k, j] * m[j, 4]
        m[k, 4] = value / m[k, k] if m[k, k] != 0.0 else nan


@inline_kernel
def _within(value: float, now: float, low: float, high: float, farthest: float) -> float:
    """A step no farther than `farthest`, and half-way to a bound where it would cross it."""
    value = min(max(value, now - farthest), now + farthest)
    if value <= low:
        return 0.5 * (now + low)
    if value >= high:
        return 0.5 * (now + high)
    return value


@kernel
def balance(
    return_c: float,
    humidity_ratio: float,
    outdoor_c: float,
    touched_kg_s: float,
    pressure_pa: float,
    closed: Array,
    row: UnitRow,
    mode: float,
) -> tuple[float, float, float, float, int, int]:
    """(surface, suction, condensing degC, superheat K, evaluations, reason) for air that touches the surface; NaN and a reason
    where there is no state inside the compressor's envelope."""
    if not touched_kg_s > 0.0 or return_c != return_c or humidity_ratio != humidity_ratio or outdoor_c != outdoor_c:
        return nan, nan, nan, nan, 0, NO_AIR
    if closed[0] != closed[0]:
        return nan, nan, nan, nan, 0, NO_RATING
    if outdoor_c > HIGHEST_CONDENSING_C - 2.0:
        return nan, nan, nan, nan, 0, CONDENSING_HIGH
    highest_surface = min(return_c, HIGHEST_SURFACE_C)
    enthalpy = 1006.0 * return_c + humidity_ratio * (2501000.0 + 1860.0 * return_c)
    drive = max(surface_from_enthalpy_fast_c(enthalpy, pressure_pa), return_c - 12.0) - RATED_WET_BULB_C
    surface = min(closed[RATED_SURFACE_C] + 0.6 * drive + 0.08 * (outdoor_c - RATED_OUTDOOR_C), highest_surface - 3.0)
    surface = max(surface, -12.0)
    suction = min(closed[RATED_SUCTION_C] + 0.5 * drive + 0.08 * (outdoor_c - RATED_OUTDOOR_C), surface - 2.0)
    suction = max(suction, -25.0)
    condensing = max(closed[RATED_CONDENSING_C] + 0.95 * (outdoor_c - RATED_OUTDOOR_C) + 0.15 * drive, outdoor_c + 3.0)
    condensing = min(condensing, HIGHEST_CONDENSING_C)
    superheat = closed[SET_SUPERHEAT]
    matrix = np.empty((4, 5))
    evaluations = 1
    e0, e1, e2, e3, _, _, _, _, _ = loop_errors(
        surface, suction, condensing, superheat, return_c, humidity_ratio, outdoor_c, touched_kg_s, pressure_pa, closed, row, mode
    )  # fmt: skip
    size = _largest(e0, e1, e2, e3)
    converged = False
    for _ in range(_STEPS):
        if size < _TOLERANCE:
            converged = True
            break
        h = 1e-5
        for column in range(4):
            a, b, c, d, _, _, _, _, _ = loop_errors(
                surface + (h if column == 0 else 0.0), suction + (h if column == 1 else 0.0),
                condensing + (h if column == 2 else 0.0), superheat + (h if column == 3 else 0.0),
                return_c, humidity_ratio, outdoor_c, touched_kg_s, pressure_pa, closed, row, mode,
            )  # fmt: skip
            matrix[0, column], matrix[1, column] = (a - e0) / h, (b - e1) / h
            matrix[2, column], matrix[3, column] = (c - e2) / h, (d - e3) / h
        evaluations += 4
        matrix[0, 4], matrix[1, 4], matrix[2, 4], matrix[3, 4] = -e0, -e1, -e2, -e3
        _solve_4(matrix)
        part = 1.0
        moved = False
        for _ in range(12):
            # the surface may not meet the return air, the suction not the surface, the condenser not outdoors
            next_surface = _within(surface + part * matrix[0, 4], surface, LOWEST_SURFACE_C - 2.0, highest_surface, 8.0)
            next_suction = _within(suction + part * matrix[1, 4], suction, LOWEST_SUCTION_C - 8.0, return_c, 8.0)
            next_condensing = _within(
                condensing + part * matrix[2, 4], condensing, outdoor_c, HIGHEST_CONDENSING_C + 3.0, 10.0
            )
            next_superheat = _within(
                superheat + part * matrix[3, 4], superheat, LEAST_SUPERHEAT_K - 8.0, GREATEST_SUPERHEAT_K + 8.0, 8.0
            )
            a, b, c, d, _, _, _, _, _ = loop_errors(
                next_surface, next_suction, next_condensing, next_superheat, return_c, humidity_ratio, outdoor_c, touched_kg_s,
                pressure_pa, closed, row, mode,
            )  # fmt: skip
            evaluations += 1
            next_size = _largest(a, b, c, d)
            if next_size < size or (next_size == next_size and part < 0.01):
                surface, suction, condensing, superheat = next_surface, next_suction, next_condensing, next_superheat
                e0, e1, e2, e3, size = a, b, c, d, next_size
                moved = True
                break
            part *= 0.4
        if not moved:
            converged = size < 1e-8
            break
    reason = NO_STATE
    if converged:
        ratio = dew_pressure_pa(int(row[REFRIGERANT]), condensing) / dew_pressure_pa(int(row[REFRIGERANT]), suction)
        reason = PRESSURES_CLOSE if ratio < LEAST_RATIO else FINE
    if superheat > GREATEST_SUPERHEAT_K:
        reason = STARVED
    if superheat < LEAST_SUPERHEAT_K:
        reason = FLOODED
    if surface < LOWEST_SURFACE_C:
        reason = SURFACE_LOW
    if suction < LOWEST_SUCTION_C:
        reason = SUCTION_LOW
    if condensing > HIGHEST_CONDENSING_C:
        reason = CONDENSING_HIGH
    if reason != FINE:
        return nan, nan, nan, nan, evaluations, reason
    return surface, suction, condensing, superheat, evaluations, FINE
