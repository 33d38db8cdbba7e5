"""Findings, options and plan of invented houses with each kind of blower motor: the fitted blower is of the surveyed kind."""

import numpy as np
import pytest

from airtrim.core.errors import NoSolutionError
from airtrim.job import new_job_text, parse_job
from airtrim.physics.blower.electronic import ElectronicMotor
from airtrim.physics.blower.motor import PscMotor
from airtrim.physics.blower.system import operating_point
from airtrim.weather.files import embedded_weather
from airtrim.work.airflow_map import airflow_map
from airtrim.work.findings import find
from airtrim.work.options.air_side import duct_work
from airtrim.work.options.candidates import drive, leave_as_is, lower_tap
from airtrim.work.plan import make_plan

ELECTRONIC = ("constant_torque", "constant_airflow")
ONE_WINDING = ("capacitor_start", "split_phase", "shaded_pole")
TEXT = new_job_text()


def job_of(kind, watts="410 W", more="horsepower = 0.5\ntaps = 4\ntap_in_use = 2\n", static="0.75 inH2O"):
    read = f'airflow = "1200 cfm"\ntotal_external_static = "{static}"\n'
    text = TEXT.replace('airflow = "1200 cfm"', read + (f'blower_power = "{watts}"\n' if watts else ""))
    return parse_job(f'{text}\n[blower]\nmotor = "{kind}"\n{more}', "x")


def found_of(job, count=4):
    return find(job, embedded_weather("greensboro-nc"), count=count, seed=3)


@pytest.fixture(scope="module")
def houses():
    watts = {"shaded_pole": "800 W", "psc": "560 W"}
    kinds = ("psc", *ELECTRONIC, *ONE_WINDING)
    jobs = {kind: job_of(kind, watts.get(kind, "410 W")) for kind in kinds}
    jobs |= {kind: job_of(kind, watts.get(kind, "410 W"), "horsepower = 0.5\n") for kind in ONE_WINDING}
    return {kind: found_of(job) for kind, job in jobs.items()}


def test_the_blower_is_of_the_surveyed_kind_and_moves_what_was_read(houses):
    for kind, found in houses.items():
        motor = found.blower.motor
        assert isinstance(motor, ElectronicMotor if kind in ELECTRONIC else PscMotor), kind
        if kind in ELECTRONIC:
            assert motor.kind == kind
        else:
            assert (motor.capacitor_f > 0.0) == (kind == "psc")
        point = operating_point(found.blower)
        assert point.airflow_m3_s == pytest.approx(found.airflow.m3_s, rel=1e-6), kind
        read = found.job.readings[0].blower_power.si
        assert point.watts == pytest.approx(read, rel=2e-3), kind
        assert (found.lowest is not None) == (kind == "psc")


def test_a_freer_return_gives_air_to_some_and_saves_watts_to_others(houses):
    """A restriction costs a PSC air and a constant-airflow motor watts; constant torque lies between [fan-tables]."""
    gains, watts = {}, {}
    for kind in ("psc", *ELECTRONIC):
        found = houses[kind]
        made = duct_work(found, leave_as_is(found), "return")
        gains[kind] = made.program.cooling_flow - 1.0
        watts[kind] = made.watts[0, 0] / found.system.fan_watts[0, 0] - 1.0
    assert gains["constant_airflow"] == pytest.approx(0.0, abs=1e-6)
    assert gains["psc"] > gains["constant_torque"] > 0.01
    assert watts["psc"] > 0.0 > watts["constant_torque"] > watts["constant_airflow"]


def test_an_electronic_motor_has_settings_of_its_own_and_no_drive(houses):
    for kind in ELECTRONIC:
        found = houses[kind]
        now = leave_as_is(found)
        slower = lower_tap(found, now)
        assert slower.tap == 3 and 0.85 < slower.program.cooling_flow < 0.97
        assert slower.watts[0, 0] < 0.9 * found.system.fan_watts[0, 0]
        assert "option_note.own_setting" in slower.notes
        assert drive(found, now, 0.7, 14.0).why_not == "option_why.not_psc"
    for kind in ONE_WINDING:
        assert lower_tap(houses[kind], leave_as_is(houses[kind])).why_not == "option_why.not_psc"


def test_the_airflow_map_shows_watts_of_the_kind(houses):
    """Along one duct curve a constant-airflow furnace takes 404 W at 1200 cfm and 135 W at 800: airflow to 2.5 [fan-tables]."""
    for kind, found in houses.items():
        series = {one["id"]: one for one in airflow_map(found, None)["series"]}
        mids = np.array(series["blower_watts"]["mids"])
        assert np.all(np.diff(mids) > 0.0), kind
        if kind == "constant_airflow":
            x = np.array(series["blower_watts"]["x"])
            power = np.log(mids[-1] / mids[0]) / np.log(x[-1] / x[0])
            assert 2.2 < power < 2.8


def test_without_watts_each_kind_takes_what_its_kind_takes():
    """Constant airflow 0.34 W/cfm at 0.5 in w.c. [fan-tables]; PSC 0.45 to 0.58 [common-practice]."""
    taken = {}
    for kind in ("psc", "constant_airflow", "shaded_pole"):
        # watts nobody read lie in a range of a third each way: a median of four systems would be as wide
        found = found_of(job_of(kind, watts=None, more="", static="0.5 inH2O"), count=16)
        taken[kind] = float(np.median(found.system.fan_watts[:, 0])) / 1200.0
        assert operating_point(found.blower).airflow_m3_s == pytest.approx(found.airflow.m3_s, rel=1e-6)
    assert 0.25 < taken["constant_airflow"] < 0.45 < taken["psc"] + 0.03 < 0.65 < taken["shaded_pole"]


def test_watts_no_electronic_motor_of_the_plate_takes_are_refused_in_one_sentence():
    with pytest.raises(NoSolutionError, match=r"0\.33 hp takes no more than 497 W, not the 700 W read"):
        found_of(job_of("constant_torque", "700 W", "horsepower = 0.3333\n"))


@pytest.mark.parametrize("kind", [*ELECTRONIC, "split_phase"])
def test_a_whole_plan_of_such_a_house(kind):
    job = job_of(kind, more="horsepower = 0.5\ntaps = 4\n" if kind in ELECTRONIC else "horsepower = 0.5\n")
    consider = ["fan_auto", "lower_tap", "drive_coil_feedback", "return_duct"]
    options = job.options.model_copy(update={"consider": consider})
    result = make_plan(job.model_copy(update={"options": options}), systems=4).result
    entries = {one["id"]: one for one in (*result["options"], *result["screened"])}
    assert entries["drive_coil_feedback"]["status"] == "not_applicable"
    reckoned = entries["lower_tap"]["status"] in ("run", "screened")
    assert reckoned == (kind in ELECTRONIC)
    assert entries["return_duct"]["status"] in ("run", "screened")
