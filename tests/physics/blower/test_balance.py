"""The compiled solver against scipy's on the same residuals, and at the ends of what it may be asked."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from airtrim.physics.blower.balance import (
    AIRFLOW,
    AT_POWER_LIMIT,
    AT_SETTING,
    AT_SPEED_LIMIT,
    POWER,
    SPEED,
    TORQUE,
    electronic_balance,
    flow_ratio_at_speed,
    held_flow_ratio,
    hertz_for_speed,
    psc_balance,
    psc_excess,
)
from airtrim.physics.blower.circuit import Supply, torque_and_slope
from airtrim.physics.blower.motor import default_motor
from airtrim.physics.blower.path import Path, Resistance, path_pressure
from airtrim.physics.blower.wheel import generic_wheel, wheel_load, wheel_pressure, wheel_torque

MOTOR = default_motor(0.5)
WHEEL = generic_wheel(0.6, 280.0, 1075.0, 3.1)
PATH = Path(150.0 / 0.6**1.9, 55.0 / 0.6**1.4, 75.0 / 0.6**1.65)
DRAG = MOTOR.drag(1075.0)
CLEAR = Resistance(1.0, 1.0, 0.0)


def excess(q, supply, now):
    return psc_excess(q, 6.0, DRAG, supply, MOTOR.circuit, WHEEL, PATH, now)[0]


@given(
    hertz=st.floats(18.0, 75.0),
    part=st.floats(0.75, 1.1),
    factor=st.floats(1.0, 2.4),
    load=st.floats(0.0, 6.0),
    coil=st.floats(0.7, 10.0),
    held=st.floats(0.0, 60.0),
)
def test_the_first_crossing_as_scipy_finds_it(hertz, part, factor, load, coil, held):
    """Same compiled residual; a scan down from synchronous speed in 400 steps brackets the fast side, Brent's method ends it."""
    supply, now = Supply(230.0 * hertz / 60.0 * part, hertz, factor), Resistance(load, coil, held)
    got = psc_balance(6.0, DRAG, supply, MOTOR.circuit, WHEEL, PATH, now)
    top = flow_ratio_at_speed(20.0 * hertz / WHEEL.speed_rpm, WHEEL, PATH, now)
    high = top
    if top == 0.0:  # the held pressure is more than the wheel makes at synchronous speed
        assert np.isnan(got.airflow)
        return
    for low in np.linspace(0.9975, 0.0025, 398) * top:
        if excess(low, supply, now) > 0.0:
            want = brentq(excess, low, high, args=(supply, now), xtol=1e-14, rtol=1e-13)
            assert got.airflow == pytest.approx(want * WHEEL.airflow, rel=1e-6)
            assert got.steps <= 30
            return
        high = low
    assert np.isnan(got.airflow)


@given(q=st.floats(0.05, 1.6), load=st.floats(0.0, 5.0))
def test_speed_for_an_airflow_satisfies_the_fan_laws(q, load):
    """Pressure at speed s and airflow q is s^2 of that at speed 1 and q/s, torque likewise (AMCA); slopes are derivatives."""
    now = Resistance(load, 1.0, 0.0)
    s, slope, torque, torque_slope = wheel_load(q, WHEEL, PATH, now)
    needed = path_pressure(q * WHEEL.airflow, PATH, now)[0]
    assert WHEEL.pressure * s**2 * wheel_pressure(q / s, WHEEL) == pytest.approx(needed, rel=1e-10)
    assert torque == pytest.approx(WHEEL.torque * s**2 * wheel_torque(q / s, WHEEL), rel=1e-12)
    step = 1e-6 * q
    above, below = wheel_load(q + step, WHEEL, PATH, now), wheel_load(q - step, WHEEL, PATH, now)
    assert slope == pytest.approx((above[0] - below[0]) / (2.0 * step), rel=1e-6)
    assert torque_slope == pytest.approx((above[2] - below[2]) / (2.0 * step), rel=1e-6)
    assert flow_ratio_at_speed(s, WHEEL, PATH, now) == pytest.approx(q, rel=1e-9)


@given(what=st.sampled_from([TORQUE, POWER, SPEED]), q=st.floats(0.05, 1.6), load=st.floats(0.0, 5.0))
def test_what_is_held_is_held(what, q, load):
    now = Resistance(load, 1.0, 0.0)
    s, _, torque, _ = wheel_load(q, WHEEL, PATH, now)
    speed = s * WHEEL.speed_rpm
    value = {TORQUE: torque, POWER: torque * speed * np.pi / 30.0, SPEED: speed}[what]
    assert held_flow_ratio(what, value, WHEEL, PATH, now) == pytest.approx(q, rel=1e-9)


