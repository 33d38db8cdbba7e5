"""Humidity by month and hour of the day: the sample's order statistics, and the month's own mean again."""

from types import SimpleNamespace

import numpy as np
import pytest

from airtrim.work.options.by_hour import humidity_by_hour
from tests.plans import demo_result


def years_of(values):
    by_hour = {} if values is None else {"relative_humidity": values}
    return SimpleNamespace(details=SimpleNamespace(by_hour=by_hour))


def test_middle_and_ends_are_those_of_the_systems():
    """21 systems in equal steps: 5, 50 and 95 % are the second, the eleventh and the last but one (numpy's linear rule by hand)."""
    steps = np.linspace(0.3, 0.7, 21)
    values = np.broadcast_to(steps[:, None, None, None], (21, 2, 12, 24)).copy()
    values[:, 1] += 0.01 * np.arange(12)[:, None]
    now, other = humidity_by_hour(years_of(values), ["leave_as_is", "fan_auto"], ["leave_as_is", "fan_auto"])
    assert (now["lows"][3][5], now["mids"][3][5], now["highs"][3][5]) == pytest.approx((0.32, 0.5, 0.68))
    assert other["id"] == "fan_auto" and other["mids"][11][0] == pytest.approx(0.61)


def test_one_option_twice_is_told_once_and_years_without_hours_tell_nothing():
    values = np.full((3, 1, 12, 24), 0.5)
    assert len(humidity_by_hour(years_of(values), ["leave_as_is"], ["leave_as_is", "leave_as_is"])) == 1
    assert humidity_by_hour(years_of(None), ["leave_as_is"], ["leave_as_is"]) == []


def test_the_hours_of_a_month_give_the_months_own_mean():
    """Months and hours are counted apart; the mean of a month's 24 hours must be the month's (medians of few systems: 1 % RH)."""
    result = demo_result()
    by_id = {one["id"]: one for one in result["options"]}
    for one in result["humidity_by_hour"]:
        months = np.mean(one["mids"], axis=1)
        assert months == pytest.approx(by_id[one["id"]]["monthly_relative_humidity"], abs=0.01)
