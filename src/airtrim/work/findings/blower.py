"""The blower of the house by the kind of its motor: a PSC by its circuit, an electronic one by what it holds, others by their one
winding."""

from dataclasses import replace
from math import pi
from typing import Any

import numpy as np

from airtrim.core.errors import NoSolutionError
from airtrim.job.model import Job
from airtrim.physics.blower.circuit import LINE_HERTZ, Supply
from airtrim.physics.blower.electronic import ElectronicMotor
from airtrim.physics.blower.fit import fit_blower
from airtrim.physics.blower.limits import LowestFrequency, lowest_safe_frequency
from airtrim.physics.blower.motor import WATTS_PER_HORSEPOWER, PscMotor, split_phase_motor
from airtrim.physics.blower.path import Resistance
from airtrim.physics.blower.system import TAP_FACTORS, BlowerSystem
from airtrim.physics.blower.wheel import wheel_load
from airtrim.work.findings.motor import motor_of
from airtrim.work.findings.of_table import by_table, table_at

PSC, ELECTRONIC = ("psc", "unknown"), ("constant_torque", "constant_airflow")
USUAL_STATIC_PA = 0.5 * 249.08891
#: Horsepowers that blower motors are made in, for a plate nobody read.
HORSEPOWERS = (1.0 / 3.0, 0.5, 0.75, 1.0)
#: An electronic motor that takes more than its output over this is not the one of the plate [from-memory].
LEAST_EFFICIENCY = 0.5
#: A shaded-pole motor's efficiency at full load [from-memory].
SHADED_POLE_EFFICIENCY = 0.30


def blower_of(
    job: Job, whole: Job, airflow_m3_s: float, usual_watts: float, tap_ratio: float
) -> tuple[BlowerSystem, list[dict[str, Any]]]:
    """The surveyed kind of motor on a wheel and path through the point read, and messages; `usual_watts` stand in for unread ones.

    `job` has the cooling readings of the tap in use, `whole` all of them. `tap_ratio` is the airflow of a tap or setting against
    the next faster one: an electronic motor's other settings follow from it where the maker's table has no row. Raises what
    `fit_motor` and `fit_blower` raise where plate and readings do not go together.
    """
    static = next(
        (r.total_external_static.si for r in job.readings if r.total_external_static is not None), USUAL_STATIC_PA
    )
    kind, tap = job.blower.motor, job.blower.tap_in_use
    table = table_at(job, tap, static)
    read = next((r.blower_power.si for r in job.readings if r.blower_power is not None), None)
    if kind in ELECTRONIC:
        system = _electronic(job, airflow_m3_s, static, read if read is not None else usual_watts, tap_ratio)
    elif kind in PSC:
        told = motor_of(whole)
        if told is None:
            watts = read if read is not None else usual_watts
            system = fit_blower(airflow_m3_s, static, watts, horsepower_of(job), tap)
        else:
            watts = told.watts if told.watts is not None else read if read is not None else usual_watts
            system = fit_blower(
                airflow_m3_s, static, watts, horsepower_of(job), tap,
                motor=told.motor, speed_rpm=told.speed_rpm, tap_factors=told.tap_factors,
            )  # fmt: skip
    else:
        system = _of_one_winding(job, airflow_m3_s, static, read)
    return by_table(job, system, static, table)


def _of_one_winding(job: Job, airflow_m3_s: float, static_pa: float, read: float | None) -> BlowerSystem:
    """Split-phase and capacitor-start motors run on their main winding; a shaded-pole one too, with more lost in the iron."""
    plate, tap = job.blower, job.blower.tap_in_use
    motor = split_phase_motor(
        horsepower_of(job),
        115.0 if plate.nameplate_volts is None else plate.nameplate_volts.si,
        1725.0 if plate.nameplate_rpm is None else plate.nameplate_rpm.si,
    )
    supply = Supply(motor.volts, LINE_HERTZ, TAP_FACTORS[tap - 1])
    if plate.motor == "shaded_pole":
        watts = read if read is not None else motor.rated_w / SHADED_POLE_EFFICIENCY
        motor = _shaded_pole(motor, supply, watts)
    else:
        watts = read if read is not None else motor.watts(motor.rated_rpm, supply)
    return fit_blower(airflow_m3_s, static_pa, watts, horsepower_of(job), tap, motor=motor)


