"""The lane form of small kernels against the kernels themselves, bit for bit, and what has no lane form is refused."""

import importlib.util
from itertools import count

import numpy as np
import pytest

from airtrim.core.elementary import exp, log
from airtrim.core.kernels import inline_kernel, kernel
from airtrim.core.lanes.source import CannotLane
from airtrim.core.lanes.write import LANES, lane_source

WIDTHS = {"given": 4, "found": 3}
_NUMBERS = count()
OFFSETS = (0.5, -1.25, 3.0)
HALF = 0.5


@inline_kernel
def _early(x, limit):
    if x > limit:
        if x > 2.0 * limit:
            return 1.0, x
        x -= limit
    elif x < -limit:
        return -1.0, -x
    return 0.0, x * OFFSETS[2]


@inline_kernel
def _picked(row, at, x):
    return row[at] + x * row[at + 1]


@kernel
def branches(steps, drive, given, found):
    """Branches in branches, early returns, a truth kept in a name, a selection, a chosen place, a long branch."""
    a, b = given[0], given[1]
    total = found[0]
    for step in range(steps):
        pushed = drive[step] * HALF
        side, size = _early(a + pushed, b)
        wide = size > 1.0 and side >= 0.0
        at = 0
        if wide or side < 0.0:
            at = 2
            b += 0.125
        a, b = (b - OFFSETS[1] * a if wide else 0.75 * a + pushed), b * 0.96875
        total += _picked(given, at, a)
        if a > 1.0:
            value = exp(-a) + log(1.0 + a * a)
            for_long = value / (1.0 + value)
            total = max(total - for_long, -3.0) if for_long > 0.25 else min(total, 40.0)
            found[2] += 1.0
        elif not wide:
            found[2] -= 0.5
    found[0], found[1] = total, a
    return steps


def _lane_form(function, folder):
    source, rows = lane_source(function, WIDTHS)
    path = folder / "form.py"
    path.write_text(source)
    spec = importlib.util.spec_from_file_location(f"airtrim_test_lanes_{next(_NUMBERS)}", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return getattr(module, f"{function.reference.__name__}_lanes"), rows


def test_lane_form_gives_the_bits_of_the_kernel_and_of_plain_python(tmp_path):
    lanes, rows = _lane_form(branches, tmp_path)
    rng = np.random.default_rng(3)
    drive = rng.normal(0.0, 2.0, 50)
    for given in rng.normal(0.0, 1.5, (30, 4, LANES)):
        block = np.zeros((rows, LANES))
        block[:4] = given
        lanes(50, drive, block.ravel())
        for function in (branches, branches.reference):
            for j in range(LANES):
                found = np.zeros(3)
                function(50, drive, np.ascontiguousarray(given[:, j]), found)
                np.testing.assert_array_equal(block[4:7, j], found)
    assert len(np.unique(block[6])) > 2  # the lanes went different ways


def test_not_a_number_stays_in_its_lane(tmp_path):
    lanes, rows = _lane_form(branches, tmp_path)
    drive = np.random.default_rng(3).normal(0.0, 2.0, 50)
    sound = np.zeros((rows, LANES))
    sound[:4] = np.random.default_rng(4).normal(0.0, 1.5, (4, LANES))
    spoiled = sound.copy()
    spoiled[0, 2] = np.nan
    for block in (sound, spoiled):
        lanes(50, drive, block.ravel())
    others = [j for j in range(LANES) if j != 2]
    np.testing.assert_array_equal(sound[:7, others], spoiled[:7, others])
    assert np.isnan(spoiled[4, 2])


@kernel
def _loops_while(steps, given, found):
    while found[0] < given[0]:
        found[0] += 1.0


@kernel
def _library_call(steps, given, found):
    found[0] = np.arctan(given[0])


@kernel
def _unknown_place(steps, given, found):
    found[0] = given[int(given[1])]


@kernel
def _loop_under_a_branch(steps, given, found):
    if given[0] > 0.0:
        for _ in range(steps):
            found[0] += given[0]


@pytest.mark.parametrize("function", [_loops_while, _library_call, _unknown_place, _loop_under_a_branch])
def test_what_has_no_lane_form_is_refused(function):
    with pytest.raises(CannotLane):
        lane_source(function, WIDTHS)
