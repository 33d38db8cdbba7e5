"""Drives and phase control: curves, the cut wave, estimates of what harmonics add."""

import numpy as np
import pytest

from airtrim.core.errors import InputError, NoSolutionError, OutOfRangeError
from airtrim.physics.blower.motor import default_motor, split_phase_motor
from airtrim.physics.blower.supply import (
    Drive,
    VoltsPerHertz,
    carrier_loss_w,
    constant_volts_per_hertz,
    cut_angle,
    cut_wave,
    phase_cut_loss_w,
)


@pytest.mark.parametrize("degrees", [30.0, 60.0, 90.0, 120.0])
def test_the_cut_wave_is_that_of_its_own_samples(degrees):
    """Fourier by sums over a sampled wave, another way to the same coefficients; and Parseval: all of them make its rms."""
    angle = (np.arange(200_000) + 0.5) * 2.0 * np.pi / 200_000
    wave = np.where(np.degrees(angle) % 180.0 >= degrees, np.sin(angle), 0.0)
    for harmonic in (1, 3, 5, 7):
        size = 2.0 * abs(np.mean(wave * np.exp(-1j * harmonic * angle)))
        assert cut_wave(degrees, harmonic) == pytest.approx(size, abs=1e-4)
    power = sum(cut_wave(degrees, harmonic) ** 2 for harmonic in range(1, 2001, 2)) / 2.0
    assert power == pytest.approx(np.mean(wave**2), rel=2e-3)


def test_the_angle_gives_the_fundamental_asked_for():
    for part in (0.2, 0.593, 0.9, 1.0):
        assert cut_wave(cut_angle(part), 1) == pytest.approx(part, abs=1e-9)
    with pytest.raises(OutOfRangeError, match=r"0\.05 to 1 of"):
        cut_angle(1.1)


def test_a_whole_wave_has_no_harmonic_loss_and_a_cut_one_has():
    motor = default_motor(0.5)
    whole, cut = (phase_cut_loss_w(motor, 950.0, volts) for volts in (230.0, 150.0))
    assert whole.mid == pytest.approx(0.0, abs=1e-6)
    assert 0.0 < cut.low < cut.mid < cut.high
    with pytest.raises(NoSolutionError, match="cannot be slowed by voltage"):
        phase_cut_loss_w(split_phase_motor(0.25), 1700.0, 80.0)


def test_curves_of_volts_over_hertz():
    curve = constant_volts_per_hertz(230.0)
    assert curve.volts_at(30.0) == pytest.approx(115.0)
    assert curve.volts_at(75.0) == pytest.approx(230.0)
    boosted = constant_volts_per_hertz(230.0, boost_volts=20.0)
    assert boosted.volts_at(30.0) == pytest.approx(125.0)
    assert VoltsPerHertz(((20.0, 90.0), (40.0, 150.0), (60.0, 230.0))).volts_at(30.0) == pytest.approx(120.0)


@pytest.mark.parametrize(
    ("points", "sentence"),
    [
        (((60.0, 230.0),), "two or more points"),
        (((60.0, 230.0), (30.0, 115.0)), "rising hertz"),
        (((30.0, 230.0), (60.0, 115.0)), "volts must not fall"),
        (((1.0, 5.0), (60.0, 230.0)), "must stay in 5 to 90 Hz"),
    ],
)
def test_a_curve_that_cannot_be_is_one_sentence(points, sentence):
    with pytest.raises(InputError, match=sentence):
        VoltsPerHertz(points)


def test_a_drive_takes_more_than_it_gives():
    curve = constant_volts_per_hertz(230.0)
    assert Drive(curve).input_watts(300.0) == pytest.approx(300.0 * 1.04 + 6.0)
    assert Drive(curve, efficiency=((50.0, 0.80), (400.0, 0.95))).input_watts(225.0) == pytest.approx(225.0 / 0.875)
    with pytest.raises(OutOfRangeError, match="drive frequency must lie in 15 to 75 Hz"):
        Drive(curve).curve.volts_at(10.0)


def test_the_carrier_adds_a_part_of_the_losses():
    low, mid, high = carrier_loss_w(100.0)
    assert 0.0 < low < mid < high < 100.0
