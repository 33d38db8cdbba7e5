"""How many fits, balances and season steps of the cooling unit a core does in a second."""

import time
from typing import Any

import numpy as np
from numpy.typing import NDArray

from airtrim.core.kernels import kernel
from airtrim.physics.unit.fields import complete_rows
from airtrim.physics.unit.fit import bypass_constants, fit_surfaces
from airtrim.physics.unit.steady import steady_state
from airtrim.physics.unit.surface import split_sensible, surface_state

UNIT = complete_rows(np.array([10200.0, 2650.0, 17.5, 0.75, 0.5, 0.68, 0.0]))[0]


@kernel
def season_steps(row: NDArray[np.float64], bypass: float, count: int) -> float:
    total_of_all = 0.0
    for k in range(count):
        flow = 0.5 + 0.3 * (k % 7) / 7.0
        return_c = 24.0 + (k % 5)
        total, power, suction = surface_state(row, return_c, 17.0 + (k % 3), 30.0 + (k % 11), np.log(flow))
        sensible, surface = split_sensible(total, return_c, 0.010, 0.68 * flow, bypass, 0.5, 0.68, 101325.0)
        total_of_all += sensible + surface + power + suction
    return total_of_all


@kernel
def balances(unit: NDArray[np.float64], count: int) -> float:
    total_of_all = 0.0
    for k in range(count):
        total_of_all += steady_state(24.0 + k % 5, 0.010, 30.0 + k % 11, 0.5, 101325.0, unit)[0]
    return total_of_all


def run() -> list[dict[str, Any]]:
    """Best of five of each, per second."""
    units = np.tile(UNIT, (32, 1))
    surfaces, bypass = fit_surfaces(UNIT, 101325.0)[0], float(bypass_constants(UNIT, 101325.0)[0])
    season_steps(surfaces, bypass, 1)
    balances(UNIT, 1)
    entries: list[dict[str, Any]] = []
    for name, count, call in (
        ("surface_fit", 32, lambda: fit_surfaces(units, 101325.0)),
        ("loop_solve", 20_000, lambda: balances(UNIT, 20_000)),
        ("surface_lookup", 1_000_000, lambda: season_steps(surfaces, bypass, 1_000_000)),
    ):
        best = np.inf
        for _ in range(5):
            start = time.perf_counter()
            call()
            best = min(best, time.perf_counter() - start)
        entries.append(
            {"bench": name, "value": count / best, "unit": "1/s", "better": "higher", "against": None, "ratio": None}
        )
    return entries
