"""What makes a unit meet its rating: conductances, scales of the compressor and the reference of the metering device.

The rating (80/67/95 F, rated airflow, sea level) gives the state of the loop: the mean surface from the sensible heat ratio,
suction from the coil difference, condensing from the lift, flow from the capacity. Each part is then sized to that state, and what
is known to be off (dirt, charge, another size of coil, uneven circuits) is applied to the sized parts.
"""

from math import exp, log, nan, sqrt
from typing import Final

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import NoSolutionError
from airtrim.core.kernels import inline_kernel, kernel
from airtrim.physics.air.moist import enthalpy_j_kg, humidity_ratio_from_wet_bulb
from airtrim.physics.coil.wet import saturation_enthalpy_fast_j_kg, saturation_humidity_fast
from airtrim.physics.unit.compressor import (
    WETNESS_PER_K,
    flow_and_power,
    suction_flow_part,
)
from airtrim.physics.unit.fields import (
    CAPACITY,
    CHARGE,
    CIRCUIT_DROP,
    COIL_CLEAN,
    COIL_SCALE,
    COIL_TD,
    COMPRESSOR,
    CONDENSER_AIR,
    CONDENSER_CLEAN,
    CONDENSER_UNITS,
    EXPANSION_VALVE,
    FAN_SHARE,
    LIFT,
    MAP_FLOW,
    METERING,
    METERING_SIZE,
    POWER,
    RATED_FLOW,
    REFRIGERANT,
    SENSIBLE_RATIO,
    SUBCOOLING,
    SUPERHEAT,
    UNEVEN,
    VALVE_RESERVE,
    UnitRow,
)
from airtrim.physics.unit.properties import (
    boiling_c,
    dew_c_from_pressure,
    dew_pressure_pa,
    glide_k,
    liquid_enthalpy_j_kg,
    suction_density_kg_m3,
    suction_enthalpy_j_kg,
)

Array = NDArray[np.float64]

RATED_RETURN_C = (80.0 - 32.0) / 1.8
RATED_WET_BULB_C = (67.0 - 32.0) / 1.8
RATED_OUTDOOR_C = 35.0
RATED_PRESSURE_PA = 101325.0
#: Superheat at rating where none is given, K: what a valve is set to, and what the trade's charging table asks of an orifice at
#: 67 F wet bulb and 95 F outdoors [common-practice].
VALVE_SUPERHEAT_K, ORIFICE_SUPERHEAT_K = 10.0 / 1.8, 12.0 / 1.8
#: The suction gas is warmed in a last part of the coil, by so many transfer units were it the whole: a seventh of the coil for
#: 10 F of superheat [own-derivation from the usual 10 to 15 %].
_WARMING_UNITS = 2.7
#: What is left of the difference to the return air when the whole coil warms gas.
_LEAST_LEFT = exp(-_WARMING_UNITS)
#: Likewise the liquid in the condenser: an eighth of it for 10 F of subcooling at a lift of 20 F [own-derivation, likewise].
_COOLING_UNITS = 5.5
#: Part of the condenser that one right charge of liquid would fill: about as much liquid goes in as the unit holds
#: [own-derivation; 10 % of charge is then 4 F of subcooling].
_CONDENSER_FILL = 0.9
#: Over how much of the condenser subcooling fades as the charge runs out.
_FADING = 0.03
#: The metering device loses flow to flash gas for each part of the condenser that lacks liquid [own-derivation: an orifice unit at
#: 70 % charge then loses about a fifth of its flow].
_FLASHING = 1.5
#: Unevenness costs conductance: the mean over circuits of a saturating exchange, half of it on the air's side [own-derivation].
_UNEVEN_LOSS = 0.5
#: How far circuits part: one carries liquid over before the others are wet at their end, K.
_CIRCUITS_K, _CIRCUITS_UNEVEN_K = 1.0, 10.0
#: The valve opens over this much superheat, K, and its opening rounds off over that; see `balance.metering_error`.
VALVE_SPAN_K, VALVE_ROUNDING_K = 10.0, 1.0

#: Places in what `closure` returns.
(UNITS, CONDUCTANCE, FLOW_FACTOR, POWER_FACTOR, CONDENSER_RATE, CONDENSER_TRANSFER, LIQUID_PART, FEED, RATED_REFRIGERANT_FLOW,
 DROP, SET_SUPERHEAT, RATED_CONDENSING_PA, RATED_FALL_PA, RATED_SUBCOOLING, SPREAD_K, RATED_SURFACE_C, RATED_SUCTION_C,
 RATED_CONDENSING_C, RATED_TOTAL) = range(19)  # fmt: skip
CLOSED_SIZE: Final = 19


@inline_kernel
def gas_and_liquid_k(superheat_k: float, spread_k: float) -> tuple[float, float]:
    """Superheat in two parts: what warms gas, and what liquid is left, K. They meet smoothly, since circuits differ."""
    if superheat_k > 30.0 * spread_k:
        return superheat_k, 0.0
    if superheat_k < -30.0 * spread_k:
        return 0.0, -superheat_k
    gas = spread_k * log(1.0 + exp(superheat_k / spread_k))
    return gas, gas - superheat_k


