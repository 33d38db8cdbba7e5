"""The systems kept stand for the candidates: their middles and spreads are the weighted ones."""

import numpy as np
import pytest
from scipy.stats import norm, qmc

from airtrim.work.findings.kept import resampled

CANDIDATES, KEPT = 512, 32


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("read", [False, True])
def test_middle_and_range_of_what_is_kept_are_those_of_the_candidates(seed, read):
    """own-derivation: unit normals, and with a reading of 1 of equal spread a normal of mean 0.5 and variance 0.5."""
    generator = np.random.default_rng(seed)
    first, second = norm.ppf(qmc.Sobol(d=7, rng=generator).random(CANDIDATES)).T[:2]
    weight = np.exp(-0.5 * (first - 1.0) ** 2) if read else np.ones(CANDIDATES)
    kept = resampled(weight / weight.sum(), first, KEPT, generator)
    mean, spread = (0.5, 0.5**0.5) if read else (0.0, 1.0)
    assert kept.shape == (KEPT,)
    assert np.median(first[kept]) == pytest.approx(mean, abs=0.12 * spread)
    low, high = np.quantile(first[kept], (0.05, 0.95))
    assert (high - low) / (2 * 1.645) == pytest.approx(spread, rel=0.12)
    assert np.std(second[kept]) == pytest.approx(1.0, rel=0.4)
    assert abs(np.corrcoef(np.arange(KEPT), first[kept])[0, 1]) < 0.5  # shuffled: no tie to the house's points


def test_a_draw_in_the_points_own_order_would_cluster():
    """Why the order matters: every sixteenth point of the sequence leaves the middle by far more than a fifth of a sigma."""
    worst = 0.0
    for seed in range(8):
        points = norm.ppf(qmc.Sobol(d=7, rng=np.random.default_rng(seed)).random(CANDIDATES))
        worst = max(worst, abs(float(np.median(points[seed % 16 :: 16, 0]))))
    assert worst > 0.2
