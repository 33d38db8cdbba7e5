"""A capacitor motor fitted to its plate and to whatever was read on it: watts, amps, volts, rpm, microfarads, in any number.

The unknowns are what separates this motor from the default one of its plate (copper, leakage, iron, rotor, turns, losses,
capacitor) and the speed of each reading. Each is held to its usual value with its usual spread, each reading to its
instrument's: the likeliest motor is found by least squares and every residual is told in sigmas. What cannot be one motor is
refused with the reading named.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp, log

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import InputError, NoSolutionError, OutOfRangeError
from airtrim.physics.blower.circuit import LINE_HERTZ, MotorState, Supply
from airtrim.physics.blower.motor import PscMotor, default_motor

Array = NDArray[np.float64]

#: How far plates are off: output, amps [from-memory]; a capacitor's label (+/-6 % at 90 %) but for age, which is a wide prior.
PLATE_OUTPUT_SIGMA, PLATE_AMPS_SIGMA, CAPACITOR_SIGMA = 0.05, 0.08, 0.30
#: How far watts at plate output lie from the default motor's: PSC efficiencies differ by so much [from-memory].
USUAL_WATTS_SIGMA = 0.10
#: What instruments are worth, one sigma (parts; rpm in rpm): wattmeter, clamp meter, tachometer, capacitor meter [from-memory].
SIGMAS = {
    "watts": 0.02,
    "amps": 0.02,
    "rpm": 4.0,
    "auxiliary_amps": 0.03,
    "capacitor_volts": 0.015,
    "capacitor_uf": 0.03,
}
#: What one motor differs from the default of its plate, one sigma of the logarithm [from-memory].
_UNKNOWNS = (
    ("r1", 0.25),
    ("leakage", 0.30),
    ("xm", 0.25),
    ("r2", 0.25),
    ("turns_ratio", 0.15),
    ("r1_aux", 0.35),
    ("losses", 0.40),
)
#: How little is known of a reading's slip beforehand, one sigma of the logarithm.
_SLIP_SIGMA = 0.8
#: A residual beyond this many sigmas is a contradiction, and so is a sum of squares with less than this chance.
CONTRADICTION, LEAST_CHANCE = 3.5, 5e-4
#: A capacitor below this part of its label, with 95 % confidence, is weak (labels are +/-6 %).
WEAK_CAPACITOR = 0.94
_RANGES = {
    "watts": (10.0, 3000.0, "W"),
    "amps": (0.1, 30.0, "A"),
    "rpm": (100.0, 3600.0, "rpm"),
    "auxiliary_amps": (0.05, 20.0, "A"),
    "capacitor_volts": (20.0, 800.0, "V"),
    "capacitor_uf": (0.5, 80.0, "uF"),
}


@dataclass(frozen=True)
class Nameplate:
    """The motor's plate: hp, volts, rpm at full load, amps and microfarads where printed."""

    horsepower: float
    volts: float = 230.0
    rpm: float = 1075.0
    amps: float | None = None
    capacitor_uf: float | None = None


@dataclass(frozen=True)
class MotorReading:
    """What was read at one time, running; any of them None. `volts` at the motor (plate volts if None), `tap_factor` of the tap.

    `auxiliary_amps` in the capacitor's lead, `capacitor_volts` across it; `capacitor_uf` by a meter with the power off.
    `tap_sigma`, above 0, is how little the tap's factor is known (one sigma of its logarithm): then it is fitted, one for all
    readings of the same factor.
    """

    watts: float | None = None
    amps: float | None = None
    volts: float | None = None
    rpm: float | None = None
    auxiliary_amps: float | None = None
    capacitor_volts: float | None = None
    capacitor_uf: float | None = None
    tap_factor: float = 1.0
    tap_sigma: float = 0.0


@dataclass(frozen=True)
class MotorResidual:
    """One reading against the fitted motor: its place (0 the plate, then from 1), what, as read, as fitted, sigmas between."""

    reading: int
    what: str
    read: float
    fitted: float
    sigmas: float


@dataclass(frozen=True)
class MotorFit:
    """The motor that fits, its speeds at the readings (rpm), residuals, and its capacitor over the label: low, mid, high (90 %).

    `tap_factors` are those at the readings, fitted where they were not known.
    """

    motor: PscMotor
    speeds_rpm: tuple[float, ...]
    residuals: tuple[MotorResidual, ...]
    capacitor_ratio: tuple[float, float, float]
    tap_factors: tuple[float, ...] = ()

    @property
    def capacitor_is_weak(self) -> bool:
        """Whether the capacitor is below its tolerance with 95 % confidence."""
        return self.capacitor_ratio[2] < WEAK_CAPACITOR


@dataclass(frozen=True)
class _Target:
    reading: int
    what: str
    read: float
    sigma: float


