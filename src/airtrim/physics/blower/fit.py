"""From what was read on one house's blower to its system: the wheel scaled to a point or two, the taps' turns fitted."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise
from math import isfinite, pi

import numpy as np

from airtrim.core.errors import InputError, NoSolutionError, OutOfRangeError
from airtrim.physics.blower.balance import electronic_balance, psc_balance
from airtrim.physics.blower.circuit import LINE_HERTZ, Supply
from airtrim.physics.blower.electronic import ElectronicMotor, torque_at
from airtrim.physics.blower.fan_table import FanTable
from airtrim.physics.blower.motor import PscMotor, default_motor
from airtrim.physics.blower.path import COIL_EXPONENT, DUCT_EXPONENT, FILTER_EXPONENT, Path, Resistance, path_pressure
from airtrim.physics.blower.system import TAP_FACTORS, BlowerSystem
from airtrim.physics.blower.wheel import PRESSURE_FALL_RANGE, TORQUE_SHAPE, generic_wheel, wheel_torque

#: Speed an electronic motor is taken to run at where nobody read it, rpm [from-memory]; only ratios of it come out.
ELECTRONIC_RPM = 1050.0
#: How far watts read may lie from those of the motor at the speed read, as a part.
WATTS_AGREE = 0.2
#: Turns factors that a tap may have.
_FACTORS = (0.7, 4.0)


@dataclass(frozen=True)
class MeasuredPoint:
    """A second point of the same wheel and cabinet: airflow m3/s, external static Pa, W and tap (None: not read, as the first)."""

    airflow_m3_s: float
    external_static_pa: float
    watts: float | None = None
    tap: int | None = None


def fit_blower(
    airflow_m3_s: float,
    external_static_pa: float,
    watts: float,
    horsepower: float,
    tap_in_use: int = 1,
    filter_fraction: float = 0.2,
    coil_fraction: float = 0.28,
    *,
    motor: PscMotor | ElectronicMotor | None = None,
    speed_rpm: float | None = None,
    path: Path | None = None,
    second: MeasuredPoint | None = None,
    tap_factors: tuple[float, ...] = TAP_FACTORS,
) -> BlowerSystem:
    """Scale wheel and path to one measured point on the tap in use, and the fall of the wheel's pressure to a second.

    Fractions are of the wheel's total pressure: a clean-to-average filter takes 0.15 to 0.25, a wet coil 0.25 to 0.3, and none of
    them counts where `path` brings filter and coil as they were read. `motor` is the default capacitor motor of this
    horsepower where none is given; its `speed_rpm`, where read, goes before the speed its watts tell. Watts of the second
    point set how the wheel's torque falls, too.

    Raises `OutOfRangeError` for a value that cannot be, `NoSolutionError` if the motor cannot take these watts or the two points
    lie on no wheel's curve.
    """
    for name, value, low, high in (
        ("airflow", airflow_m3_s, 0.02, 2.0),
        ("external static", external_static_pa, 5.0, 600.0),
        ("blower watts", watts, 10.0, 2500.0),
        ("horsepower", horsepower, 0.05, 2.0),
        ("filter and coil fraction", filter_fraction + coil_fraction, 0.0, 0.9),
    ):
        if not low <= value <= high:  # written so that NaN fails too
            raise OutOfRangeError(f"{name} must lie in {low:g} to {high:g}, got {value:g}: check the reading.")
    motor = motor if motor is not None else default_motor(horsepower)
    taps = len(tap_factors if isinstance(motor, PscMotor) else motor.settings)
    if not 1 <= tap_in_use <= taps:
        raise OutOfRangeError(f"tap in use must lie in 1 to {taps}, got {tap_in_use}: 1 is the fastest.")
    if isinstance(motor, PscMotor):
        supply = Supply(motor.volts, LINE_HERTZ, tap_factors[tap_in_use - 1])
        speed = (
            _speed_for_watts(motor, supply, watts)
            if speed_rpm is None
            else _read_speed(motor, supply, speed_rpm, watts)
        )
        shaft = motor.state(speed, supply).torque_n_m - motor.drag(speed)
    else:
        speed = ELECTRONIC_RPM if speed_rpm is None else float(speed_rpm)
        shaft = torque_at(motor.shaft_w(watts), speed)
    if not shaft > 0.0:
        raise NoSolutionError(f"At {speed:.0f} rpm the motor gives no torque to the wheel: check speed and watts.")
    if path is None:
        inside = filter_fraction + coil_fraction
        total = external_static_pa / (1.0 - inside)
        path = Path(
            external_static_pa / airflow_m3_s**DUCT_EXPONENT,
            filter_fraction * total / airflow_m3_s**FILTER_EXPONENT,
            coil_fraction * total / airflow_m3_s**COIL_EXPONENT,
        )
    else:
        path = path._replace(ducts=external_static_pa / airflow_m3_s**path.ducts_exponent)
        total = float(path_pressure(float(airflow_m3_s), path, Resistance())[0])
    wheel = generic_wheel(float(airflow_m3_s), total, speed, shaft)
    system = BlowerSystem(motor, tap_in_use, wheel, path, external_static_pa / total, tuple(tap_factors))
    return system if second is None else fit_second_point(system, second)


def _speed_for_watts(motor: PscMotor, supply: Supply, watts: float) -> float:
    """The speed on the fast side of the watts' peak at which the motor takes so much."""
    speeds = np.linspace(0.3, 0.998, 350) * motor.synchronous_rpm()
    taken = np.array([motor.watts(float(speed), supply) for speed in speeds])
    peak = int(np.argmax(taken))
    if not taken[-1] <= watts <= taken[peak]:
        raise NoSolutionError(
            f"A motor of this horsepower takes {taken[-1]:.0f} to {taken[peak]:.0f} W on this tap, not {watts:.0f} W: check blower "
            "watts, horsepower and tap."
        )
    return _bisected(lambda speed: watts - motor.watts(speed, supply), float(speeds[peak]), float(speeds[-1]))


