"""Blower, motor and path joined: airflow, pressure, watts, sound and winding heat at any tap, voltage and frequency."""

from dataclasses import dataclass
from math import isfinite, pi

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import InputError, NoSolutionError, OutOfRangeError
from airtrim.physics.blower.balance import (
    AT_POWER_LIMIT,
    AT_SPEED_LIMIT,
    Balance,
    electronic_balance,
    hertz_for_speed,
    psc_balance,
)
from airtrim.physics.blower.circuit import LINE_HERTZ, MotorState, Supply
from airtrim.physics.blower.electronic import POWER_FACTOR, ElectronicMotor
from airtrim.physics.blower.motor import Losses, PscMotor
from airtrim.physics.blower.path import WET_COIL, Path, Resistance, frosted_coil_factor
from airtrim.physics.blower.supply import (
    Drive,
    Estimate,
    VoltsPerHertz,
    carrier_loss_w,
    constant_volts_per_hertz,
    phase_cut_loss_w,
)
from airtrim.physics.blower.wheel import RelativeSound, Wheel, relative_sound_db, wheel_load

Array = NDArray[np.float64]

#: Turns factors of the taps, fastest first: on one duct they give about 100, 92, 82, 73 % of the air (makers' sheets).
TAP_FACTORS = (1.0, 1.3, 1.58, 1.8, 1.98, 2.1, 2.2, 2.3)
#: Winding cooling goes as airflow to this power: low, mid, high.
COOLING_EXPONENTS = (0.5, 0.65, 0.8)
CUBIC_FOOT_PER_MINUTE = 0.0004719474432
_LIMITS = {AT_POWER_LIMIT: "power", AT_SPEED_LIMIT: "speed"}


@dataclass(frozen=True)
class BlowerSystem:
    """One house's blower: motor, tap in use, wheel scaled to a measured point, and pressure coefficients of its path.

    The path's coefficients are those of the filter as it was read and the coil wet. `ducts_part` is the part of total pressure
    outside the cabinet at the measured point; `tap_factors` the turns factors of a PSC's taps, fastest first (one entry for a
    single-speed blower, two for a two-speed one).
    """

    motor: PscMotor | ElectronicMotor
    tap_in_use: int
    wheel: Wheel
    path: Path
    ducts_part: float
    tap_factors: tuple[float, ...] = TAP_FACTORS

    @property
    def taps(self) -> int:
        """How many speeds there are."""
        return len(self.tap_factors if isinstance(self.motor, PscMotor) else self.motor.settings)

    @property
    def curve(self) -> VoltsPerHertz:
        """The drive's curve that holds plate volts per hertz, 15 to 75 Hz."""
        return constant_volts_per_hertz(self.motor.volts)


@dataclass(frozen=True)
class BlowerPoint:
    """Airflow m3/s, external static Pa, input W, line A, rpm; sound and winding rise against the measured point.

    `watts` are those from the line, with the mid of `extra_watts` (what a chopped or driven supply adds in the motor) and a
    drive's own losses. `winding_rise` has the range of the cooling law. `motor` and `losses` belong to a PSC; an electronic
    motor tells in `limited_by` whether it is at its power or its speed limit. All watts but the drive's end as heat in the air.
    """

    airflow_m3_s: float
    external_static_pa: float
    watts: float
    amps: float
    speed_rpm: float
    sound_change_db: float
    winding_rise_ratio: float
    sound: RelativeSound
    winding_rise: Estimate
    extra_watts: Estimate
    shaft_w: float
    limited_by: str = ""
    motor: MotorState | None = None
    losses: Losses | None = None

    @property
    def watts_per_cfm(self) -> float:
        """Input W per cubic foot a minute."""
        return self.watts / (self.airflow_m3_s / CUBIC_FOOT_PER_MINUTE)