def fit_motor(plate: Nameplate, readings: Sequence[MotorReading] = ()) -> MotorFit:
    """The likeliest motor for a plate and its readings, none to many.

    Raises `OutOfRangeError` for a value that cannot be, `InputError` for watts beyond volts times amps and for a reading with
    nothing in it, `NoSolutionError`, the reading named, where no motor of this plate gives them all.
    """
    from scipy.optimize import least_squares
    from scipy.stats import chi2

    label_f = None if plate.capacitor_uf is None else 1e-6 * plate.capacitor_uf
    usual = default_motor(plate.horsepower, plate.volts, plate.rpm, label_f)
    _check_plate(plate)
    targets = _targets(plate, readings)
    at_plate = Supply(plate.volts, LINE_HERTZ, 1.0)
    as_given = [at_plate] + [
        Supply(plate.volts if one.volts is None else float(one.volts), LINE_HERTZ, float(one.tap_factor)) for one in readings
    ]  # fmt: skip
    synchronous = usual.synchronous_rpm()
    usual_watts = usual.watts(plate.rpm, at_plate)
    spreads = np.array([spread for _, spread in _UNKNOWNS] + [CAPACITOR_SIGMA])
    start_slips = [_slip_at_start(usual, supply, one) for supply, one in zip(as_given[1:], readings, strict=True)]
    loose = {one.tap_factor: one.tap_sigma for one in readings if one.tap_sigma > 0.0}

    slips_end = len(spreads) + len(readings)

    def split(x: Array) -> tuple[PscMotor, list[float], list[Supply]]:
        speeds = [synchronous * (1.0 - exp(value)) for value in x[len(spreads) : slips_end]]
        taps = {factor: factor * exp(moved) for factor, moved in zip(loose, x[slips_end:], strict=True)}
        supplies = [one._replace(tap_factor=taps.get(one.tap_factor, one.tap_factor)) for one in as_given[1:]]
        return _changed(usual, x[: len(spreads)]), [plate.rpm, *speeds], [at_plate, *supplies]

    def residuals(x: Array) -> Array:
        motor, speeds, supplies = split(x)
        states = [motor.state(speed, supply) for speed, supply in zip(speeds, supplies, strict=True)]
        off = [_off(motor, target, states, speeds, supplies) for target in targets]
        shaft = motor.losses(plate.rpm, at_plate).shaft
        off.append(log(max(shaft, 1.0) / motor.rated_w) / PLATE_OUTPUT_SIGMA)
        off.append(log(motor.watts(plate.rpm, at_plate) / usual_watts) / USUAL_WATTS_SIGMA)
        speed = (x[len(spreads) : slips_end] - start[len(spreads) : slips_end]) / _SLIP_SIGMA
        return np.concatenate([x[: len(spreads)] / spreads, speed, x[slips_end:] / list(loose.values()), off])

    start = np.concatenate([np.zeros(len(spreads)), np.log(start_slips), np.zeros(len(loose))])
    tap_ends = np.full(len(loose), 0.5)
    high = np.concatenate([np.full(len(spreads), 2.0), np.full(len(start_slips), log(0.7)), tap_ends])
    low = np.concatenate([np.full(len(spreads), -2.0), np.full(len(start_slips), log(0.003)), -tap_ends])
    found = least_squares(residuals, start, bounds=(low, high), x_scale="jac", xtol=1e-10, ftol=1e-10)
    motor, speeds, supplies = split(found.x)
    states = [motor.state(speed, supply) for speed, supply in zip(speeds, supplies, strict=True)]
    told = tuple(
        MotorResidual(
            target.reading,
            target.what,
            target.read,
            _value(motor, target, states, speeds, supplies),
            _off(motor, target, states, speeds, supplies),
        )
        for target in targets
    )
    _refuse_contradiction(told, float(chi2.sf(2.0 * found.cost, len(targets) + 1)))
    # every unknown has a prior, so that the normal matrix can be inverted
    covariance = np.linalg.inv(found.jac.T @ found.jac)
    place = len(_UNKNOWNS)
    sigma = float(np.sqrt(covariance[place, place]))
    ratio = float(found.x[place])
    return MotorFit(
        motor,
        tuple(speeds[1:]),
        told,
        (exp(ratio - 1.645 * sigma), exp(ratio), exp(ratio + 1.645 * sigma)),
        tuple(one.tap_factor for one in supplies[1:]),
    )


def _changed(usual: PscMotor, x: Array) -> PscMotor:
    r1, leakage, xm, r2, turns, r1_aux, losses, capacitor = (exp(value) for value in x)
    return replace(
        usual,
        r1=usual.r1 * r1,
        x1=usual.x1 * leakage,
        x2=usual.x2 * leakage,
        xm=usual.xm * xm,
        r2=usual.r2 * r2,
        turns_ratio=usual.turns_ratio * turns,
        r1_aux=usual.r1_aux * turns * turns * r1_aux,
        x1_aux=usual.x1_aux * turns * turns * leakage,
        core_w=usual.core_w * losses,
        friction_w=usual.friction_w * losses,
        capacitor_f=usual.capacitor_f * capacitor,
    )


