"""Blower, motor and path joined: airflow, pressure, watts, sound and winding heat at any tap, voltage and frequency."""

from dataclasses import dataclass
from math import log10, pi

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import NoSolutionError, OutOfRangeError
from airtrim.core.kernels import inline_kernel, kernel
from airtrim.physics.blower.motor import LINE_HERTZ, Circuit, PscMotor, default_motor, motor_state

Array = NDArray[np.float64]

#: Exponents of pressure against airflow (blower.md 3): ducts 1.8 to 2.0, clean filter 1.2 to 1.6, coil 1.4 to 1.9.
DUCT_EXPONENT, FILTER_EXPONENT, COIL_EXPONENT = 1.9, 1.4, 1.65
WET_COIL = 1.3  # wet against dry coil, 1.2 to 1.5
#: Turns factors of the taps, fastest first: on one duct they give about 100, 92, 82, 73 % of the air (makers' sheets).
TAP_FACTORS = (1.0, 1.28, 1.62, 1.92, 2.15, 2.35, 2.5, 2.65)
LEAST_HERTZ = 30.0  # until the motor's maker says otherwise
#: Winding cooling goes as airflow to this power (0.5 to 0.8).
COOLING_EXPONENT = 0.65

Path = tuple[float, float, float]
Wheel = tuple[float, float, float, float]


@dataclass(frozen=True)
class BlowerSystem:
    """One house's blower: motor, tap in use, wheel scaled to a measured point, and pressure coefficients of its path.

    `wheel` is airflow (m3/s), total pressure (Pa), speed (rpm) and shaft torque (N m) at the measured point; `path` the
    coefficients of ducts, filter (clean) and coil (wet) against airflow to their own exponents. `ducts_part` is the part of
    total pressure outside the cabinet at that point.
    """

    motor: PscMotor
    tap_in_use: int
    wheel: Wheel
    path: Path
    ducts_part: float


@dataclass(frozen=True)
class BlowerPoint:
    """Airflow m3/s, external static Pa, input W, line A, rpm, sound against the present point dB, winding rise against it."""

    airflow_m3_s: float
    external_static_pa: float
    watts: float
    amps: float
    speed_rpm: float
    sound_change_db: float
    winding_rise_ratio: float


@inline_kernel
def wheel_pressure(ratio: float) -> float:
    """Pressure over the measured one at equal speed; `ratio` is flow coefficient over the measured one.

    The slope makes a high tap lose about 15 % of its air from 0.1 to 0.5 in. external, as makers' tables do.
    """
    return 1.6 - 0.6 * ratio * ratio


@inline_kernel
def wheel_torque(ratio: float) -> float:
    """Shaft torque over the measured one at equal speed: it rises with flow, so that choking a duct unloads the motor."""
    return 0.30 + 0.70 * ratio


@kernel
def _flow_at(speed_rpm: float, wheel: Wheel, path: Path, filter_load: float, wet: float) -> float:
    low, high = 0.0, 3.0 * wheel[0] * speed_rpm / wheel[2]
    relative = speed_rpm / wheel[2]
    for _ in range(60):
        flow = 0.5 * (low + high)
        needed = path[0] * flow**1.9 + path[1] * filter_load * flow**1.4 + path[2] * wet * flow**1.65
        if wheel[1] * relative * relative * wheel_pressure(flow / wheel[0] / relative) > needed:
            low = flow
        else:
            high = flow
    return 0.5 * (low + high)


@kernel
def _speed_at(
    volts: float,
    hertz: float,
    factor: float,
    poles: int,
    circuit: Circuit,
    fixed_w: float,
    wheel: Wheel,
    path: Path,
    load: float,
    wet: float,
) -> float:
    """Speed (rpm) where the motor's torque meets the wheel's; the fast side, NaN if the motor cannot carry it."""
    synchronous = 120.0 * hertz / poles
    high, low = synchronous * 0.9999, np.nan
    for index in range(1, 80):
        speed = synchronous * (1.0 - index / 80.0)
        if _excess(speed, volts, hertz, factor, poles, circuit, fixed_w, wheel, path, load, wet) > 0.0:
            low = speed
            break
        high = speed
    if not low > 0.0:
        return np.nan
    for _ in range(45):
        speed = 0.5 * (low + high)
        if _excess(speed, volts, hertz, factor, poles, circuit, fixed_w, wheel, path, load, wet) > 0.0:
            low = speed
        else:
            high = speed
    return 0.5 * (low + high)


