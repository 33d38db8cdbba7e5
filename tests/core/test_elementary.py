"""Elementary functions against Python's decimal arithmetic (correctly rounded, 40 digits), and the same bits in every form."""

import math
from decimal import Decimal, localcontext

import numpy as np
import pytest

from airtrim.core import elementary
from airtrim.core.kernels import kernel

RNG = np.random.default_rng(7)
ARGUMENTS = {
    "exp": [*RNG.uniform(-40.0, 40.0, 600), *RNG.uniform(-708.0, 709.0, 300), *RNG.uniform(-1e-3, 1e-3, 200), 0.0],
    "log": [*np.exp(RNG.uniform(-700.0, 700.0, 400)), *RNG.uniform(0.5, 2.0, 500), 1.0, 5e-324, 1e-310],
    "tanh": [*RNG.uniform(-20.0, 20.0, 400), *RNG.uniform(-0.7, 0.7, 600), 1e-300, 0.625, -0.625],
}
#: ulp promised in the docstrings.
PROMISED = {"exp": 1.0, "log": 1.0, "tanh": 3.0}


def exact(name: str, x: float) -> Decimal:
    with localcontext() as context:
        context.prec = 60
        number = Decimal(x)
        if name == "exp":
            return number.exp()
        if name == "log":
            return number.ln()
        if abs(x) < 1e-20:
            return number
        both = (2 * number).exp()
        return (both - 1) / (both + 1)


@pytest.mark.parametrize("name", sorted(ARGUMENTS))
def test_within_the_promised_units_in_the_last_place(name):
    function = getattr(elementary, name)
    worst = 0.0
    for x in map(float, ARGUMENTS[name]):
        true = exact(name, x)
        worst = max(worst, float(abs(Decimal(function(x)) - true)) / np.spacing(abs(float(true))))
    assert worst < PROMISED[name]


def test_power_within_its_stated_error():
    for x, y in zip(RNG.uniform(1e-3, 50.0, 500), RNG.uniform(-5.0, 5.0, 500), strict=True):
        with localcontext() as context:
            context.prec = 60
            true = Decimal(float(x)) ** Decimal(float(y))
            error = float(abs(Decimal(elementary.power(float(x), float(y))) / true - 1))
        assert error < (1.0 + abs(y * math.log(x))) * 2.0 * np.finfo(float).eps
    assert elementary.power(0.0, 1.5) == 0.0


@pytest.mark.parametrize(
    ("name", "x", "expected"),
    [
        ("exp", 710.0, math.inf), ("exp", math.inf, math.inf), ("exp", -746.0, 0.0), ("exp", -math.inf, 0.0),
        ("exp", -744.0, 1e-323), ("log", 0.0, -math.inf), ("log", math.inf, math.inf), ("log", -1.0, math.nan),
        ("log", -math.inf, math.nan), ("tanh", math.inf, 1.0), ("tanh", -math.inf, -1.0), ("tanh", 800.0, 1.0),
        *((name, math.nan, math.nan) for name in ("exp", "log", "tanh")),
    ],
)  # fmt: skip
def test_ends_of_the_range(name, x, expected):
    for function in (getattr(elementary, name), getattr(elementary, name).reference):
        with np.errstate(invalid="ignore"):
            assert function(x) == pytest.approx(expected, nan_ok=True, rel=1e-15, abs=0.0)


@kernel
def _in_lanes(x, out):
    for j in range(x.shape[0]):
        out[0, j] = elementary.exp(x[j])
        out[1, j] = elementary.log(x[j])
        out[2, j] = elementary.tanh(x[j])


def test_lanes_single_calls_and_plain_python_give_the_same_bits():
    x = np.concatenate([RNG.uniform(-30.0, 30.0, 4000), [0.0, -0.0, np.nan, np.inf, -np.inf, 1e-310]])
    lanes = np.zeros((3, x.size))
    _in_lanes(x, lanes)
    with np.errstate(invalid="ignore"):
        for row, name in enumerate(("exp", "log", "tanh")):
            function = getattr(elementary, name)
            single = np.array([function(float(one)) for one in x])
            plain = np.array([function.reference(float(one)) for one in x])
            np.testing.assert_array_equal(lanes[row], single)
            np.testing.assert_array_equal(lanes[row], plain)
