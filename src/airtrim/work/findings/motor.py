"""The PSC motor of the house by its plate and by all that was read on it."""

from dataclasses import dataclass, replace

from airtrim.job.model import Job, Readings
from airtrim.physics.blower.circuit import LINE_HERTZ, Supply
from airtrim.physics.blower.fit_motor import MotorFit, MotorReading, Nameplate, fit_motor
from airtrim.physics.blower.motor import PscMotor
from airtrim.physics.blower.system import TAP_FACTORS

MICRO = 1e6
#: How far a slower tap's turns lie from the usual ones, one sigma of the logarithm [judgement, by the spread of makers' tables].
TAP_SIGMA = 0.10
#: Plate volts nobody read, by the volts under load: the two systems of a house; the higher where those were not read either.
LOW_VOLTS, HIGH_VOLTS, BETWEEN = 115.0, 230.0, 160.0


@dataclass(frozen=True)
class MotorRead:
    """The motor at this house's volts, its taps' factors, and the point on the tap in use it was read at.

    `watts` are those of the point, read or as the fitted motor takes them; `speed_rpm` is there where the speed was read. Both are
    None where nothing was read running.
    """

    motor: PscMotor
    tap_factors: tuple[float, ...]
    watts: float | None
    speed_rpm: float | None
    fit: MotorFit


def motor_readings(job: Job) -> list[MotorReading]:
    """What was read on the motor: running, on the tap in use, in any operation; and its capacitor by a meter.

    Watts are the wattmeter's, else volts times amps times a power factor that was metered.
    """
    tap = job.blower.tap_in_use
    found = []
    for reading in job.readings:
        if reading.tap not in (None, tap):
            continue
        one = _running(reading)
        if (one.watts, one.amps, one.rpm, one.auxiliary_amps, one.capacitor_volts) == (None,) * 5:
            continue
        found.append(one if tap == 1 else replace(one, tap_factor=TAP_FACTORS[tap - 1], tap_sigma=TAP_SIGMA))
    found.sort(key=lambda one: (one.watts is None, one.rpm is None, one.amps is None))
    capacitor = job.blower.capacitor_read
    return found if capacitor is None else [*found, MotorReading(capacitor_uf=MICRO * capacitor.si)]


def _running(reading: Readings) -> MotorReading:
    watts, volts, amps = (
        None if one is None else one.si for one in (reading.blower_power, reading.blower_volts, reading.blower_amps)
    )
    if watts is None and volts is not None and amps is not None and reading.power_factor is not None:
        watts = volts * amps * reading.power_factor.si
    speed, auxiliary, across = (
        None if one is None else one.si
        for one in (reading.blower_speed, reading.capacitor_amps, reading.capacitor_volts)
    )
    return MotorReading(watts, amps, volts, speed, auxiliary, across)


def motor_of(job: Job) -> MotorRead | None:
    """The likeliest motor; None where no horsepower is known, or nothing but that and watts, which tell the speed alone.

    Raises what `fit_motor` raises, the reading or the plate named.
    """
    plate = job.blower
    readings = motor_readings(job)
    more = any(
        value is not None
        for one in readings
        for value in (one.amps, one.rpm, one.auxiliary_amps, one.capacitor_volts, one.capacitor_uf)
    )
    printed = (plate.nameplate_volts, plate.nameplate_amps, plate.nameplate_rpm, plate.run_capacitor)
    if plate.horsepower is None or not (more or any(one is not None for one in printed)):
        return None
    under_load = next((one.volts for one in readings if one.volts is not None), None)
    volts = (
        plate.nameplate_volts.si
        if plate.nameplate_volts is not None
        else LOW_VOLTS
        if under_load is not None and under_load < BETWEEN
        else HIGH_VOLTS
    )
    nameplate = Nameplate(
        plate.horsepower,
        volts,
        1075.0 if plate.nameplate_rpm is None else plate.nameplate_rpm.si,
        None if plate.nameplate_amps is None else plate.nameplate_amps.si,
        None if plate.run_capacitor is None else MICRO * plate.run_capacitor.si,
    )
    fit = fit_motor(nameplate, readings)
    factors: tuple[float, ...] = TAP_FACTORS
    motor, watts, speed = fit.motor, None, None
    first = readings[0] if readings else None
    if first is not None and first.capacitor_uf is None:
        line = volts if first.volts is None else first.volts
        # the same circuit at the house's volts: flux and core loss there instead of at the plate's
        motor = replace(motor, volts=line, core_w=motor.core_w * (line / volts) ** 2)
        factors = _around(plate.tap_in_use, fit.tap_factors[0])
        watts = first.watts if first.watts is not None else _watts(motor, fit.speeds_rpm[0], fit.tap_factors[0])
        # the speed is the fit's, which weighs the tachometer against everything else that was read
        speed = fit.speeds_rpm[0] if first.rpm is not None or first.watts is None else None
    return MotorRead(motor, factors, watts, speed, fit)


def _watts(motor: PscMotor, speed_rpm: float, tap_factor: float) -> float:
    return motor.watts(speed_rpm, Supply(motor.volts, LINE_HERTZ, tap_factor))


def _around(tap: int, factor: float) -> tuple[float, ...]:
    """Every tap's factor with that of one tap fitted: slower ones in proportion, faster ones drawn in between."""
    usual = TAP_FACTORS[tap - 1]
    if tap == 1:
        return TAP_FACTORS
    faster = (factor - 1.0) / (usual - 1.0)
    return tuple(
        1.0 + (one - 1.0) * faster if place < tap - 1 else one * factor / usual for place, one in enumerate(TAP_FACTORS)
    )