def _read_speed(motor: PscMotor, supply: Supply, speed_rpm: float, watts: float) -> float:
    if not 0.2 * motor.synchronous_rpm() <= speed_rpm < motor.synchronous_rpm():
        raise OutOfRangeError(
            f"a motor of {motor.poles} poles turns at {0.2 * motor.synchronous_rpm():.0f} to {motor.synchronous_rpm():.0f} rpm, "
            f"got {speed_rpm:g}: check speed and plate."
        )
    taken = motor.watts(float(speed_rpm), supply)
    if abs(taken / watts - 1.0) > WATTS_AGREE:
        raise NoSolutionError(
            f"At {speed_rpm:.0f} rpm this motor takes {taken:.0f} W on this tap, not the {watts:.0f} W read: fit the motor to its "
            "readings first, or check them."
        )
    return float(speed_rpm)


def fit_second_point(system: BlowerSystem, second: MeasuredPoint) -> BlowerSystem:
    """The same system with its wheel led through a second point; raises as `fit_blower` does."""
    for name, value, low, high in (
        ("airflow", second.airflow_m3_s, 0.02, 2.0),
        ("external static", second.external_static_pa, 0.0, 600.0),
    ):
        if not low <= value <= high:
            raise OutOfRangeError(
                f"second point: {name} must lie in {low:g} to {high:g}, got {value:g}: check the reading."
            )
    q = second.airflow_m3_s / system.wheel.airflow
    if abs(q - 1.0) < 0.02 and (second.tap or system.tap_in_use) == system.tap_in_use:
        raise InputError(
            "The two points lie within 2 % of airflow on one tap: read the second with the duct choked or freed."
        )
    if second.watts is None:
        return _with_fall(system, second)
    return _with_watts(system, second, second.watts)


def _flow_at_held(system: BlowerSystem, tap: int, external_pa: float) -> float:
    """Airflow at a held external pressure, m3/s; NaN where there is none."""
    inside = system.path._replace(ducts=0.0)
    now = Resistance(1.0, 1.0, float(external_pa))
    motor, wheel = system.motor, system.wheel
    if isinstance(motor, PscMotor):
        supply = Supply(motor.volts, LINE_HERTZ, system.tap_factors[tap - 1])
        drag = motor.drag(wheel.speed_rpm)
        return float(psc_balance(float(motor.poles), drag, supply, motor.circuit, wheel, inside, now).airflow)
    found, _ = electronic_balance(
        motor.holds, float(motor.settings[tap - 1]), motor.rated_w, motor.greatest_rpm, wheel, inside, now
    )  # fmt: skip
    return float(found.airflow)


