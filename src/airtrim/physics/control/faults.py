"""A drive that has gone wrong, as the airflow program it then runs."""

from dataclasses import replace
from typing import Final

from airtrim.core.errors import OutOfRangeError
from airtrim.physics.control.program import AirflowProgram

#: By how much a sensor reads wrongly where nothing better is known, K: a thermistor loose on its tube or of another curve
#: (judgement).
SENSOR_ERROR_K: Final = 5.0
FAULTS: Final = ("sensor_high", "sensor_low", "sensor_lost", "line_frequency", "humidity_reversed", "stopped")


def with_fault(program: AirflowProgram, fault: str) -> AirflowProgram:
    """The program as it runs with this fault of the drive.

    sensor_high, sensor_low   the coil sensor reads 5 K too warm (the drive slows down too far) or too cold
    sensor_lost               the drive has no reading and gives the greatest airflow
    line_frequency            the motor runs straight off the line: full airflow, no ramp, whatever is called
    humidity_reversed         the humidity input is wired the other way round
    stopped                   the drive does not turn; the compressor must be locked out with it, or the coil ices

    Raises `OutOfRangeError` for a fault that is not one of FAULTS, or that this program cannot have.
    """
    if fault in ("sensor_high", "sensor_low", "sensor_lost") and program.coil_sensor_drop_k <= 0.0:
        raise OutOfRangeError(f"{fault} needs a program that holds a coil sensor drop: this one reads no coil sensor.")
    if fault == "humidity_reversed" and program.humidity_set <= 0.0:
        raise OutOfRangeError(
            "humidity_reversed needs a program with a humidity set-point: this one has no humidity input."
        )
    full = replace(
        program, coil_sensor_drop_k=0.0, cooling_flow=program.greatest_flow, drying_flow=None, low_stage_flow=None
    )
    match fault:
        case "sensor_high":
            return replace(program, sensor_error_k=SENSOR_ERROR_K)
        case "sensor_low":
            return replace(program, sensor_error_k=-SENSOR_ERROR_K)
        case "sensor_lost":
            return replace(full, hold_only_when_drying=False)
        case "line_frequency":
            return replace(
                full, cooling_flow=1.0, least_flow=1.0, greatest_flow=1.0, heating_flow=1.0, saturated_suction_c=None,
                circulation_flow=1.0 if program.circulation_flow > 0.0 else 0.0, ramp_time_s=0.0, hold_only_when_drying=False,
            )  # fmt: skip
        case "humidity_reversed":
            return replace(program, drying_when_open=not program.drying_when_open)
        case "stopped":
            return replace(program, stopped=True)
    raise OutOfRangeError(f'"{fault}" is not a fault of a drive that is known: give one of {", ".join(FAULTS)}.')
