"""What the maker's fan table says beyond the airflow of one point: how the wheel's pressure falls, and what other taps move."""

from dataclasses import replace
from itertools import pairwise
from typing import Any

from airtrim.core.errors import InputError, NoSolutionError
from airtrim.job.model import Job
from airtrim.physics.blower.electronic import ElectronicMotor
from airtrim.physics.blower.fit import MeasuredPoint, fit_second_point, fit_tap_factors
from airtrim.physics.blower.motor import PscMotor
from airtrim.physics.blower.path import Resistance
from airtrim.physics.blower.system import BlowerSystem
from airtrim.physics.blower.wheel import wheel_load

#: Rows nearer than this in airflow to the point read say nothing of the wheel.
APART = 0.05
OFF = {"id": "finding.fan_table_off", "values": {}}


def table_at(job: Job, tap: int, static_pa: float) -> float | None:
    """Airflow of a tap's rows at a static, m3/s, straight between rows; None off the rows, which are never stretched."""
    rows = sorted((row.static.si, row.airflow.si) for row in _rows(job, tap))
    for (low, q_low), (high, q_high) in pairwise(rows):
        if low <= static_pa <= high and high > low:
            return float(q_low + (q_high - q_low) * (static_pa - low) / (high - low))
    return None


def _rows(job: Job, tap: int) -> list[Any]:
    return [row for row in job.blower.fan_table if row.tap == tap]


def by_table(
    job: Job, system: BlowerSystem, static_pa: float, here: float | None
) -> tuple[BlowerSystem, list[dict[str, Any]]]:
    """The system led through the table's other rows, as much higher or lower as the airflow read is against its own row.

    Where no wheel and winding go through them the system stays as it was, and a message says so.
    """
    if not job.blower.fan_table:
        return system, []
    scale = 1.0 if here is None else system.wheel.airflow / here
    try:
        if here is not None:
            system = _second(job, system, static_pa, scale)
        return _other_taps(job, system, static_pa, scale), []
    except (NoSolutionError, InputError):
        return system, [OFF]


def _second(job: Job, system: BlowerSystem, static_pa: float, scale: float) -> BlowerSystem:
    """The row of the tap in use that lies furthest from the point read sets the fall of the wheel's pressure."""
    far = max(_rows(job, system.tap_in_use), key=lambda row: abs(row.static.si - static_pa))
    airflow = far.airflow.si * scale
    holds_airflow = isinstance(system.motor, ElectronicMotor) and system.motor.kind == "constant_airflow"
    if holds_airflow or abs(airflow / system.wheel.airflow - 1.0) < APART:  # its airflow tells nothing of the wheel
        return system
    return fit_second_point(system, MeasuredPoint(airflow, far.static.si))


def _other_taps(job: Job, system: BlowerSystem, static_pa: float, scale: float) -> BlowerSystem:
    points = {}
    for tap in sorted({row.tap for row in job.blower.fan_table} - {system.tap_in_use}):
        near = min(_rows(job, tap), key=lambda row: abs(row.static.si - static_pa))
        points[tap] = (near.airflow.si * scale, near.static.si)
    if not points:
        return system
    motor = system.motor
    if isinstance(motor, PscMotor):
        return fit_tap_factors(system, points) if motor.capacitor_f > 0.0 else system
    settings = list(motor.settings)
    inside = system.path._replace(ducts=0.0)
    for tap, (airflow, held) in points.items():
        part = airflow / system.wheel.airflow
        torque = float(wheel_load(part, system.wheel, inside, Resistance(1.0, 1.0, held))[2])
        settings[tap - 1] = torque if motor.kind == "constant_torque" else airflow
    return replace(system, motor=replace(motor, settings=tuple(settings)))
