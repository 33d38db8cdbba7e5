"""The columns that describe a cooling unit."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

UnitRow = NDArray[np.float64]

#: One row of floats for one unit. Rated means 80 F return dry bulb, 67 F wet bulb, 95 F outdoors, sea level, rated airflow.
#:   gross_capacity_w     total cooling before blower heat, W
#:   compressor_power_w   compressor and outdoor fan, W
#:   coil_td_k            return dry bulb less saturated suction, K; 15 to 20 (27 to 36 F)
#:   sensible_heat_ratio  sensible part of the gross capacity; 0.65 to 0.85
#:   air_exponent         x where the coil's air-side conductance goes as airflow^x; 0.0 to 0.8
#:   rated_flow_kg_s      dry air, kg/s
#:   metering_device      0 expansion valve, 1 fixed orifice
UNIT_FIELDS: Final = (
    "gross_capacity_w",
    "compressor_power_w",
    "coil_td_k",
    "sensible_heat_ratio",
    "air_exponent",
    "rated_flow_kg_s",
    "metering_device",
)
