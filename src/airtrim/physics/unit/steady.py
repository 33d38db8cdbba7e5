"""The cooling unit in balance: a coil, a compressor map and a condenser, closed on the unit's rating.

    coil         total = UA_refrigerant (surface - suction), total from the air by coil/wet
    compressor   mass flow and power from the map at (suction, condensing), each times one factor of the unit
    condenser    condensing = outdoor + lift per watt x (total + compressor power)

    metering     an expansion valve holds the superheat; a fixed orifice passes a flow that follows the condensing
                 pressure, and the superheat becomes what makes the compressor take just that flow

The closure finds rated transfer units, UA_refrigerant and the two factors so that at 80/67/95 F and rated flow the
total, the power, the saturated suction and the sensible heat ratio are those of the unit, to rounding; superheat there is
10 F for a valve and 12 F for an orifice, and subcooling 10 F everywhere (nominal charge).

An orifice's load can fall until no superheat is left; then liquid goes back to the compressor (flooding), told as a
negative superheat: 1 - quality = -superheat / 40 K.

Range: what the map is used for, suction -18 to 60 F and discharge 70 to 150 F, and surfaces -19 to 32 degC; NaN
outside.
"""

from math import exp, log, nan

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
from airtrim.physics.data.ahri540_example import (
    HEAT_OF_VAPORIZATION_J_KG,
    LIQUID_ENTHALPY_J_KG,
    LOG_SATURATION_PRESSURE,
    MASS_FLOW_LB_H,
    POWER_W,
    SUPERHEAT_K,
    VAPOUR_ENTHALPY_J_KG,
    VAPOUR_EXPANSION_PER_K,
    VAPOUR_HEAT_J_KG_K,
)
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
EITHER, SUPERHEATED, FLOODED = 0, 1, 2
EXPANSION_VALVE, FIXED_ORIFICE = 0.0, 1.0
#: Superheat of an orifice unit at rating, K: 12 F, what the trade's charging table asks for at 67 F wet bulb and 95 F outdoors
#: [common-practice].
ORIFICE_SUPERHEAT_K = 12.0 / 1.8
#: Superheat sought for an orifice, K; below zero the vapour leaves wet, by 1/40 a kelvin; how far circuits differ.
_LEAST_SUPERHEAT_K, _GREATEST_SUPERHEAT_K, _WETNESS_PER_K, _CIRCUITS_K = -25.0, 35.0, 1.0 / 40.0, 0.4
#: How far the superheated form is carried on below zero for the fitted surfaces.
_LEAST_CARRIED_ON_K = -100.0
#: The suction gas is warmed in a last part of the coil, by so many transfer units were it the whole: a seventh of the coil for
#: 10 F of superheat [own-derivation from the usual 10 to 15 %].
_WARMING_UNITS = 2.7
#: Flow of an orifice against condensing pressure: a half for choked liquid, less the subcooling that a fixed charge loses as
#: it gets hotter outside [own-derivation; held against the trade's superheat table in the tests].
ORIFICE_EXPONENT = 0.40
#: Mass flow follows the suction density by this part [from-memory, Dabiri and Rice 1981].
_DENSITY_PART = 0.75
_NAN6 = (nan, nan, nan, nan, nan, nan)


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


@inline_kernel
def gas_and_liquid_k(superheat_k: float, regime: int) -> tuple[float, float]:
    """Superheat in two parts: what warms gas, and what liquid is left, K.

    They meet smoothly, since circuits differ and some carry liquid over before others. The regimes SUPERHEATED and FLOODED
    carry one part on beyond its end, for the fitted surfaces.
    """
    if regime == SUPERHEATED:
        return superheat_k, 0.0
    if regime == FLOODED:
        return 0.0, -superheat_k
    gas = _CIRCUITS_K * log(1.0 + exp(superheat_k / _CIRCUITS_K))
    return gas, gas - superheat_k


@inline_kernel
def boiling_part(gas_k: float, difference_k: float) -> float:
    """Part of the coil that boils refrigerant; the last part warms the gas towards the return air, `difference_k` above suction."""
    return 1.0 + log(1.0 - gas_k / difference_k) / _WARMING_UNITS


@kernel
def suction_for(total_w: float, surface_c: float, return_c: float, gas_k: float, conductance_w_k: float) -> float:
    """Saturated suction, degC, that carries `total_w` from the surface while the last part of the coil warms the gas.

    The lower it is, the more of the coil boils and the larger the difference: one root, by Newton inside a shrinking bracket.
    """
    high = min(surface_c, return_c - gas_k / (1.0 - exp(-_WARMING_UNITS)))
    low = high - 60.0
    suction = surface_c - 1.3 * total_w / conductance_w_k
    for _ in range(40):
        if not (suction > low and suction < high):
            suction = 0.5 * (low + high)
        difference = return_c - suction
        part = boiling_part(gas_k, difference)
        error = conductance_w_k * part * (surface_c - suction) - total_w
        if error > 0.0:
            low = suction
        else:
            high = suction
        change = gas_k / (difference * (difference - gas_k) * _WARMING_UNITS)
        step = error / (conductance_w_k * (part + change * (surface_c - suction)))
        suction += step
        if abs(step) < 1e-10:
            break
    return suction


