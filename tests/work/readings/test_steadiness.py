"""Settled or not, and at what."""

import numpy as np
import pytest

from airtrim.work.readings import read_job
from airtrim.work.readings.steadiness import settling
from tests.work.readings.readings_cases import figure_of, ids, job_with


@pytest.mark.parametrize("n", [2, 3, 5, 10])
def test_the_end_lies_in_the_range_nine_times_in_ten(n):
    """Known first-order curves with the noise of one instrument, time constants of 1 to 15 minutes."""
    rng = np.random.default_rng(n)
    hits, sound, settled = 0, 0, 0
    for _ in range(300):
        constant, fall = np.exp(rng.uniform(np.log(60.0), np.log(900.0))), rng.normal(0.0, 4.0)
        seconds = np.linspace(0.0, rng.uniform(300.0, 900.0), n)
        values = 12.0 + fall * np.exp(-seconds / constant) + rng.normal(0.0, 0.15, n)
        found = settling(seconds, values)
        hits += found.low <= 12.0 <= found.high
        settled += found.settled
        sound += found.settled and abs(values[-1] - 12.0) <= 0.7
    assert 0.84 <= hits / 300 <= 0.96  # 90 % and a little more than three sigma of a binomial of 300
    assert sound >= 0.97 * settled


def test_a_clean_curve_gives_its_end_and_its_time_constant():
    """63.2 % of the fall in one time constant."""
    seconds = np.arange(0.0, 1201.0, 60.0)
    found = settling(seconds, 12.0 + 6.0 * np.exp(-seconds / 240.0), noise=0.02)
    assert found.end == pytest.approx(12.0, abs=0.05)
    assert found.time_constant_s == pytest.approx(240.0, rel=0.1)
    assert found.settled


def test_a_curve_cut_short_is_still_moving():
    seconds = np.array([0.0, 60.0, 120.0, 180.0])
    found = settling(seconds, 12.0 + 8.0 * np.exp(-seconds / 300.0))
    assert found.moving and not found.settled and found.low < 12.0 < found.high


def test_two_equal_readings_far_apart_have_settled_and_one_says_nothing():
    assert settling(np.array([0.0, 900.0]), np.array([12.0, 12.0])).settled
    assert settling(np.array([0.0]), np.array([12.0])) is None
    assert settling(np.array([0.0, 60.0]), np.array([12.0, np.nan])) is None


def row(minutes, fahrenheit):
    return f'{{at = "{minutes} min", supply_dry_bulb = "{fahrenheit} F"}}'


def test_a_log_in_the_job_is_read():
    moving = f"log = [{row(0, 68)}, {row(2, 64.5)}, {row(4, 62)}]\n"
    told = read_job(job_with(moving))["points"][0]
    assert "still_moving" in ids(told["messages"])
    still = f"log = [{row(0, 57.1)}, {row(5, 57)}, {row(10, 57)}, {row(15, 57)}]\n"
    point = read_job(job_with(still))["points"][0]
    assert "settled" in ids(point["messages"])
    assert figure_of(point["figures"], "settles_at.supply_dry_bulb")["mid"] == pytest.approx((57 - 32) / 1.8, abs=0.15)


def test_two_timed_readings_are_a_log_and_two_visits_are_not():
    one = 'time = "2026-07-14 15:00"\nsupply_dry_bulb = "66 F"\n'
    two = 'time = "2026-07-14 15:05"\nsupply_dry_bulb = "60 F"\n'
    assert {"still_moving", "may_still_move"} & set(ids(read_job(job_with(one, two))["points"][1]["messages"]))
    later = two.replace("07-14", "07-15")
    assert "settled_not_known" in ids(read_job(job_with(one, later))["points"][1]["messages"])


def test_under_fifteen_minutes_is_said():
    assert "run_longer" in ids(read_job(job_with('running_for = "9 min"\n'))["points"][0]["messages"])
    assert "coil_not_wet" in ids(read_job(job_with('running_for = "19 min"\ncoil = "dry"\n'))["points"][0]["messages"])
