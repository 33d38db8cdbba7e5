"""Electronically commutated motors: constant torque, airflow or speed, up to their limits of power and speed.

Input is shaft power and a loss of three parts, fixed, as the power and as its square, and what the electronics take standing
still. By the defaults a motor gives 79 % at full load, 67 % at a fifth and 56 % at a tenth of it [from-memory].
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import pi

import numpy as np

from airtrim.core.errors import InputError, OutOfRangeError
from airtrim.physics.blower.balance import AIRFLOW, SPEED, TORQUE
from airtrim.physics.blower.motor import WATTS_PER_HORSEPOWER

STANDBY_W = 7.0
FIXED_LOSS, PROPORTIONAL_LOSS, SQUARE_LOSS = 0.04, 0.20, 0.0
GREATEST_RPM = 1300.0
#: Power factor of the electronics without correction, 0.55 to 0.7 [from-memory]; amps follow from it.
POWER_FACTOR = 0.6
KINDS = ("constant_torque", "constant_airflow", "constant_speed")


@dataclass(frozen=True)
class ElectronicMotor:
    """A motor that holds a torque (N m), an airflow (m3/s) or a speed (rpm) by setting, fastest first.

    It does so within `rated_w` at the shaft and `greatest_rpm`, and follows the limit beyond.
    """

    kind: str
    settings: tuple[float, ...]
    rated_w: float
    volts: float = 230.0
    greatest_rpm: float = GREATEST_RPM
    standby_w: float = STANDBY_W
    fixed_loss: float = FIXED_LOSS
    proportional_loss: float = PROPORTIONAL_LOSS
    square_loss: float = SQUARE_LOSS

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise InputError(f"kind of motor must be one of {', '.join(KINDS)}, got {self.kind!r}: name one.")
        if not self.settings or not all(value > 0.0 for value in self.settings):
            raise OutOfRangeError(
                f"settings must be one or more values above 0, got {self.settings!r}: give each speed's."
            )
        if not 10.0 <= self.rated_w <= 2500.0:
            raise OutOfRangeError(
                f"rated output must lie in 10 to 2500 W, got {self.rated_w:g}: read horsepower off the plate."
            )

    @property
    def holds(self) -> int:
        """What the kernels call that which it holds."""
        return {"constant_torque": TORQUE, "constant_airflow": AIRFLOW, "constant_speed": SPEED}[self.kind]

    def watts(self, shaft_w: float) -> float:
        """Input W at a shaft power W, 0 to somewhat above rated."""
        load = shaft_w / self.rated_w
        lost = self.fixed_loss + self.proportional_loss * load + self.square_loss * load * load
        return shaft_w + self.rated_w * lost + self.standby_w

    def shaft_w(self, watts: float) -> float:
        """Shaft power W at an input W; raises `OutOfRangeError` below what the motor takes idling."""
        idle = self.standby_w + self.fixed_loss * self.rated_w
        if not watts > idle:
            raise OutOfRangeError(
                f"this motor takes {idle:.0f} W before it moves air, got {watts:g} W: check blower watts and horsepower."
            )
        b = 1.0 + self.proportional_loss
        return float(
            2.0 * (watts - idle) / (b + np.sqrt(b * b + 4.0 * self.square_loss / self.rated_w * (watts - idle)))
        )

    def efficiency(self, load: float) -> float:
        """Shaft power over input, standby in it, at a part of rated load above 0."""
        return load * self.rated_w / self.watts(load * self.rated_w)

    def with_efficiency(self, points: Sequence[tuple[float, float]]) -> "ElectronicMotor":
        """The same motor with the efficiency its maker gives, (load 0.02 to 1.2, efficiency 0.1 to 0.95), standby left out.

        One point sets the fixed loss, two the proportional loss too, three and more all three by least squares. Raises
        `InputError` where the points would need a negative loss.
        """
        for load, part in points:
            if not (0.02 <= load <= 1.2 and 0.1 <= part <= 0.95):
                raise OutOfRangeError(
                    f"efficiency points need a load of 0.02 to 1.2 and an efficiency of 0.1 to 0.95, got {load:g} and {part:g}: "
                    "check the maker's curve."
                )
        if not points:
            raise InputError("efficiency against load needs one point or more, got none: give (load, efficiency).")
        loads = np.array([load for load, _ in points])
        lost = loads * (1.0 / np.array([part for _, part in points]) - 1.0)
        unknown = min(len(points), 3)
        powers = loads[:, None] ** np.arange(3)
        known = np.array([self.fixed_loss, self.proportional_loss, self.square_loss])
        rest = lost - powers[:, unknown:] @ known[unknown:]
        known[:unknown] = np.linalg.lstsq(powers[:, :unknown], rest, rcond=None)[0]
        if np.any(known < -1e-9):
            raise InputError(
                "efficiency points would need a negative loss: efficiency must rise with load and bend over; check the curve."
            )
        fixed, proportional, square = (float(value) for value in np.maximum(known, 0.0))
        return replace(self, fixed_loss=fixed, proportional_loss=proportional, square_loss=square)


def electronic_motor(kind: str, horsepower: float, settings: Sequence[float], volts: float = 230.0) -> ElectronicMotor:
    """A motor from its plate with the default losses; settings in N m (constant torque), m3/s (airflow) or rpm (speed)."""
    return ElectronicMotor(kind, tuple(settings), WATTS_PER_HORSEPOWER * horsepower, volts)


def torque_at(shaft_w: float, speed_rpm: float) -> float:
    """Torque N m of a shaft power W at a speed rpm above 0."""
    return shaft_w / (2.0 * pi * speed_rpm / 60.0)
