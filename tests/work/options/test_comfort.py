"""The predicted mean vote as it is taken from the library, and how it is used over a year."""

from types import SimpleNamespace

import numpy as np
import pytest

from airtrim.work.options.comfort import clothing, comfort_of, predicted_mean_vote

YEAR = SimpleNamespace(dry_bulb_c=np.full(8760, 25.0))


# ISO 7730:2005, table D.1 [from-memory]: operative temperature as air and radiant temperature, 0.1 m/s, 1.2 met; printed to 0.1.
@pytest.mark.parametrize(
    ("temperature_c", "humidity", "clo", "vote"),
    [(22.0, 0.60, 0.5, -0.75), (27.0, 0.60, 0.5, 0.77), (19.0, 0.40, 1.0, -0.60)],
)
def test_the_standards_table(temperature_c, humidity, clo, vote):
    told = predicted_mean_vote(np.array([temperature_c]), np.array([humidity]), np.array([clo]))
    assert told == pytest.approx([vote], abs=0.1)


def test_damper_air_feels_warmer():
    """ISO 7730: about 0.1 of a vote for 20 points of humidity at 25 degC; direction, and no more than a few tenths."""
    dry, damp = predicted_mean_vote(np.array([25.0, 25.0]), np.array([0.40, 0.60]), np.array([0.5, 0.5]))
    assert 0.02 < damp - dry < 0.3


def test_clothes_follow_the_days_weather():
    """ISO 7730: 0.5 clo in summer and 1.0 clo in winter."""
    dry_bulb = np.full(8760, 30.0)
    dry_bulb[:2000] = -5.0
    worn = clothing(dry_bulb)
    assert (worn[0], worn[-1]) == (1.0, 0.5)
    assert np.all((worn >= 0.5) & (worn <= 1.0))


def test_hours_add_up_to_the_year():
    rng = np.random.default_rng(1)
    told = comfort_of(rng.uniform(15.0, 32.0, (3, 8760)), rng.uniform(0.3, 0.8, (3, 8760)), YEAR)
    np.testing.assert_array_equal(told.comfortable + told.too_warm + told.too_cold, 8760.0)
    assert np.all(told.too_cold > 1000.0) and np.all(told.too_warm > 1000.0)