def lowest_of(job: Job, blower: BlowerSystem) -> LowestFrequency | None:
    """The lowest safe frequency on a drive; None for other motors than a PSC, and where line frequency itself is too slow."""
    if job.blower.motor not in PSC:
        return None
    floor = job.safe_limits.least_frequency
    try:
        return lowest_safe_frequency(
            blower, bearing=job.blower.bearing, maker_least_hertz=None if floor is None else floor.si
        )
    except NoSolutionError:
        return None


def horsepower_of(job: Job) -> float:
    """By the plate, else the usual one of a unit of this size [judgement]."""
    return job.blower.horsepower or (1.0 / 3.0 if job.tons < 2.4 else 0.5 if job.tons < 3.9 else 0.75)


def _electronic(job: Job, airflow_m3_s: float, static_pa: float, watts: float, tap_ratio: float) -> BlowerSystem:
    """The motor holds on the tap in use what it was read at, on others what moves `tap_ratio` of the air a step."""
    kind, tap = job.blower.motor, job.blower.tap_in_use
    motor = _electronic_motor(job, watts)
    system = fit_blower(airflow_m3_s, static_pa, watts, motor.rated_w / WATTS_PER_HORSEPOWER, tap, motor=motor)
    settings = []
    for step in range(1 - tap, len(TAP_FACTORS) + 1 - tap):
        part = tap_ratio**step
        torque = float(wheel_load(part, system.wheel, system.path, Resistance())[2])
        settings.append(torque if kind == "constant_torque" else part * system.wheel.airflow)
    settings[tap - 1] = system.wheel.torque if kind == "constant_torque" else system.wheel.airflow
    return replace(system, motor=replace(motor, settings=tuple(settings)))


def _electronic_motor(job: Job, watts: float) -> ElectronicMotor:
    """Plate and watts as one motor, its settings still to be found; losses as usual unless the watts say that they are larger."""
    plate = job.blower
    volts = 230.0 if plate.nameplate_volts is None else plate.nameplate_volts.si
    any_setting = (1.0,) * len(TAP_FACTORS)
    sizes = [horsepower_of(job)]
    if plate.horsepower is None:
        sizes += [one for one in HORSEPOWERS if one > sizes[0]]
    motors = [ElectronicMotor(plate.motor, any_setting, WATTS_PER_HORSEPOWER * size, volts) for size in sizes]
    for motor in motors:
        if motor.shaft_w(watts) <= motor.rated_w:
            return motor
    motor = motors[-1]
    efficiency = motor.rated_w / (watts - motor.standby_w)
    if efficiency < LEAST_EFFICIENCY:
        raise NoSolutionError(
            f"An electronic motor of {sizes[-1]:.2g} hp takes no more than {motor.rated_w / LEAST_EFFICIENCY:.0f} W, not the "
            f"{watts:.0f} W read: check blower watts and the motor's horsepower."
        )
    return motor.with_efficiency([(1.0, efficiency)])


def _shaded_pole(motor: PscMotor, supply: Supply, watts: float) -> PscMotor:
    """A motor of one winding with so much more lost in the iron that of `watts` the usual part of a shaded pole's comes out."""
    speeds = np.linspace(0.998, 0.7, 300) * motor.synchronous_rpm()
    shafts = np.array([motor.losses(float(speed), supply).shaft for speed in speeds])
    wanted = SHADED_POLE_EFFICIENCY * watts
    if not shafts[0] < wanted <= shafts.max():
        raise NoSolutionError(
            f"A shaded-pole motor of this horsepower takes {max(shafts[0], 0.0) / SHADED_POLE_EFFICIENCY:.0f} to "
            f"{shafts.max() / SHADED_POLE_EFFICIENCY:.0f} W, not {watts:.0f} W: check blower watts and horsepower."
        )
    speed = float(speeds[int(np.argmax(shafts >= wanted))])
    return replace(motor, core_w=motor.core_w + watts - motor.watts(speed, supply))


def watts_by_wheel(blower: BlowerSystem, part: float) -> float:
    """Input over the present one at a part of the present airflow on the same path, by the wheel's load.

    An electronic motor by its losses; a motor of one winding at an efficiency that stays, as with another pulley.
    """
    speed, _, torque, _ = wheel_load(float(part), blower.wheel, blower.path, Resistance())
    omega = 2.0 * pi * blower.wheel.speed_rpm / 60.0
    shaft, present = float(torque * speed) * omega, blower.wheel.torque * omega
    if isinstance(blower.motor, ElectronicMotor):
        return blower.motor.watts(shaft) / blower.motor.watts(present)
    return shaft / present
