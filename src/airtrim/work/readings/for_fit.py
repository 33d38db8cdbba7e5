"""The readings as the fit of the system wants them: cooling on the tap in use, with temperatures in place of raw gauge readings."""

from typing import Any

from airtrim.core.errors import JobError
from airtrim.job.checks import Airflow, airflow_known
from airtrim.job.measured import Measured
from airtrim.job.model import Job
from airtrim.work.readings.airflow import airflows
from airtrim.work.readings.answers import points_of
from airtrim.work.readings.point import Point, finite
from airtrim.work.readings.pressures import external_static
from airtrim.work.readings.refrigerant_state import refrigerant_state
from airtrim.work.readings.uncertain import Uncertain, carried


def known_airflow(job: Job, pressure_pa: float) -> Airflow:
    """The joined airflow of the tap in use, m3/s of air entering the coil; raises `JobError` saying what is missing."""
    points = points_of(job, pressure_pa)
    tap = job.blower.tap_in_use
    joined = airflows(points).joined.get(tap) if points else None
    cooling = [point for point in points if point.tap == tap and point.reading.operation == "cooling"]
    if joined is None:
        if cooling and all(point.iced for point in cooling):
            raise JobError(
                "readings: the coil was in ice at every cooling reading, so none of them counts; thaw it (system off, fan ON, heat "
                'off, until coil and suction line are bare and drained), then take a new reading with coil = "wet" or "dry".'
            )
        return airflow_known(job)
    volume = (cooling or points)[0].return_volume()
    # what the volume of the return air leaves open drops out where the airflow was read as a volume
    airflow = carried(lambda flow, v: flow * v, flow=joined.flow_kg_s, v=volume)
    ways = "reading" if any(way.id != "fan_table" for way in joined.ways) else "fan_table"
    return Airflow(airflow.value, airflow.sigma / airflow.value, ways)


def job_for_fit(job: Job, pressure_pa: float) -> Job:
    """The same job with its cooling readings of the tap in use alone (none of a coil in ice), and what follows from the others
    written beside them.

    Saturated suction and superheat come from pressure and line, the supply's dry-bulb is the mean of its points, a wet-bulb comes
    from dry-bulb and RH, the static from its ports. What was read itself is never replaced.
    """
    kept = []
    for point in points_of(job, pressure_pa):
        reading = point.reading
        if reading.operation == "cooling" and point.tap == job.blower.tap_in_use and not point.iced:
            kept.append(reading.model_copy(update=_derived(point)))
    return job.model_copy(update={"readings": kept})


def _derived(point: Point) -> dict[str, Any]:
    reading, state = point.reading, refrigerant_state(point)
    found: dict[str, tuple[Uncertain | None, str]] = {
        "saturated_suction": (state.suction_c, "degC"),
        "superheat": (state.superheat_k, "delta_degC"),
        "supply_dry_bulb": (point.supply_dry_bulb(), "degC"),
        "return_wet_bulb": (point.wet_bulb("return"), "degC"),
        "supply_wet_bulb": (point.wet_bulb("supply"), "degC"),
        "total_external_static": (external_static(point), "Pa"),
    }
    return {
        name: Measured(text=f"{one.value:.4g} {unit.removeprefix('delta_')}", si=one.value, unit=unit)
        for name, (one, unit) in found.items()
        if one is not None and finite(one) and getattr(reading, name) is None
    }
