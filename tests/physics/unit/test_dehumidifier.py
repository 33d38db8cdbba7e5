"""The dehumidifier: its rating point, its form, its label."""

import numpy as np
import pytest

from airtrim.core.errors import OutOfRangeError
from airtrim.physics.unit.dehumidifier import (
    DUCTED_LOST_PART,
    RATED_C,
    dehumidifier_from_rating,
    dehumidifier_ratios,
    efficiency_form,
    water_form,
)


def test_rating_point():
    """At 80 F and 60 % the unit is its label: 70 pints (33.1 litres) a day at 1.85 litres a kWh are 745 W."""
    unit = dehumidifier_from_rating(33.1, 1.85)
    water, power = dehumidifier_ratios(RATED_C, 0.60)
    assert water == pytest.approx(1.0, rel=1e-12) and power == pytest.approx(1.0, rel=1e-12)
    assert unit.water_kg_s * 86400.0 == pytest.approx(33.1) and unit.power_w == pytest.approx(745.5, rel=1e-3)


def test_forms_are_near_one_at_rating():
    """Winkler, Christensen and Tomerlin 2011, mean curves, from memory: normalised at rating, so both within 3 % of 1."""
    assert water_form(RATED_C, 60.0) == pytest.approx(1.0, abs=0.03)
    assert efficiency_form(RATED_C, 60.0) == pytest.approx(1.0, abs=0.03)


def test_colder_and_drier_air_gives_less():
    """The 2019 rule's 65 F rating of portable units gives about two thirds of the 80 F one's pints (a 70-pint unit became a
    50-pint one, 30 became 20): common-practice, within 0.57 to 0.77."""
    at_65, _ = dehumidifier_ratios((65.0 - 32.0) / 1.8, 0.60)
    assert 0.57 < at_65 < 0.77
    waters = np.array([[dehumidifier_ratios(t, r)[0] for r in (0.4, 0.5, 0.6, 0.7)] for t in (18.0, 22.0, 26.0, 30.0)])
    assert np.all(np.diff(waters, axis=0) > 0.0) and np.all(np.diff(waters, axis=1) > 0.0)


def test_label_at_another_state_comes_back():
    unit = dehumidifier_from_rating(24.0, 1.7, "65F", ducted=True)
    water, power = dehumidifier_ratios((65.0 - 32.0) / 1.8, 0.60)
    assert unit.water_kg_s * water * 86400.0 == pytest.approx(24.0)
    assert unit.power_w * power == pytest.approx(1000.0 / 1.7)
    assert unit.lost_part == DUCTED_LOST_PART


def test_no_water_from_dry_air_and_still_some_power():
    water, power = dehumidifier_ratios(18.0, 0.25)
    assert water == 0.0 and power == 0.6
    assert np.isnan(dehumidifier_ratios(np.nan, 0.5)[0])


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ((0.5, 1.8), "3 to 150 litres a day"),
        ((30.0, 10.0), "0.8 to 4 litres a kWh"),
        ((30.0, 1.8, "70F"), "is rated at one of 80F, 65F, 73F"),
    ],
)
def test_impossible_label(arguments, sentence):
    with pytest.raises(OutOfRangeError, match=sentence):
        dehumidifier_from_rating(*arguments)
