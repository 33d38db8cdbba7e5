"""The main job on small samples."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import binomtest

from airtrim.core.errors import JobError
from airtrim.job import load_job, new_job_text, parse_job
from airtrim.job.measured import Measured
from airtrim.physics.blower.limits import lowest_safe_frequency
from airtrim.physics.blower.supply import Estimate
from airtrim.physics.season.year import run_years
from airtrim.weather.files import embedded_weather
from airtrim.work.figure import figure
from airtrim.work.findings import find
from airtrim.work.options.candidates import IDS, asked_for, drive, fan_auto, leave_as_is, lower_tap
from airtrim.work.options.limits import air_limits, is_safe, motor_limits
from airtrim.work.options.weigh import option_results, recommend
from airtrim.work.settings.sheet import settings_sheet
from tests.plans import demo_result

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
    heat = job.heat.model_copy(update={"least_airflow": job.readings[0].airflow, "own_lead": False})
    job = job.model_copy(update={"heat": heat})
    limits = air_limits(job, found.system, found.airflow.m3_s, 0.05, 0.9, watches_coil=False)
    assert next(one for one in limits if one["id"] == "heat_airflow")["status"] == "fail"
    assert not is_safe(limits)


def test_a_fixed_tap_below_300_cfm_per_ton_is_refused_and_350_passes(found):
    """Trade floor 350, judgement 300 (field practice): fixed taps below are refused."""
    per_ton = found.airflow.m3_s / found.job.tons / 0.0004719474432
    for wanted, status in ((290.0, "fail"), (320.0, "on_site"), (360.0, "pass")):
        limits = air_limits(found.job, found.system, found.airflow.m3_s, 0.05, wanted / per_ton, watches_coil=False)
        assert next(one for one in limits if one["id"] == "airflow_per_ton")["status"] == status


def test_unknown_heat_issues_no_setting(weather):
    job = parse_job(new_job_text().replace('kind = "electric_strip"', 'kind = "unknown"'), "x")
    found = find(job, weather, count=2)
    sheet = settings_sheet(found, drive(found, leave_as_is(found), 0.7, 14.0), np.full(2, 5.0), True)
    assert not sheet["issued"] and sheet["card"] == [] and sheet["why"] == "settings.heat_unknown"


def test_a_noted_danger_comes_before_all_and_issues_no_setting(weather):
    """The tool's own rule: nothing is set in a house that carbon monoxide was found in."""
    job = parse_job(new_job_text().replace("[house]\n", '[house]\ndangers = ["carbon_monoxide"]\n', 1), "x")
    found = find(job, weather, count=2)
    assert found.messages[0]["id"] == "reading.stop.carbon_monoxide"
    sheet = settings_sheet(found, drive(found, leave_as_is(found), 0.7, 14.0), np.full(2, 5.0), True)
    assert not sheet["issued"] and sheet["card"] == [] and sheet["why"] == "settings.danger"


def test_lower_tap_takes_less_power_and_auto_does_not_apply_twice(found):
    now = leave_as_is(found)
    tap = lower_tap(found, now)
    assert tap.program.cooling_flow < 1.0
    assert np.all(tap.watts[:, 0] < found.system.fan_watts[:, 0])
    assert fan_auto(found, now).why_not == "option_why.already_auto"


def test_an_option_the_job_does_not_ask_for_is_set_aside(found):
    job = found.job.model_copy(update={"options": found.job.options.model_copy(update={"consider": ["fan_auto"]})})
    asked = replace(found, job=job)
    assert asked_for(asked, lower_tap(asked, leave_as_is(asked))).why_not == "option_why.not_asked"
    assert asked_for(asked, leave_as_is(asked)).program is not None


def test_electronic_motors_get_their_own_setting_and_no_drive(weather):
    """Never a drive on an electronic motor (common-practice)."""
    job = parse_job(new_job_text() + '\n[blower]\nmotor = "constant_airflow"\n', "x")
    found = find(job, weather, count=2)
    now = leave_as_is(found)
    assert drive(found, now, 0.7, 14.0).why_not == "option_why.not_psc"
    assert "option_note.own_setting" in lower_tap(found, now).notes
    assert any(message["id"] == "finding.electronic_motor" for message in found.messages)


