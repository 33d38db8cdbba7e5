"""A permanent-split-capacitor motor: what its plate says, its circuit, and where its watts go.

The circuit itself is in `circuit`; fitting it to readings in `fit_motor`. Core loss is split into hysteresis and eddy currents
and follows flux and frequency; friction is a torque that grows with speed, as oil does [from-memory].
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise
from math import exp, log, pi

import numpy as np

from airtrim.core.errors import NoSolutionError, OutOfRangeError
from airtrim.core.kernels import inline_kernel
from airtrim.physics.blower.circuit import LINE_HERTZ, Circuit, MotorState, Supply, supplied_state

WATTS_PER_HORSEPOWER = 745.7
#: Main resistance and leakage, rotor leakage, magnetising reactance, per unit of volts squared over rated output. A textbook's
#: 1/4 hp motor [umans] has 0.031, 0.043, 0.033, 1.03; a six-pole blower motor more copper loss, twice the leakage and
#: less magnetising reactance, so that efficiency is 0.60 to 0.65 and pull-out 1.4 times rated torque at a slip near 0.25
#: [from-memory]; the low taps of makers' fan tables come out right with these and not with the textbook's.
PER_UNIT = (0.085, 0.090, 0.069, 0.85)
SPLIT_PHASE_PER_UNIT = (0.031, 0.043, 0.033, 1.03)
#: Auxiliary over main turns where no capacitor decides; its copper over that of a main winding of so many turns [from-memory].
TURNS_RATIO = 1.4
AUXILIARY_COPPER = 1.5
#: Run capacitor where the label was not read: 5, 7.5 and 10 uF on 1/3, 1/2 and 3/4 hp at 230 V [from-memory].
CAPACITOR_F_PER_HORSEPOWER = 15e-6
#: Makers keep a running capacitor to these volts (labels say 370 or 440), or 1.5 times the plate where that is more [from-memory].
CAPACITOR_VOLTS = 370.0
#: Core loss, and friction with windage, of rated output [from-memory].
CORE_PART, FRICTION_PART = 0.06, 0.04
#: Part of the core loss at line frequency that is hysteresis; the rest is eddy currents [from-memory].
_HYSTERESIS = 0.6


@dataclass(frozen=True)
class Losses:
    """Where the motor's watts stay, W; `shaft` is what the wheel gets."""

    main_copper: float
    auxiliary_copper: float
    rotor: float
    core: float
    friction: float
    shaft: float

    @property
    def windings(self) -> float:
        """Copper of the stator and rotor bars, W: what heats the windings and follows the load."""
        return self.main_copper + self.auxiliary_copper + self.rotor

    @property
    def total(self) -> float:
        """All that the motor takes and does not give to the wheel, W."""
        return self.windings + self.core + self.friction


@dataclass(frozen=True)
class PscMotor:
    """Equivalent circuit: ohms at 60 Hz, capacitor in farad, plate volts, poles; losses W, plate speed rpm and output W.

    `capacitor_f` 0 is a motor that runs on its main winding alone (split-phase, capacitor-start): for single-speed blowers,
    and never on a drive.
    """

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
    core_w: float
    friction_w: float
    rated_rpm: float = 1075.0
    rated_w: float = 373.0

    @property
    def circuit(self) -> Circuit:
        """What the kernels read."""
        return Circuit(
            self.r1, self.x1, self.r2, self.x2, self.xm, self.r1_aux, self.x1_aux, self.turns_ratio, self.capacitor_f
        )  # fmt: skip

    def synchronous_rpm(self, hertz: float = LINE_HERTZ) -> float:
        """Speed of the field, rpm."""
        return 120.0 * hertz / self.poles

    def drag(self, speed_rpm: float) -> float:
        """Friction's torque at a speed, N m."""
        return self.friction_w / (2.0 * pi * self.rated_rpm / 60.0) * speed_rpm / self.rated_rpm

    def state(self, speed_rpm: float, supply: Supply) -> MotorState:
        """Torque, currents and winding losses at a speed."""
        return supplied_state(speed_rpm, float(self.poles), supply, self.circuit)

    def watts(self, speed_rpm: float, supply: Supply) -> float:
        """All the motor takes from its supply at a speed, W."""
        return self.state(speed_rpm, supply).watts + core_loss_w(self.core_w, self.volts, supply)

    def losses(self, speed_rpm: float, supply: Supply) -> Losses:
        """Where the watts stay at a speed; with `shaft` they add up to what the motor takes."""
        state = self.state(speed_rpm, supply)
        omega = 2.0 * pi * speed_rpm / 60.0
        friction = self.drag(speed_rpm) * omega
        return Losses(
            state.main_copper_w,
            state.auxiliary_copper_w,
            state.rotor_w,
            core_loss_w(self.core_w, self.volts, supply),
            friction,
            state.torque_n_m * omega - friction,
        )


