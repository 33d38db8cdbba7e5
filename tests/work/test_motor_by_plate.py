"""The motor's plate and the wattmeter reach the fitted blower."""

from pathlib import Path

import pytest

from airtrim.core.errors import NoSolutionError
from airtrim.job import load_job, parse_job
from airtrim.physics.blower.system import operating_point
from airtrim.weather.files import embedded_weather
from airtrim.work.findings import find

EXAMPLE = next((Path(__file__).resolve().parents[2] / "examples").glob("*/job.toml"))
PLATE = 'horsepower = 0.5\nnameplate_volts = "230 V"\nnameplate_amps = "{amps}"\nrun_capacitor = "7.5 uF"'


def found(amps):
    text = EXAMPLE.read_text(encoding="utf-8")
    assert "horsepower = 0.5" in text
    return find(
        parse_job(text.replace("horsepower = 0.5", PLATE.format(amps=amps)), "job"),
        embedded_weather("greensboro-nc"),
        4,
    )


def test_capacitor_and_watts_of_the_plate_are_those_of_the_blower():
    plain = find(load_job(EXAMPLE), embedded_weather("greensboro-nc"), 4).blower
    told = found("3.1 A").blower
    assert told.motor.capacitor_f == pytest.approx(7.5e-6, rel=0.10)  # cans are +/-6 to 10 %
    assert told.motor != plain.motor
    assert operating_point(told).watts == pytest.approx(operating_point(plain).watts, rel=1e-6)


def test_a_plate_no_motor_has_is_refused_in_one_sentence():
    with pytest.raises(NoSolutionError, match=r"the plate's amps of 7\.4 lies furthest off"):
        found("7.4 A")
