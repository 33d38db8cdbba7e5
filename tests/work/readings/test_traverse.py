"""Traverse positions as printed and against power-law profiles, and a traverse carried to an airflow."""

import numpy as np
import pytest

from airtrim.core.errors import InputError, JobError
from airtrim.physics.blower.airflow_readings import (
    RECTANGULAR,
    ROUND_LOG_LINEAR,
    ROUND_LOG_TCHEBYCHEFF,
    even_section,
    traverse_airflow_m3_s,
    traverse_lines,
    traverse_positions,
)
from airtrim.work.readings.airflow import ways_of
from tests.published.loader import FOLDER, read_table
from tests.work.readings.readings_cases import CFM, point_with


@pytest.mark.parametrize("case", read_table(FOLDER / "readings" / "traverse_positions.toml")["cases"])
def test_positions_are_the_printed_ones(case):
    got = traverse_positions(case["shape"], case["rule"], len(case["positions"]))
    assert got == pytest.approx(case["positions"], abs=0.0005)
    assert np.asarray(got) + np.asarray(got)[::-1] == pytest.approx(np.ones(len(got)), abs=0.0015)


@pytest.mark.parametrize("case", read_table(FOLDER / "readings" / "traverse_iso.toml")["cases"])
def test_round_log_tchebycheff_is_the_standards(case):
    """traverse_iso: radii as shares of R, from the axis."""
    near = sorted(0.5 * (1.0 - r) for r in case["radii"])
    got = traverse_positions("round", "log_tchebycheff", 2 * len(near))
    assert got[: len(near)] == pytest.approx(near, abs=0.0006)


@pytest.mark.parametrize("n", [5.0, 7.0, 9.0])
@pytest.mark.parametrize("positions", RECTANGULAR.values())
def test_rectangular_positions_on_a_power_law_profile(positions, n):
    """The mean of u = y^(1/n) (y from the wall, 1 at the middle) is n/(n+1): within 0.5 % along a line."""
    depth = np.minimum(positions, 1.0 - np.asarray(positions)) * 2.0
    assert np.mean(depth ** (1.0 / n)) == pytest.approx(n / (n + 1.0), rel=0.005)


def pipe_error(positions, n):
    """Part by which the mean at these depths misses a pipe's mean, 2 n^2 / ((n+1)(2n+1)) of the middle's velocity."""
    depth = np.minimum(positions, 1.0 - np.asarray(positions)) * 2.0
    return float(np.mean(depth ** (1.0 / n))) / (2.0 * n**2 / ((n + 1.0) * (2.0 * n + 1.0))) - 1.0


@pytest.mark.parametrize("n", [5.0, 7.0, 9.0])
def test_round_positions_on_a_power_law_profile(n):
    """Log-linear within 0.5 %; every logarithmic rule beats centres of equal areas of as many points, which read high."""
    for table in (ROUND_LOG_LINEAR, ROUND_LOG_TCHEBYCHEFF):
        for positions in table.values():
            rings = (np.arange(len(positions) // 2) + 0.5) / (len(positions) // 2)
            centres = 0.5 * (1.0 - np.sqrt(rings))
            assert abs(pipe_error(positions, n)) < pipe_error(centres, n)
    for positions in ROUND_LOG_LINEAR.values():
        assert abs(pipe_error(positions, n)) < 0.005


def test_lines_by_the_length_of_a_side():
    """5 below 30 in, 6 to 36 in, 7 above [trade-manuals]."""
    assert [traverse_lines(inches * 0.0254) for inches in (20, 29.9, 30, 36, 37)] == [5, 5, 6, 6, 7]


def test_velocities_are_averaged_not_pressures():
    """Two halves at 400 and 1200 fpm carry 800 fpm; the mean pressure would give 894."""
    assert traverse_airflow_m3_s([2.0, 6.0], 0.5) == pytest.approx(2.0)


ROW = "[" + ", ".join(['"0.0225 inH2O"'] * 5) + "]"
TRAVERSE = f"""
return_dry_bulb = "70 F"
return_relative_humidity = "0 %"
traverses = [{{shape = "rectangular", width = "20 in", height = "14.4 in", velocity_pressures = [{", ".join([ROW] * 5)}]}}]
"""


def test_an_even_traverse_is_4005_times_the_root_times_the_area():
    """0.0225 in w.c. is 600.75 fpm in air of 0.075 lb/ft3; 20 x 14.4 in is 2 ft2."""
    (way,) = ways_of(point_with(TRAVERSE))
    point = point_with(TRAVERSE)
    cfm = way.flow_kg_s.value * point.return_volume().value / CFM
    assert cfm == pytest.approx(1201.5, rel=0.003)  # 4005 is rounded and dry air of 70 F is 0.0749
    assert dict(way.assumptions)["straight_duct"] == "not_known"
    assert 0.05 < way.flow_kg_s.sigma / way.flow_kg_s.value < 0.07  # 10 % as a limit, and the manometer


def test_a_fair_section_has_three_quarters_above_a_tenth_of_the_greatest_pressure():
    """[amca203]: velocities above 0.316 of the greatest."""
    assert even_section([1.0, 0.9, 0.8, 0.2]) and not even_section([1.0, 0.9, 0.3, 0.2])
    stalled = TRAVERSE.replace(ROW, "[" + ", ".join(['"0.0005 inH2O"'] * 5) + "]", 2)
    (way,) = ways_of(point_with(stalled))
    assert dict(way.assumptions)["even_section"] == "broken" and not way.usable


def test_a_good_section_is_worth_more():
    good = TRAVERSE.replace("width =", "diameters_before = 8, diameters_after = 3, width =")
    (way,) = ways_of(point_with(good))
    assert way.flow_kg_s.sigma / way.flow_kg_s.value < 0.04


def test_a_wrong_number_of_points_is_one_sentence():
    with pytest.raises(
        JobError, match=r"readings.1.traverses.1: A rectangular log_tchebycheff traverse reads 5, 6, 7 points"
    ):
        ways_of(point_with(TRAVERSE.replace('"0.0225 inH2O", ', "", 1)))
    with pytest.raises(JobError, match="the lines of a rectangular duct follow the same rule"):
        ways_of(point_with(TRAVERSE.replace(ROW + ", ", "", 1)))
    with pytest.raises(InputError, match="no log_linear traverse"):
        traverse_positions("rectangular", "log_linear", 5)
