"""How many dew points of R-410A a core looks up in a second, against CoolProp's equation of state for the same pressures.

CoolProp is asked in its quickest public way that takes names, PropsSI with a whole array, and through its low-level state,
which is spared the names. Sides alternate and the ratio is the median of the rounds', so that a busy machine slows both.
"""

import time
from statistics import median
from typing import Any

import numpy as np
from numpy.typing import NDArray

from airtrim.core.kernels import kernel
from airtrim.physics.refrigerant.saturation import dew_temperature_c
from airtrim.physics.refrigerant.table import RefrigerantTable
from airtrim.tables import refrigerant

LOOKUPS, ASKED, ROUNDS = 1_000_000, 500, 7


@kernel
def lookups(table: RefrigerantTable, pressures_pa: NDArray[np.float64], found_c: NDArray[np.float64]) -> None:
    for k in range(pressures_pa.size):
        found_c[k] = dew_temperature_c(table, pressures_pa[k])


def _seconds(call: Any) -> float:
    start = time.perf_counter()
    call()
    return time.perf_counter() - start


def run() -> list[dict[str, Any]]:
    """Lookups a second, best of the rounds, and the two ratios."""
    import CoolProp
    from CoolProp.CoolProp import PropsSI

    table = refrigerant("R-410A").table
    pressures = np.random.default_rng(5).uniform(0.4e6, 3.6e6, LOOKUPS)
    found, few = np.empty(LOOKUPS), pressures[:ASKED]
    state = CoolProp.AbstractState("HEOS", "R410A")

    def low_level() -> list[float]:
        answers = []
        for pressure in few:
            state.update(CoolProp.PQ_INPUTS, pressure, 1.0)
            answers.append(state.T() - 273.15)
        return answers

    lookups(table, pressures, found)
    # the two must answer the same question, or the ratio says nothing
    worst = np.max(np.abs(PropsSI("T", "P", few, "Q", 1.0, "R410A") - 273.15 - found[:ASKED]))
    assert worst < 0.001 and np.max(np.abs(np.array(low_level()) - found[:ASKED])) < 0.001
    ours, named, bare = [], [], []
    for _ in range(ROUNDS):
        ours.append(_seconds(lambda: lookups(table, pressures, found)) / LOOKUPS)
        named.append(_seconds(lambda: PropsSI("T", "P", few, "Q", 1.0, "R410A")) / ASKED)
        bare.append(_seconds(low_level) / ASKED)
    return [
        {
            "bench": name,
            "value": 1.0 / min(ours),
            "unit": "1/s",
            "better": "higher",
            "against": against,
            "ratio": median(other / own for other, own in zip(theirs, ours, strict=True)),
        }
        for name, against, theirs in (
            ("saturation_lookup", "CoolProp PropsSI", named),
            ("saturation_lookup_state", "CoolProp AbstractState", bare),
        )
    ]