def operating_point(
    system: BlowerSystem,
    tap: int | None = None,
    hertz: float = LINE_HERTZ,
    volts_ratio: float = 1.0,
    filter_load: float = 1.0,
    wet: bool = True,
    *,
    frost_blocked: float = 0.0,
    held_pa: float = 0.0,
    curve: VoltsPerHertz | None = None,
    drive: Drive | None = None,
    phase_cut: bool = False,
) -> BlowerPoint:
    """Where motor, wheel and path meet.

    `hertz` other than 60 is a drive's, on its `curve` (plate volts per hertz, 15 to 75 Hz, where none is given); `volts_ratio` is
    on top of that. With `drive` its losses and the carrier's are in the watts; with `phase_cut` the volts are those of the cut
    wave's fundamental. `filter_load` multiplies the filter's coefficient (1 as it was read, 2 loaded), `frost_blocked` is the
    part of the coil's face that frost closes, `held_pa` an external pressure held by a laboratory.

    Raises `OutOfRangeError` for what cannot be set, `NoSolutionError` where the motor cannot turn the wheel.
    """
    tap = tap if tap is not None else system.tap_in_use
    if not 1 <= tap <= system.taps:
        raise OutOfRangeError(f"tap must lie in 1 to {system.taps}, got {tap}: 1 is the fastest.")
    for name, value, low, high in (
        ("volts ratio", volts_ratio, 0.1, 1.2),
        ("filter load", filter_load, 0.0, 20.0),
        ("held pressure", held_pa, 0.0, 600.0),
    ):
        if not low <= value <= high:  # written so that NaN fails too
            raise OutOfRangeError(f"{name} must lie in {low:g} to {high:g}, got {value:g}: check it.")
    coil = (1.0 if wet else 1.0 / WET_COIL) * frosted_coil_factor(frost_blocked, system.path.coil_exponent)
    now = Resistance(float(filter_load), coil, float(held_pa))
    if isinstance(system.motor, ElectronicMotor):
        if hertz != LINE_HERTZ or volts_ratio != 1.0 or drive is not None or phase_cut:
            raise InputError(
                "An electronic motor must have line voltage and frequency: set its own tap or airflow instead."
            )
        return _electronic_point(system, system.motor, tap, now)
    on_drive = drive is not None or hertz != LINE_HERTZ or curve is not None
    if on_drive and (phase_cut or system.motor.capacitor_f == 0.0):
        raise InputError(
            "A drive goes with a permanent-split-capacitor motor and no phase control: take one of them, and the motor's capacitor "
            "stays in circuit."
        )
    curve = curve if curve is not None else drive.curve if drive is not None else system.curve
    volts = (curve.volts_at(hertz) if on_drive else system.motor.volts) * volts_ratio
    supply = Supply(volts, float(hertz), system.tap_factors[tap - 1])
    return _psc_point(system, system.motor, supply, now, drive, phase_cut)


def _psc_point(
    system: BlowerSystem, motor: PscMotor, supply: Supply, now: Resistance, drive: Drive | None, phase_cut: bool
) -> BlowerPoint:
    found = balanced(system, motor, supply, now)
    if not isfinite(found.speed_rpm):
        raise NoSolutionError(
            f"The motor cannot turn this wheel at {supply.hertz:g} Hz and {supply.volts:.0f} V: raise voltage or frequency."
        )
    state, losses = motor.state(found.speed_rpm, supply), motor.losses(found.speed_rpm, supply)
    extra = Estimate(0.0, 0.0, 0.0)
    if phase_cut:
        extra = phase_cut_loss_w(motor, found.speed_rpm, supply.volts, supply.tap_factor)
    elif drive is not None:
        extra = carrier_loss_w(losses.total)
    watts = state.watts + losses.core + extra.mid
    rise = winding_rise(system, motor, losses.windings, extra, found.airflow)
    sound = relative_sound_db(found.speed_rpm / system.wheel.speed_rpm)
    return BlowerPoint(
        airflow_m3_s=found.airflow,
        external_static_pa=_external(system, found.airflow, now),
        watts=watts if drive is None else drive.input_watts(watts),
        amps=state.line_a,
        speed_rpm=found.speed_rpm,
        sound_change_db=sound.mid,
        winding_rise_ratio=rise.mid,
        sound=sound,
        winding_rise=rise,
        extra_watts=extra,
        shaft_w=losses.shaft,
        motor=state,
        losses=losses,
    )


def _electronic_point(system: BlowerSystem, motor: ElectronicMotor, tap: int, now: Resistance) -> BlowerPoint:
    found, limit = electronic_balance(
        motor.holds,
        float(motor.settings[tap - 1]),
        motor.rated_w,
        motor.greatest_rpm,
        system.wheel,
        system.path,
        now,
    )
    if not isfinite(found.speed_rpm):
        raise NoSolutionError("The motor moves no air against this pressure within its limits: open the path.")
    shaft = found.torque * 2.0 * pi * found.speed_rpm / 60.0
    watts = motor.watts(shaft)
    sound = relative_sound_db(found.speed_rpm / system.wheel.speed_rpm)
    present = system.wheel.torque * 2.0 * pi * system.wheel.speed_rpm / 60.0
    rise = _cooled(
        (watts - shaft) / (motor.watts(present) - present),
        Estimate(0.0, 0.0, 0.0),
        found.airflow / system.wheel.airflow,
    )
    return BlowerPoint(
        airflow_m3_s=found.airflow,
        external_static_pa=_external(system, found.airflow, now),
        watts=watts,
        amps=watts / motor.volts / POWER_FACTOR,
        speed_rpm=found.speed_rpm,
        sound_change_db=sound.mid,
        winding_rise_ratio=rise.mid,
        sound=sound,
        winding_rise=rise,
        extra_watts=Estimate(0.0, 0.0, 0.0),
        shaft_w=shaft,
        limited_by=_LIMITS.get(limit, ""),
    )


