"""Several ways to one airflow joined into one figure, and whether they agree.

Joined in the logarithm, since every way errs by a part of itself (in plain numbers the smaller reading would always weigh more), by
least variance with the covariance of shared instruments [jcgm100; aitken1935]. Weights are never negative: a way that would get one
is left out, since it says nothing the others do not. Where ways disagree by more than their uncertainties the joint one is widened
by the root of chi-square over its degrees of freedom [birge1932].
"""

from dataclasses import dataclass
from itertools import combinations
from math import exp, log, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from airtrim.work.readings.uncertain import Uncertain, in_logarithm
from airtrim.work.readings.way import Way

Array = NDArray[np.float64]
#: Chance that a job whose ways are all sound is said to hold a disagreement, shared among its pairs [sidak1967].
FALSE_ALARM = 0.05
#: A wet coil holds the air back a little against the dry one it was read with, and one sigma [from-memory].
WET_AGAINST_DRY, WET_AGAINST_DRY_SIGMA = 0.98, 0.015


@dataclass(frozen=True)
class Disagreement:
    """Two ways, the part by which the first is above the second, and the part that their uncertainties allow."""

    first: Way
    second: Way
    part: float
    allowed: float


@dataclass(frozen=True)
class Joined:
    """One airflow of a tap: `log_flow` is the logarithm of kg/s of dry air, `weights` one for each way in `ways`."""

    tap: int
    ways: tuple[Way, ...]
    weights: tuple[float, ...]
    log_flow: Uncertain
    disagreements: tuple[Disagreement, ...]

    @property
    def flow_kg_s(self) -> Uncertain:
        middle = exp(self.log_flow.value)
        return Uncertain(middle, {name: middle * part for name, part in self.log_flow.parts.items()})


def covariance_matrix(values: list[Uncertain]) -> Array:
    """[n, n], from the sources that values share."""
    return np.array([[one.covariance(other) for other in values] for one in values])


def least_variance_weights(covariance: Array) -> Array:
    """Weights of the mean of least variance that add up to 1, none of them negative."""
    count = len(covariance)
    used = list(range(count))
    while True:
        part = covariance[np.ix_(used, used)]
        solved = np.asarray(np.linalg.lstsq(part, np.ones(len(used)), rcond=None)[0], dtype=np.float64)
        weights = solved / solved.sum()
        if weights.min() >= -1e-12 or len(used) == 1:
            found = np.zeros(count)
            found[used] = np.maximum(weights, 0.0)
            total: Array = found / found.sum()
            return total
        used.pop(int(np.argmin(weights)))


def joined_value(values: list[Uncertain]) -> tuple[Uncertain, Array, float]:
    """Their mean of least variance (widened where they disagree), the weights, and chi-square over its degrees of freedom."""
    covariance = covariance_matrix(values)
    weights = least_variance_weights(covariance)
    middle = float(sum(w * one.value for w, one in zip(weights, values, strict=True)))
    parts: dict[str, float] = {}
    for weight, one in zip(weights, values, strict=True):
        for name, part in one.parts.items():
            parts[name] = parts.get(name, 0.0) + float(weight) * part
    if len(values) == 1:
        return Uncertain(middle, parts), weights, 1.0
    apart = np.array([one.value - middle for one in values])
    chi = float(apart @ np.linalg.pinv(covariance) @ apart) / (len(values) - 1)
    if chi > 1.0:
        sigma = sqrt(sum(part * part for part in parts.values()))
        parts["joined.disagreement"] = sigma * sqrt(chi - 1.0)
    return Uncertain(middle, parts), weights, chi


def join(ways: list[Way], tap: int, wet_coil: dict[int, bool]) -> Joined | None:
    """The usable ways of a tap as one airflow with a wet coil; None where there is none.

    `wet_coil` tells for each point whether its coil was wet: what was read on a dry one is carried over.
    """
    usable = [way for way in ways if way.tap == tap and way.usable]
    logs = []
    for way in usable:
        assert way.flow_kg_s is not None
        one = in_logarithm(way.flow_kg_s)
        if not wet_coil.get(way.point, True):
            shared = {**one.parts, "assumed.wet_coil": WET_AGAINST_DRY_SIGMA}
            one = Uncertain(one.value + log(WET_AGAINST_DRY), shared)
        logs.append(one)
    if not logs:
        return None
    middle, weights, _ = joined_value(logs)
    pairs = len(logs) * (len(logs) - 1) // 2
    beyond = float(ndtri(0.5 + 0.5 * (1.0 - FALSE_ALARM) ** (1.0 / max(pairs, 1))))  # 1.96 for one pair
    disagreements = []
    for (a, first), (b, second) in combinations(list(zip(usable, logs, strict=True)), 2):
        spread = sqrt(max(first.sigma**2 + second.sigma**2 - 2.0 * first.covariance(second), 1e-12))
        if abs(first.value - second.value) > beyond * spread:
            part = exp(first.value - second.value) - 1.0
            disagreements.append(Disagreement(a, b, part, beyond * spread))
    return Joined(tap, tuple(usable), tuple(float(w) for w in weights), middle, tuple(disagreements))