@inline_kernel
def core_loss_w(rated_w: float, rated_volts: float, supply: Supply) -> float:
    """Core loss W: hysteresis as frequency, eddy currents as its square, both as flux squared; flux is volts per hertz and turn."""
    relative = supply.hertz / LINE_HERTZ
    flux = supply.volts / (rated_volts * relative * supply.tap_factor)
    return rated_w * flux * flux * (_HYSTERESIS * relative + (1.0 - _HYSTERESIS) * relative * relative)


def motor_state(
    speed_rpm: float, volts: float, hertz: float, tap_factor: float, poles: int, circuit: Circuit
) -> MotorState:
    """Torque (N m), winding watts, amps, capacitor volts and winding losses; from standstill to synchronous, 5 to 90 Hz.

    `tap_factor` (1 and up) is the main winding's turns against the fastest tap: impedances grow as its square and the turns
    ratio falls.
    """
    return supplied_state(
        float(speed_rpm),
        float(poles),
        Supply(float(volts), float(hertz), float(tap_factor)),
        Circuit(*(float(value) for value in circuit)),
    )


def poles_for_speed(rpm: float) -> int:
    """Poles of a 60 Hz motor by its plate speed: the least synchronous speed above it. 600 to 3590 rpm."""
    if not 600.0 <= rpm <= 3590.0:
        raise OutOfRangeError(f"plate speed must lie in 600 to 3590 rpm, got {rpm:g}: read it off the motor's plate.")
    return 2 * int(120.0 * LINE_HERTZ / (2.0 * rpm))


def default_motor(
    horsepower: float, volts: float = 230.0, rated_rpm: float = 1075.0, capacitor_f: float | None = None
) -> PscMotor:
    """A capacitor motor from its plate alone: rotor resistance set for plate speed at plate output, auxiliary turns such that the
    two currents balance on the capacitor (F; the usual one where it is None), or as near to it as the capacitor's volts let.

    Raises `OutOfRangeError` for a plate that cannot be, `NoSolutionError` where no such motor reaches its output.
    """
    output, base, poles = _plate(horsepower, volts, rated_rpm)
    r1, x1, x2, xm = (value * base for value in PER_UNIT)
    core, friction = CORE_PART * output, FRICTION_PART * output
    slip = 1.0 - rated_rpm * poles / (120.0 * LINE_HERTZ)

    def with_speed(ratio: float, given_f: float | None = None) -> PscMotor:
        def built(log_r2: float) -> PscMotor:
            ohms = (r1, x1, exp(log_r2) * base, x2, xm)
            motor = _balanced(volts, poles, slip, ohms, ratio, (core, friction), rated_rpm, output)
            return motor if given_f is None else replace(motor, capacitor_f=given_f)

        return _at_plate_speed(built, horsepower)

    most_volts = max(CAPACITOR_VOLTS, 1.5 * volts)
    if capacitor_f is None:  # the usual motor of 230 V, wound for these volts
        capacitor_f = CAPACITOR_F_PER_HORSEPOWER * horsepower * (230.0 / volts) ** 2
        most_volts = CAPACITOR_VOLTS * volts / 230.0
    elif not 1e-6 <= capacitor_f <= 80e-6:
        raise OutOfRangeError(
            f"a run capacitor must lie in 1 to 80 uF, got {1e6 * capacitor_f:g} uF: read it off its label."
        )

    def volts_on_capacitor(motor: PscMotor) -> float:
        return motor.state(rated_rpm, Supply(volts, LINE_HERTZ, 1.0)).capacitor_v

    refusal = (
        f"No motor of {horsepower:g} hp and {volts:g} V runs on {1e6 * capacitor_f:g} uF: check capacitor and plate."
    )
    try:
        # a larger turns ratio needs a smaller capacitor, and puts more volts on it
        ratio = exp(_bisected(lambda a: log(with_speed(exp(a)).capacitor_f / capacitor_f), log(0.6), log(6.0)))
        balancing, motor = with_speed(ratio).capacitor_f, with_speed(ratio, capacitor_f)
    except NoSolutionError as error:
        raise NoSolutionError(refusal) from error
    if abs(log(balancing / capacitor_f)) > 0.01:  # beyond the turns that are wound
        raise NoSolutionError(refusal)
    while volts_on_capacitor(motor) > most_volts:
        ratio *= 0.98
        try:
            motor = with_speed(ratio, capacitor_f)
        except NoSolutionError:  # further from balance it would not reach its output: the last one did
            break
    return motor