@inline_kernel
def suction_flow_part(gas_k: float, liquid_k: float) -> float:
    """Compressor flow over that at the map's superheat: denser gas, more flow."""
    volume = (1.0 + VAPOUR_EXPANSION_PER_K * gas_k) * (1.0 - _WETNESS_PER_K * liquid_k)
    return 1.0 + _DENSITY_PART * ((1.0 + VAPOUR_EXPANSION_PER_K * SUPERHEAT_K) / volume - 1.0)


@inline_kernel
def effect_change_j_kg(gas_k: float, liquid_k: float) -> float:
    """What superheat other than the map's adds to the refrigerating effect."""
    return VAPOUR_HEAT_J_KG_K * (gas_k - SUPERHEAT_K) - HEAT_OF_VAPORIZATION_J_KG * _WETNESS_PER_K * liquid_k


@inline_kernel
def orifice_flow_part(condensing_c: float) -> float:
    """Flow through a fixed orifice over that at rating: it follows the condensing pressure, the flow being choked, and
    hardly the evaporating pressure (Kim, O'Neal, Payne and Farzad)."""
    q = LOG_SATURATION_PRESSURE
    rated = RATED_OUTDOOR_C + RATED_LIFT_K
    now = q[1] * condensing_c + condensing_c * condensing_c * (q[2] + condensing_c * (q[3] + condensing_c * q[4]))
    then = q[1] * rated + rated * rated * (q[2] + rated * (q[3] + rated * q[4]))
    return exp(ORIFICE_EXPONENT * (now - then))


@kernel
def _sensible_ratio(surface_c: float, return_c: float, enthalpy: float) -> float:
    ratio = saturation_humidity_fast(surface_c, RATED_PRESSURE_PA)
    at_surface = saturation_enthalpy_fast_j_kg(surface_c, RATED_PRESSURE_PA)
    return (1006.0 + 1860.0 * ratio) * (return_c - surface_c) / (enthalpy - at_surface)