def balanced(system: BlowerSystem, motor: PscMotor, supply: Supply, now: Resistance) -> Balance:
    """The compiled solver on this system; NaN where the motor cannot turn the wheel."""
    return psc_balance(
        float(motor.poles), motor.drag(system.wheel.speed_rpm), supply, motor.circuit, system.wheel, system.path, now
    )


def _external(system: BlowerSystem, flow: float, now: Resistance) -> float:
    return float(system.path.ducts * flow**system.path.ducts_exponent + now.held_pa)


def winding_rise(
    system: BlowerSystem, motor: PscMotor, windings_w: float, extra: Estimate, airflow_m3_s: float
) -> Estimate:
    """Rise of the windings over the air, against that of the measured point on the tap in use at line frequency.

    The heat is that of stator copper and rotor, and what the supply adds; the iron's own is left out, which falls with
    frequency: the careful side. It leaves with airflow to the power 0.5 to 0.8.
    """
    supply = Supply(motor.volts, LINE_HERTZ, system.tap_factors[system.tap_in_use - 1])
    present = motor.losses(system.wheel.speed_rpm, supply).windings
    added = Estimate(*(value / present for value in extra))
    return _cooled(windings_w / present, added, airflow_m3_s / system.wheel.airflow)


def _cooled(heat: float, added: Estimate, flow: float) -> Estimate:
    ends = [(heat + more) / flow**power for power, more in zip(COOLING_EXPONENTS, added, strict=True)]
    other = [(heat + more) / flow**power for power, more in zip(COOLING_EXPONENTS[::-1], added, strict=True)]
    return Estimate(min(ends[0], other[0]), ends[1], max(ends[2], other[2]))


def drive_curve(system: BlowerSystem, hertz: Array, drive: Drive | None = None) -> list[BlowerPoint]:
    """Operating points of a drive on the tap in use, plate volts per hertz where no drive is given."""
    return [operating_point(system, hertz=float(value), drive=drive) for value in hertz]


def watts_polynomial(system: BlowerSystem, drive_efficiency: float = 0.95) -> Array:
    """Watts as a cubic in airflow / present airflow on a V/f drive, 25 to 60 Hz, drive losses included; `[4]`."""
    if not 0.5 <= drive_efficiency <= 1.0:
        raise OutOfRangeError(
            f"drive efficiency must lie in 0.5 to 1, got {drive_efficiency:g}: give it as a fraction."
        )
    points = drive_curve(system, np.linspace(25.0, 60.0, 8))
    flow = np.array([point.airflow_m3_s for point in points]) / system.wheel.airflow
    watts = np.array([point.watts for point in points]) / drive_efficiency
    return np.asarray(np.polynomial.polynomial.polyfit(flow, watts, 3), dtype=np.float64)


def hertz_for_flow(system: BlowerSystem, fraction: float, curve: VoltsPerHertz | None = None) -> float:
    """Drive frequency on the tap in use that moves `fraction` (0.2 to 1.3) of the measured airflow, filter and coil as then.

    Raises `NoSolutionError` where the drive's curve (plate volts per hertz, 15 to 75 Hz, where none is given) does not reach it.
    """
    if not isinstance(system.motor, PscMotor) or system.motor.capacitor_f == 0.0:
        raise InputError(
            "A drive goes with a permanent-split-capacitor motor only: set another motor by its own means."
        )
    if not 0.2 <= fraction <= 1.3:
        raise OutOfRangeError(
            f"a part of the present airflow must lie in 0.2 to 1.3, got {fraction:g}: choose one between."
        )
    curve = curve if curve is not None else system.curve
    speed, _, torque, _ = wheel_load(float(fraction), system.wheel, system.path, Resistance())
    hertz = hertz_for_speed(
        speed,
        torque,
        float(system.motor.poles),
        system.motor.drag(system.wheel.speed_rpm),
        system.tap_factors[system.tap_in_use - 1],
        curve.hertz,
        curve.volts,
        system.motor.circuit,
        system.wheel,
    )
    if not isfinite(hertz):
        raise NoSolutionError(
            f"A drive of {curve.points[0][0]:g} to {curve.points[-1][0]:g} Hz does not move {100.0 * fraction:.0f} % of the "
            "present airflow with this motor: choose an airflow nearer to the present one."
        )
    return float(hertz)