@inline_kernel
def boiling_part(gas_k: float, difference_k: float) -> float:
    """Part of the coil that boils; the last part warms the gas towards the return air, `difference_k` above suction; NaN where no
    coil is long enough."""
    left = 1.0 - gas_k / difference_k if difference_k > 0.0 else 0.0
    return 1.0 + log(left) / _WARMING_UNITS if left > _LEAST_LEFT else nan


@inline_kernel
def liquid_subcooling_k(liquid_part: float, difference_k: float) -> float:
    """Subcooling of the liquid that fills a part of the condenser, `difference_k` between bubble point and outdoors."""
    return difference_k * (1.0 - exp(-_COOLING_UNITS * liquid_part))


@inline_kernel
def vapour_leaving_j_kg(code: int, suction_c: float, gas_k: float, liquid_k: float) -> float:
    """Enthalpy at the coil's end, wet by `liquid_k`."""
    dry = suction_enthalpy_j_kg(code, suction_c, gas_k)
    latent = suction_enthalpy_j_kg(code, suction_c, 0.0) - liquid_enthalpy_j_kg(code, suction_c, 0.0)
    return dry - WETNESS_PER_K * liquid_k * latent


@inline_kernel
def coil_inlet_c(code: int, dew_at_inlet_c: float, liquid_j_kg: float) -> float:
    """Temperature behind the metering device: a blend starts to boil below its dew point."""
    bubble = dew_at_inlet_c - glide_k(code, dew_at_inlet_c)
    liquid = liquid_enthalpy_j_kg(code, bubble, 0.0)
    latent = suction_enthalpy_j_kg(code, dew_at_inlet_c, 0.0) - liquid
    return boiling_c(code, dew_at_inlet_c, (liquid_j_kg - liquid) / latent)


@kernel
def _surface_for(sensible_ratio: float, enthalpy: float) -> float:
    """Mean surface, degC, that gives the rated sensible ratio; NaN where none does. The ratio falls with the surface from 1 at
    the dew point (15.7 C) to its least near 2 C; secant inside a shrinking bracket."""
    low, high = 2.0, 15.7
    low_error, high_error = nan, 1.0 - sensible_ratio
    surface, side = low, 0
    for step in range(60):
        ratio = saturation_humidity_fast(surface, RATED_PRESSURE_PA)
        at_surface = saturation_enthalpy_fast_j_kg(surface, RATED_PRESSURE_PA)
        error = (1006.0 + 1860.0 * ratio) * (RATED_RETURN_C - surface) / (enthalpy - at_surface) - sensible_ratio
        if step == 0 and not (error < 0.0 and high_error > 0.0):
            return nan
        if abs(error) < 1e-13 or high - low < 1e-12:
            return surface
        if error < 0.0:
            low, low_error = surface, error
            high_error *= 0.5 if side == 1 else 1.0
            side = 1
        else:
            high, high_error = surface, error
            low_error *= 0.5 if side == -1 else 1.0
            side = -1
        surface = high - high_error * (high - low) / (high_error - low_error)
        if not (surface > low and surface < high):
            surface = 0.5 * (low + high)
    return surface


