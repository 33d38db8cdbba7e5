"""A permanent-split-capacitor motor by the double revolving field: torque, currents, watts at any volts and hertz.

Morrill, AIEE Trans. 1929 [morrill1929]; windings in quadrature, turns ratio a (auxiliary / main), rotor values on the main
side, reactances at 60 Hz scaled with frequency. Checked against two textbook examples in tests/published.
"""

from dataclasses import dataclass
from math import pi

import numpy as np

from airtrim.core.kernels import kernel

LINE_HERTZ = 60.0


@dataclass(frozen=True)
class PscMotor:
    """Equivalent circuit: ohms at 60 Hz, capacitor in farad, poles, volts; `fixed_loss_w` is core, friction and windage."""

    volts: float
    poles: int
    r1: float
    x1: float
    r2: float
    x2: float
    xm: float
    r1_aux: float
    x1_aux: float
    turns_ratio: float
    capacitor_f: float
    fixed_loss_w: float

    @property
    def circuit(self) -> tuple[float, float, float, float, float, float, float, float, float]:
        """What `motor_state` reads."""
        return (
            self.r1,
            self.x1,
            self.r2,
            self.x2,
            self.xm,
            self.r1_aux,
            self.x1_aux,
            self.turns_ratio,
            self.capacitor_f,
        )


Circuit = tuple[float, float, float, float, float, float, float, float, float]
MotorState = tuple[float, float, float, float, float, float]


@kernel
def motor_state(
    speed_rpm: float, volts: float, hertz: float, tap_factor: float, poles: int, circuit: Circuit
) -> MotorState:
    """Air-gap torque (N m), input watts without fixed loss, line, main and auxiliary amps, capacitor volts.

    `tap_factor` (1 and up) is the main winding's turns against the fastest tap: impedances grow as its square and the turns
    ratio falls. Speed from standstill to synchronous; 5 to 90 Hz.
    """
    r1, x1, r2, x2, xm, r1_aux, x1_aux, ratio, capacitor = circuit
    scale = hertz / 60.0
    k = tap_factor * tap_factor
    a = ratio / tap_factor
    slip = 1.0 - speed_rpm * poles / (120.0 * hertz)
    magnetising = 1j * xm * scale * k
    forward_rotor = r2 * k / slip + 1j * x2 * scale * k
    backward_rotor = r2 * k / (2.0 - slip) + 1j * x2 * scale * k
    zf = magnetising * forward_rotor / (magnetising + forward_rotor)
    zb = magnetising * backward_rotor / (magnetising + backward_rotor)
    main = (r1 + 1j * x1 * scale) * k + 0.5 * (zf + zb)
    cross = 0.5 * a * (zf - zb)
    impedance = -1j / (2.0 * pi * hertz * capacitor) if capacitor > 0.0 else 1e12 + 0.0j
    auxiliary = r1_aux + 1j * x1_aux * scale + impedance + 0.5 * a * a * (zf + zb)
    determinant = main * auxiliary - cross * cross  # (-j c)(+j c) = c^2
    i_main = volts * (auxiliary + 1j * cross) / determinant
    i_aux = volts * (main - 1j * cross) / determinant
    i_forward = 0.5 * (i_main - 1j * a * i_aux)
    i_backward = 0.5 * (i_main + 1j * a * i_aux)
    gap_forward = 2.0 * abs(i_forward) ** 2 * zf.real
    gap_backward = 2.0 * abs(i_backward) ** 2 * zb.real
    torque = (gap_forward - gap_backward) / (4.0 * pi * hertz / poles)
    line = i_main + i_aux
    return torque, volts * line.real, abs(line), abs(i_main), abs(i_aux), abs(i_aux) * abs(impedance)


#: Per unit of volts squared over rated output, from a textbook 1/4 hp motor (blower.md 1.2 B) [from-memory].
PER_UNIT = (0.031, 0.043, 0.064, 0.033, 1.03)
RATED_SLIP = 125.0 / 1200.0  # 1075 rpm, six poles
TURNS_RATIO = 1.3
FIXED_LOSS_PART = 0.10


def default_motor(horsepower: float, volts: float = 230.0) -> PscMotor:
    """A six-pole 1075 rpm motor from its plate alone: rotor resistance set for rated slip at rated output, capacitor and
    auxiliary winding so that the two currents balance there."""
    output = 745.7 * horsepower
    base = volts * volts / output
    r1, x1, r2, x2, xm = (value * base for value in PER_UNIT)
    fixed = FIXED_LOSS_PART * output
    wanted = (output + fixed) / (2.0 * pi * 1075.0 / 60.0)
    motor = _balanced(volts, r1, x1, r2, x2, xm, fixed)
    for _ in range(60):
        torque = motor_state(1075.0, volts, LINE_HERTZ, 1.0, 6, motor.circuit)[0]
        r2 *= float(np.clip(torque / wanted, 0.7, 1.4)) ** 0.7
        motor = _balanced(volts, r1, x1, r2, x2, xm, fixed)
    return motor


def _balanced(volts: float, r1: float, x1: float, r2: float, x2: float, xm: float, fixed: float) -> PscMotor:
    a = TURNS_RATIO
    rotor = r2 / RATED_SLIP + 1j * x2
    zf = 1j * xm * rotor / (1j * xm + rotor)
    x1_aux = a * a * x1
    r1_aux = max(a * (x1 + zf.imag) - a * a * zf.real, 0.5 * a * a * r1)
    reactance = x1_aux + a * a * zf.imag + a * (r1 + zf.real)
    capacitor = 1.0 / (2.0 * pi * LINE_HERTZ * reactance)
    return PscMotor(volts, 6, r1, x1, r2, x2, xm, r1_aux, x1_aux, a, capacitor, fixed)
