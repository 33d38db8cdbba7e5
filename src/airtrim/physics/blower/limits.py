"""How slowly a motor may run on a drive: thermal, starting and bearing limits apart, and the lowest safe frequency of them."""

from collections.abc import Callable
from dataclasses import dataclass
from math import isfinite, nan

from airtrim.core.errors import InputError, NoSolutionError, OutOfRangeError
from airtrim.core.kernels import kernel
from airtrim.physics.blower.balance import flow_ratio_at_speed
from airtrim.physics.blower.circuit import LINE_HERTZ, Circuit, Supply, torque_and_slope
from airtrim.physics.blower.motor import PscMotor
from airtrim.physics.blower.path import Path, Resistance
from airtrim.physics.blower.supply import Drive, VoltsPerHertz
from airtrim.physics.blower.system import BlowerSystem, operating_point
from airtrim.physics.blower.wheel import Wheel, wheel_torque

#: Least frequency until the motor's maker says otherwise, Hz.
LEAST_HERTZ = 30.0
#: Winding rise against the present one that is let pass where nothing better is known (judgement).
GREATEST_RISE_RATIO = 1.3
#: Winding temperatures of the insulation classes, degC (IEC 60085, NEMA MG 1 [from-memory]), and the hot spot above the mean.
CLASS_LIMIT_C = {"A": 105.0, "B": 130.0, "F": 155.0, "H": 180.0}
HOT_SPOT_K = 10.0
#: Line voltage may be this low when the motor has to start (motor standard, +/-10 %).
LOW_LINE = 0.9
#: Breakaway torque of the bearings against friction's torque at plate speed, with a margin [from-memory].
BREAKAWAY = 2.5
#: Least speed at which a sleeve bearing keeps its oil film, rpm [from-memory]; a ball bearing has none.
LEAST_RPM = {"sleeve": 500.0, "ball": 0.0, "unknown": 500.0}
_LOWEST_HERTZ, _STEP_HERTZ = 10.0, 0.5
_SPEEDS = 60


@dataclass(frozen=True)
class FrequencyLimit:
    """One limit: `thermal`, `starting`, `bearing` or `maker`; the least frequency it allows (Hz), what it was judged on, and why.

    `value` and `bound` are in the limit's own unit: a ratio of winding rises, N m, rpm, Hz; at `hertz`.
    """

    id: str
    hertz: float
    value: float
    bound: float
    why: str


@dataclass(frozen=True)
class LowestFrequency:
    """The lowest safe frequency, Hz, which limit sets it, and all limits."""

    hertz: float
    binding: str
    limits: tuple[FrequencyLimit, ...]


@kernel
def least_margin(
    speed_rpm: float,
    poles: float,
    breakaway: float,
    drag: float,
    supply: Supply,
    circuit: Circuit,
    wheel: Wheel,
    path: Path,
) -> tuple[float, float]:
    """Torque at standstill less `breakaway`, and the least torque to spare on the way up to a speed (rpm), both N m.

    `drag` is friction's torque at the wheel's speed. The way is looked at in steps of a sixtieth.
    """
    at_rest = torque_and_slope(1.0, poles, supply, circuit)[0] - breakaway
    least = at_rest
    for index in range(1, _SPEEDS - 1):  # the last step is the running speed itself, where nothing is to spare
        speed = speed_rpm * index / _SPEEDS
        s = speed / wheel.speed_rpm
        q = flow_ratio_at_speed(s, wheel, path, Resistance(1.0, 1.0, 0.0))
        if not q > 0.0:
            return nan, nan
        needed = wheel.torque * s * s * wheel_torque(q / s, wheel) + drag * s
        given = torque_and_slope(1.0 - speed * poles / (120.0 * supply.hertz), poles, supply, circuit)[0]
        least = min(least, given - needed)
    return at_rest, least


def allowed_rise_ratio(insulation_class: str, ambient_c: float, present_rise_k: float) -> float:
    """How much the winding's rise may grow: class limit less hot spot and ambient (attics pass 49 degC), over the rise read now.

    The rise is read by the winding's resistance, hot against cold, K; classes A, B, F and H.
    """
    if insulation_class not in CLASS_LIMIT_C:
        raise InputError(
            f"insulation class must be one of A, B, F, H, got {insulation_class!r}: read it off the plate."
        )
    if not (-20.0 <= ambient_c <= 80.0 and 5.0 <= present_rise_k <= 150.0):
        raise OutOfRangeError(
            f"ambient must lie in -20 to 80 degC and the present rise in 5 to 150 K, got {ambient_c:g} and {present_rise_k:g}: "
            "read them again."
        )
    left = CLASS_LIMIT_C[insulation_class] - HOT_SPOT_K - ambient_c
    if left <= present_rise_k:
        raise NoSolutionError(
            f"The winding is at its class limit now: {present_rise_k:g} K over {ambient_c:g} degC leaves nothing in class "
            f"{insulation_class}: do not slow this motor."
        )
    return left / present_rise_k