def test_the_jobs_own_floors_strike_out_what_passes_without_them(found):
    per_ton = found.airflow.m3_s / found.job.system.outdoor_size.si
    limits = found.job.safe_limits.model_copy(
        update={
            "least_airflow_per_ton": Measured(text="", si=per_ton, unit="m**3/s/W"),
            "least_frequency": Measured(text="", si=50.0, unit="Hz"),
        }
    )
    job = found.job.model_copy(update={"safe_limits": limits})
    judged = air_limits(job, found.system, found.airflow.m3_s, 0.05, 0.98, watches_coil=False)
    assert next(one for one in judged if one["id"] == "airflow_per_ton")["status"] == "fail"
    floored = replace(found, lowest=lowest_safe_frequency(found.blower, maker_least_hertz=50.0))
    for one, status in ((floored, "fail"), (found, "pass")):
        judged = motor_limits(one, 45.0, Estimate(1.0, 1.0, 1.0), on_a_drive=True)
        assert next(row for row in judged if row["id"] == "frequency_maker")["status"] == status


@pytest.mark.parametrize(
    ("low", "mid", "high", "status"),
    [(0.9, 1.0, 1.2, "pass"), (1.0, 1.2, 1.5, "on_site"), (1.2, 1.4, 1.6, "fail")],
)
def test_a_winding_that_may_run_too_hot_is_felt_on_site_and_one_that_does_is_refused(found, low, mid, high, status):
    rise = motor_limits(found, 60.0, Estimate(low, mid, high), on_a_drive=False)[0]
    assert rise["id"] == "winding_rise"
    assert rise["status"] == status


def test_chance_limit_is_claimed_only_on_a_large_sample(found):
    """At most 4 of 200 gives a one-sided 95 % bound of 4.5 %: binomial, by scipy."""
    assert binomtest(4, 200).proportion_ci(0.90, "exact").high == pytest.approx(0.045, abs=0.001)
    now = leave_as_is(found)
    tap = lower_tap(found, now)
    cold = np.concatenate([np.full(4, -1.0), np.full(196, 3.0)])
    assert settings_sheet(found, tap, cold, True)["shown"] == "one_in_twenty"
    assert settings_sheet(found, tap, np.append(cold[1:], [-1.0, -1.0]), True)["shown"] == "not_yet_shown"
    assert settings_sheet(found, tap, np.full(32, 3.0), True)["shown"] == "not_yet_shown"


def test_outdoor_air_and_exhausts_of_the_survey_wet_the_house(weather):
    """In humid weather added outdoor air makes a house damper (Rudd and Henderson 2007, direction only)."""
    text = new_job_text()
    more = (
        text
        + """
[ducts]
outdoor_air_duct = "80 cfm"
[[habits.exhausts]]
kind = "bath"
airflow = "80 cfm"
hours_a_day = 12
"""
    )
    humid = embedded_weather("miami-fl")
    means = []
    for one in (text, more):
        found = find(parse_job(one, "x"), humid, count=2, seed=1)
        years = run_years(found.system, [leave_as_is(found).program], humid, 60.0)
        means.append(years.latent_kwh[:, 0] / years.sensible_kwh[:, 0])
        assert np.abs(years.water_balance).max() < 1e-9
    assert np.all(means[1] > 1.05 * means[0])


def test_a_result_is_finite_json_and_repeats():
    result = demo_result()
    assert json.loads(json.dumps(result, allow_nan=False)) == result
    assert sorted(option["id"] for option in result["options"] + result["screened"]) == sorted(IDS)
    for option in result["options"]:
        for one in option["figures"] + option["differences"]:
            assert one["low"] <= one["mid"] <= one["high"] and one["unit"]
