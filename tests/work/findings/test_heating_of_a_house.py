"""What a survey's heating becomes in the year: strips or furnace, a heat pump beside them."""

import pytest

from airtrim.job import read_document
from airtrim.job.checks import heating_power_w
from airtrim.work.findings.house import heat_pump_points_w
from tests.plans import EXAMPLE


def job_with(**values):
    document = read_document(EXAMPLE)
    for place, value in values.items():
        document = document.with_value(place.replace("__", "."), value)
    return document.job


def test_a_house_without_a_heat_pump_has_none():
    assert heat_pump_points_w(job_with()) == ((0.0, 0.0), (0.0, 0.0))


def test_a_heat_pump_gives_its_surveyed_heat_at_47_f_and_less_at_17_f_at_a_poorer_ratio():
    """A COP of 3 to 3.7 at 47 F and of 2 to 2.6 at 17 F is what single-speed heat pumps of 8 HSPF have (common-practice)."""
    heat, power = heat_pump_points_w(job_with(heat__kind="heat_pump", heat__heat_pump_output="30000 Btu/h"))
    assert heat[0] == pytest.approx(30000.0 * 0.29307107, rel=1e-6)
    assert 0.5 < heat[1] / heat[0] < 0.7
    assert 3.0 < heat[0] / power[0] < 3.7 and 2.0 < heat[1] / power[1] < 2.6


def test_its_heat_is_not_counted_as_strips():
    job = job_with(heat__kind="heat_pump", heat__heat_pump_output="30000 Btu/h", heat__strip_power="10 kW")
    assert heating_power_w(job) == pytest.approx(10000.0)