def _with_fall(system: BlowerSystem, second: MeasuredPoint) -> BlowerSystem:
    if isinstance(system.motor, ElectronicMotor) and system.motor.kind == "constant_airflow":
        raise InputError(
            "A constant-airflow motor's second point needs its watts: its airflow tells nothing of the wheel."
        )
    tap = second.tap or system.tap_in_use

    def led(fall: float) -> BlowerSystem:
        return replace(system, wheel=system.wheel.with_fall(fall))

    def over(fall: float) -> float:
        return _flow_at_held(led(fall), tap, second.external_static_pa) - second.airflow_m3_s

    # a steeper wheel gives more air at a higher pressure and less at a lower one; where none moves at all, short by all of it
    grid = np.geomspace(0.02, PRESSURE_FALL_RANGE[1], 40)
    values = np.array([value if isfinite(value) else -second.airflow_m3_s for value in map(over, map(float, grid))])
    sign = np.nonzero(np.diff(np.sign(values)))[0]
    if not sign.size:
        raise NoSolutionError(
            f"No wheel through the first point gives {second.airflow_m3_s:.3g} m3/s at {second.external_static_pa:.3g} Pa "
            f"external, but {values.min() + second.airflow_m3_s:.3g} to {values.max() + second.airflow_m3_s:.3g} m3/s: "
            "check both points."
        )
    return led(_bisected(over, float(grid[sign[0]]), float(grid[sign[0] + 1])))


def _with_watts(system: BlowerSystem, second: MeasuredPoint, watts: float) -> BlowerSystem:
    """Watts tell the shaft, so that the fall of pressure, and of torque where speed is told too, follow."""
    motor, wheel, tap = system.motor, system.wheel, second.tap or system.tap_in_use
    q = second.airflow_m3_s / wheel.airflow
    inside = system.path._replace(ducts=0.0)
    needed = float(
        path_pressure(float(second.airflow_m3_s), inside, Resistance(1.0, 1.0, float(second.external_static_pa)))[0]
    )
    omega = 2.0 * pi * wheel.speed_rpm / 60.0
    if isinstance(motor, ElectronicMotor) and motor.kind == "constant_airflow":
        power = motor.shaft_w(watts) / (wheel.torque * omega)
        # shaft power over the first point's: s^3 times the torque's shape at q/s, rising with s
        s = _bisected(lambda s: power - s**3 * float(wheel_torque(q / s, wheel)), 0.1, 4.0)
        share = 1.0
    else:
        if isinstance(motor, PscMotor):
            supply = Supply(motor.volts, LINE_HERTZ, system.tap_factors[tap - 1])
            speed = _speed_for_watts(motor, supply, watts)
            s, torque = speed / wheel.speed_rpm, motor.state(speed, supply).torque_n_m - motor.drag(speed)
        else:
            part = motor.settings[tap - 1] / motor.settings[system.tap_in_use - 1]
            power = motor.shaft_w(watts) / (wheel.torque * omega)
            s, ratio = (part, power / part) if motor.kind == "constant_speed" else (power / part, part)
            torque = wheel.torque * ratio
        generic = TORQUE_SHAPE[0] + TORQUE_SHAPE[1] * q / s + TORQUE_SHAPE[2] * (q / s) ** 2
        share = (1.0 - torque / wheel.torque / s**2) / (1.0 - generic)
    fall = (needed / wheel.pressure / s**2 - 1.0) / (1.0 - (q / s) ** 2)
    if not (PRESSURE_FALL_RANGE[0] <= fall <= PRESSURE_FALL_RANGE[1] and 0.0 <= share <= 1.0 / (1.0 - TORQUE_SHAPE[0])):
        raise NoSolutionError(
            f"No forward-curved wheel goes through both points ({second.airflow_m3_s:.3g} m3/s, {second.external_static_pa:.3g} Pa "
            f"and {watts:.0f} W in the second): check watts and pressures, or leave out the second point's watts."
        )
    return replace(system, wheel=wheel.with_fall(fall).with_torque_share(share))


