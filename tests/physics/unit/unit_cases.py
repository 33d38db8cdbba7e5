"""Cooling units that the tests of this folder share."""

import numpy as np
from numpy.typing import NDArray

from airtrim.physics.unit.steady import EXPANSION_VALVE, FIXED_ORIFICE

#: 3 tons, 2.6 kW, 31.5 F coil difference, 400 cfm a ton: the middle of the priors (common-practice).
MIDDLE = np.array([10200.0, 2650.0, 17.5, 0.75, 0.5, 0.68, EXPANSION_VALVE])
#: The same with a fixed orifice.
MIDDLE_ORIFICE = np.array([10200.0, 2650.0, 17.5, 0.75, 0.5, 0.68, FIXED_ORIFICE])


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
    return np.stack(columns, axis=1)
