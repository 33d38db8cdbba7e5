"""Watts, capacitor, amps and volts."""

import pytest

from airtrim.work.readings.electrical import electrical
from airtrim.work.readings.uncertain import Uncertain
from tests.work.readings.readings_cases import CFM, figure_of, ids, point_with

MOTOR = 'nameplate_amps = "4.3 A"\nnameplate_volts = "240 V"\nrun_capacitor = "7.5 uF"\nmotor = "psc"'


def read(text, blower=MOTOR, airflow=None):
    return electrical(point_with(text, blower=blower), airflow)


def test_a_meters_watts_go_before_volts_times_amps():
    found = read('blower_power = "520 W"\nblower_volts = "238 V"\nblower_amps = "2.7 A"\n')
    assert found.watts.value == 520.0


def test_volts_times_amps_times_power_factor():
    found = read('blower_volts = "240 V"\nblower_amps = "2.5 A"\npower_factor = "90 %"\n')
    assert found.watts.value == pytest.approx(540.0) and "power_factor_assumed" not in ids(found.messages)


def test_without_a_power_factor_the_range_is_wide_and_said():
    """A PSC's power factor is not 1 [field practice]."""
    found = read('blower_volts = "240 V"\nblower_amps = "2.5 A"\n')
    figure = figure_of(found.figures, "blower_watts")
    assert figure["high"] < 240.0 * 2.5 * 1.05 and figure["high"] - figure["low"] > 120.0
    assert "power_factor_assumed" in ids(found.messages)


def test_watts_above_volt_amps_are_asked():
    found = read('blower_power = "700 W"\nblower_volts = "240 V"\nblower_amps = "2.5 A"\n')
    assert "ask.watts_above_volt_amps" in ids(found.messages)


def test_half_a_watt_per_cfm():
    """2 cfm/W = 0.5 W/cfm [field blowers, LBNL]."""
    found = read('blower_power = "600 W"\n', airflow=Uncertain(1200.0 * CFM))
    assert figure_of(found.figures, "watts_per_airflow")["mid"] * CFM == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("amps", "verdict"),
    [
        ("1.05 A", "capacitor_good"),
        ("0.80 A", "capacitor_weak"),
        ("0.98 A", "capacitor_cannot_tell"),
        ("1.35 A", "capacitor_high"),
    ],
)
def test_the_capacitor_under_load(amps, verdict):
    """2,652 A / V: 1.05 A at 371 V is 7.5 uF; 0.80 A 5.7 uF, below 7.5 less 6 %."""
    good_meter = '\n[[instruments]]\nid = "clamp"\nkind = "clamp_meter"\npart_of_reading = "1 %"\n'
    point = point_with(f'capacitor_volts = "371 V"\ncapacitor_amps = "{amps}"\n', blower=MOTOR, more=good_meter)
    found = electrical(point, None)
    assert ids(found.messages) == [verdict]
    expected = 2652.58 * float(amps.split()[0]) / 371.0
    assert figure_of(found.figures, "capacitance")["mid"] == pytest.approx(expected, rel=1e-4)


def test_at_fifty_hertz_the_factor_is_3183():
    found = read('capacitor_volts = "400 V"\ncapacitor_amps = "1.0 A"\nline_frequency = "50 Hz"\n')
    assert figure_of(found.figures, "capacitance")["mid"] == pytest.approx(3183.1 / 400.0, rel=1e-4)


def test_amps_against_the_plate():
    """Below the plate never reads as good airflow: a choked forward-curved wheel unloads [field practice, two sources]."""
    assert "stop.amps_above_plate" in ids(read('blower_amps = "4.9 A"\n').messages)
    assert "amps_at_plate" in ids(read('blower_amps = "4.27 A"\n').messages)
    assert "amps_below_plate" in ids(read('blower_amps = "2.9 A"\n').messages)
    electronic = MOTOR.replace('"psc"', '"constant_torque"')
    assert "amps_below_plate_electronic" in ids(read('blower_amps = "2.9 A"\n', electronic).messages)
    assert ids(read('blower_amps = "2.9 A"\n', "").messages) == ["amps_without_plate"]


def test_volts_beyond_ten_per_cent_of_the_plate_are_said():
    assert "volts_off" in ids(read('blower_volts = "208 V"\n').messages)
    assert "volts_off" not in ids(read('blower_volts = "230 V"\n').messages)


def test_half_a_capacitor_reading_and_no_label_are_said():
    assert ids(read('capacitor_volts = "371 V"\n').messages) == ["capacitor_needs_both"]
    assert "capacitor_without_label" in ids(read('capacitor_volts = "371 V"\ncapacitor_amps = "1 A"\n', "").messages)
