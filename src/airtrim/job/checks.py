"""What can be asked about a job without computing it: the airflow it states, and what looks odd."""

from dataclasses import dataclass
from itertools import pairwise

from airtrim.core.errors import JobError
from airtrim.job.model import Job, Readings

#: One-sigma part of airflow by how it was come by: a reading of unstated accuracy 7 % (RA3 methods), a fan table 12 %
#: (10 to 20 % [from-memory]).
READING_SIGMA, TABLE_SIGMA = 0.07, 0.12


@dataclass(frozen=True)
class Airflow:
    """Airflow on the present tap, m3/s, its one-sigma part, and how it was come by: 'reading' or 'fan_table'."""

    m3_s: float
    sigma: float
    method: str


def airflow_known(job: Job) -> Airflow:
    """The airflow the job states, by reading or by fan table at static; raises `JobError` saying what is missing."""
    for reading in job.readings:
        if reading.airflow is not None:
            sigma = reading.airflow_uncertainty.si / 1.645 if reading.airflow_uncertainty else READING_SIGMA
            return Airflow(reading.airflow.si, sigma, "reading")
    for reading in job.readings:
        if reading.total_external_static is not None:
            return Airflow(_from_table(job, reading), TABLE_SIGMA, "fan_table")
    raise JobError(
        "readings: the airflow is not known; give readings.airflow, or readings.total_external_static with the tap's row of the "
        "maker's fan table in blower.fan_table."
    )


def _from_table(job: Job, reading: Readings) -> float:
    static = reading.total_external_static
    assert static is not None
    tap = job.blower.tap_in_use
    rows = sorted((row.static.si, row.airflow.si) for row in job.blower.fan_table if row.tap == tap)
    if len(rows) < 2:
        raise JobError(
            f"readings: static pressure {static.text} alone gives no airflow; add the maker's fan table for tap {tap} "
            "(at least two blower.fan_table rows), or read the airflow."
        )
    low, high = rows[0], rows[-1]
    if not low[0] <= static.si <= high[0]:
        raise JobError(
            f"readings: static pressure {static.text} lies off the fan table of tap {tap}; read the airflow another way, "
            "the table is not stretched."
        )
    for (s0, q0), (s1, q1) in pairwise(rows):
        if s0 <= static.si <= s1:
            return float(q0 + (q1 - q0) * (static.si - s0) / (s1 - s0))
    return float(high[1])


def check_job(job: Job) -> list[str]:
    """Sentences about what is odd or missing but not refused."""
    remarks = []
    area_per_ton = job.house.floor_area.si / job.tons
    if area_per_ton < 28.0:
        remarks.append(
            f"{job.system.outdoor_size.text} for {job.house.floor_area.text} is a lot of cooling: is the size right?"
        )
    if abs(job.system.coil_size.si - job.system.outdoor_size.si) > 1900.0:
        remarks.append(
            f"The coil ({job.system.coil_size.text}) and the outdoor unit ({job.system.outdoor_size.text}) differ by more than "
            "half a ton: read both plates again."
        )
    if not 15.0 <= job.thermostat.set_point.si <= 32.0:
        remarks.append(f"A set-point of {job.thermostat.set_point.text} is unusual: is the unit right?")
    if job.heat.kind == "unknown":
        remarks.append("The heat kind is not known: findings and options will be given, but no setting.")
    try:
        airflow_known(job)
    except JobError as error:
        remarks.append(str(error))
    return remarks
