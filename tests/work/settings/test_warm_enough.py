"""The drive of a plan: the first airflow whose coil keeps its margin, found in a few runs of the months that decide."""

from types import SimpleNamespace

import numpy as np
from hypothesis import given
from hypothesis import strategies as some

from airtrim.physics.season.system import AirflowProgram
from airtrim.physics.season.weeks import WHOLE_YEAR, months_alone
from airtrim.physics.season.year import run_years
from airtrim.weather.files import embedded_weather
from airtrim.work.settings.choose import _first_warm_enough
from airtrim.work.settings.judge import CHECKED_MARGIN_K
from tests.physics.season.season_cases import invented_systems


@given(some.lists(some.floats(-3.0, 3.0), min_size=1, max_size=40))
def test_the_first_that_keeps_the_margin_is_the_one_a_scan_finds(margins):
    rising = sorted(margins)
    asked = []

    def least_margins_k(tried):
        asked.extend(tried)
        return [rising[place] for place in tried]

    found = _first_warm_enough(list(range(len(rising))), SimpleNamespace(least_margins_k=least_margins_k))
    scanned = next((place for place, margin in enumerate(rising) if margin >= CHECKED_MARGIN_K), None)
    assert found == scanned
    assert len(asked) <= 4 + 4 * np.ceil(np.log2(len(rising)))


def test_on_a_straight_line_three_looks_are_enough():
    margins, asked = np.linspace(-2.0, 3.0, 40), []

    def least_margins_k(tried):
        asked.append(tried)
        return [margins[place] for place in tried]

    found = _first_warm_enough(list(range(40)), SimpleNamespace(least_margins_k=least_margins_k))
    assert found == np.argmax(margins >= CHECKED_MARGIN_K) and len(asked) == 3


def test_months_alone_holds_every_day_once_and_settles_before_each_run_of_months():
    counted = [(day, month) for day, month in months_alone(range(12)).days if month >= 0]
    assert counted == [(day, month) for day, month in WHOLE_YEAR.days if month >= 0]
    days = months_alone([7, 3, 8]).days
    assert [day for day, month in days if month == 3] == list(range(90, 120))
    assert days[0] == (76, -1) and len(days) == 14 + 30 + 14 + 31 + 30


def test_a_months_coldest_moment_is_that_of_the_whole_year():
    systems, weather = invented_systems(2), embedded_weather("greensboro-nc")
    year = run_years(systems, [AirflowProgram()], weather, 10.0).monthly_least_icing_margin_k[:, 0]
    alone = run_years(systems, [AirflowProgram()], weather, 10.0, calendar=months_alone([6]))
    np.testing.assert_allclose(alone.monthly_least_icing_margin_k[:, 0, 6], year[:, 6], atol=0.05)
    np.testing.assert_allclose(alone.least_icing_margin_k[:, 0], year[:, 6], atol=0.05)