def lowest_safe_frequency(
    system: BlowerSystem,
    *,
    curve: VoltsPerHertz | None = None,
    drive: Drive | None = None,
    bearing: str = "unknown",
    maker_least_hertz: float | None = None,
    greatest_rise_ratio: float = GREATEST_RISE_RATIO,
) -> LowestFrequency:
    """Down from line frequency on the tap in use until the first of the limits is met; the floor is 30 Hz unless the motor's maker
    names another.

    Thermal: the high end of the winding's rise against `greatest_rise_ratio`. Starting: at 90 % of the curve's volts the motor
    breaks away and comes up to speed. Bearing: `sleeve`, `ball` or `unknown`, which counts as sleeve. Raises `InputError` for a
    motor that a drive does not go with, `NoSolutionError` where line frequency itself breaks a limit.
    """
    motor = system.motor
    if not isinstance(motor, PscMotor) or motor.capacitor_f == 0.0:
        raise InputError(
            "A drive goes with a permanent-split-capacitor motor only: set another motor by its own means."
        )
    if bearing not in LEAST_RPM:
        raise InputError(f"bearing must be sleeve, ball or unknown, got {bearing!r}: look at the motor's plate.")
    for name, value, low, high in (
        (
            "the maker's least frequency",
            maker_least_hertz if maker_least_hertz is not None else LEAST_HERTZ,
            10.0,
            60.0,
        ),
        ("greatest rise ratio", greatest_rise_ratio, 1.0, 3.0),
    ):
        if not low <= value <= high:
            raise OutOfRangeError(f"{name} must lie in {low:g} to {high:g}, got {value:g}: check it.")
    curve = curve if curve is not None else drive.curve if drive is not None else system.curve
    limits = (
        _thermal(system, curve, drive, greatest_rise_ratio),
        _starting(system, motor, curve),
        _bearing(system, curve, drive, bearing),
        _maker(maker_least_hertz),
    )
    binding = max(limits, key=lambda one: one.hertz)
    return LowestFrequency(binding.hertz, binding.id, limits)


def _thermal(system: BlowerSystem, curve: VoltsPerHertz, drive: Drive | None, bound: float) -> FrequencyLimit:
    def rise(hertz: float) -> float:
        return _rise_at(system, curve, drive, hertz)

    hertz = _lowest(curve, lambda at: rise(at) <= bound, "thermal")
    return FrequencyLimit(
        "thermal", hertz, rise(hertz), bound, "below it the air moved cools the winding less than its loss falls"
    )


def _rise_at(system: BlowerSystem, curve: VoltsPerHertz, drive: Drive | None, hertz: float) -> float:
    try:
        return operating_point(system, hertz=hertz, curve=curve, drive=drive).winding_rise.high
    except NoSolutionError:  # a stalled motor has no rise that would hold: past every bound
        return float("inf")


def _starting(system: BlowerSystem, motor: PscMotor, curve: VoltsPerHertz) -> FrequencyLimit:
    breakaway = BREAKAWAY * motor.drag(motor.rated_rpm)

    def margin(hertz: float) -> float:
        supply = Supply(LOW_LINE * curve.volts_at(hertz), hertz, system.tap_factors[system.tap_in_use - 1])
        try:
            running = operating_point(system, hertz=hertz, curve=curve, volts_ratio=LOW_LINE).speed_rpm
        except NoSolutionError:  # it does not come up at all
            return -breakaway
        least = least_margin(
            running,
            float(motor.poles),
            breakaway,
            motor.drag(system.wheel.speed_rpm),
            supply,
            motor.circuit,
            system.wheel,
            system.path,
        )[1]
        return float(least) if isfinite(least) else -breakaway

    hertz = _lowest(curve, lambda at: margin(at) >= 0.0, "starting")
    return FrequencyLimit(
        "starting",
        hertz,
        margin(hertz) + breakaway,
        breakaway,
        "below it the motor may not break away or not come up at 90 % of its volts; a drive that starts higher may run lower",
    )


def _bearing(system: BlowerSystem, curve: VoltsPerHertz, drive: Drive | None, bearing: str) -> FrequencyLimit:
    bound = LEAST_RPM[bearing]

    def speed(hertz: float) -> float:
        try:
            return operating_point(system, hertz=hertz, curve=curve, drive=drive).speed_rpm
        except NoSolutionError:  # stalled
            return 0.0

    hertz = _lowest(curve, lambda at: speed(at) > bound, "bearing")
    why = (
        "a ball bearing keeps its film at any speed"
        if bound == 0.0
        else "below it a sleeve bearing may lose its oil film"
    )
    return FrequencyLimit("bearing", hertz, speed(hertz), bound, why)


def _maker(given: float | None) -> FrequencyLimit:
    if given is not None:
        return FrequencyLimit("maker", given, given, given, "the motor's maker names it")
    return FrequencyLimit(
        "maker", LEAST_HERTZ, LEAST_HERTZ, LEAST_HERTZ, "the floor until the motor's maker says otherwise"
    )


def _lowest(curve: VoltsPerHertz, holds: Callable[[float], bool], what: str) -> float:
    """The lowest frequency from which up to line frequency a limit holds: down in steps of half a hertz, then halved."""
    first = max(_LOWEST_HERTZ, curve.points[0][0])
    good = min(LINE_HERTZ, curve.points[-1][0])
    if not holds(good):
        raise NoSolutionError(f"The {what} limit is broken at {good:g} Hz already: leave this motor at line frequency.")
    while good > first:
        bad = max(good - _STEP_HERTZ, first)
        if holds(bad):
            good = bad
            continue
        for _ in range(12):
            middle = 0.5 * (good + bad)
            if holds(middle):
                good = middle
            else:
                bad = middle
        return good
    return good
