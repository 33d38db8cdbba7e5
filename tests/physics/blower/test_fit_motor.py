"""A motor from its plate and readings: another motor found again, a weak capacitor seen, contradictions named."""

from dataclasses import replace

import pytest

from airtrim.core.errors import InputError, NoSolutionError, OutOfRangeError
from airtrim.physics.blower.circuit import Supply
from airtrim.physics.blower.fit_motor import MotorReading, Nameplate, fit_motor
from airtrim.physics.blower.motor import default_motor

PLATE = Nameplate(0.5, 230.0, 1075.0, 3.0, 7.5)


def other_motor(capacitor=1.0):
    """A motor of our invention, unlike the default one of its plate."""
    usual = default_motor(0.5, capacitor_f=7.5e-6)
    return replace(
        usual, r1=1.15 * usual.r1, xm=0.9 * usual.xm, r2=1.1 * usual.r2, core_w=1.2 * usual.core_w,
        capacitor_f=capacitor * usual.capacitor_f,
    )  # fmt: skip


def read(motor, speed, volts=236.0, tap_factor=1.0):
    supply = Supply(volts, 60.0, tap_factor)
    state = motor.state(speed, supply)
    return {
        "watts": motor.watts(speed, supply), "amps": state.line_a, "volts": volts, "rpm": speed,
        "auxiliary_amps": state.auxiliary_a, "capacitor_volts": state.capacitor_v,
        "capacitor_uf": 1e6 * motor.capacitor_f, "tap_factor": tap_factor,
    }  # fmt: skip


SUBSETS = [
    ("watts",),
    ("amps",),
    ("rpm",),
    ("capacitor_uf",),
    ("watts", "amps"),
    ("watts", "rpm"),
    ("amps", "auxiliary_amps"),
    ("watts", "amps", "rpm", "capacitor_uf"),
    ("watts", "amps", "rpm", "auxiliary_amps", "capacitor_volts"),
]


@pytest.mark.parametrize("subset", SUBSETS, ids="+".join)
def test_any_subset_of_readings_is_met(subset):
    """Readings without error leave residuals under a sigma or two, plate amps among them, and speeds near the true one."""
    whole = read(other_motor(), 1085.0)
    given = MotorReading(**{name: whole[name] for name in (*subset, "volts")})
    fit = fit_motor(PLATE, [given])
    assert {one.what for one in fit.residuals if one.reading == 1} == set(subset)
    assert all(abs(one.sigmas) < 2.0 for one in fit.residuals)
    if "rpm" in subset or "watts" in subset:
        assert fit.speeds_rpm[0] == pytest.approx(1085.0, abs=20.0)
    if "capacitor_uf" in subset or "capacitor_volts" in subset:
        assert fit.capacitor_ratio[1] == pytest.approx(1.0, abs=0.02)
    assert not fit.capacitor_is_weak


def test_readings_on_two_taps_foretell_a_third_state():
    """Watts and amps of a speed never read within 3 %: nearer than the default motor of the plate comes."""
    truth = other_motor()
    given = [MotorReading(**read(truth, 1090.0)), MotorReading(**read(truth, 900.0, tap_factor=1.5))]
    fitted = fit_motor(PLATE, given).motor
    usual = default_motor(0.5, capacitor_f=7.5e-6)
    supply = Supply(230.0, 60.0, 1.2)
    want = truth.watts(1000.0, supply), truth.state(1000.0, supply).line_a
    got = fitted.watts(1000.0, supply), fitted.state(1000.0, supply).line_a
    plain = usual.watts(1000.0, supply), usual.state(1000.0, supply).line_a
    assert got == pytest.approx(want, rel=0.03)
    assert abs(got[1] / want[1] - 1.0) < abs(plain[1] / want[1] - 1.0)


@pytest.mark.parametrize(
    "subset", [("capacitor_uf",), ("auxiliary_amps", "capacitor_volts"), ("amps", "auxiliary_amps")], ids="+".join
)
def test_a_weak_capacitor_is_seen(subset):
    """Six tenths of the label left."""
    whole = read(other_motor(0.6), 1060.0)
    fit = fit_motor(PLATE, [MotorReading(**{name: whole[name] for name in (*subset, "volts")})])
    low, mid, high = fit.capacitor_ratio
    assert low <= 0.6 <= high
    assert mid == pytest.approx(0.6, abs=0.06)
    assert fit.capacitor_is_weak


def test_watts_alone_do_not_convict_a_capacitor():
    whole = read(other_motor(0.6), 1060.0)
    fit = fit_motor(PLATE, [MotorReading(watts=whole["watts"], volts=236.0)])
    assert not fit.capacitor_is_weak and fit.capacitor_ratio[2] > 1.1


def test_a_plate_alone_is_its_default_motor_nearly():
    fit = fit_motor(Nameplate(0.5, 230.0, 1075.0))
    usual = default_motor(0.5)
    assert fit.motor.watts(1075.0, Supply(230.0, 60.0, 1.0)) == pytest.approx(
        usual.watts(1075.0, Supply(230.0, 60.0, 1.0)), rel=1e-3
    )
    assert fit.residuals == () and fit.speeds_rpm == ()


@pytest.mark.parametrize(
    ("error", "sentence", "given"),
    [
        (InputError, "motor reading 1: 900 W is more than 230 V times 2 A", {"watts": 900.0, "amps": 2.0}),
        (InputError, "motor reading 1 has nothing in it but volts", {"volts": 236.0}),
        (InputError, "motor reading 1: 1250 rpm is not below synchronous", {"rpm": 1250.0}),
        (OutOfRangeError, "motor reading 1: amps must lie in", {"amps": 300.0}),
        (OutOfRangeError, "motor reading 1: volts must lie in", {"amps": 3.0, "volts": 24.0}),
        (
            NoSolutionError,
            "No motor of this plate gives all that was read: reading 1's",
            {"watts": 300.0, "amps": 4.0, "rpm": 1090.0},
        ),
        (
            NoSolutionError,
            "No motor of this plate gives all that was read: reading 1's capacitor",
            {"auxiliary_amps": 1.3, "capacitor_volts": 400.0, "capacitor_uf": 4.0},
        ),
    ],
)
def test_contradictions_are_one_sentence(error, sentence, given):
    with pytest.raises(error, match=sentence):
        fit_motor(PLATE, [MotorReading(**given)])


def test_a_plate_that_cannot_be_is_refused():
    with pytest.raises(InputError, match="plate amps must lie in"):
        fit_motor(Nameplate(0.5, 230.0, 1075.0, 0.9))
