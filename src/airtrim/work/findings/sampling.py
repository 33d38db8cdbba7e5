"""A weighted sample of the machine under one explanation, and how well that explanation accounts for the readings.

Importance sampling in standard normal coordinates: scipy's least squares finds the middle of the posterior, draws come from a
mixture of the prior and normals shaped like the posterior there, weights are prior x likelihood / mixture. The mean weight is the
explanation's evidence; the effective number (sum w)^2 / sum w^2 says what the draws are worth [elvira2022]. Where it is too small
the mixture is drawn again around what was found (population Monte Carlo [cappe2004]).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
#: Logarithm of the likelihood and the whitened residuals for coordinates `[N, d]`.
Residuals = Callable[[Array], Array]

#: A residual where the model has no state, sigmas: such a machine would not have run.
NO_STATE = 40.0
#: Part of the draws that come from the prior itself: no corner is ever given up.
PRIOR_PART = 0.15
#: The proposal is so much wider than the posterior's curvature says, along what the readings tell.
WIDER = 0.35
#: Draws are enough when they are worth this part of a round.
ENOUGH = 0.12
ROUNDS = 4


@dataclass(frozen=True)
class Drawn:
    """Draws `[N, d]`, normalised weights `[N]`, logarithm of the evidence, effective number."""

    z: Array
    weight: Array
    log_evidence: float
    effective: float


@dataclass(frozen=True)
class _Normal:
    mean: Array
    root: Array  # covariance = root root^T
    inverse: Array  # of root
    log_norm: float

    def draw(self, unit: Array) -> Array:
        return np.asarray(self.mean + unit @ self.root.T)

    def log_density(self, z: Array) -> Array:
        apart = (z - self.mean) @ self.inverse.T
        return np.asarray(self.log_norm - 0.5 * np.sum(apart * apart, axis=1))


def _normal(mean: Array, covariance: Array) -> _Normal:
    values, vectors = np.linalg.eigh(0.5 * (covariance + covariance.T))
    values = np.clip(values, 1e-8, 4.0)
    half = 0.5 * float(np.sum(np.log(values))) + 0.5 * len(mean) * float(np.log(2.0 * np.pi))
    return _Normal(mean, vectors * np.sqrt(values), (vectors / np.sqrt(values)).T, -half)


def draw_posterior(
    residuals: Residuals, dimensions: int, count: int, generator: np.random.Generator, least: float = -np.inf
) -> Drawn:
    """`count` draws a round under unit-normal coordinates and unit-normal residuals; more rounds until they are worth enough.

    Where the logarithm of the evidence is below `least` nobody will look at the draws, and one round is enough.
    """
    starts = _units(dimensions, max(64, count // 4), generator)
    scores = _scores(residuals, starts)
    origin = np.zeros(dimensions)
    modes = [_climbed(residuals, origin)]
    best = starts[int(np.argmax(scores - 0.5 * np.sum(starts * starts, axis=1)))]
    other = _climbed(residuals, best)
    if float(np.linalg.norm(other - modes[0])) > 0.7:
        modes.append(other)
    shapes = [_laplace(residuals, mode) for mode in modes]
    parts = [normal for normal, _ in shapes]
    around, told = shapes[0]
    prior = _Normal(origin, np.eye(dimensions), np.eye(dimensions), -0.5 * dimensions * float(np.log(2.0 * np.pi)))
    every: list[tuple[_Normal, int]] = []
    draws: list[Array] = []
    logs: list[Array] = []
    for _ in range(ROUNDS):
        shares = [(prior, PRIOR_PART)] + [(part, (1.0 - PRIOR_PART) / len(parts)) for part in parts]
        for part, share in shares:
            number = max(int(share * count), 8)
            made = part.draw(_units(dimensions, number, generator))
            every.append((part, number))
            draws.append(made)
            logs.append(_scores(residuals, made))
        found = _weighed(np.concatenate(draws), np.concatenate(logs), every)
        if found.effective >= ENOUGH * count or not found.log_evidence > least:
            return found
        mean = found.weight @ found.z
        apart = found.z - mean
        covariance = (apart.T * found.weight) @ apart
        # few draws say little of many directions: along those the readings tell nothing of, the posterior stays the prior
        some = min(found.effective / (2.0 * told.shape[1]), 1.0) if told.shape[1] else 0.0
        along = told @ told.T
        known = around.root @ around.root.T
        near = _normal(
            around.mean + some * along @ (mean - around.mean),
            known + some * along @ ((1.0 + WIDER) * covariance - known) @ along,
        )
        parts = [near, _normal(near.mean, near.root @ near.root.T + 1.5 * along @ near.root @ near.root.T @ along)]
    return found


def _weighed(z: Array, log_likelihood: Array, every: list[tuple[_Normal, int]]) -> Drawn:
    total = sum(number for _, number in every)
    mixture = np.full(len(z), -np.inf)
    for part, number in every:  # each draw is weighed against all proposals together (balance heuristic)
        mixture = np.logaddexp(mixture, np.log(number / total) + part.log_density(z))
    prior = -0.5 * np.sum(z * z, axis=1) - 0.5 * z.shape[1] * float(np.log(2.0 * np.pi))
    log_weight = log_likelihood + prior - mixture
    top = float(np.max(log_weight))
    weight = np.exp(log_weight - top)
    whole = float(weight.sum())
    effective = whole**2 / float(np.sum(weight**2))
    # one draw the proposals missed must not stand for all [ionides2008]; what they are worth is told of the weights as they were
    bounded = np.minimum(weight, whole / total * total**0.5)
    return Drawn(z, bounded / bounded.sum(), top + float(np.log(whole / total)), effective)


def _units(dimensions: int, count: int, generator: np.random.Generator) -> Array:
    """Evenly spread unit normals."""
    from scipy.special import ndtri
    from scipy.stats import qmc

    power = int(np.ceil(np.log2(count)))
    points = qmc.Sobol(d=dimensions, rng=generator).random_base2(power)[:count]
    return np.asarray(ndtri(np.clip(points, 1e-6, 1.0 - 1e-6)))


def _scores(residuals: Residuals, z: Array) -> Array:
    found = residuals(z)
    return np.asarray(-0.5 * np.sum(found * found, axis=1))


def _climbed(residuals: Residuals, start: Array) -> Array:
    """The posterior's middle near a start."""
    from scipy.optimize import least_squares

    def both(z: Array) -> Array:
        return np.concatenate([residuals(z[None, :])[0], z])

    found = least_squares(both, start, jac=lambda z: _slope(residuals, z), method="trf", max_nfev=8)
    return np.asarray(found.x)


def _slope(residuals: Residuals, z: Array, step: float = 0.03) -> Array:
    """Slope of residuals and prior together, `[m + d, d]`."""
    size = len(z)
    moved = np.concatenate([z + step * np.eye(size), z - step * np.eye(size)])
    found = residuals(moved)
    slope = (found[:size] - found[size:]).T / (2.0 * step)
    return np.concatenate([slope, np.eye(size)])


#: A direction whose precision the readings raise by less than this part is one they tell nothing of.
_UNTOLD = 0.05


def _laplace(residuals: Residuals, mode: Array) -> tuple[_Normal, Array]:
    """Normal at a mode, and the directions `[d, r]` the readings tell of."""
    slope = _slope(residuals, mode, 0.1)
    values, vectors = np.linalg.eigh(slope.T @ slope)
    values = np.maximum(values, 1.0)
    told = 1.0 - 1.0 / values  # 0 along what the readings do not tell: there the posterior is the prior
    return _normal(mode, (vectors * ((1.0 + WIDER * told) / values)) @ vectors.T), vectors[:, values > 1.0 + _UNTOLD]
