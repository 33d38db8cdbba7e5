"""The sampler against posteriors that are known in closed form (own-derivation)."""

import numpy as np
import pytest

from airtrim.work.findings.sampling import draw_posterior


def linear(matrix, read, sigma):
    return lambda z: (read - z @ matrix.T) / sigma


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("sigma", [1.0, 0.05])
def test_a_linear_model_gives_the_normal_posterior_and_its_evidence(seed, sigma):
    """Unit-normal prior, y = A z + sigma e: covariance (I + A'A/s2)^-1, evidence N(y; 0, s2 I + A A')."""
    rng = np.random.default_rng(seed)
    dimensions, readings = 12, 5
    matrix, read = rng.standard_normal((readings, dimensions)), rng.standard_normal(readings)
    drawn = draw_posterior(linear(matrix, read, sigma), dimensions, 2048, rng)
    precision = np.eye(dimensions) + matrix.T @ matrix / sigma**2
    covariance = np.linalg.inv(precision)
    mean = covariance @ matrix.T @ read / sigma**2
    whole = sigma**2 * np.eye(readings) + matrix @ matrix.T
    log_evidence = -0.5 * read @ np.linalg.solve(whole, read) - 0.5 * np.linalg.slogdet(whole / sigma**2)[1]
    assert drawn.log_evidence == pytest.approx(log_evidence, abs=0.08)
    found = drawn.weight @ drawn.z
    apart = (drawn.z - found) ** 2
    # Monte Carlo error of a mean is sigma / root(effective); four of them
    assert np.all(np.abs(found - mean) < 4.0 * np.sqrt(np.diag(covariance) / drawn.effective))
    np.testing.assert_allclose(drawn.weight @ apart, np.diag(covariance), rtol=0.25)
    assert drawn.effective > 200.0


def test_a_bent_posterior_has_the_moments_of_a_fine_grid():
    """Two readings of a curve: y = z0 + 0.8 z1^2, and of z1 weakly; the truth by a grid of 0.01."""

    def residuals(z):
        return np.stack([(1.0 - z[:, 0] - 0.8 * z[:, 1] ** 2) / 0.2, (0.3 - z[:, 1]) / 1.5], axis=1)

    axis = np.arange(-5.0, 5.0, 0.01)
    grid = np.stack(np.meshgrid(axis, axis, indexing="ij"), axis=-1).reshape(-1, 2)
    log = -0.5 * np.sum(residuals(grid) ** 2, axis=1) - 0.5 * np.sum(grid**2, axis=1) - np.log(2.0 * np.pi)
    weight = np.exp(log)
    evidence = np.log(weight.sum() * 1e-4)
    weight /= weight.sum()
    drawn = draw_posterior(residuals, 2, 4096, np.random.default_rng(5))
    assert drawn.log_evidence == pytest.approx(evidence, abs=0.06)
    np.testing.assert_allclose(drawn.weight @ drawn.z, weight @ grid, atol=0.06)
    np.testing.assert_allclose(drawn.weight @ drawn.z**2, weight @ grid**2, rtol=0.10)


def test_the_same_generator_gives_the_same_draws():
    model = linear(np.eye(3), np.ones(3), 0.5)
    one, two = (draw_posterior(model, 3, 128, np.random.default_rng(1)) for _ in range(2))
    np.testing.assert_array_equal(one.z, two.z)
    np.testing.assert_array_equal(one.weight, two.weight)
