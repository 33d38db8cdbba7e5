"""What a refrigerant is to physics: a frozen struct of arrays, handed in from above (`airtrim.tables`).

Two evenly spaced axes carry everything. Along the temperature axis (bubble or dew, whichever side is meant) and along the axis
of ln(pressure) each quantity is a cubic through values and slopes (Hermite), the slope already times the axis' step. A *sheet*
adds a second coordinate u in 0 to 1 as a polynomial, lowest power first: superheat, subcooling, quality. Arrays are
(node, value or slope, column) and (node, value or slope, power).

Enthalpy is counted from 200 kJ/kg in liquid at its bubble point at 0 degC.
"""

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

#: Greatest superheat and subcooling the sheets reach, K (72 F and 54 F).
SUPERHEAT_REACH_K: Final = 40.0
SUBCOOLING_REACH_K: Final = 30.0

#: Columns of `by_temperature`; densities in kg/m3, enthalpies in J/kg, pressures in Pa.
BUBBLE_LOG_PRESSURE, DEW_LOG_PRESSURE, LIQUID_ENTHALPY, VAPOUR_ENTHALPY, LIQUID_LOG_DENSITY, VAPOUR_LOG_DENSITY = range(
    6
)
#: Columns of `by_log_pressure`, degC.
BUBBLE_TEMPERATURE, DEW_TEMPERATURE = range(2)


class RefrigerantTable(NamedTuple):
    """The arrays of one refrigerant, as kernels read them.

    temperature_low_c, temperature_step_k    the temperature axis, both sides of every pressure on the other axis
    log_pressure_low, log_pressure_step      the axis of ln(Pa)
    by_temperature       (n, 2, 6) the columns named above
    by_log_pressure      (m, 2, 2) bubble and dew temperature
    superheated_enthalpy (n, 2, d) enthalpy less saturated vapour's, J/kg, over dew temperature and superheat
    superheated_density  (n, 2, d) ln(density) less saturated vapour's, likewise
    subcooled_enthalpy   (k, 2, d) enthalpy less saturated liquid's, J/kg, over bubble temperature and subcooling
    subcooled_first      node of the temperature axis where that sheet begins: colder liquid is off the axis
    glide_share          (j, 2, d) share of the glide passed, over the bubble temperature of the pressure (to 30 degC, an
                         evaporator's) and quality
    enthalpy_share       (j, 2, d) share of the latent heat taken up, likewise
    """

    temperature_low_c: float
    temperature_step_k: float
    log_pressure_low: float
    log_pressure_step: float
    by_temperature: Array
    by_log_pressure: Array
    superheated_enthalpy: Array
    superheated_density: Array
    subcooled_enthalpy: Array
    subcooled_first: float
    glide_share: Array
    enthalpy_share: Array


class Refrigerant(NamedTuple):
    """A refrigerant by its trade name, with its arrays and where they came from."""

    name: str
    table: RefrigerantTable
    origin: str
