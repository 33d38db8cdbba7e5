"""A forward-curved wheel: pressure and torque over airflow and speed, and what its sound does.

The shape is generic (handbook facts [ashrae-fans], [bleier]) and is scaled to one measured point; a second one sets how
steep its pressure falls. Fan laws carry it to other speeds [amca].
"""

from math import log10, sqrt
from typing import NamedTuple

from airtrim.core.errors import OutOfRangeError
from airtrim.core.kernels import inline_kernel
from airtrim.physics.blower.path import Path, Resistance, path_pressure

#: Total pressure of the wheel with its outlet closed, Pa at 1075 rpm, as the curve 1 + c (1 - q^2) carried on to no airflow:
#: makers' tables led through two points give 350 to 470, most near the lower end [own-derivation]; wheels of 9 to 11 in.
CLOSED_PRESSURE_PA, CLOSED_PRESSURE_RPM = 370.0, 1075.0
#: Least fall c for a wheel known by one point only, and what a second point may set.
LEAST_FALL = 0.25
PRESSURE_FALL_RANGE = (0.0, 8.0)
#: Torque over the measured point's at equal speed: 0.3 + 0.2 q + 0.5 q^2. It rises with airflow all the way, so that choking a
#: duct unloads the motor; about 0.3 is left with the duct closed [from-memory].
TORQUE_SHAPE = (0.3, 0.2, 0.5)
#: Sound power against speed, decibels per decade: 50 by the handbook, up to 60 where velocity noise rules [amca].
SOUND_SLOPES = (50.0, 60.0)


class Wheel(NamedTuple):
    """A wheel scaled to a point: airflow m3/s, pressure Pa, speed rpm (of the motor), shaft torque N m there.

    At the point's speed, with q airflow over the point's: pressure ratio p0 + p1 q + p2 q^2 (their sum 1), torque ratio
    t0 + t1 q + t2 q^2 (sum 1); other speeds by the fan laws. p0 > 0 and p2 <= 0. A belt's ratio is in the scaling.
    """

    airflow: float
    pressure: float
    speed_rpm: float
    torque: float
    p0: float
    p1: float
    p2: float
    t0: float = TORQUE_SHAPE[0]
    t1: float = TORQUE_SHAPE[1]
    t2: float = TORQUE_SHAPE[2]

    def with_fall(self, fall: float) -> "Wheel":
        """The same wheel with another fall of pressure, 0 and up."""
        return self._replace(p0=1.0 + fall, p1=0.0, p2=-fall)

    def with_torque_share(self, share: float) -> "Wheel":
        """The same wheel with the change of torque over airflow times `share`; 1 is the generic wheel."""
        t1, t2 = TORQUE_SHAPE[1] * share, TORQUE_SHAPE[2] * share
        return self._replace(t0=1.0 - t1 - t2, t1=t1, t2=t2)


class RelativeSound(NamedTuple):
    """Sound against another speed of the same blower on the same duct, dB; `low` and `high` are the range."""

    low: float
    mid: float
    high: float


@inline_kernel
def wheel_pressure(q: float, wheel: Wheel) -> float:
    """Pressure over the measured one at equal speed; `q` is airflow over the measured one."""
    return wheel.p0 + wheel.p1 * q + wheel.p2 * q * q


@inline_kernel
def wheel_torque(q: float, wheel: Wheel) -> float:
    """Shaft torque over the measured one at equal speed; `q` is airflow over the measured one."""
    return wheel.t0 + wheel.t1 * q + wheel.t2 * q * q


@inline_kernel
def wheel_load(q: float, wheel: Wheel, path: Path, now: Resistance) -> tuple[float, float, float, float]:
    """Speed ratio that drives airflow ratio `q` through the path, its slope; wheel torque N m there, its slope (per unit q).

    The wheel's pressure is p0 s^2 + p1 s q + p2 q^2, a quadratic in the speed ratio s.
    """
    pressure, slope = path_pressure(q * wheel.airflow, path, now)
    pressure, slope = pressure / wheel.pressure, slope * wheel.airflow / wheel.pressure
    b = wheel.p1 * q
    s = 0.5 * (sqrt(b * b - 4.0 * wheel.p0 * (wheel.p2 * q * q - pressure)) - b) / wheel.p0
    s_slope = (slope - wheel.p1 * s - 2.0 * wheel.p2 * q) / (2.0 * wheel.p0 * s + wheel.p1 * q)
    torque = wheel.torque * (wheel.t0 * s * s + wheel.t1 * s * q + wheel.t2 * q * q)
    by_speed, by_flow = 2.0 * wheel.t0 * s + wheel.t1 * q, wheel.t1 * s + 2.0 * wheel.t2 * q
    return s, s_slope, torque, wheel.torque * (by_speed * s_slope + by_flow)


def generic_wheel(airflow_m3_s: float, pressure_pa: float, speed_rpm: float, torque_n_m: float) -> Wheel:
    """The generic wheel through one point (above 0); its fall such that closed it makes the usual pressure for its speed."""
    closed = CLOSED_PRESSURE_PA * (speed_rpm / CLOSED_PRESSURE_RPM) ** 2
    fall = max(closed / pressure_pa - 1.0, LEAST_FALL)
    return Wheel(airflow_m3_s, pressure_pa, speed_rpm, torque_n_m, 1.0 + fall, 0.0, -fall)


def relative_sound_db(speed_ratio: float) -> RelativeSound:
    """Sound of a blower at a part of its former speed, same duct, dB; ratio 0.1 to 2.

    The cautious slope is the mid: a slowed blower is at least that much quieter in the air it moves. Hum of a motor on a
    chopped or driven supply is not in it.
    """
    if not 0.1 <= speed_ratio <= 2.0:
        raise OutOfRangeError(
            f"a ratio of blower speeds must lie in 0.1 to 2, got {speed_ratio:g}: compare nearer speeds."
        )
    some, most = (slope * log10(speed_ratio) for slope in SOUND_SLOPES)
    return RelativeSound(min(some, most), some, max(some, most))
