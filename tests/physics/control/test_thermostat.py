"""The thermostat's call and the airflow program."""

import pytest

from airtrim.physics.control.thermostat import call_after, cooling_flow_after


@pytest.mark.parametrize(
    ("call", "held", "room", "expected"),
    [
        (0.0, 400.0, 24.4, 1.0),  # above the deadband after the least off time
        (0.0, 100.0, 24.4, 0.0),  # still within the least off time
        (0.0, 400.0, 24.1, 0.0),  # within the deadband
        (1.0, 400.0, 23.6, 0.0),  # satisfied
        (1.0, 100.0, 23.6, 1.0),  # least on time
        (0.0, 400.0, 19.0, 2.0),  # cold
        (2.0, 400.0, 20.9, 0.0),
    ],
)
def test_call(call, held, room, expected):
    assert call_after(call, held, room, 24.0, 20.0, 0.6, 180.0, 300.0) == expected


def flow_after(flow, sensor, suction, settled=1.0, drop=14.0):
    return cooling_flow_after(flow, 10.0, 1.0, 0.5, 1.0, 0.1, drop, 24.0, sensor, suction, 2.2, settled)


def test_warm_sensor_slows_the_blower_and_cold_coil_speeds_it_up():
    assert flow_after(0.8, sensor=12.0, suction=8.0) < 0.8
    assert flow_after(0.8, sensor=8.0, suction=5.0) > 0.8


def test_coil_floor_comes_before_the_drop():
    assert flow_after(0.8, sensor=12.0, suction=1.0) > 0.8


def test_flow_stays_between_least_and_greatest():
    assert flow_after(0.5, sensor=20.0, suction=15.0) == 0.5
    assert flow_after(1.0, sensor=0.0, suction=-5.0) == 1.0


def test_fixed_flow_ramps():
    assert cooling_flow_after(0.0, 1.0, 0.75, 0.5, 1.0, 0.1, 0.0, 24.0, 10.0, 7.0, 2.2, 1.0) == pytest.approx(0.1)
