"""The readings as the fit of the system wants them: cooling on the tap in use, with temperatures in place of raw gauge readings."""

from typing import Any

from airtrim.job.checks import Airflow, airflow_known
from airtrim.job.measured import Measured
from airtrim.job.model import Job
from airtrim.physics.air.moist import wet_bulb_c
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
    if joined is None:
        return airflow_known(job)
    cooling = [point for point in points if point.tap == tap and point.reading.operation == "cooling"]
    volume = (cooling or points)[0].return_volume().value
    ways = "reading" if any(way.id != "fan_table" for way in joined.ways) else "fan_table"
    return Airflow(joined.flow_kg_s.value * volume, joined.log_flow.sigma, ways)


def job_for_fit(job: Job, pressure_pa: float) -> Job:
    """The same job with its cooling readings of the tap in use alone, and what follows from the others written beside them.

    Saturated suction and superheat come from pressure and line, the supply's dry-bulb is the mean of its points, a wet-bulb comes
    from dry-bulb and RH, the static from its ports. What was read itself is never replaced.
    """
    kept = []
    for point in points_of(job, pressure_pa):
        if point.reading.operation == "cooling" and point.tap == job.blower.tap_in_use:
            kept.append(point.reading.model_copy(update=_derived(point)))
    return job.model_copy(update={"readings": kept})


def _derived(point: Point) -> dict[str, Any]:
    reading, state = point.reading, refrigerant_state(point)
    found: dict[str, tuple[Uncertain | None, str]] = {
        "saturated_suction": (state.suction_c, "degC"),
        "superheat": (state.superheat_k, "delta_degC"),
        "supply_dry_bulb": (point.supply_dry_bulb(), "degC"),
        "return_wet_bulb": (_wet_bulb(point, "return"), "degC"),
        "supply_wet_bulb": (_wet_bulb(point, "supply"), "degC"),
        "total_external_static": (external_static(point), "Pa"),
    }
    return {
        name: Measured(text=f"{one.value:.4g} {unit.removeprefix('delta_')}", si=one.value, unit=unit)
        for name, (one, unit) in found.items()
        if one is not None and finite(one) and getattr(reading, name) is None
    }


def _wet_bulb(point: Point, where: str) -> Uncertain | None:
    """Wet-bulb from the probe's RH; None where there was none."""
    dry = point.supply_dry_bulb() if where == "supply" else point.of("return_dry_bulb")
    ratio = point.humidity(where)
    if dry is None or ratio is None or getattr(point.reading, f"{where}_wet_bulb") is not None:
        return None
    return carried(lambda t, w: wet_bulb_c(t, w, point.pressure_pa), t=dry, w=ratio)
