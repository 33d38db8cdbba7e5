"""Cooling units that the tests of this folder share."""

import numpy as np
from numpy.typing import NDArray

from airtrim.physics.unit.fields import EXPANSION_VALVE, FIXED_ORIFICE, complete_rows, unit_rows

#: 3 tons, 2.6 kW, 31.5 F coil difference, 400 cfm a ton: the middle of the priors (common-practice).
MIDDLE = complete_rows(np.array([10200.0, 2650.0, 17.5, 0.75, 0.5, 0.68, EXPANSION_VALVE]))[0]
#: The same with a fixed orifice.
MIDDLE_ORIFICE = complete_rows(np.array([10200.0, 2650.0, 17.5, 0.75, 0.5, 0.68, FIXED_ORIFICE]))[0]


def many_units(count: int, seed: int = 5) -> NDArray[np.float64]:
    """Units over the priors: 1.5 to 5 tons, coil difference 27 to 36 F, sensible ratio 0.70 to 0.80, either metering."""
    generator = np.random.default_rng(seed)
    capacity = generator.uniform(5000.0, 17000.0, count)
    columns = [
        capacity,
        capacity / generator.uniform(3.0, 4.5, count),
        generator.uniform(15.0, 20.0, count),
        generator.uniform(0.70, 0.80, count),
        generator.uniform(0.3, 0.8, count),
        capacity * generator.uniform(6.0e-5, 7.5e-5, count),
        np.arange(count) % 2 * FIXED_ORIFICE,
    ]
    return complete_rows(np.stack(columns, axis=1))


def faulty_units(count: int, seed: int = 3) -> NDArray[np.float64]:
    """Units with every refrigerant, dirt, wrong charge, other coils, circuits with drop and uneven; either metering in turn."""
    g = np.random.default_rng(seed)
    capacity = g.uniform(5000.0, 17000.0, count)
    return unit_rows(
        gross_capacity_w=capacity,
        compressor_power_w=capacity / g.uniform(3.0, 4.5, count),
        coil_td_k=g.uniform(15.0, 20.0, count),
        sensible_heat_ratio=g.uniform(0.72, 0.80, count),
        air_exponent=g.uniform(0.3, 0.8, count),
        rated_flow_kg_s=capacity * g.uniform(6.3e-5, 7.5e-5, count),
        metering_device=np.arange(count) % 2,
        refrigerant=np.arange(count) % 6,
        circuit_drop_k=g.uniform(0.0, 2.5, count),
        uneven_circuits=g.uniform(0.0, 0.3, count),
        charge=g.uniform(0.85, 1.10, count),
        condenser_clean=g.uniform(0.7, 1.0, count),
        coil_clean=g.uniform(0.7, 1.0, count),
        coil_scale=g.uniform(0.9, 1.3, count),
    )