@kernel
def _excess(
    speed: float,
    volts: float,
    hertz: float,
    factor: float,
    poles: int,
    circuit: Circuit,
    fixed_w: float,
    wheel: Wheel,
    path: Path,
    load: float,
    wet: float,
) -> float:
    relative = speed / wheel[2]
    flow = _flow_at(speed, wheel, path, load, wet)
    needed = wheel[3] * relative * relative * wheel_torque(flow / wheel[0] / relative)
    drag = fixed_w / (2.0 * pi * 17.9)  # fixed loss as a torque at rated speed
    return motor_state(speed, volts, hertz, factor, poles, circuit)[0] - needed - drag * min(relative, 1.0)


def fit_blower(
    airflow_m3_s: float,
    external_static_pa: float,
    watts: float,
    horsepower: float,
    tap_in_use: int = 1,
    filter_fraction: float = 0.2,
    coil_fraction: float = 0.28,
) -> BlowerSystem:
    """Scale wheel and path to one measured point on the tap in use.

    Fractions are of the wheel's total pressure: a clean-to-average filter takes 0.15 to 0.25, a wet coil 0.25 to 0.3.
    Raises `OutOfRangeError` for a value that cannot be, `NoSolutionError` if the motor cannot take these watts.
    """
    for name, value, low, high in (
        ("airflow", airflow_m3_s, 0.02, 2.0),
        ("external static", external_static_pa, 5.0, 600.0),
        ("blower watts", watts, 30.0, 2000.0),
        ("horsepower", horsepower, 0.05, 2.0),
        ("filter and coil fraction", filter_fraction + coil_fraction, 0.0, 0.9),
    ):
        if not low <= value <= high:
            raise OutOfRangeError(f"{name} must lie in {low:g} to {high:g}, got {value:g}: check the reading.")
    if not 1 <= tap_in_use <= len(TAP_FACTORS):
        raise OutOfRangeError(f"tap in use must lie in 1 to {len(TAP_FACTORS)}, got {tap_in_use}: 1 is the fastest.")
    motor = default_motor(horsepower)
    factor = TAP_FACTORS[tap_in_use - 1]
    speed = _speed_for_watts(motor, factor, watts)
    torque = motor_state(speed, motor.volts, LINE_HERTZ, factor, motor.poles, motor.circuit)[0]
    shaft = torque - motor.fixed_loss_w / (2.0 * pi * 17.9)
    ducts = 1.0 - filter_fraction - coil_fraction
    total = external_static_pa / ducts
    path = (
        external_static_pa / airflow_m3_s**DUCT_EXPONENT,
        filter_fraction * total / airflow_m3_s**FILTER_EXPONENT,
        coil_fraction * total / airflow_m3_s**COIL_EXPONENT,
    )
    return BlowerSystem(motor, tap_in_use, (airflow_m3_s, total, speed, shaft), path, ducts)


def _speed_for_watts(motor: PscMotor, factor: float, watts: float) -> float:
    speeds = np.linspace(700.0, 1195.0, 400)
    taken = np.array([motor_state(s, motor.volts, LINE_HERTZ, factor, motor.poles, motor.circuit)[1] for s in speeds])
    taken += 0.5 * motor.fixed_loss_w
    peak = int(np.argmax(taken))
    rising = taken[peak:]
    if not rising.min() <= watts <= rising.max():
        raise NoSolutionError(
            f"A motor of this horsepower takes {rising.min():.0f} to {rising.max():.0f} W on this tap, not {watts:.0f} W: check "
            "blower watts, horsepower and tap."
        )
    return float(np.interp(-watts, -rising, speeds[peak:]))