@kernel
def closure(unit_row: UnitRow) -> tuple[float, float, float, float, float, float]:
    """What makes the unit meet its rating: (rated transfer units, conductance of the coil boiling all over W/K, capacity
    factor, power factor, lift K/W, flow of the orifice at rating as the unscaled map counts it kg/s, 0 for a valve).

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
        return _NAN6
    for _ in range(60):
        surface = 0.5 * (low + high)
        if _sensible_ratio(surface, RATED_RETURN_C, enthalpy) < sensible_ratio:
            low = surface
        else:
            high = surface
    surface = 0.5 * (low + high)
    touched = total / (enthalpy - saturation_enthalpy_fast_j_kg(surface, RATED_PRESSURE_PA))
    if not (touched < rated_flow and surface > suction + 0.2 and total > 0.0 and power > 0.0):
        return _NAN6
    compressor = power * (1.0 - OUTDOOR_FAN_SHARE)
    superheat = SUPERHEAT_K if unit_row[6] == EXPANSION_VALVE else ORIFICE_SUPERHEAT_K
    # a valve keeps the boiling part nearly the same, so its coil is counted whole
    part = 1.0 if unit_row[6] == EXPANSION_VALVE else boiling_part(superheat, difference)
    flow = map_mass_flow_kg_s(suction, condensing) * suction_flow_part(superheat, 0.0)
    effect = flow * (refrigerating_effect_j_kg(suction, condensing) + effect_change_j_kg(superheat, 0.0))
    return (
        -log(1.0 - touched / rated_flow),
        total / (surface - suction) / part,
        total / effect,
        compressor / map_power_w(suction, condensing),
        RATED_LIFT_K / (total + compressor),
        0.0 if unit_row[6] == EXPANSION_VALVE else flow,
    )


def rating_closure(unit_row: UnitRow) -> tuple[float, float, float, float, float, float]:
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
def balance_at(
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
    gas_k: float,
    liquid_k: float,
    warmed_k: float,
) -> tuple[float, float, float, float, float, int]:
    """Balance at a given superheat: (total W, compressor W, suction degC, surface degC, condensing degC, iterations).

    Safeguarded secant in the mean surface temperature: as it rises, the coil takes less from the air and the compressor
    could take more.
    """
    flow_factor = capacity_factor * suction_flow_part(gas_k, liquid_k)
    change = effect_change_j_kg(gas_k, liquid_k)
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
        suction = suction_for(total, surface, return_c, warmed_k, conductance_w_k)
        for _ in range(4):
            power = power_factor * map_power_w(suction, condensing)
            condensing = outdoor_c + lift_k_w * (total + power)
        effect = refrigerating_effect_j_kg(suction, condensing) + change
        error = total - flow_factor * map_mass_flow_kg_s(suction, condensing) * effect
        if abs(error) < 1e-7 * abs(total) or high - low < 1e-10:
            inside = surface > _LOWEST_SURFACE_C + 1e-6 and surface < highest - 1e-6
            if inside and suction > _LOWEST_SUCTION_C and condensing < _HIGHEST_CONDENSING_C:
                return total, power, suction, surface, condensing, step
            return nan, nan, nan, nan, nan, step
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
    return nan, nan, nan, nan, nan, 60


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
    orifice_kg_s: float,
    mode: int,
    regime: int,
) -> tuple[float, float, float, float, float, int]:
    """Balance for air that touches the surface: (total W, compressor W, suction degC, surface degC, superheat K, iterations).

    `mode` LARGER and `regime` EITHER are the unit; the others force coil and superheat for the fitted surfaces. `orifice_kg_s`
    is the flow of a fixed orifice at rating as the unscaled map counts it, 0 for an expansion valve. With an orifice a
    safeguarded secant in the superheat is put around the balance: as it rises the coil boils less and the gas thins, so the
    compressor takes less.
    """
    superheat = SUPERHEAT_K
    low, high = _LEAST_SUPERHEAT_K, _GREATEST_SUPERHEAT_K
    if regime == SUPERHEATED:
        low = _LEAST_CARRIED_ON_K
    low_error, high_error = nan, nan
    steps, side = 0, 0
    for _ in range(50):
        gas, liquid, warmed = SUPERHEAT_K, 0.0, 0.0
        if orifice_kg_s > 0.0:
            gas, liquid = gas_and_liquid_k(superheat, regime)
            warmed = gas
        total, power, suction, surface, condensing, more = balance_at(
            return_c, humidity_ratio, outdoor_c, touched_kg_s, pressure_pa, conductance_w_k, capacity_factor, power_factor,
            lift_k_w, mode, gas, liquid, warmed,
        )  # fmt: skip
        steps += more
        if orifice_kg_s == 0.0 or total != total:
            return total, power, suction, surface, superheat, steps
        taken = map_mass_flow_kg_s(suction, condensing) * suction_flow_part(gas, liquid)
        error = taken - orifice_kg_s * orifice_flow_part(condensing)
        if abs(error) < 1e-8 * orifice_kg_s:
            return total, power, suction, surface, superheat, steps
        if high - low < 1e-7:
            break
        if error > 0.0:
            low, low_error = superheat, error
            if side == 1:
                high_error *= 0.5
            side = 1
        else:
            high, high_error = superheat, error
            if side == -1:
                low_error *= 0.5
            side = -1
        superheat = high - high_error * (high - low) / (high_error - low_error)
        if not (superheat > low and superheat < high):
            superheat = 0.5 * (low + high)
    return nan, nan, nan, nan, nan, steps


@kernel
def unit_state(
    return_c: float, humidity_ratio: float, outdoor_c: float, flow_kg_s: float, pressure_pa: float, unit_row: UnitRow
) -> tuple[float, float, float, float, float, float, int]:
    """(total W, sensible W, compressor and outdoor fan W, saturated suction degC, mean surface degC, superheat K, iterations).

    Air enters the coil at `return_c` and `humidity_ratio`; blower heat is not counted. Negative superheat is wet vapour.
    NaN where no balance is found.
    """
    units, conductance, capacity_factor, power_factor, lift, orifice = closure(unit_row)
    if not flow_kg_s > 0.0:
        return nan, nan, nan, nan, nan, nan, 0
    touched = flow_kg_s * (1.0 - bypass_factor(flow_kg_s, unit_row[5], units, unit_row[4]))
    total, power, suction, surface, superheat, steps = balance(
        return_c,
        humidity_ratio,
        outdoor_c,
        touched,
        pressure_pa,
        conductance,
        capacity_factor,
        power_factor,
        lift,
        orifice,
        LARGER,
        EITHER,
    )
    sensible, _ = split_of_total(total, return_c, humidity_ratio, touched, pressure_pa)
    return total, sensible, power + OUTDOOR_FAN_SHARE * unit_row[1], suction, surface, superheat, steps


@kernel
def steady_state(
    return_c: float, humidity_ratio: float, outdoor_c: float, flow_kg_s: float, pressure_pa: float, unit_row: UnitRow
) -> tuple[float, float, float, float, float, int]:
    """As `unit_state` without the superheat."""
    total, sensible, power, suction, surface, _, steps = unit_state(
        return_c, humidity_ratio, outdoor_c, flow_kg_s, pressure_pa, unit_row
    )
    return total, sensible, power, suction, surface, steps