@kernel
def closure(row: UnitRow) -> Array:
    """The sized parts, `[CLOSED_SIZE]`, in the order of the places above; all NaN where no coil or condenser meets the rating: the
    sensible ratio is lower than saturation allows, or asks for more air than there is, or puts the surface below the boiling
    refrigerant, or the liquid would leave the condenser colder than the air."""
    closed = np.full(CLOSED_SIZE, nan)
    code, device = int(row[REFRIGERANT]), row[METERING]
    total, power = row[CAPACITY], row[POWER] * (1.0 - row[FAN_SHARE])
    suction, condensing = RATED_RETURN_C - row[COIL_TD], RATED_OUTDOOR_C + row[LIFT]
    superheat, subcooling = row[SUPERHEAT], row[SUBCOOLING]
    if superheat == 0.0:
        superheat = VALVE_SUPERHEAT_K if device == EXPANSION_VALVE else ORIFICE_SUPERHEAT_K
    humidity = humidity_ratio_from_wet_bulb(RATED_RETURN_C, RATED_WET_BULB_C, RATED_PRESSURE_PA)
    enthalpy = enthalpy_j_kg(RATED_RETURN_C, humidity)
    surface = _surface_for(row[SENSIBLE_RATIO], enthalpy)
    touched = total / (enthalpy - saturation_enthalpy_fast_j_kg(surface, RATED_PRESSURE_PA))
    bubble = condensing - glide_k(code, condensing)
    if not (
        touched < row[RATED_FLOW]
        and total > 0.0
        and power > 0.0
        and row[LIFT] > 0.0
        and subcooling < bubble - RATED_OUTDOOR_C
        and subcooling > 0.0
        and row[CHARGE] > 0.0
        and row[COIL_SCALE] > 0.0
        and row[METERING_SIZE] > 0.0
        and row[VALVE_RESERVE] > 1.02
        and 0.0 <= row[UNEVEN] < 1.0
    ):
        return closed
    spread = _CIRCUITS_K + _CIRCUITS_UNEVEN_K * row[UNEVEN]
    gas, liquid = gas_and_liquid_k(superheat, spread)
    liquid_j_kg = liquid_enthalpy_j_kg(code, bubble, subcooling)
    flow = total / (vapour_leaving_j_kg(code, suction, gas, liquid) - liquid_j_kg)
    low_pa, high_pa = dew_pressure_pa(code, suction), dew_pressure_pa(code, condensing)
    drop_pa = dew_pressure_pa(code, suction + row[CIRCUIT_DROP]) - low_pa
    # by way of the pressure, as the balance finds it, or the inverse's rounding would show in the rating
    inlet_dew = dew_c_from_pressure(code, low_pa + drop_pa) if drop_pa > 0.0 else suction
    inlet = coil_inlet_c(code, inlet_dew, liquid_j_kg)
    across = surface - 0.5 * (inlet + suction)
    if not (across > 0.2 and flow > 0.0):
        return closed
    base_flow, base_power = flow_and_power(row[COMPRESSOR], row, MAP_FLOW, code, suction, condensing)
    rejected_across = condensing - 0.5 * glide_k(code, condensing) - RATED_OUTDOOR_C
    liquid_part = -log(1.0 - subcooling / (bubble - RATED_OUTDOOR_C)) / _COOLING_UNITS
    nominal = liquid_part - 0.25 * _FADING * _FADING / liquid_part
    charged = nominal + _CONDENSER_FILL * (row[CHARGE] - 1.0)
    filled = 0.5 * (charged + sqrt(charged * charged + _FADING * _FADING))
    if not filled < 0.95:
        return closed
    closed[UNITS] = -log(1.0 - touched / row[RATED_FLOW]) * row[COIL_CLEAN] * row[COIL_SCALE]
    even = 1.0 - _UNEVEN_LOSS * row[UNEVEN] * row[UNEVEN]
    closed[CONDUCTANCE] = total / across / boiling_part(gas, row[COIL_TD]) * row[COIL_SCALE] * even
    closed[FLOW_FACTOR] = flow / (base_flow * suction_flow_part(code, suction, gas, liquid))
    closed[POWER_FACTOR] = power / base_power
    closed[CONDENSER_RATE] = (
        (total + power) / (rejected_across * (1.0 - exp(-row[CONDENSER_UNITS]))) * row[CONDENSER_AIR]
    )
    closed[CONDENSER_TRANSFER] = (
        row[CONDENSER_UNITS] / (1.0 - liquid_part) * row[CONDENSER_CLEAN] / sqrt(row[CONDENSER_AIR])
    )
    closed[LIQUID_PART] = filled
    closed[FEED] = row[METERING_SIZE] * exp(-_FLASHING * ((filled - charged) - (liquid_part - nominal)))
    closed[RATED_REFRIGERANT_FLOW] = flow
    closed[DROP] = drop_pa * suction_density_kg_m3(code, suction, 0.0) / exp(1.8 * log(flow)) / row[COIL_SCALE]
    room = VALVE_SPAN_K * (row[VALVE_RESERVE] - 1.0)
    rounded = 0.25 * VALVE_ROUNDING_K * VALVE_ROUNDING_K / room
    closed[SET_SUPERHEAT] = superheat - rounded if device == EXPANSION_VALVE else superheat
    closed[RATED_CONDENSING_PA], closed[RATED_FALL_PA] = high_pa, high_pa - low_pa
    closed[RATED_SUBCOOLING], closed[SPREAD_K] = subcooling, spread
    closed[RATED_SURFACE_C], closed[RATED_SUCTION_C], closed[RATED_CONDENSING_C] = surface, suction, condensing
    closed[RATED_TOTAL] = total
    return closed


def rating_closure(row: UnitRow) -> Array:
    """As `closure`; raises NoSolutionError where the rating contradicts itself."""
    found = closure(row)
    if np.isnan(found[0]):
        raise NoSolutionError(
            f"The cooling unit's rating cannot be met by a coil: {row[CAPACITY]:.0f} W with sensible heat ratio "
            f"{row[SENSIBLE_RATIO]:.3f}, coil difference {row[COIL_TD]:.1f} K, {row[RATED_FLOW]:.3f} kg/s of air, "
            f"{row[SUBCOOLING]:.1f} K subcooling at a lift of {row[LIFT]:.1f} K and charge {row[CHARGE]:.2f}; a mean surface "
            "between the boiling refrigerant and the entering dew point was expected: check airflow, capacity and the coil "
            "difference."
        )
    return found
