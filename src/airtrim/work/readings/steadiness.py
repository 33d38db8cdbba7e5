"""Whether the system has settled, and what it will settle at: y = end + fall exp(-t / time constant), fitted to timed readings.

The time constant is not fitted to a point but weighed over 1 to 15 minutes (even in its logarithm), so that two readings give a
wide end and ten a narrow one. Systems are taken to be read after 15 minutes with a wet coil [title24ra3].
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from airtrim.job.model import Readings
from airtrim.work.figure import Figure
from airtrim.work.readings.point import Point, amount, message

Array = NDArray[np.float64]
#: Time constants weighed, s; the noise of one instrument from minute to minute, and what may still move: both K.
TIME_CONSTANTS = np.geomspace(60.0, 900.0, 61)
NOISE_K, MAY_STILL_MOVE_K = 0.15, 0.5
#: How far from its end a value is when first read, K, one sigma, before anything is known [judgement].
PRIOR_FALL_K = 5.0
SETTLED_S = 900.0
WATCHED = ("supply_dry_bulb", "return_dry_bulb", "saturated_suction", "superheat")


@dataclass(frozen=True)
class Settling:
    """`end`, `low` and `high` of what it settles at (90 %), the last reading, and the time constant, s."""

    end: float
    low: float
    high: float
    last: float
    time_constant_s: float

    @property
    def settled(self) -> bool:
        """Nothing it may settle at lies farther from the last reading than may still move."""
        return max(self.high - self.last, self.last - self.low) <= MAY_STILL_MOVE_K

    @property
    def moving(self) -> bool:
        """All it may settle at lies farther."""
        return self.low - self.last > MAY_STILL_MOVE_K or self.last - self.high > MAY_STILL_MOVE_K


def settling(seconds: Array, values: Array, noise: float = NOISE_K) -> Settling | None:
    """Fit two or more readings in the order of time; None where fewer, or where values or times are not finite."""
    if len(seconds) < 2 or not (np.isfinite(seconds).all() and np.isfinite(values).all()):
        return None
    since = seconds - seconds[0]
    ends, spreads, scores = [], [], []
    for constant in TIME_CONSTANTS:
        shape = np.stack([np.ones_like(since), np.exp(-since / constant)], axis=1)
        covariance = np.linalg.inv(shape.T @ shape / noise**2 + np.diag([1e-8, 1.0 / PRIOR_FALL_K**2]))
        offset = values - values[-1]
        found = covariance @ (shape.T @ offset) / noise**2
        off = offset - shape @ found
        misfit = float(off @ off) / noise**2 + float(found[1] / PRIOR_FALL_K) ** 2
        ends.append(float(found[0]))
        spreads.append(float(covariance[0, 0]))
        # evidence of this time constant: its fit, and how much of the prior's room it uses
        scores.append(-0.5 * misfit + 0.5 * float(np.linalg.slogdet(covariance)[1]))
    weight = np.exp(np.array(scores) - max(scores))
    weight /= weight.sum()
    low, middle, high = _quantiles(np.array(ends), np.sqrt(np.array(spreads)), weight, (0.05, 0.5, 0.95))
    constant = float(np.exp(np.sum(weight * np.log(TIME_CONSTANTS))))
    last = float(values[-1])
    return Settling(last + middle, last + low, last + high, last, constant)


def _quantiles(means: Array, sigmas: Array, weight: Array, wanted: tuple[float, ...]) -> list[float]:
    """Quantiles of a mixture of normals, by bisection on its distribution."""
    found = []
    for share in wanted:
        low, high = float((means - 6.0 * sigmas).min()), float((means + 6.0 * sigmas).max())
        for _ in range(60):
            middle = 0.5 * (low + high)
            if float(np.sum(weight * ndtr((middle - means) / sigmas))) < share:
                low = middle
            else:
                high = middle
        found.append(0.5 * (low + high))
    return found


def steadiness(point: Point, earlier: list[Readings]) -> tuple[list[Figure], list[dict[str, Any]]]:
    """From the point's log, else from it and the readings of the same operation and tap before it."""
    told: list[dict[str, Any]] = []
    figures: list[Figure] = []
    settled: list[bool | None] = []
    for name in WATCHED:
        seconds, values = _series(point, earlier, name)
        fit = settling(seconds, values)
        if fit is None:
            continue
        settled.append(True if fit.settled else False if fit.moving else None)
        unit = "K" if name == "superheat" else "degC"
        figures.append({"id": f"settles_at.{name}", "low": fit.low, "mid": fit.end, "high": fit.high, "unit": unit})
        if not fit.settled:
            told.append(
                message(
                    "still_moving" if fit.moving else "may_still_move",
                    what={"id": f"reading.{name}"},
                    last=amount(fit.last, unit),
                    low=amount(fit.low, unit),
                    high=amount(fit.high, unit),
                )
            )
    if settled and all(settled):
        told.append(message("settled"))
    elif not settled and point.settled_enough() is None and point.reading.operation == "cooling":
        told.append(message("settled_not_known"))
    if point.settled_enough() is False and point.reading.operation == "cooling":
        told.append(message("run_longer", wanted=amount(SETTLED_S / 60.0, "min")))
    if point.reading.operation == "cooling" and point.reading.coil == "dry":
        told.append(message("coil_not_wet"))
    return figures, told


def _series(point: Point, earlier: list[Readings], name: str) -> tuple[Array, Array]:
    log = [(row.at.si, getattr(row, name).si) for row in point.reading.log if getattr(row, name) is not None]
    if not log:
        same = [one for one in (*earlier, point.reading) if one.time is not None and getattr(one, name) is not None]
        if len(same) >= 2:
            start = datetime.fromisoformat(str(same[0].time))
            log = [
                ((datetime.fromisoformat(str(one.time)) - start).total_seconds(), getattr(one, name).si) for one in same
            ]
    # two visits are no log: what lies more than an hour apart belongs to another run
    if log:
        log = [row for row in log if log[-1][0] - row[0] <= 3600.0]
    return np.array([row[0] for row in log]), np.array([row[1] for row in log])
