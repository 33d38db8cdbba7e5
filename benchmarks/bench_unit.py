"""How many fits, balances and season steps of the cooling unit a core does in a second."""

import time
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import root

from airtrim.core.kernels import fused_kernel, kernel
from airtrim.physics.coil.wet import bypass_factor
from airtrim.physics.unit.balance import loop_residuals
from airtrim.physics.unit.closure import UNITS, closure
from airtrim.physics.unit.fields import complete_rows
from airtrim.physics.unit.fit import bypass_constants, fit_surfaces
from airtrim.physics.unit.steady import steady_state
from airtrim.physics.unit.surface import split_sensible, surface_state

Array = NDArray[np.float64]
VALVE, ORIFICE = complete_rows(
    np.array([[10200.0, 2650.0, 17.5, 0.75, 0.5, 0.68, 0.0], [10200.0, 2650.0, 17.5, 0.75, 0.5, 0.68, 1.0]])
)


@fused_kernel
def lookups(row: Array, return_c: Array, wet_bulb_c: Array, outdoor_c: Array, log_flow: Array) -> float:
    """Many states of one unit: the compiler puts them into lanes."""
    total_of_all = 0.0
    for k in range(return_c.shape[0]):
        total, power, suction = surface_state(row, return_c[k], wet_bulb_c[k], outdoor_c[k], log_flow[k])
        total_of_all += total + power + suction
    return total_of_all


@kernel
def season_steps(row: Array, bypass: float, count: int) -> float:
    """One after the other, as a season's steps follow each other, with the split into sensible and latent."""
    total_of_all = 0.0
    for k in range(count):
        flow = 0.5 + 0.3 * (k % 7) / 7.0
        return_c = 24.0 + (k % 5)
        total, power, suction = surface_state(row, return_c, 17.0 + (k % 3), 30.0 + (k % 11), np.log(flow))
        sensible, surface = split_sensible(total, return_c, 0.010, 0.68 * flow, bypass, 0.5, 0.68, 101325.0)
        total_of_all += sensible + surface + power + suction
    return total_of_all


@kernel
def balances(unit: Array, count: int) -> float:
    total_of_all = 0.0
    for k in range(count):
        total_of_all += steady_state(24.0 + k % 5, 0.010, 30.0 + k % 11, 0.5, 101325.0, unit)[0]
    return total_of_all


def scipy_balances(unit: Array, count: int) -> None:
    """The same states by scipy on the same compiled residuals, from a start as far off as ours."""
    closed = closure(unit)
    touched = 0.5 * (1.0 - bypass_factor(0.5, unit[5], closed[UNITS], unit[4]))
    for k in range(count):
        air = np.array([24.0 + k % 5, 0.010, 30.0 + k % 11, touched, 101325.0])
        root(loop_residuals, np.array([12.0, 8.0, 46.0, 5.5]), args=(air, closed, unit), tol=1e-10)


def _best(call: Any, rounds: int = 5) -> float:
    best = np.inf
    for _ in range(rounds):
        start = time.perf_counter()
        call()
        best = min(best, time.perf_counter() - start)
    return best


def run() -> list[dict[str, Any]]:
    """Best of five of each, per second."""
    units = np.tile(np.stack([VALVE, ORIFICE]), (16, 1))
    surfaces, bypass = fit_surfaces(ORIFICE, 101325.0)[0], float(bypass_constants(ORIFICE, 101325.0)[0])
    generator = np.random.default_rng(1)
    states = [generator.uniform(low, high, 4000) for low, high in ((22, 27), (14, 20), (20, 38), (-0.8, 0.2))]
    season_steps(surfaces, bypass, 1)
    lookups(surfaces, *states)
    entries: list[dict[str, Any]] = []

    def add(name: str, value: float, against: str | None = None, ratio: float | None = None) -> None:
        entries.append(
            {"bench": name, "value": value, "unit": "1/s", "better": "higher", "against": against, "ratio": ratio}
        )

    add("surface_fit", 32 / _best(lambda: fit_surfaces(units, 101325.0), 3))
    for name, unit in (("loop_solve", VALVE), ("loop_solve_orifice", ORIFICE)):
        balances(unit, 1)
        scipy_balances(unit, 1)
        ours, theirs = (
            20_000 / _best(lambda unit=unit: balances(unit, 20_000)),
            200 / _best(lambda unit=unit: scipy_balances(unit, 200), 3),
        )
        add(name, ours, "scipy.optimize.root", ours / theirs)
    add("surface_lookup", 100 * 4000 / _best(lambda: [lookups(surfaces, *states) for _ in range(100)]))
    add("surface_step", 1_000_000 / _best(lambda: season_steps(surfaces, bypass, 1_000_000)))
    return entries
