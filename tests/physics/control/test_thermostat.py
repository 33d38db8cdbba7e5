"""The thermostat's call and the airflow program."""

import pytest

from airtrim.physics.control.thermostat import call_after, cooling_flow_after, switched_above


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


def flow_after(
    flow, sensor=10.0, suction=8.0, settled=1.0, holding=1.0, held=6.0, coldest=None, fixed=1.0, step_s=10.0
):
    coldest = suction if coldest is None else coldest
    return cooling_flow_after(
        flow, step_s, fixed, 0.5, 1.0, 0.1, holding, 14.0, held, 24.0, sensor, suction, coldest, 2.2, settled
    )[0]


def test_warm_sensor_slows_the_blower_and_cold_coil_speeds_it_up():
    assert flow_after(0.8, sensor=12.0, suction=8.0) < 0.8
    assert flow_after(0.8, sensor=8.0, suction=5.0) > 0.8


def test_suction_above_what_is_held_slows_the_blower():
    assert flow_after(0.8, suction=8.0, holding=2.0) < 0.8
    assert flow_after(0.8, suction=5.0, holding=2.0) > 0.8


def test_coil_floor_comes_before_the_drop():
    assert flow_after(0.8, sensor=12.0, suction=1.0) > 0.8


def test_coil_floor_is_kept_at_the_coldest_inlet_and_under_a_fixed_flow():
    assert flow_after(0.8, suction=7.0, coldest=1.0, holding=2.0) > 0.8
    assert flow_after(0.6, suction=1.0, holding=0.0, fixed=0.6) > 0.6
    assert flow_after(0.8, suction=1.0, holding=0.0, fixed=0.6) > 0.8
    assert flow_after(0.6, suction=8.0, holding=0.0, fixed=0.6) == 0.6
    assert flow_after(0.6, suction=1.0, holding=0.0, fixed=0.6, settled=0.0) == 0.6


def test_flow_stays_between_least_and_greatest():
    assert flow_after(0.5, sensor=20.0, suction=15.0) == 0.5
    assert flow_after(1.0, sensor=0.0, suction=-5.0) == 1.0


def test_fixed_flow_ramps():
    assert flow_after(0.0, holding=0.0, fixed=0.75, step_s=1.0) == pytest.approx(0.1)


def test_airflow_moves_only_in_a_part_of_the_step():
    """At 0.1 a second 0.2 takes two of ten seconds; a feedback moves all the while it is settled."""
    assert cooling_flow_after(
        0.8, 10.0, 0.6, 0.5, 1.0, 0.1, 0.0, 14.0, 6.0, 24.0, 10.0, 8.0, 8.0, 2.2, 0.0
    ) == pytest.approx((0.6, 0.2))
    moved, part = cooling_flow_after(0.8, 10.0, 0.6, 0.5, 1.0, 0.1, 2.0, 14.0, 6.0, 24.0, 10.0, 8.0, 8.0, 2.2, 0.5)
    assert 0.78 < moved < 0.8 and part == 0.5


@pytest.mark.parametrize(("on", "value", "expected"), [(0, 0.58, 0), (1, 0.58, 1), (0, 0.63, 1), (1, 0.52, 0)])
def test_contact_with_a_deadband(on, value, expected):
    assert switched_above(float(on), value, 0.54, 0.62) == expected
