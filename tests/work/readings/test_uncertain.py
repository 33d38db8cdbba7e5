"""Errors carried to first order, shared instruments, joining."""

from math import cos, sin, sqrt

import numpy as np
import pytest

from airtrim.work.readings.join import covariance_matrix, joined_value, least_variance_weights
from airtrim.work.readings.uncertain import Uncertain, carried, in_logarithm, mean_of
from tests.published.loader import FOLDER, read_table


def gum_inputs(case):
    """Three correlated inputs as sums of three independent sources (Cholesky factor of their covariance)."""
    r12, r13, r23 = case["correlation"]
    correlation = np.array([[1.0, r12, r13], [r12, 1.0, r23], [r13, r23, 1.0]])
    factor = np.linalg.cholesky(correlation)
    names = ("volts", "amps", "phase")
    return {
        name: Uncertain(case[name][0], {f"s{k}": case[name][1] * factor[row, k] for k in range(3)})
        for row, name in enumerate(names)
    }


def test_the_guides_impedance_example():
    """gum_h2: JCGM 100, example H.2."""
    table = read_table(FOLDER / "readings" / "gum_h2.toml")
    (case,) = table["cases"]
    inputs = gum_inputs(case)
    for name, formula in (
        ("resistance", lambda volts, amps, phase: volts / amps * cos(phase)),
        ("reactance", lambda volts, amps, phase: volts / amps * sin(phase)),
        ("impedance", lambda volts, amps, phase: volts / amps),
    ):
        found = carried(formula, **inputs)
        value, sigma = case[name]
        assert found.value == pytest.approx(value, abs=0.0011)
        assert found.sigma == pytest.approx(sigma, rel=0.02)  # the printed sigma has two or three digits


def test_a_difference_on_one_thermometer_loses_its_bias():
    one = Uncertain(24.0, {"instrument.probe": 0.4, "place.a": 0.2})
    other = Uncertain(13.0, {"instrument.probe": 0.4, "place.b": 0.5})
    assert carried(lambda a, b: a - b, a=one, b=other).sigma == pytest.approx(sqrt(0.2**2 + 0.5**2))
    assert mean_of([one, one]).sigma == pytest.approx(one.sigma)


def test_an_input_at_the_end_of_a_formula_keeps_the_side_that_exists():
    found = carried(lambda x: sqrt(x) if x >= 0.0 else float("nan"), x=Uncertain(0.5, {"a": 1.0}))
    assert found.sigma == pytest.approx(sqrt(1.5) - sqrt(0.5))


def test_peelles_puzzle_is_met_by_the_covariance_and_mended_by_the_logarithm():
    """1.5 and 1.0 with 10 % each and 20 % in common: plain least squares says 0.88 +/- 0.22 [peelle1987]."""
    values = [
        Uncertain(1.5, {"own.a": 0.15, "common": 0.30}),
        Uncertain(1.0, {"own.b": 0.10, "common": 0.20}),
    ]
    covariance = covariance_matrix(values)
    solved = np.linalg.solve(covariance, np.ones(2))
    assert float(solved @ [1.5, 1.0]) / solved.sum() == pytest.approx(0.88, abs=0.005)
    assert sqrt(1.0 / solved.sum()) == pytest.approx(0.22, abs=0.005)
    found, weights, _ = joined_value([in_logarithm(one) for one in values])
    assert weights.tolist() == pytest.approx([0.5, 0.5])
    assert np.exp(found.value) == pytest.approx(sqrt(1.5))  # equal parts: the geometric mean


def test_weights_go_as_one_over_variance_where_nothing_is_shared():
    """Textbook weighted mean."""
    values = [Uncertain(10.0, {"a": 1.0}), Uncertain(12.0, {"b": 2.0})]
    found, weights, chi = joined_value(values)
    assert weights.tolist() == pytest.approx([0.8, 0.2])
    assert found.value == pytest.approx(10.4) and found.sigma == pytest.approx(sqrt(0.8)) and chi < 1.0


def test_weights_are_never_negative():
    covariance = np.array([[1.0, 1.9], [1.9, 4.0]])
    assert least_variance_weights(covariance).tolist() == [1.0, 0.0]


def test_disagreement_widens_the_joined_figure():
    """Birge: by the root of chi-square over its degrees of freedom."""
    values = [Uncertain(10.0, {"a": 1.0}), Uncertain(16.0, {"b": 1.0})]
    found, _, chi = joined_value(values)
    assert chi == pytest.approx(18.0)
    assert found.sigma == pytest.approx(sqrt(0.5 * 18.0))


def test_a_figure_is_the_ninety_per_cent_range_or_says_why_not():
    got = Uncertain(10.0, {"a": 3.0, "b": 4.0}).figure("x", "W")
    assert got["high"] - got["mid"] == pytest.approx(5.0 * 1.6449, rel=1e-4)
    assert Uncertain(float("nan")).figure("x", "W")["status"] == "not_computed"
    assert Uncertain(1.0, {"a": 3.0}).figure("x", "W", 0.0)["low"] == 0.0
