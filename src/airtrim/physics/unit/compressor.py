"""The compressor: a map in the ten-coefficient form of AHRI 540, or a physical one; both before scaling to a unit.

    physical   flow = density x volumetric efficiency, power = isentropic work x flow / efficiency

Both efficiencies are functions of the pressure ratio alone, and only their shape counts, the rating scales them.

A scroll's were read off the example map (physics/data/ahri540_example): with the isentropic work of the refrigerant the map falls
onto one curve, flow within 3 % and power within 6 % for ratios of 1.3 to 7 [own-derivation]. A scroll's built-in volume ratio
makes such a curve, whatever the refrigerant.

A reciprocating one loses flow to the gas that expands again from its clearance, 1 - c (ratio^(1/k) - 1), with 5 % clearance, and
what it gives the gas is a set part of the isentropic work whatever the ratio [from-memory, the textbook form]. Beside that it takes
what does not follow the gas, friction and the motor's standing losses: a mean effective pressure over the swept volume. So its
power falls when suction gets colder, where a scroll's does not, but less than the gas's own work does.

Range: saturated suction -28 to 25 degC, condensing dew point to 65.5 degC (-18 and 150 F), pressure ratio 1.1 to 9.
"""

from math import exp, log

import numpy as np
from numpy.typing import NDArray

from airtrim.core.kernels import inline_kernel, kernel
from airtrim.physics.data.ahri540_example import MASS_FLOW_LB_H, POWER_W
from airtrim.physics.unit.fields import BY_MAP, RECIPROCATING
from airtrim.physics.unit.properties import (
    compression_work_j_kg_density,
    log_dew_pressure,
    suction_density_kg_m3,
    thinning,
)

LB_H = 0.45359237 / 3600.0
#: Superheat a map's flow is taken to be rated at, K (10 F).
MAP_SUPERHEAT_K = 10.0 / 1.8
#: Mass flow follows the suction density by this part [from-memory, Dabiri and Rice 1981].
_DENSITY_PART = 0.75
#: Liquid that comes back takes this part of the vapour's volume away for each kelvin of "negative superheat".
WETNESS_PER_K = 1.0 / 40.0
#: Clearance of a reciprocating compressor, exponent of the gas that expands from it, and its efficiency, which the rating scales.
_CLEARANCE, _RE_EXPANSION, _RECIPROCATING_EFFICIENCY = 0.05, 1.0 / 1.15, 0.6
#: Friction and standing losses of a reciprocating compressor over its swept volume, Pa: the least squares of the eight states of
#: [nrel30152], whose compressor power it brings from 2.5 to 1.4 % of root mean square; 14 to 16 % of an R-22 compressor's power,
#: where a mechanical efficiency of 0.90 to 0.95 and a motor's no-load loss of 4 to 8 % make 9 to 17 % [from-memory].
_FRICTION_PA = 200e3
_EXAMPLE = np.array([*MASS_FLOW_LB_H, *POWER_W])


@inline_kernel
def ten_coefficients(c: NDArray[np.float64], at: int, suction_f: float, discharge_f: float) -> float:
    """X = C1 + C2 S + C3 D + C4 S^2 + C5 S D + C6 D^2 + C7 S^3 + C8 D S^2 + C9 S D^2 + C10 D^3, dew points in F."""
    s, d = suction_f, discharge_f
    found: float = (
        c[at]
        + s * (c[at + 1] + s * (c[at + 3] + s * c[at + 6]))
        + d * (c[at + 2] + s * (c[at + 4] + s * c[at + 7]) + d * (c[at + 5] + s * c[at + 8] + d * c[at + 9]))
    )
    return found


@inline_kernel
def volumetric_efficiency(pressure_ratio: float) -> float:
    """Over that at a ratio of 1."""
    excess = pressure_ratio - 1.0
    return 1.0 - excess * (0.0140 + 0.0059 * excess)


@inline_kernel
def isentropic_efficiency(pressure_ratio: float) -> float:
    """Isentropic work over electric power."""
    x = log(pressure_ratio)
    return 0.1244 + x * (1.3758 + x * (-0.9970 + x * 0.1810))


@inline_kernel
def flow_and_power(
    kind: float, coefficients: NDArray[np.float64], at: int, code: int, suction_c: float, condensing_c: float
) -> tuple[float, float]:
    """Flow at `MAP_SUPERHEAT_K`, kg/s, and power, W, of the unscaled compressor (the physical one for 1 m3/s swept)."""
    if kind == BY_MAP:
        s, d = 1.8 * suction_c + 32.0, 1.8 * condensing_c + 32.0
        return ten_coefficients(coefficients, at, s, d) * LB_H, ten_coefficients(coefficients, at + 10, s, d)
    ratio = exp(log_dew_pressure(code, condensing_c) - log_dew_pressure(code, suction_c))
    part, efficiency = volumetric_efficiency(ratio), isentropic_efficiency(ratio)
    if kind == RECIPROCATING:
        part, efficiency = 1.0 - _CLEARANCE * (exp(_RE_EXPANSION * log(ratio)) - 1.0), _RECIPROCATING_EFFICIENCY
    work = compression_work_j_kg_density(code, suction_c, condensing_c)
    power = part * work / efficiency
    if kind == RECIPROCATING:
        power += _FRICTION_PA
    return part * suction_density_kg_m3(code, suction_c, MAP_SUPERHEAT_K), power


@inline_kernel
def suction_flow_part(code: int, suction_c: float, gas_k: float, liquid_k: float) -> float:
    """Flow over that at the map's superheat: denser gas, more flow."""
    density = exp(thinning(code, suction_c, gas_k) - thinning(code, suction_c, MAP_SUPERHEAT_K))
    return 1.0 + _DENSITY_PART * (density / (1.0 - WETNESS_PER_K * liquid_k) - 1.0)


@kernel
def map_mass_flow_kg_s(suction_c: float, condensing_c: float) -> float:
    """Refrigerant flow of the unscaled example map, kg/s."""
    return ten_coefficients(_EXAMPLE, 0, 1.8 * suction_c + 32.0, 1.8 * condensing_c + 32.0) * LB_H


@kernel
def map_power_w(suction_c: float, condensing_c: float) -> float:
    """Power of the unscaled example map, W."""
    return ten_coefficients(_EXAMPLE, 10, 1.8 * suction_c + 32.0, 1.8 * condensing_c + 32.0)
