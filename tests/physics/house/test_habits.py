"""Heat and moisture of a household by hour."""

import numpy as np
import pytest

from airtrim.physics.house.habits import PRESENCE, daily_shapes


def test_person_hours_of_presence():
    """Hendron and Engebrecht 2010: 16.5 person-hours a day, to the printed digit [hendron2010]."""
    assert sum(PRESENCE) == pytest.approx(16.5, abs=0.05)


@pytest.mark.parametrize("parts", [(0.12, 0.5), (0.0, 0.0), (1.0, 1.0)])
def test_shapes_are_24_values_about_a_mean_of_one(parts):
    for shape in daily_shapes(*parts):
        assert shape.shape == (24,) and shape.mean() == pytest.approx(1.0, rel=1e-12)
        assert np.all(shape >= 0.0)


def test_evenings_are_warmer_and_damper_than_the_middle_of_a_working_day():
    heat, moisture = daily_shapes()
    assert heat[19] > 1.3 * heat[11] and moisture[18] > 2.0 * moisture[11]
