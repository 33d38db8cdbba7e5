"""How many operating points of a PSC blower a core finds in a second, against scipy.optimize on the same compiled residual.

The points differ in frequency, volts, tap, filter and coil. scipy's `brentq` gets the residual that the solver itself uses,
compiled, and a bracket; `newton` the residual with its slope and the start of the solver. Sides alternate and the ratio is the
median of the rounds', so that a busy machine slows both.
"""

import time
from statistics import median
from typing import Any

import numpy as np
from numpy.typing import NDArray

from airtrim.core.kernels import kernel
from airtrim.physics.blower.balance import flow_ratio_at_speed, psc_balance, psc_excess
from airtrim.physics.blower.circuit import Circuit, Supply, supplied_state
from airtrim.physics.blower.motor import default_motor
from airtrim.physics.blower.path import Path, Resistance
from airtrim.physics.blower.wheel import Wheel, generic_wheel

POINTS, ASKED, ROUNDS = 100_000, 1_000, 7
MOTOR = default_motor(0.5)
WHEEL = generic_wheel(0.6, 280.0, 1075.0, 3.1)
PATH = Path(150.0 / 0.6**1.9, 55.0 / 0.6**1.4, 75.0 / 0.6**1.65)
POLES, DRAG = 6.0, MOTOR.drag(1075.0)


@kernel
def points(
    given: NDArray[np.float64], circuit: Circuit, wheel: Wheel, path: Path, drag: float, found: NDArray[np.float64]
) -> None:
    """Airflow, rpm and watts of each row of hertz, volts, tap factor, filter load, coil factor."""
    for k in range(given.shape[0]):
        supply = Supply(given[k, 1], given[k, 0], given[k, 2])
        point = psc_balance(6.0, drag, supply, circuit, wheel, path, Resistance(given[k, 3], given[k, 4], 0.0))
        found[k, 0] = point.airflow
        found[k, 1] = point.speed_rpm
        found[k, 2] = supplied_state(point.speed_rpm, 6.0, supply, circuit).watts


def _seconds(call: Any) -> float:
    start = time.perf_counter()
    call()
    return time.perf_counter() - start


def run() -> list[dict[str, Any]]:
    """Points a second with their watts, best of the rounds, and the two ratios."""
    from scipy.optimize import brentq, newton

    rng = np.random.default_rng(7)
    hertz = rng.uniform(25.0, 60.0, POINTS)
    volts = 230.0 * hertz / 60.0 * rng.uniform(0.85, 1.05, POINTS)
    given = np.stack(
        [hertz, volts, rng.uniform(1.0, 2.0, POINTS), rng.uniform(0.8, 3.0, POINTS), rng.uniform(0.77, 1.5, POINTS)],
        axis=1,
    )
    found = np.empty((POINTS, 3))
    circuit = MOTOR.circuit
    few = [
        (Supply(float(v), float(h), float(k)), Resistance(float(load), float(coil), 0.0))
        for h, v, k, load, coil in given[:ASKED]
    ]

    def excess(q: float, supply: Supply, now: Resistance) -> float:
        return float(psc_excess(q, POLES, DRAG, supply, circuit, WHEEL, PATH, now)[0])

    def slope(q: float, supply: Supply, now: Resistance) -> float:
        return float(psc_excess(q, POLES, DRAG, supply, circuit, WHEEL, PATH, now)[1])

    def start(supply: Supply, now: Resistance) -> float:
        return float(flow_ratio_at_speed(120.0 * supply.hertz / POLES / WHEEL.speed_rpm, WHEEL, PATH, now))

    def bracketed() -> list[float]:
        return [brentq(excess, 0.02, start(*one), args=one, xtol=1e-12, rtol=1e-12) for one in few]

    def sloped() -> list[float]:
        return [newton(excess, start(*one), slope, args=one, tol=1e-12) for one in few]

    points(given[:2], circuit, WHEEL, PATH, DRAG, found[:2])
    points(given, circuit, WHEEL, PATH, DRAG, found)
    # the sides must answer the same question to 1e-6, or the ratio says nothing
    for theirs in (bracketed(), sloped()):
        worst = float(np.max(np.abs(np.array(theirs) * WHEEL.airflow / found[:ASKED, 0] - 1.0)))
        assert worst < 1e-6 and np.all(np.isfinite(found)), worst
    ours, bracket, tangent = [], [], []
    for _ in range(ROUNDS):
        ours.append(_seconds(lambda: points(given, circuit, WHEEL, PATH, DRAG, found)) / POINTS)
        bracket.append(_seconds(bracketed) / ASKED)
        tangent.append(_seconds(sloped) / ASKED)
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
            ("blower_point", "scipy brentq", bracket),
            ("blower_point_newton", "scipy newton", tangent),
        )
    ]
