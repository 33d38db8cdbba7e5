"""Electronic motors: losses against load, limits, and what holding torque, airflow or speed does on a duct."""

import numpy as np
import pytest

from airtrim.core.errors import InputError, OutOfRangeError
from airtrim.physics.blower.electronic import ElectronicMotor, electronic_motor, torque_at
from airtrim.physics.blower.fit import fit_blower
from airtrim.physics.blower.system import operating_point

CFM, INCH = 0.0004719474432, 249.08891


def blower(kind, **changed):
    first = electronic_motor("constant_speed", 0.5, [1050.0])
    shaft = first.shaft_w(330.0)
    setting = {"constant_torque": torque_at(shaft, 1050.0), "constant_airflow": 1200.0 * CFM, "constant_speed": 1050.0}[
        kind
    ]
    motor = electronic_motor(kind, 0.5, [setting, 0.8 * setting])
    return fit_blower(1200.0 * CFM, 0.5 * INCH, 330.0, 0.5, motor=motor, **changed)


@pytest.mark.parametrize("kind", ["constant_torque", "constant_airflow", "constant_speed"])
def test_the_measured_point_is_met(kind):
    point = operating_point(blower(kind))
    assert point.airflow_m3_s == pytest.approx(1200.0 * CFM, rel=1e-9)
    assert point.external_static_pa == pytest.approx(0.5 * INCH, rel=1e-9)
    assert point.watts == pytest.approx(330.0, rel=1e-9)
    assert point.limited_by == ""
    assert point.watts_per_cfm == pytest.approx(330.0 / 1200.0)


def test_efficiency_is_the_trades():
    """0.70 to 0.80 near full load, 0.5 to 0.6 well below a fifth of it (from-memory)."""
    motor = electronic_motor("constant_airflow", 0.5, [0.5])
    assert all(0.70 <= motor.efficiency(load) <= 0.80 for load in (0.35, 0.5, 0.75, 1.0))
    assert all(0.5 <= motor.efficiency(load) <= 0.6 for load in (0.08, 0.10, 0.12))
    for watts in (30.0, 150.0, 400.0):
        assert motor.watts(motor.shaft_w(watts)) == pytest.approx(watts, rel=1e-12)
    assert motor.watts(0.0) > motor.standby_w == 7.0


def test_a_makers_efficiency_is_followed():
    points = [(0.1, 0.55), (0.25, 0.70), (0.5, 0.78), (1.0, 0.80)]
    motor = electronic_motor("constant_torque", 0.5, [3.0]).with_efficiency(points)
    for load, part in points:
        shaft = load * motor.rated_w
        assert shaft / (motor.watts(shaft) - motor.standby_w) == pytest.approx(part, abs=0.015)
    with pytest.raises(InputError, match="negative loss"):
        electronic_motor("constant_torque", 0.5, [3.0]).with_efficiency([(0.1, 0.9), (1.0, 0.5), (0.5, 0.95)])
    with pytest.raises(OutOfRangeError, match="efficiency points need"):
        motor.with_efficiency([(5.0, 0.8)])


def test_a_choked_duct_speeds_an_electronic_motor_up_and_slows_no_airflow_held():
    """common-practice: constant torque loses some air and speeds up, constant airflow keeps it and takes more watts."""
    torque, airflow, speed = (
        (operating_point(system), operating_point(system, filter_load=2.5))
        for system in map(blower, ("constant_torque", "constant_airflow", "constant_speed"))
    )
    assert torque[1].speed_rpm > torque[0].speed_rpm
    assert airflow[1].airflow_m3_s == pytest.approx(airflow[0].airflow_m3_s, rel=1e-9)
    assert airflow[1].watts > 1.05 * airflow[0].watts
    assert airflow[1].airflow_m3_s > torque[1].airflow_m3_s > speed[1].airflow_m3_s
    assert speed[1].watts < speed[0].watts  # a forward-curved wheel unloads


def test_at_its_limit_it_loses_air_and_says_so():
    point = operating_point(blower("constant_airflow"), filter_load=20.0)
    assert point.limited_by in ("power", "speed")
    assert point.airflow_m3_s < 1200.0 * CFM
    assert point.speed_rpm <= 1300.0 * (1.0 + 1e-9) and point.shaft_w <= 0.5 * 745.7 * (1.0 + 1e-9)


def test_a_lower_setting_and_its_watts():
    """Torque 0.8 along one duct: air nearly as its root, watts nearly as its 1.5 power (fan laws, exponents of 1.9 and less)."""
    system = blower("constant_torque")
    high, low = operating_point(system), operating_point(system, tap=2)
    assert low.airflow_m3_s / high.airflow_m3_s == pytest.approx(np.sqrt(0.8), abs=0.02)
    assert low.shaft_w / high.shaft_w == pytest.approx(0.8**1.5, abs=0.02)
    assert low.sound_change_db < 0.0


def test_what_an_electronic_motor_never_gets():
    system = blower("constant_torque")
    for setting in ({"hertz": 40.0}, {"volts_ratio": 0.8}, {"phase_cut": True}):
        with pytest.raises(InputError, match="must have line voltage and frequency"):
            operating_point(system, **setting)
    with pytest.raises(OutOfRangeError, match="tap must lie in 1 to 2"):
        operating_point(system, tap=3)


def test_a_motor_that_cannot_be_is_one_sentence():
    with pytest.raises(InputError, match="kind of motor must be one of"):
        ElectronicMotor("steam", (1.0,), 300.0)
    with pytest.raises(OutOfRangeError, match="settings must be"):
        ElectronicMotor("constant_torque", (), 300.0)
    with pytest.raises(OutOfRangeError, match="rated output must lie in"):
        ElectronicMotor("constant_torque", (1.0,), 0.5)
    with pytest.raises(OutOfRangeError, match="before it moves air"):
        electronic_motor("constant_torque", 0.5, [3.0]).shaft_w(10.0)
