"""Electricity by the year's own hours, and what the tariff makes of it."""

from dataclasses import replace

import numpy as np
import pytest

from airtrim.job import new_job_text, parse_job
from airtrim.weather.files import embedded_weather
from airtrim.work.findings import find
from airtrim.work.options.candidates import leave_as_is
from airtrim.work.options.drying import free_standing_dehumidifier
from airtrim.work.options.energy import by_month_and_hour, demand_kw, electricity_kwh
from airtrim.work.options.measures import measures_of
from airtrim.work.options.weigh import run_candidates

PERIODS = """
[tariff]
time_zone = "America/New_York"
[[tariff.periods]]
name = "on"
start = "14:00"
end = "20:00"
price_per_kwh = 0.40
[[tariff.periods]]
name = "off"
start = "20:00"
end = "14:00"
price_per_kwh = 0.10
"""


@pytest.fixture(scope="module")
def weather():
    return embedded_weather("greensboro-nc")


@pytest.fixture(scope="module")
def found(weather):
    return find(parse_job(new_job_text() + PERIODS, "x"), weather, count=2, seed=1)


@pytest.fixture(scope="module")
def now(found):
    return leave_as_is(found)


@pytest.fixture(scope="module")
def years(found, now, weather):
    return run_candidates(found, [now, free_standing_dehumidifier(found, now)], weather, 60.0)


@pytest.mark.parametrize("m", [0, 1])
@pytest.mark.parametrize("strips", [True, False])
def test_the_hours_add_up_to_the_year(years, m, strips):
    np.testing.assert_allclose(
        by_month_and_hour(years, m, strips).sum(axis=(1, 2)), electricity_kwh(years, m, strips), rtol=1e-9
    )


def test_a_furnaces_heat_is_no_electricity(years):
    heat = electricity_kwh(years, 0, True) - electricity_kwh(years, 0, False)
    np.testing.assert_allclose(heat, years.strips_or_furnace_kwh[:, 0])
    assert np.all(heat > 0.0)


def test_cooling_falls_into_the_afternoon(years):
    """common-practice: a cooling load peaks between noon and early evening."""
    told = years.details.by_hour["compressor_kwh"][:, 0, 6]
    assert np.all((told.argmax(axis=1) >= 12) & (told.argmax(axis=1) <= 19))


def test_the_bill_is_the_hours_times_their_prices(found, now, years, weather):
    """By hand for July, when civil time is an hour ahead: 14:00 to 20:00 are the standard hours from 13:00 to 19:00."""
    strips = by_month_and_hour(years, 0, True)
    july_only = np.zeros_like(strips)
    july_only[:, 6] = strips[:, 6]
    from airtrim.work.options.money import added_bill

    on = july_only[:, 6, 13:19].sum(axis=1)
    expected = 0.40 * on + 0.10 * (july_only.sum(axis=(1, 2)) - on)
    np.testing.assert_allclose(added_bill(found.job.tariff, july_only), expected, rtol=1e-9)
    bill = measures_of(found, now, years, 0, weather).bill
    np.testing.assert_allclose(bill, added_bill(found.job.tariff, strips), rtol=1e-9)
    assert np.all((bill > 0.10 * strips.sum(axis=(1, 2))) & (bill < 0.40 * strips.sum(axis=(1, 2))))


def test_without_a_tariff_or_hours_there_is_no_bill_and_energy_stands_in(found, now, years, weather):
    bare = replace(found, job=parse_job(new_job_text(), "x"))
    assert measures_of(bare, now, years, 0, weather).bill is None
    short = replace(years, details=replace(years.details, by_hour={}, hourly={}))
    measured = measures_of(found, now, short, 0, weather)
    assert measured.bill is None and measured.comfort is None
    np.testing.assert_array_equal(measured.cost, electricity_kwh(years, 0, True))


def test_demand_is_what_runs_at_once(found, years):
    """July's demand is the unit and its blower; January's the strips and the blower; a dehumidifier comes on top (by hand)."""
    heating = found.system.heating_capacity_w
    demand = demand_kw(years, 0, False, True, heating)
    run = years.monthly_run_hours[:, 0, 6]
    assert np.all(demand[:, 6] > years.monthly_compressor_kwh[:, 0, 6] / run)
    assert np.all(demand[:, 0] > heating / 1000.0)
    assert np.all(demand_kw(years, 0, False, False, heating)[:, 0] < 1.0)
    with_drier = demand_kw(years, 1, False, True, heating)
    power = found.system.count * [0.5]
    assert np.all(with_drier[:, 6] - demand[:, 6] > 0.3 * np.array(power))


def test_the_season_complained_of_is_what_the_dry_aim_looks_at(found, now, years, weather):
    def season(name):
        complaint = found.job.complaint.model_copy(update={"season": name})
        job = found.job.model_copy(update={"complaint": complaint})
        return measures_of(replace(found, job=job), now, years, 0, weather)

    np.testing.assert_allclose(season("summer").damp_hours, years.monthly_hours_over_humidity[:, 0, 2, 5:8].sum(axis=1))
    np.testing.assert_allclose(
        season("winter").worst_month, years.monthly_relative_humidity[:, 0][:, [11, 0, 1]].max(axis=1)
    )
    np.testing.assert_allclose(season("all_year").damp_hours, years.damp_hours[:, 0])
