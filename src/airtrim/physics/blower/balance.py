"""Motor, wheel and path in balance: one compiled solver for every motor, tap, voltage, frequency, filter and coil.

The wheel's pressure at an airflow is a quadratic in speed, so that the speed which drives a given airflow through the path is
known outright; what is left is one equation in airflow, motor torque less wheel torque, solved by Newton's method from
synchronous speed downwards. Torque against slip is concave there, so the steps come down on the first crossing, the fast
side, without passing it; where it is not, the crossing is bracketed.
"""

from math import nan, pi
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from airtrim.core.kernels import inline_kernel, kernel
from airtrim.physics.blower.circuit import Circuit, Supply, torque_and_slope
from airtrim.physics.blower.path import Path, Resistance, path_pressure
from airtrim.physics.blower.wheel import Wheel, wheel_load

Array = NDArray[np.float64]

_TOLERANCE = 1e-11
_MOST_STEPS = 60
_SCAN = 80


class Balance(NamedTuple):
    """Airflow m3/s, speed rpm, shaft torque N m (without friction), steps taken; NaN where the motor cannot turn the wheel."""

    airflow: float
    speed_rpm: float
    torque: float
    steps: float


@kernel
def flow_ratio_at_speed(s: float, wheel: Wheel, path: Path, now: Resistance) -> float:
    """Airflow ratio at speed ratio `s`; 0 where a held pressure lets no air through. Newton from the free side."""
    if not s > 0.0:
        return nan
    q = 2.0 * s
    for _ in range(_MOST_STEPS):
        pressure, slope = path_pressure(q * wheel.airflow, path, now)
        short = wheel.p0 * s * s + wheel.p1 * s * q + wheel.p2 * q * q - pressure / wheel.pressure
        by_flow = wheel.p1 * s + 2.0 * wheel.p2 * q - slope * wheel.airflow / wheel.pressure
        after = q - short / by_flow
        if not after > 1e-9 * s:
            return 0.0 if after == after else nan
        if abs(after - q) < 1e-12 * s:
            return after
        q = after
    return nan


@inline_kernel
def psc_excess(
    q: float, poles: float, drag: float, supply: Supply, circuit: Circuit, wheel: Wheel, path: Path, now: Resistance
) -> tuple[float, float, float, float]:
    """Motor torque less what wheel and friction take at airflow ratio `q`, its slope; speed ratio and wheel torque."""
    s, s_slope, torque, torque_slope = wheel_load(q, wheel, path, now)
    per_slip = -wheel.speed_rpm * poles / (120.0 * supply.hertz)
    given, given_slope = torque_and_slope(1.0 + per_slip * s, poles, supply, circuit)
    return given - torque - drag * s, given_slope * per_slip * s_slope - torque_slope - drag * s_slope, s, torque


@kernel
def psc_balance(
    poles: float, drag: float, supply: Supply, circuit: Circuit, wheel: Wheel, path: Path, now: Resistance
) -> Balance:
    """Where a motor by its circuit meets wheel and path, on the fast side. `drag` is friction's torque at the wheel's point."""
    synchronous = 120.0 * supply.hertz / poles / wheel.speed_rpm
    q = flow_ratio_at_speed(synchronous, wheel, path, now)
    if not q > 0.0:
        return Balance(nan, nan, nan, 0.0)
    short, over = nan, q  # airflow ratios with torque to spare and with too little
    for step in range(_MOST_STEPS):
        excess, slope, s, torque = psc_excess(q, poles, drag, supply, circuit, wheel, path, now)
        if excess != excess:
            return Balance(nan, nan, nan, float(step))
        if excess > 0.0:
            short = q
        else:
            over = q
        after = q - excess / slope if slope < 0.0 else -1.0
        if short == short:
            if not short <= after <= over:
                after = 0.5 * (short + over)
        elif not after > 0.0:
            short = _crossing_below(over, poles, drag, supply, circuit, wheel, path, now)
            if short != short:
                return Balance(nan, nan, nan, float(step))
            after = 0.5 * (short + over)
        if abs(after - q) <= _TOLERANCE * q:
            return Balance(q * wheel.airflow, s * wheel.speed_rpm, torque, float(step + 1))
        q = after
    return Balance(nan, nan, nan, float(_MOST_STEPS))


@kernel
def _crossing_below(
    over: float, poles: float, drag: float, supply: Supply, circuit: Circuit, wheel: Wheel, path: Path, now: Resistance
) -> float:
    """The first airflow ratio below `over`, on a grid, where the motor has torque to spare; NaN if nowhere."""
    for index in range(1, _SCAN):
        q = over * (1.0 - index / _SCAN)
        if psc_excess(q, poles, drag, supply, circuit, wheel, path, now)[0] > 0.0:
            return q
    return nan


