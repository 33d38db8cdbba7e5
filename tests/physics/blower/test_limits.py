"""The limits of a motor on a drive, each apart, and the lowest safe frequency of them."""

import numpy as np
import pytest

from airtrim.core.errors import InputError, NoSolutionError, OutOfRangeError
from airtrim.physics.blower.circuit import Supply
from airtrim.physics.blower.electronic import electronic_motor
from airtrim.physics.blower.fit import fit_blower
from airtrim.physics.blower.limits import (
    BREAKAWAY,
    LEAST_HERTZ,
    LOW_LINE,
    allowed_rise_ratio,
    least_margin,
    lowest_safe_frequency,
)
from airtrim.physics.blower.motor import split_phase_motor
from airtrim.physics.blower.supply import Drive, constant_volts_per_hertz
from airtrim.physics.blower.system import operating_point

CFM, INCH = 0.0004719474432, 249.08891
SYSTEM = fit_blower(1290.0 * CFM, 0.6 * INCH, 560.0, 0.5)


def by_id(found):
    return {one.id: one for one in found.limits}


def test_the_lowest_frequency_is_the_highest_of_the_limits():
    found = lowest_safe_frequency(SYSTEM)
    limits = by_id(found)
    assert set(limits) == {"thermal", "starting", "bearing", "maker"}
    assert found.hertz == max(one.hertz for one in found.limits)
    assert limits[found.binding].hertz == found.hertz
    assert limits["maker"].hertz == LEAST_HERTZ == 30.0  # the floor
    assert found.hertz >= 30.0
    assert all(one.why for one in found.limits)


def test_every_limit_is_met_where_it_stands_and_broken_just_below():
    limits = by_id(lowest_safe_frequency(SYSTEM, greatest_rise_ratio=1.2))
    for hertz, holds in ((1.0, True), (0.98, False)):
        thermal = operating_point(SYSTEM, hertz=hertz * limits["thermal"].hertz).winding_rise.high
        assert (thermal <= 1.2 + 1e-9) is holds
        speed = operating_point(SYSTEM, hertz=hertz * limits["bearing"].hertz).speed_rpm
        assert (speed > 500.0 - 1e-9) is holds
        at = hertz * limits["starting"].hertz
        torque = SYSTEM.motor.state(0.0, _supply(at)).torque_n_m
        assert (torque >= limits["starting"].bound * (1.0 - 1e-6)) is holds


def _supply(hertz):
    return Supply(LOW_LINE * 230.0 * hertz / 60.0, hertz, 1.0)


def test_starting_torque_falls_as_the_derived_table_has_it():
    """To about 23 % at 25 Hz on the textbook's motor ([umans], computed); on this one between 15 and 35 %."""
    part = SYSTEM.motor.state(0.0, _supply(25.0)).torque_n_m / SYSTEM.motor.state(0.0, _supply(60.0)).torque_n_m
    assert 0.15 < part < 0.35


def test_the_maker_goes_before_the_floor():
    assert by_id(lowest_safe_frequency(SYSTEM, maker_least_hertz=40.0))["maker"].hertz == 40.0
    told = lowest_safe_frequency(SYSTEM, maker_least_hertz=20.0, bearing="ball")
    assert by_id(told)["maker"].hertz == 20.0
    assert told.binding in ("thermal", "starting")


def test_a_ball_bearing_sets_no_limit_and_a_sleeve_one_does():
    ball, sleeve, unknown = (
        by_id(lowest_safe_frequency(SYSTEM, bearing=kind))["bearing"].hertz for kind in ("ball", "sleeve", "unknown")
    )
    assert ball < sleeve == unknown


def test_a_drive_with_losses_and_boost():
    """A boosted curve starts lower and heats more; the carrier's loss heats more."""
    plain = by_id(lowest_safe_frequency(SYSTEM))
    boosted = by_id(lowest_safe_frequency(SYSTEM, curve=constant_volts_per_hertz(230.0, boost_volts=25.0)))
    assert boosted["starting"].hertz < plain["starting"].hertz
    assert boosted["thermal"].hertz > plain["thermal"].hertz
    driven = by_id(lowest_safe_frequency(SYSTEM, drive=Drive(constant_volts_per_hertz(230.0))))
    assert driven["thermal"].hertz > plain["thermal"].hertz


def test_torque_to_spare_on_the_way_up():
    motor = SYSTEM.motor
    supply = _supply(60.0)
    running = operating_point(SYSTEM, volts_ratio=LOW_LINE).speed_rpm
    args = (
        6.0,
        BREAKAWAY * motor.drag(1075.0),
        motor.drag(SYSTEM.wheel.speed_rpm),
        supply,
        motor.circuit,
        SYSTEM.wheel,
        SYSTEM.path,
    )
    at_rest, least = least_margin(running, *args)
    assert at_rest == pytest.approx(motor.state(0.0, supply).torque_n_m - args[1], rel=1e-12)
    assert 0.0 < least <= at_rest
    assert np.isnan(least_margin(np.nan, *args)[1])


def test_rise_allowed_by_class_and_attic():
    """Class B 130 degC less 10 K hot spot, in an attic of 120 F, over a rise of 50 K now: (120 - 48.9) / 50."""
    assert allowed_rise_ratio("B", (120.0 - 32.0) / 1.8, 50.0) == pytest.approx(1.422, abs=0.001)
    with pytest.raises(NoSolutionError, match="do not slow this motor"):
        allowed_rise_ratio("A", 49.0, 50.0)
    with pytest.raises(InputError, match="insulation class"):
        allowed_rise_ratio("Z", 40.0, 50.0)
    with pytest.raises(OutOfRangeError, match="ambient must lie in"):
        allowed_rise_ratio("B", 140.0, 50.0)


def test_motors_and_words_that_do_not_go_with_a_drive():
    electronic = fit_blower(1200 * CFM, 0.5 * INCH, 330.0, 0.5, motor=electronic_motor("constant_speed", 0.5, [1050.0]))
    split = fit_blower(800 * CFM, 0.3 * INCH, 260.0, 0.25, motor=split_phase_motor(0.25), tap_factors=(1.0,))
    for system in (electronic, split):
        with pytest.raises(InputError, match="permanent-split-capacitor motor only"):
            lowest_safe_frequency(system)
    with pytest.raises(InputError, match="bearing must be"):
        lowest_safe_frequency(SYSTEM, bearing="magnetic")
    with pytest.raises(OutOfRangeError, match="the maker's least frequency"):
        lowest_safe_frequency(SYSTEM, maker_least_hertz=3.0)