def test_an_electronic_motor_stops_at_the_nearer_limit():
    power, speed = 3.1 * 1075.0 * np.pi / 30.0, 1075.0
    for setting, greatest_w, greatest_rpm, limit in (
        (0.9 * WHEEL.airflow, power, 2.0 * speed, AT_SETTING),
        (1.2 * WHEEL.airflow, power, 2.0 * speed, AT_POWER_LIMIT),
        (1.2 * WHEEL.airflow, 3.0 * power, speed, AT_SPEED_LIMIT),
    ):
        found, at = electronic_balance(AIRFLOW, setting, greatest_w, greatest_rpm, WHEEL, PATH, CLEAR)
        assert at == limit
        want = setting if limit == AT_SETTING else WHEEL.airflow
        assert found.airflow == pytest.approx(want, rel=1e-6)


@given(hertz=st.floats(20.0, 60.0), factor=st.floats(1.0, 1.6))
def test_frequency_for_an_airflow_gives_that_airflow(hertz, factor):
    """There and back: the frequency found for an airflow is no higher than one known to move it, and moves it."""
    curve_hertz, curve_volts = np.array([15.0, 60.0]), np.array([57.5, 230.0])
    supply = Supply(230.0 * hertz / 60.0, hertz, factor)
    point = psc_balance(6.0, DRAG, supply, MOTOR.circuit, WHEEL, PATH, CLEAR)
    s, _, torque, _ = wheel_load(point.airflow / WHEEL.airflow, WHEEL, PATH, CLEAR)
    found = hertz_for_speed(s, torque, 6.0, DRAG, factor, curve_hertz, curve_volts, MOTOR.circuit, WHEEL)
    assert found == pytest.approx(hertz, rel=1e-6)


def test_nan_in_nan_out():
    bad = Supply(np.nan, 60.0, 1.0)
    assert np.isnan(psc_balance(6.0, DRAG, bad, MOTOR.circuit, WHEEL, PATH, CLEAR).airflow)
    blind = Resistance(np.nan, 1.0, 0.0)
    assert np.isnan(psc_balance(6.0, DRAG, Supply(230.0, 60.0, 1.0), MOTOR.circuit, WHEEL, PATH, blind).airflow)
    assert np.isnan(held_flow_ratio(TORQUE, np.nan, WHEEL, PATH, CLEAR))
    assert np.isnan(electronic_balance(TORQUE, 3.0, np.nan, 1300.0, WHEEL, PATH, CLEAR)[0].airflow)
    assert np.isnan(flow_ratio_at_speed(np.nan, WHEEL, PATH, CLEAR))


def test_a_motor_too_weak_is_nan_and_a_pressure_too_high_moves_nothing():
    weak = Supply(5.0, 60.0, 1.0)
    got = psc_balance(6.0, DRAG, weak, MOTOR.circuit, WHEEL, PATH, CLEAR)
    scan = [torque_and_slope(1.0 - s * 1075.0 / 1200.0, 6.0, weak, MOTOR.circuit)[0] for s in np.linspace(0.2, 1.0, 50)]
    assert max(scan) < 0.01  # it has no torque to speak of
    assert np.isnan(got.airflow) or got.airflow < 0.1 * WHEEL.airflow
    assert flow_ratio_at_speed(1.0, WHEEL, PATH, Resistance(1.0, 1.0, 2000.0)) == 0.0
    assert np.isnan(
        psc_balance(
            6.0, DRAG, Supply(230.0, 60.0, 1.0), MOTOR.circuit, WHEEL, PATH, Resistance(1.0, 1.0, 2000.0)
        ).airflow
    )


@pytest.mark.nojit
def test_the_plain_form_gives_the_same_numbers():
    """The source of the solver, not compiled: to rounding."""
    supply = Supply(230.0, 60.0, 1.3)
    compiled = psc_balance(6.0, DRAG, supply, MOTOR.circuit, WHEEL, PATH, CLEAR)
    plain = psc_balance.reference(6.0, DRAG, supply, MOTOR.circuit, WHEEL, PATH, CLEAR)
    assert compiled == pytest.approx(plain, rel=1e-9)