#: What a motor holds.
TORQUE, POWER, SPEED, AIRFLOW = 0, 1, 2, 3
#: What an electronic motor is at.
AT_SETTING, AT_POWER_LIMIT, AT_SPEED_LIMIT = 0.0, 1.0, 2.0


@kernel
def held_flow_ratio(what: int, value: float, wheel: Wheel, path: Path, now: Resistance) -> float:
    """Airflow ratio at which the wheel takes a torque (N m), a shaft power (W) or turns at a speed (rpm).

    All three rise with airflow along one path, nearly as powers of it: Newton in logarithms. Where a held pressure needs more
    than `value` before air moves, 0.
    """
    if not value > 0.0:
        return nan
    omega = 2.0 * pi / 60.0 * wheel.speed_rpm
    q = 1.0
    for _ in range(_MOST_STEPS):
        s, s_slope, torque, torque_slope = wheel_load(q, wheel, path, now)
        if what == TORQUE:
            got, slope = torque, torque_slope
        elif what == POWER:
            got, slope = torque * s * omega, (torque_slope * s + torque * s_slope) * omega
        else:
            got, slope = s * wheel.speed_rpm, s_slope * wheel.speed_rpm
        by_logarithm = slope * q / got
        if not by_logarithm > 0.0:
            return nan
        step = min(max(np.log(value / got) / by_logarithm, -3.0), 3.0)
        q = float(q * np.exp(step))
        if q < 1e-6:
            return 0.0
        if abs(step) < _TOLERANCE:
            return q
    return nan


@kernel
def electronic_balance(
    what: int,
    setting: float,
    greatest_w: float,
    greatest_rpm: float,
    wheel: Wheel,
    path: Path,
    now: Resistance,
) -> tuple[Balance, float]:
    """Where a motor that holds a torque (N m), a speed (rpm) or an airflow (m3/s) meets the path, and which limit it is at.

    Torque, power and speed all rise with airflow on one path: the least airflow of the three counts.
    """
    q = setting / wheel.airflow if what == AIRFLOW else held_flow_ratio(what, setting, wheel, path, now)
    limit = AT_SETTING
    powered = held_flow_ratio(POWER, greatest_w, wheel, path, now)
    fastest = held_flow_ratio(SPEED, greatest_rpm, wheel, path, now)
    if powered < q:
        q, limit = powered, AT_POWER_LIMIT
    if fastest < q:
        q, limit = fastest, AT_SPEED_LIMIT
    if not (q > 0.0 and powered == powered and fastest == fastest):
        return Balance(nan, nan, nan, 0.0), limit
    s, _, torque, _ = wheel_load(q, wheel, path, now)
    return Balance(q * wheel.airflow, s * wheel.speed_rpm, torque, 0.0), limit


@kernel
def hertz_for_speed(
    s: float,
    torque: float,
    poles: float,
    drag: float,
    tap_factor: float,
    curve_hertz: Array,
    curve_volts: Array,
    circuit: Circuit,
    wheel: Wheel,
) -> float:
    """Drive frequency at which the motor gives `torque` (and friction) at speed ratio `s` on a curve of volts over hertz.

    From synchronous speed upwards torque grows with frequency; the first crossing is bracketed by steps of 1 % and narrowed
    down. NaN where the curve ends before.
    """
    speed = s * wheel.speed_rpm
    wanted = (torque + drag * s) * (1.0 - 1e-9)  # so that rounding does not lose the curve's last point
    low = speed * poles / 120.0
    if not low > 0.0 or not low >= curve_hertz[0]:
        return nan
    high = low
    for _ in range(400):
        high = high * 1.01
        if high > curve_hertz[-1]:
            high = curve_hertz[-1]
        supply = Supply(np.interp(high, curve_hertz, curve_volts), high, tap_factor)
        if torque_and_slope(1.0 - speed * poles / (120.0 * high), poles, supply, circuit)[0] >= wanted:
            break
        if high >= curve_hertz[-1]:
            return nan
        low = high
    for _ in range(50):
        hertz = 0.5 * (low + high)
        supply = Supply(np.interp(hertz, curve_hertz, curve_volts), hertz, tap_factor)
        if torque_and_slope(1.0 - speed * poles / (120.0 * hertz), poles, supply, circuit)[0] < wanted:
            low = hertz
        else:
            high = hertz
    return 0.5 * (low + high)
