"""How much colder than saturated suction the coldest circuit of a coil boils, from the loop in balance."""

import numpy as np
from numpy.typing import NDArray

from airtrim.core.kernels import kernel
from airtrim.physics.unit.closure import closure
from airtrim.physics.unit.fields import complete_rows
from airtrim.physics.unit.steady import full_state

Array = NDArray[np.float64]


@kernel
def _below_suction(
    rows: Array, return_c: float, humidity_ratio: float, outdoor_c: float, flow_kg_s: Array, pressure_pa: float
) -> Array:
    found = np.empty(rows.shape[0])
    for n in range(rows.shape[0]):
        state, _, _ = full_state(
            return_c, humidity_ratio, outdoor_c, flow_kg_s[n], pressure_pa, rows[n], closure(rows[n])
        )
        found[n] = state[3] - min(state[9], state[3]) if state[9] == state[9] else state[9]
    return found


def coldest_below_suction_k(
    units: Array, return_c: float, humidity_ratio: float, outdoor_c: float, flow_kg_s: Array, pressure_pa: float
) -> Array:
    """Saturated suction less the coldest boiling temperature of the circuit with least air and flow, K, `[N]`, 0 or above.

    `units` are rows of UNIT_FIELDS, flows kg/s of dry air, one a unit. Saturation falls along a circuit by its pressure drop, so
    that a pure refrigerant is coldest where it has boiled dry, at saturated suction itself: 0. A blend begins to boil below its dew
    point, by its glide less what the drop keeps the inlet above suction; the worst of uneven circuits has the smaller drop and the
    colder inlet. NaN where a unit has no balance at this state.
    """
    return _below_suction(complete_rows(units), return_c, humidity_ratio, outdoor_c, flow_kg_s, pressure_pa)
