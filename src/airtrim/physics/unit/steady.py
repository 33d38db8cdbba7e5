"""The cooling unit in balance: a coil, a compressor map and a condenser, closed on the unit's rating.

    coil         total = UA_refrigerant (surface - suction), total from the air by coil/wet
    compressor   mass flow and power from the map at (suction, condensing), each times one factor of the unit
    condenser    condensing = outdoor + lift per watt x (total + compressor power)

The closure finds rated transfer units, UA_refrigerant and the two factors so that at 80/67/95 F and rated flow the
total, the power, the saturated suction and the sensible heat ratio are those of the unit, to rounding. Superheat and
subcooling are held at 10 F, as by an expansion valve with charge enough; a fixed orifice gives up superheat instead
when the load falls.

Range: what the map is used for, suction -18 to 60 F and discharge 70 to 150 F, and surfaces -19 to 32 degC; NaN
outside.
"""

from math import log, nan

from airtrim.core.errors import NoSolutionError
from airtrim.core.kernels import inline_kernel, kernel
from airtrim.physics.air.moist import enthalpy_j_kg, humidity_ratio_from_wet_bulb
from airtrim.physics.coil.wet import (
    bypass_factor,
    dry_total_w,
    saturation_enthalpy_fast_j_kg,
    saturation_humidity_fast,
    split_of_total,
    wet_total_w,
)
from airtrim.physics.data.ahri540_example import LIQUID_ENTHALPY_J_KG, MASS_FLOW_LB_H, POWER_W, VAPOUR_ENTHALPY_J_KG
from airtrim.physics.unit.fields import UnitRow

RATED_RETURN_C = (80.0 - 32.0) / 1.8
RATED_WET_BULB_C = (67.0 - 32.0) / 1.8
RATED_OUTDOOR_C = 35.0
RATED_PRESSURE_PA = 101325.0
#: Condensing less outdoor temperature at rating: 20 F, a usual figure of the trade (common-practice).
RATED_LIFT_K = 20.0 / 1.8
#: Outdoor fan's part of `compressor_power_w`: 108 W of 1968 W, from the fan and compressor energies of case CE200
#: [nrel30152].
OUTDOOR_FAN_SHARE = 0.055
#: Mean surface temperatures between which the balance is sought, degC: above -19 the saturation polynomial holds.
_LOWEST_SURFACE_C = -19.0
#: Where the use of the map ends, degC (-18 F and 151 F).
_LOWEST_SUCTION_C, _HIGHEST_CONDENSING_C = -28.0, 66.0
_LB_H = 0.45359237 / 3600.0

LARGER, WET, DRY = 0, 1, 2
_NAN5 = (nan, nan, nan, nan, nan)


@inline_kernel
def _map(coefficients: tuple[float, ...], suction_f: float, discharge_f: float) -> float:
    s, d = suction_f, discharge_f
    c = coefficients
    return (
        c[0]
        + c[1] * s
        + c[2] * d
        + c[3] * s * s
        + c[4] * s * d
        + c[5] * d * d
        + c[6] * s * s * s
        + c[7] * d * s * s
        + c[8] * s * d * d
        + c[9] * d * d * d
    )


@kernel
def map_mass_flow_kg_s(suction_c: float, condensing_c: float) -> float:
    """Refrigerant flow of the unscaled example map, kg/s."""
    return _map(MASS_FLOW_LB_H, 1.8 * suction_c + 32.0, 1.8 * condensing_c + 32.0) * _LB_H


@kernel
def map_power_w(suction_c: float, condensing_c: float) -> float:
    """Power of the unscaled example map, W."""
    return _map(POWER_W, 1.8 * suction_c + 32.0, 1.8 * condensing_c + 32.0)


@kernel
def refrigerating_effect_j_kg(suction_c: float, condensing_c: float) -> float:
    """Enthalpy gained in the evaporator by R-410A, 10 F superheat and subcooling, J/kg; -25 to 22 and 15 to 65 degC."""
    v, q = VAPOUR_ENTHALPY_J_KG, LIQUID_ENTHALPY_J_KG
    vapour = v[0] + suction_c * (v[1] + suction_c * (v[2] + suction_c * v[3]))
    return vapour - (q[0] + condensing_c * (q[1] + condensing_c * (q[2] + condensing_c * (q[3] + condensing_c * q[4]))))


@kernel
def _sensible_ratio(surface_c: float, return_c: float, enthalpy: float) -> float:
    ratio = saturation_humidity_fast(surface_c, RATED_PRESSURE_PA)
    at_surface = saturation_enthalpy_fast_j_kg(surface_c, RATED_PRESSURE_PA)
    return (1006.0 + 1860.0 * ratio) * (return_c - surface_c) / (enthalpy - at_surface)