def fit_from_table(
    table: FanTable,
    tap_in_use: int,
    external_static_pa: float,
    horsepower: float,
    watts: float | None = None,
    filter_fraction: float = 0.2,
    coil_fraction: float = 0.28,
    *,
    motor: PscMotor | ElectronicMotor | None = None,
) -> BlowerSystem:
    """A blower from its maker's fan table and the external static read on the tap in use, for what the table does not list.

    The wheel goes through the row at that static and at the end of the row further from it, a PSC's other taps through their
    rows at the static nearest to it. `watts` are those read, or the table's where it prints them. Raises `InputError` without
    watts, and what `fit_blower` raises.
    """
    row = table.row(tap_in_use)
    if len(table.rows) > len(TAP_FACTORS):
        raise OutOfRangeError(
            f"A motor has up to {len(TAP_FACTORS)} taps, the fan table {len(table.rows)} rows: leave some out."
        )
    if watts is None and row.watts is None:
        raise InputError(f"Row {row.tap} of the fan table prints no watts and none were read: measure blower watts.")
    flow = table.airflow_at(tap_in_use, external_static_pa)
    taken = watts if watts is not None else table.watts_at(tap_in_use, external_static_pa)
    listed = [static for static, value in zip(table.static_pa, row.airflow, strict=True) if not np.isnan(value)]
    far = max(listed, key=lambda static: abs(static - external_static_pa))
    second = MeasuredPoint(table.airflow_at(tap_in_use, far), far)
    if isinstance(motor, ElectronicMotor) and motor.kind == "constant_airflow":
        second = replace(second, watts=table.watts_at(tap_in_use, far))
    system = fit_blower(
        flow, external_static_pa, taken, horsepower, tap_in_use, filter_fraction, coil_fraction,
        motor=motor, second=second, tap_factors=TAP_FACTORS[: len(table.rows)],
    )  # fmt: skip
    if isinstance(system.motor, ElectronicMotor):
        return system
    points = {}
    for tap, other in enumerate(table.rows, start=1):
        known = [static for static, value in zip(table.static_pa, other.airflow, strict=True) if not np.isnan(value)]
        static = min(max(external_static_pa, known[0]), known[-1])
        if tap != tap_in_use:
            points[tap] = (table.airflow_at(tap, static), static)
    return fit_tap_factors(system, points)


def fit_tap_factors(system: BlowerSystem, points: Mapping[int, tuple[float, float]]) -> BlowerSystem:
    """The same PSC blower with taps led through one point each: tap -> (airflow m3/s, external static Pa); 1 is the fastest.

    Raises `NoSolutionError`, the tap named, where no turns factor of 0.7 to 4 gives the point, and `InputError` where a slower
    tap would be the faster.
    """
    if not isinstance(system.motor, PscMotor):
        raise InputError("Only a PSC motor's taps have turns to fit: give an electronic motor's settings instead.")
    factors = list(system.tap_factors)
    for tap, (flow, static) in points.items():
        if not 1 <= tap <= len(factors):
            raise OutOfRangeError(f"tap must lie in 1 to {len(factors)}, got {tap}: 1 is the fastest.")

        def over(factor: float, tap: int = tap, flow: float = flow, static: float = static) -> float:
            changed = list(factors)
            changed[tap - 1] = factor
            found = _flow_at_held(replace(system, tap_factors=tuple(changed)), tap, static)
            return found - flow if isfinite(found) else -flow

        grid = np.linspace(*_FACTORS, 60)
        values = [over(float(factor)) for factor in grid]
        below = next((index for index, value in enumerate(values) if value < 0.0), 0)
        if below == 0:
            raise NoSolutionError(
                f"Tap {tap}: no winding gives {flow:.3g} m3/s at {static:.3g} Pa external: check the row."
            )
        factors[tap - 1] = _bisected(over, float(grid[below - 1]), float(grid[below]))
    given = sorted(points)
    for faster, slower in pairwise(given):
        if factors[slower - 1] <= factors[faster - 1]:
            raise InputError(f"Tap {slower} would be faster than tap {faster}: number the taps from the fastest.")
    return replace(system, tap_factors=tuple(factors))


def _bisected(function: Callable[[float], float], one: float, other: float) -> float:
    sign = function(one) > 0.0
    for _ in range(60):
        middle = 0.5 * (one + other)
        if (function(middle) > 0.0) == sign:
            one = middle
        else:
            other = middle
    return 0.5 * (one + other)
