"""States of a refrigerant for compiled loops, read from its table: both sides of saturation, vapour, liquid, boiling blend.

A blend with glide starts to boil at the bubble point and has boiled dry at the dew point, warmer at the same pressure; for a
pure fluid the two are one. The dew point is meant for superheat, the bubble point for subcooling. Pressures are absolute.

Range: bubble and dew -40 to 65.6 degC (-40 to 150 F) and a little more, superheat 0 to 40 K, subcooling 0 to 30 K where the
liquid itself is on the table, boiling at bubble points to 30 degC; NaN outside.

Error against the equations of state the tables were made from [coolprop], held by tests/tables: saturation 1e-4 K, boiling
blend 0.005 K; enthalpy 1 J/kg up to dew points of 30 and bubble points of 55 degC, 100 J/kg above, where R-410A comes near its
critical point; density 0.01 % and 0.15 %.
"""

from math import exp, log, nan

from airtrim.core.kernels import inline_kernel, kernel
from airtrim.physics.refrigerant.table import (
    BUBBLE_LOG_PRESSURE,
    BUBBLE_TEMPERATURE,
    DEW_LOG_PRESSURE,
    DEW_TEMPERATURE,
    LIQUID_ENTHALPY,
    LIQUID_LOG_DENSITY,
    SUBCOOLING_REACH_K,
    SUPERHEAT_REACH_K,
    VAPOUR_ENTHALPY,
    VAPOUR_LOG_DENSITY,
    Array,
    RefrigerantTable,
)

#: How far past an axis' end rounding may put its own last node, in steps.
_SLACK = 1e-9
_QUALITY_ITERATIONS = 20


@inline_kernel
def _along(values: Array, column: int, position: float) -> float:
    """Cubic Hermite at `position`, counted in nodes; NaN off the axis."""
    last = values.shape[0] - 1
    if not (-_SLACK <= position <= last + _SLACK):
        return nan
    cell = min(max(int(position), 0), last - 1)
    t: float = position - cell
    r = 1.0 - t
    here: float = (1.0 + 2.0 * t) * values[cell, 0, column] + t * values[cell, 1, column]
    there: float = (3.0 - 2.0 * t) * values[cell + 1, 0, column] - r * values[cell + 1, 1, column]
    return r * r * here + t * t * there


@inline_kernel
def _sheet(values: Array, position: float, u: float) -> float:
    """Hermite along the first coordinate of polynomials in u; NaN off the axis or where u is not in 0 to 1."""
    last = values.shape[0] - 1
    if not (-_SLACK <= position <= last + _SLACK and -_SLACK <= u <= 1.0 + _SLACK):
        return nan
    cell = min(max(int(position), 0), last - 1)
    t = position - cell
    r = 1.0 - t
    here, slope_here = r * r * (1.0 + 2.0 * t), r * r * t
    there, slope_there = t * t * (3.0 - 2.0 * t), -t * t * r
    total = 0.0
    for power in range(values.shape[2] - 1, -1, -1):
        total = total * u + (
            here * values[cell, 0, power]
            + slope_here * values[cell, 1, power]
            + there * values[cell + 1, 0, power]
            + slope_there * values[cell + 1, 1, power]
        )
    return total


@inline_kernel
def _node(table: RefrigerantTable, temperature_c: float) -> float:
    return (temperature_c - table.temperature_low_c) / table.temperature_step_k


@inline_kernel
def _pressure_node(table: RefrigerantTable, pressure_pa: float) -> float:
    return (log(pressure_pa) - table.log_pressure_low) / table.log_pressure_step if pressure_pa > 0.0 else nan


@kernel
def bubble_pressure_pa(table: RefrigerantTable, temperature_c: float) -> float:
    """Pressure at which liquid of this temperature starts to boil, Pa."""
    return exp(_along(table.by_temperature, BUBBLE_LOG_PRESSURE, _node(table, temperature_c)))


@kernel
def dew_pressure_pa(table: RefrigerantTable, temperature_c: float) -> float:
    """Pressure at which vapour of this temperature starts to condense, Pa."""
    return exp(_along(table.by_temperature, DEW_LOG_PRESSURE, _node(table, temperature_c)))


@kernel
def bubble_temperature_c(table: RefrigerantTable, pressure_pa: float) -> float:
    """Temperature at which liquid starts to boil, degC."""
    return _along(table.by_log_pressure, BUBBLE_TEMPERATURE, _pressure_node(table, pressure_pa))


@kernel
def dew_temperature_c(table: RefrigerantTable, pressure_pa: float) -> float:
    """Temperature at which vapour starts to condense, degC."""
    return _along(table.by_log_pressure, DEW_TEMPERATURE, _pressure_node(table, pressure_pa))


@kernel
def vapour_enthalpy_j_kg(table: RefrigerantTable, dew_c: float, superheat_k: float) -> float:
    """Enthalpy of vapour `superheat_k` above its dew point, J/kg."""
    node = _node(table, dew_c)
    return _along(table.by_temperature, VAPOUR_ENTHALPY, node) + _sheet(
        table.superheated_enthalpy, node, superheat_k / SUPERHEAT_REACH_K
    )