def split_phase_motor(horsepower: float, volts: float = 115.0, rated_rpm: float = 1725.0) -> PscMotor:
    """A motor that runs on its main winding alone, as on older single-speed furnace blowers, from its plate; per unit the
    textbook's 1/4 hp motor [umans], rotor resistance set for plate speed at plate output."""
    output, base, poles = _plate(horsepower, volts, rated_rpm)
    r1, x1, x2, xm = (value * base for value in SPLIT_PHASE_PER_UNIT)
    core, friction = CORE_PART * output, FRICTION_PART * output
    slip = 1.0 - rated_rpm * poles / (120.0 * LINE_HERTZ)

    def built(log_r2: float) -> PscMotor:
        ohms = (r1, x1, exp(log_r2) * base, x2, xm)
        running = _balanced(volts, poles, slip, ohms, TURNS_RATIO, (core, friction), rated_rpm, output)
        return replace(running, capacitor_f=0.0)

    return _at_plate_speed(built, horsepower)


def _at_plate_speed(built: Callable[[float], PscMotor], horsepower: float) -> PscMotor:
    """The motor, over ln(rotor resistance per unit), that gives plate output at plate speed.

    At a given slip torque rises and then falls with rotor resistance; the motor is the one on the falling side.
    """

    def short(log_r2: float) -> float:
        motor = built(log_r2)
        wanted = (motor.rated_w + motor.friction_w) / (2.0 * pi * motor.rated_rpm / 60.0)
        return motor.state(motor.rated_rpm, Supply(motor.volts, LINE_HERTZ, 1.0)).torque_n_m - wanted

    steps = np.linspace(log(2.0), log(0.005), 120)
    for more, less in pairwise(steps):
        if short(more) <= 0.0 < short(less):
            return built(_bisected(short, float(less), float(more)))
    raise NoSolutionError(
        f"No motor of {horsepower:g} hp reaches its output at its plate speed: check horsepower and speed on the plate."
    )


def _plate(horsepower: float, volts: float, rated_rpm: float) -> tuple[float, float, int]:
    for name, value, low, high, unit in (
        ("horsepower", horsepower, 0.02, 3.0, "hp"),
        ("plate volts", volts, 90.0, 500.0, "V"),
    ):
        if not low <= value <= high:  # written so that NaN fails too
            raise OutOfRangeError(
                f"{name} must lie in {low:g} to {high:g} {unit}, got {value:g}: read the motor's plate."
            )
    poles = poles_for_speed(rated_rpm)
    slip = 1.0 - rated_rpm * poles / (120.0 * LINE_HERTZ)
    if not 0.02 <= slip <= 0.2:
        raise OutOfRangeError(
            f"plate speed {rated_rpm:g} rpm means a slip of {slip:.3f} with {poles} poles, expected 0.02 to 0.2: read the plate "
            "speed at full load."
        )
    output = WATTS_PER_HORSEPOWER * horsepower
    return output, volts * volts / output, poles


def _bisected(function: Callable[[float], float], one: float, other: float) -> float:
    """Where a function changes sign between two places; an end where it does not."""
    sign = function(one) > 0.0
    for _ in range(50):
        middle = 0.5 * (one + other)
        if (function(middle) > 0.0) == sign:
            one = middle
        else:
            other = middle
    return 0.5 * (one + other)


def _balanced(
    volts: float,
    poles: int,
    slip: float,
    ohms: tuple[float, float, float, float, float],
    ratio: float,
    losses: tuple[float, float],
    rated_rpm: float,
    rated_w: float,
) -> PscMotor:
    """The capacitor that leaves least of the backward field at rated slip: Xc = X1a + a^2 Xf + a (R1m + Rf) [morrill1929]."""
    r1, x1, r2, x2, xm = ohms
    rotor = r2 / slip + 1j * x2
    zf = 1j * xm * rotor / (1j * xm + rotor)
    x1_aux, r1_aux = ratio * ratio * x1, AUXILIARY_COPPER * ratio * ratio * r1
    reactance = x1_aux + ratio * ratio * zf.imag + ratio * (r1 + zf.real)
    capacitor = 1.0 / (2.0 * pi * LINE_HERTZ * reactance)
    core, friction = losses
    return PscMotor(
        volts, poles, r1, x1, r2, x2, xm, r1_aux, x1_aux, ratio, capacitor, core, friction, rated_rpm, rated_w
    )
