"""What feeds the motor: a drive's volts over hertz and its own losses, or line voltage cut by phase, with its harmonics."""

from dataclasses import dataclass
from itertools import pairwise
from math import cos, pi, sin, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import InputError, NoSolutionError, OutOfRangeError
from airtrim.physics.blower.circuit import LINE_HERTZ, Supply
from airtrim.physics.blower.motor import PscMotor

Array = NDArray[np.float64]

#: Frequencies a drive may be reckoned for, Hz; what is allowed on site is another matter (`limits`).
LEAST_CURVE_HERTZ, GREATEST_CURVE_HERTZ = 5.0, 90.0
#: A drive's standby W, and losses as a part of what it passes on: a small single-phase drive, 93 to 96 % [from-memory].
DRIVE_STANDBY_W, DRIVE_LOSS_PART = 6.0, 0.04
#: What a drive's carrier adds to the motor's own losses, as a part of them: low, mid, high [from-memory].
CARRIER_LOSS_PART = (0.02, 0.05, 0.12)
#: Odd harmonics of a cut wave that are reckoned.
_HARMONICS = tuple(range(3, 32, 2))
#: The cut reckoned is a resistive load's, the bars without skin effect: the true loss may be this many times it, low and high.
HARMONIC_SPREAD = (0.5, 2.0)


class Estimate(NamedTuple):
    """A figure with its range."""

    low: float
    mid: float
    high: float


@dataclass(frozen=True)
class VoltsPerHertz:
    """A drive's curve: points (hertz, fundamental volts) between which volts go straight; frequency rises, volts do not fall."""

    points: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        hertz = [point[0] for point in self.points]
        volts = [point[1] for point in self.points]
        if len(self.points) < 2 or not all(a < b for a, b in pairwise(hertz)):
            raise InputError(
                f"a curve of volts over hertz needs two or more points of rising hertz, got {hertz}: list them in order."
            )
        if not (hertz[0] >= LEAST_CURVE_HERTZ and hertz[-1] <= GREATEST_CURVE_HERTZ):
            raise OutOfRangeError(
                f"a curve of volts over hertz must stay in {LEAST_CURVE_HERTZ:g} to {GREATEST_CURVE_HERTZ:g} Hz, got {hertz[0]:g} "
                f"to {hertz[-1]:g} Hz: leave the rest out."
            )
        if not all(0.0 < a <= b <= 600.0 for a, b in zip(volts, [*volts[1:], volts[-1]], strict=True)):
            raise InputError(
                f"volts must not fall as hertz rise, and lie in 0 to 600 V, got {volts}: check the drive's settings."
            )

    @property
    def hertz(self) -> Array:
        return np.array([point[0] for point in self.points])

    @property
    def volts(self) -> Array:
        return np.array([point[1] for point in self.points])

    def volts_at(self, hertz: float) -> float:
        """Volts at a frequency on the curve; raises `OutOfRangeError` off it."""
        if not self.points[0][0] <= hertz <= self.points[-1][0]:
            raise OutOfRangeError(
                f"drive frequency must lie in {self.points[0][0]:g} to {self.points[-1][0]:g} Hz, got {hertz:g} Hz: choose "
                "one between."
            )
        return float(np.interp(hertz, self.hertz, self.volts))


def constant_volts_per_hertz(
    volts: float, least_hertz: float = 15.0, greatest_hertz: float = 75.0, boost_volts: float = 0.0
) -> VoltsPerHertz:
    """Plate volts at 60 Hz, in proportion below (on top of `boost_volts` at standstill), and no more than plate volts above."""
    least = boost_volts + (volts - boost_volts) * least_hertz / LINE_HERTZ
    ends: tuple[tuple[float, float], ...] = ((least_hertz, least), (LINE_HERTZ, volts))
    return VoltsPerHertz((*ends, (greatest_hertz, volts)) if greatest_hertz > LINE_HERTZ else ends)


@dataclass(frozen=True)
class Drive:
    """A variable-frequency drive: its curve, standby W, loss as a part of its output, efficiency where its maker gives it.

    `efficiency` is (output W, efficiency) in rising watts, straight between and flat beyond; it then stands for all losses.
    """

    curve: VoltsPerHertz
    standby_w: float = DRIVE_STANDBY_W
    loss_part: float = DRIVE_LOSS_PART
    efficiency: tuple[tuple[float, float], ...] = ()

    def input_watts(self, output_w: float) -> float:
        """What the drive takes from the line to pass on `output_w`, W."""
        if not self.efficiency:
            return output_w * (1.0 + self.loss_part) + self.standby_w
        watts, parts = zip(*self.efficiency, strict=True)
        return output_w / float(np.interp(output_w, watts, parts))


def cut_wave(angle_degrees: float, harmonic: int) -> float:
    """Size of a harmonic (1, 3, 5, ...) of a sine passed from `angle_degrees` to the end of each half wave, over the sine's own.

    Fourier's integrals in closed form; a resistive load. 0 (whole wave) to 180 degrees.
    """
    start = np.radians(angle_degrees)
    if harmonic == 1:
        return sqrt((cos(2.0 * start) - 1.0) ** 2 + (2.0 * (pi - start) + sin(2.0 * start)) ** 2) / (2.0 * pi)
    over, under = harmonic + 1, harmonic - 1
    even = (cos(over * start) - 1.0) / over - (cos(under * start) - 1.0) / under
    odd = sin(over * start) / over - sin(under * start) / under
    return sqrt(even * even + odd * odd) / pi


def cut_angle(fundamental_part: float) -> float:
    """Degrees at which the wave must be cut for a fundamental of this part of the whole, 0.05 to 1."""
    if not 0.05 <= fundamental_part <= 1.0:
        raise OutOfRangeError(
            f"a phase-cut supply gives 0.05 to 1 of the line's fundamental voltage, got {fundamental_part:g}: choose one between."
        )
    low, high = 0.0, 180.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if cut_wave(middle, 1) > fundamental_part:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def phase_cut_loss_w(motor: PscMotor, speed_rpm: float, volts: float, tap_factor: float = 1.0) -> Estimate:
    """What the harmonics of a phase-cut supply heat the motor with beyond its fundamental `volts`, W: an estimate.

    Each harmonic of the cut wave is put on the motor's own circuit at its frequency and the motor's speed, and the watts added:
    linear, so exact for this wave; the wave of an inductive load and skin effect in the bars make the range.
    """
    if motor.capacitor_f == 0.0:
        raise NoSolutionError(
            "A motor that runs on its main winding alone cannot be slowed by voltage: leave it at line voltage."
        )
    angle = cut_angle(volts / motor.volts)
    loss = 0.0
    for harmonic in _HARMONICS:
        supply = Supply(motor.volts * cut_wave(angle, harmonic), harmonic * LINE_HERTZ, tap_factor)
        loss += motor.state(speed_rpm, supply).watts
    return Estimate(HARMONIC_SPREAD[0] * loss, loss, HARMONIC_SPREAD[1] * loss)


def carrier_loss_w(losses_w: float) -> Estimate:
    """What a drive's carrier adds to a motor's own losses (W): an estimate."""
    low, mid, high = (part * losses_w for part in CARRIER_LOSS_PART)
    return Estimate(low, mid, high)