def operating_point(
    system: BlowerSystem,
    tap: int | None = None,
    hertz: float = LINE_HERTZ,
    volts_ratio: float = 1.0,
    filter_load: float = 1.0,
    wet: bool = True,
) -> BlowerPoint:
    """Where motor, wheel and path meet. A drive holds volts per hertz; `volts_ratio` is on top. 15 to 75 Hz.

    `filter_load` multiplies the filter's coefficient (1 as it was read, 2 loaded).
    """
    if not 15.0 <= hertz <= 75.0:
        raise OutOfRangeError(f"drive frequency must lie in 15 to 75 Hz, got {hertz:g} Hz: choose one between.")
    factor = TAP_FACTORS[(tap if tap is not None else system.tap_in_use) - 1]
    motor = system.motor
    volts = motor.volts * min(hertz / LINE_HERTZ, 1.0) * volts_ratio
    moisture = 1.0 if wet else 1.0 / WET_COIL
    speed = _speed_at(
        volts, hertz, factor, motor.poles, motor.circuit, motor.fixed_loss_w, system.wheel, system.path, filter_load, moisture
    )  # fmt: skip
    if not np.isfinite(speed):
        raise NoSolutionError(
            f"The motor cannot turn this wheel at {hertz:g} Hz and {volts:.0f} V: raise voltage or frequency."
        )
    flow = _flow_at(speed, system.wheel, system.path, filter_load, moisture)
    _, watts, amps, main, aux, _ = motor_state(speed, volts, hertz, factor, motor.poles, motor.circuit)
    watts += 0.5 * motor.fixed_loss_w * hertz / LINE_HERTZ
    return BlowerPoint(
        airflow_m3_s=float(flow),
        external_static_pa=float(system.path[0] * flow**DUCT_EXPONENT),
        watts=float(watts),
        amps=float(amps),
        speed_rpm=float(speed),
        sound_change_db=50.0 * log10(speed / system.wheel[2]),
        winding_rise_ratio=_winding_heat(system, factor, speed, main, aux, flow) / _present_heat(system),
    )


def _winding_heat(system: BlowerSystem, factor: float, speed: float, main: float, aux: float, flow: float) -> float:
    motor = system.motor
    copper = main**2 * motor.r1 * factor**2 + aux**2 * motor.r1_aux
    return float(copper / (flow / system.wheel[0]) ** COOLING_EXPONENT)


def _present_heat(system: BlowerSystem) -> float:
    motor, factor = system.motor, TAP_FACTORS[system.tap_in_use - 1]
    speed = system.wheel[2]
    _, _, _, main, aux, _ = motor_state(speed, motor.volts, LINE_HERTZ, factor, motor.poles, motor.circuit)
    return _winding_heat(system, factor, speed, main, aux, system.wheel[0])


def drive_curve(system: BlowerSystem, hertz: Array) -> list[BlowerPoint]:
    """Operating points of a V/f drive on the tap in use."""
    return [operating_point(system, hertz=float(value)) for value in hertz]


def watts_polynomial(system: BlowerSystem, drive_efficiency: float = 0.95) -> Array:
    """Watts as a cubic in airflow / present airflow on a V/f drive, 25 to 60 Hz, drive losses included; `[4]`."""
    points = drive_curve(system, np.linspace(25.0, 60.0, 8))
    flow = np.array([point.airflow_m3_s for point in points]) / system.wheel[0]
    watts = np.array([point.watts for point in points]) / drive_efficiency
    return np.asarray(np.polynomial.polynomial.polyfit(flow, watts, 3), dtype=np.float64)


def hertz_for_flow(system: BlowerSystem, fraction: float) -> float:
    """Drive frequency that moves `fraction` of the present airflow, between 15 and 75 Hz."""
    grid = np.linspace(16.0, 66.0, 26)
    flow = np.array([point.airflow_m3_s for point in drive_curve(system, grid)]) / system.wheel[0]
    return float(np.interp(fraction, flow, grid))