@kernel
def closure(unit_row: UnitRow) -> tuple[float, float, float, float, float]:
    """What makes the unit meet its rating: (rated transfer units, UA_refrigerant W/K, capacity factor, power factor,
    lift K/W).

    NaN where no coil does: the sensible heat ratio is lower than saturation allows, or asks for more air than there is,
    or puts the surface below the saturated suction.
    """
    total, power, difference, sensible_ratio, rated_flow = (
        unit_row[0],
        unit_row[1],
        unit_row[2],
        unit_row[3],
        unit_row[5],
    )
    suction = RATED_RETURN_C - difference
    condensing = RATED_OUTDOOR_C + RATED_LIFT_K
    humidity = humidity_ratio_from_wet_bulb(RATED_RETURN_C, RATED_WET_BULB_C, RATED_PRESSURE_PA)
    enthalpy = enthalpy_j_kg(RATED_RETURN_C, humidity)
    # the sensible ratio falls with the surface temperature from 1 at the dew point (15.7 C) to its least near 2 C
    low, high = 2.0, 15.7
    if not (_sensible_ratio(low, RATED_RETURN_C, enthalpy) < sensible_ratio and sensible_ratio < 1.0):
        return _NAN5
    for _ in range(60):
        surface = 0.5 * (low + high)
        if _sensible_ratio(surface, RATED_RETURN_C, enthalpy) < sensible_ratio:
            low = surface
        else:
            high = surface
    surface = 0.5 * (low + high)
    touched = total / (enthalpy - saturation_enthalpy_fast_j_kg(surface, RATED_PRESSURE_PA))
    if not (touched < rated_flow and surface > suction + 0.2 and total > 0.0 and power > 0.0):
        return _NAN5
    compressor = power * (1.0 - OUTDOOR_FAN_SHARE)
    effect = map_mass_flow_kg_s(suction, condensing) * refrigerating_effect_j_kg(suction, condensing)
    return (
        -log(1.0 - touched / rated_flow),
        total / (surface - suction),
        total / effect,
        compressor / map_power_w(suction, condensing),
        RATED_LIFT_K / (total + compressor),
    )


def rating_closure(unit_row: UnitRow) -> tuple[float, float, float, float, float]:
    """As `closure`; raises NoSolutionError where the rating contradicts itself."""
    found = closure(unit_row)
    if found[0] != found[0]:
        raise NoSolutionError(
            f"The cooling unit's rating cannot be met by a coil: {unit_row[0]:.0f} W with sensible heat ratio "
            f"{unit_row[3]:.3f}, coil difference {unit_row[2]:.1f} K and {unit_row[5]:.3f} kg/s of air; a mean surface "
            "between saturated suction and the entering dew point was expected: check airflow, capacity and the coil "
            "difference."
        )
    return found


@kernel
def balance(
    return_c: float,
    humidity_ratio: float,
    outdoor_c: float,
    touched_kg_s: float,
    pressure_pa: float,
    conductance_w_k: float,
    capacity_factor: float,
    power_factor: float,
    lift_k_w: float,
    mode: int,
) -> tuple[float, float, float, float, int]:
    """Balance for air that touches the surface: (total W, compressor W, suction degC, surface degC, iterations).

    `mode` LARGER is the unit; WET and DRY force the coil for the fitted surfaces. Safeguarded secant in the mean
    surface temperature: as it rises, the coil takes less from the air and the compressor could take more.
    """
    highest = min(return_c, 32.0)
    low, high = _LOWEST_SURFACE_C, highest
    low_error, high_error = nan, nan
    surface = 0.5 * return_c
    total, power, suction = nan, nan, nan
    side = 0
    condensing = outdoor_c + RATED_LIFT_K
    for step in range(1, 61):
        wet = wet_total_w(surface, return_c, humidity_ratio, touched_kg_s, pressure_pa)
        dry = dry_total_w(surface, return_c, humidity_ratio, touched_kg_s)
        total = wet if mode == WET or (mode == LARGER and wet > dry) else dry
        suction = surface - total / conductance_w_k
        for _ in range(4):
            power = power_factor * map_power_w(suction, condensing)
            condensing = outdoor_c + lift_k_w * (total + power)
        error = total - capacity_factor * map_mass_flow_kg_s(suction, condensing) * refrigerating_effect_j_kg(
            suction, condensing
        )
        if abs(error) < 1e-7 * abs(total) or high - low < 1e-10:
            inside = surface > _LOWEST_SURFACE_C + 1e-6 and surface < highest - 1e-6
            if inside and suction > _LOWEST_SUCTION_C and condensing < _HIGHEST_CONDENSING_C:
                return total, power, suction, surface, step
            return nan, nan, nan, nan, step
        if error > 0.0:
            low, low_error = surface, error
            if side == 1:
                high_error *= 0.5
            side = 1
        else:
            high, high_error = surface, error
            if side == -1:
                low_error *= 0.5
            side = -1
        surface = high - high_error * (high - low) / (high_error - low_error)
        if not (surface > low and surface < high):
            surface = 0.5 * (low + high)
        if error != error:
            break
    return nan, nan, nan, nan, 60


@kernel
def steady_state(
    return_c: float, humidity_ratio: float, outdoor_c: float, flow_kg_s: float, pressure_pa: float, unit_row: UnitRow
) -> tuple[float, float, float, float, float, int]:
    """(total W, sensible W, compressor and outdoor fan W, saturated suction degC, mean surface degC, iterations).

    Air enters the coil at `return_c` and `humidity_ratio`; blower heat is not counted. NaN where no balance is found.
    """
    units, conductance, capacity_factor, power_factor, lift = closure(unit_row)
    if not flow_kg_s > 0.0:
        return nan, nan, nan, nan, nan, 0
    touched = flow_kg_s * (1.0 - bypass_factor(flow_kg_s, unit_row[5], units, unit_row[4]))
    total, power, suction, surface, steps = balance(
        return_c,
        humidity_ratio,
        outdoor_c,
        touched,
        pressure_pa,
        conductance,
        capacity_factor,
        power_factor,
        lift,
        LARGER,
    )
    sensible, _ = split_of_total(total, return_c, humidity_ratio, touched, pressure_pa)
    return total, sensible, power + OUTDOOR_FAN_SHARE * unit_row[1], suction, surface, steps