def _check_plate(plate: Nameplate) -> None:
    if plate.amps is not None:
        least = 745.7 * plate.horsepower / plate.volts
        if not least < plate.amps < 5.0 * least:
            raise InputError(
                f"plate amps must lie in {least:.2g} to {5.0 * least:.2g} A at {plate.horsepower:g} hp and {plate.volts:g} V, got "
                f"{plate.amps:g} A: read horsepower, volts and amps off one row of the plate."
            )


def _targets(plate: Nameplate, readings: Sequence[MotorReading]) -> list[_Target]:
    targets = [] if plate.amps is None else [_Target(0, "amps", plate.amps, PLATE_AMPS_SIGMA)]
    for number, reading in enumerate(readings, start=1):
        volts = plate.volts if reading.volts is None else reading.volts
        if not 0.3 * plate.volts <= volts <= 1.2 * plate.volts:
            raise OutOfRangeError(
                f"motor reading {number}: volts must lie in {0.3 * plate.volts:.0f} to {1.2 * plate.volts:.0f} V, got {volts:g} V: "
                "check volts and plate."
            )
        if not 0.7 <= reading.tap_factor <= 4.0:
            raise OutOfRangeError(
                f"motor reading {number}: tap factor must lie in 0.7 to 4, got {reading.tap_factor:g}."
            )
        before = len(targets)
        for what, (low, high, unit) in _RANGES.items():
            value = getattr(reading, what)
            if value is None:
                continue
            if not low <= value <= high:
                raise OutOfRangeError(
                    f"motor reading {number}: {what} must lie in {low:g} to {high:g} {unit}, got {value:g}: read it again."
                )
            targets.append(_Target(number, what, float(value), SIGMAS[what]))
        if len(targets) == before:
            raise InputError(
                f"motor reading {number} has nothing in it but volts: give watts, amps, rpm or the capacitor's."
            )
        if reading.watts is not None and reading.amps is not None and reading.watts > 1.05 * volts * reading.amps:
            raise InputError(
                f"motor reading {number}: {reading.watts:g} W is more than {volts:g} V times {reading.amps:g} A: read watts "
                "and amps on the same conductor."
            )
        if reading.rpm is not None and reading.rpm >= 120.0 * LINE_HERTZ / (2 * int(3600.0 / plate.rpm)):
            raise InputError(
                f"motor reading {number}: {reading.rpm:g} rpm is not below synchronous speed of a motor with {plate.rpm:g} rpm on "
                "its plate: check rpm and plate."
            )
    return targets


def _slip_at_start(usual: PscMotor, supply: Supply, reading: MotorReading) -> float:
    synchronous = usual.synchronous_rpm()
    if reading.rpm is not None:
        return float(np.clip(1.0 - reading.rpm / synchronous, 0.004, 0.6))
    if reading.watts is None and reading.amps is None:
        return 1.0 - usual.rated_rpm / synchronous
    slips = np.linspace(0.02, 0.3, 30)
    speeds = [synchronous * (1.0 - float(slip)) for slip in slips]
    if reading.watts is not None:
        off = [abs(usual.watts(speed, supply) - reading.watts) for speed in speeds]
    else:
        assert reading.amps is not None
        off = [abs(usual.state(speed, supply).line_a - reading.amps) for speed in speeds]
    return float(slips[int(np.argmin(off))])


def _value(
    motor: PscMotor, target: _Target, states: list[MotorState], speeds: list[float], supplies: list[Supply]
) -> float:
    if target.what == "watts":
        return motor.watts(speeds[target.reading], supplies[target.reading])
    if target.what == "rpm":
        return speeds[target.reading]
    if target.what == "capacitor_uf":
        return 1e6 * motor.capacitor_f
    name = {"amps": "line_a", "auxiliary_amps": "auxiliary_a", "capacitor_volts": "capacitor_v"}[target.what]
    return float(getattr(states[target.reading], name))


def _off(
    motor: PscMotor, target: _Target, states: list[MotorState], speeds: list[float], supplies: list[Supply]
) -> float:
    fitted = _value(motor, target, states, speeds, supplies)
    if target.what == "rpm":
        return (fitted - target.read) / target.sigma
    return log(fitted / target.read) / target.sigma


def _refuse_contradiction(residuals: tuple[MotorResidual, ...], chance: float) -> None:
    worst = max(residuals, key=lambda one: abs(one.sigmas), default=None)
    if worst is not None and not (abs(worst.sigmas) <= CONTRADICTION and chance >= LEAST_CHANCE):
        place = "the plate's" if worst.reading == 0 else f"reading {worst.reading}'s"
        raise NoSolutionError(
            f"No motor of this plate gives all that was read: {place} {worst.what.replace('_', ' ')} of {worst.read:.4g} lies "
            f"furthest off, where the nearest motor has {worst.fitted:.4g}: check it, the plate and the tap."
        )
