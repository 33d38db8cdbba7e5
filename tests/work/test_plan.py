"""The main job on small samples."""

from pathlib import Path

import numpy as np
import pytest

from airtrim.core.errors import JobError
from airtrim.job import load_job, new_job_text, parse_job
from airtrim.physics.season.year import run_years
from airtrim.weather.files import embedded_weather
from airtrim.work.figure import figure
from airtrim.work.findings import find
from airtrim.work.options.candidates import drive, fan_auto, leave_as_is, lower_tap
from airtrim.work.options.limits import air_limits, is_safe
from airtrim.work.options.weigh import option_results, recommend
from airtrim.work.settings.choose import settings_sheet

EXAMPLE = next((Path(__file__).resolve().parents[2] / "examples").glob("*/job.toml"))


@pytest.fixture(scope="module")
def weather():
    return embedded_weather("greensboro-nc")


@pytest.fixture(scope="module")
def found(weather):
    return find(load_job(EXAMPLE), weather, count=4, seed=3)


def test_figure_is_the_ninety_per_cent_range():
    got = figure("x", np.arange(101.0), "W")
    assert (got["low"], got["mid"], got["high"]) == (5.0, 50.0, 95.0)
    assert figure("x", np.array([1.0, np.nan]), "W")["status"] == "not_computed"


def test_findings_repeat_by_seed_and_change_with_it(weather, found):
    again = find(load_job(EXAMPLE), weather, count=4, seed=3)
    other = find(load_job(EXAMPLE), weather, count=4, seed=4)
    np.testing.assert_array_equal(found.system.units, again.system.units)
    assert not np.array_equal(found.system.units, other.system.units)


def test_readings_narrow_the_suction(weather):
    """With a gauge reading of 46 F the sample must lie nearer to it than without."""
    job = load_job(EXAMPLE)
    blind = job.model_copy(
        update={"readings": [job.readings[0].model_copy(update={"saturated_suction": None, "supply_dry_bulb": None})]}
    )
    spread = []
    for each in (job, blind):
        suction = next(f for f in find(each, weather, count=32, seed=3).figures if f["id"] == "saturated_suction")
        spread.append(suction["high"] - suction["low"])
    assert spread[0] < spread[1]


def test_airflow_figure_brackets_the_reading(found):
    got = next(f for f in found.figures if f["id"] == "airflow")
    assert got["low"] < found.airflow.m3_s < got["high"] * 1.1


def test_without_airflow_the_job_says_what_is_missing(weather):
    text = new_job_text().replace('airflow = "1200 cfm"', 'total_external_static = "0.5 inH2O"')
    with pytest.raises(JobError, match="alone gives no airflow"):
        find(parse_job(text, "x"), weather, count=2)


def test_fan_on_to_auto_dries_the_house(weather):
    """FSEC-CR-1537-05, direction only: the free step is offered, dries, and is taken before a dearer one is needed."""
    job = parse_job(new_job_text().replace('fan = "auto"', 'fan = "on"'), "x")
    found = find(job, weather, count=2, seed=1)
    now = leave_as_is(found)
    candidates = [now, fan_auto(found, now)]
    years = run_years(found.system, [c.program for c in candidates], weather, 60.0)
    assert np.all(years.damp_hours[:, 1] < years.damp_hours[:, 0])
    results = option_results(found, candidates, years)
    assert recommend(found, candidates, results, years)["option"] == "fan_auto"


def test_a_tap_below_the_heaters_least_airflow_is_struck_out(found):
    job = found.job.model_copy(deep=True)
    heat = job.heat.model_copy(update={"least_airflow": job.readings[0].airflow})
    job = job.model_copy(update={"heat": heat})
    limits = air_limits(job, found.system, found.airflow.m3_s, 0.9, watches_coil=False)
    assert next(one for one in limits if one["id"] == "heat_airflow")["status"] == "fail"
    assert not is_safe(limits)


def test_a_fixed_tap_below_300_cfm_per_ton_is_refused_and_350_passes(found):
    """Trade floor 350, judgement 300 (field practice): fixed taps below are refused."""
    per_ton = found.airflow.m3_s / found.job.tons / 0.0004719474432
    for wanted, status in ((290.0, "fail"), (320.0, "on_site"), (360.0, "pass")):
        limits = air_limits(found.job, found.system, found.airflow.m3_s, wanted / per_ton, watches_coil=False)
        assert next(one for one in limits if one["id"] == "airflow_per_ton")["status"] == status


def test_unknown_heat_issues_no_setting(weather):
    job = parse_job(new_job_text().replace('kind = "electric_strip"', 'kind = "unknown"'), "x")
    found = find(job, weather, count=2)
    sheet = settings_sheet(found, drive(found, leave_as_is(found), 0.7, 14.0), "drive_coil_feedback", True)
    assert not sheet["issued"] and sheet["card"] == [] and sheet["why"] == "settings.heat_unknown"


def test_lower_tap_takes_less_power_and_auto_does_not_apply_twice(found):
    now = leave_as_is(found)
    tap = lower_tap(found, now)
    assert tap.program.cooling_flow < 1.0
    assert np.all(tap.watts[:, 0] < found.system.fan_watts[:, 0])
    assert fan_auto(found, now).why_not == "option_why.already_auto"