@kernel
def vapour_density_kg_m3(table: RefrigerantTable, dew_c: float, superheat_k: float) -> float:
    """Density of vapour `superheat_k` above its dew point, as at the compressor's suction, kg/m3."""
    node = _node(table, dew_c)
    return exp(
        _along(table.by_temperature, VAPOUR_LOG_DENSITY, node)
        + _sheet(table.superheated_density, node, superheat_k / SUPERHEAT_REACH_K)
    )


@kernel
def saturated_liquid_enthalpy_j_kg(table: RefrigerantTable, bubble_c: float) -> float:
    """Enthalpy of liquid at its bubble point, J/kg."""
    return _along(table.by_temperature, LIQUID_ENTHALPY, _node(table, bubble_c))


@kernel
def saturated_liquid_density_kg_m3(table: RefrigerantTable, bubble_c: float) -> float:
    """Density of liquid at its bubble point, kg/m3; liquid subcooled to this temperature is a few parts in a thousand denser."""
    return exp(_along(table.by_temperature, LIQUID_LOG_DENSITY, _node(table, bubble_c)))


@kernel
def liquid_enthalpy_j_kg(table: RefrigerantTable, bubble_c: float, subcooling_k: float) -> float:
    """Enthalpy of liquid `subcooling_k` below its bubble point at the same pressure, J/kg."""
    node = _node(table, bubble_c)
    return _along(table.by_temperature, LIQUID_ENTHALPY, node) + _sheet(
        table.subcooled_enthalpy, node - table.subcooled_first, subcooling_k / SUBCOOLING_REACH_K
    )


@kernel
def refrigerating_effect_j_kg(
    table: RefrigerantTable, suction_dew_c: float, superheat_k: float, condensing_bubble_c: float, subcooling_k: float
) -> float:
    """Heat a kilogram takes up in the evaporator, from subcooled liquid to superheated vapour, J/kg."""
    return vapour_enthalpy_j_kg(table, suction_dew_c, superheat_k) - liquid_enthalpy_j_kg(
        table, condensing_bubble_c, subcooling_k
    )


@kernel
def boiling_temperature_c(table: RefrigerantTable, pressure_pa: float, quality: float) -> float:
    """Temperature where the share `quality` of the mass is vapour, degC: bubble point at 0, dew point at 1."""
    bubble_c, dew_c = bubble_temperature_c(table, pressure_pa), dew_temperature_c(table, pressure_pa)
    return bubble_c + (dew_c - bubble_c) * _sheet(table.glide_share, _node(table, bubble_c), quality)


@kernel
def boiling_enthalpy_j_kg(table: RefrigerantTable, pressure_pa: float, quality: float) -> float:
    """Enthalpy where the share `quality` of the mass is vapour, J/kg."""
    bubble_c, dew_c = bubble_temperature_c(table, pressure_pa), dew_temperature_c(table, pressure_pa)
    liquid = saturated_liquid_enthalpy_j_kg(table, bubble_c)
    vapour = _along(table.by_temperature, VAPOUR_ENTHALPY, _node(table, dew_c))
    return liquid + (vapour - liquid) * _sheet(table.enthalpy_share, _node(table, bubble_c), quality)


@kernel
def quality_from_enthalpy(table: RefrigerantTable, pressure_pa: float, enthalpy_j_kg: float) -> float:
    """Share of vapour by mass at a pressure and enthalpy; NaN where the refrigerant is all liquid or all vapour."""
    bubble_c, dew_c = bubble_temperature_c(table, pressure_pa), dew_temperature_c(table, pressure_pa)
    liquid = saturated_liquid_enthalpy_j_kg(table, bubble_c)
    vapour = _along(table.by_temperature, VAPOUR_ENTHALPY, _node(table, dew_c))
    share, node = (enthalpy_j_kg - liquid) / (vapour - liquid), _node(table, bubble_c)
    if not (0.0 <= share <= 1.0):
        return nan
    # the share of the latent heat differs from the quality by 0.01 and rises almost as it does: each round gains a digit or more
    quality = share
    for _ in range(_QUALITY_ITERATIONS):
        correction = share - _sheet(table.enthalpy_share, node, quality)
        if abs(correction) < 1e-12:
            return quality
        quality = min(max(quality + correction, 0.0), 1.0)
    return nan


@kernel
def coil_inlet_temperature_c(table: RefrigerantTable, inlet_pressure_pa: float, liquid_enthalpy_j_kg: float) -> float:
    """Temperature behind the metering device, degC: liquid of this enthalpy flashed at the pressure of the coil's inlet.

    The coldest place of a coil fed with a blend with glide. The inlet's pressure is the suction pressure and the drop through the
    circuit. NaN where the liquid does not flash.
    """
    return boiling_temperature_c(
        table, inlet_pressure_pa, quality_from_enthalpy(table, inlet_pressure_pa, liquid_enthalpy_j_kg)
    )
