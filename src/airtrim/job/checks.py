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
    """The airflow the job states while cooling on the tap in use, by reading or by fan table at static; raises `JobError` saying
    what is missing. Other ways to the airflow are in work/readings.
    """
    cooling = cooling_readings(job)
    for reading in cooling:
        if reading.airflow is not None:
            sigma = reading.airflow_uncertainty.si / 1.645 if reading.airflow_uncertainty else READING_SIGMA
            return Airflow(reading.airflow.si, sigma, "reading")
    for reading in cooling:
        if reading.total_external_static is not None:
            return Airflow(_from_table(job, reading), TABLE_SIGMA, "fan_table")
    raise JobError(
        "readings: the airflow is not known; give readings.airflow, or readings.total_external_static with the tap's row of the "
        "maker's fan table in blower.fan_table."
    )


def cooling_readings(job: Job) -> list[Readings]:
    """Readings of the cooling tap in use: an airflow read in heat on another tap is another airflow."""
    tap = job.blower.tap_in_use
    return [one for one in job.readings if one.operation == "cooling" and one.tap in (None, tap)]


def opens_airflow(job: Job) -> bool:
    """Whether any reading opens a way to the airflow beside the stated one and the fan table; work/readings says how good."""
    ways = ("strip_circuits", "gas", "known_point", "traverses", "grilles", "plate", "matching", "condensate")
    return any(getattr(reading, way) for reading in job.readings for way in ways)


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


def filter_area_m2(job: Job) -> float | None:
    """Face area of the filters, m2, or None where their size was not read."""
    if job.ducts.filter_size is None:
        return None
    sides = [float(part) for part in job.ducts.filter_size.lower().replace("×", "x").split("x")]
    return job.ducts.filters * sides[0] * sides[1] * 0.0254**2


def heating_power_w(job: Job) -> float:
    """Heat of strips or furnace, all stages together, W, without a heat pump's; what the outdoor unit cools where nothing was
    surveyed."""
    heat = job.heat
    burning = [stage.power.si for stage in heat.stages if stage.kind != "heat_pump"]
    if burning:
        strips = sum(stage.power.si for stage in heat.stages if stage.kind == "electric_strip")
        return float(max([strips, *burning]))
    power = heat.strip_power or heat.furnace_output
    return float(power.si if power is not None else job.system.outdoor_size.si)


def recorded_only(job: Job) -> list[str]:
    """Places of survey values that the papers carry but the year does not count yet."""
    thermostat, ducts, heat, blower = job.thermostat, job.ducts, job.heat, job.blower
    fitted = blower.horsepower is not None and blower.motor in ("psc", "unknown")  # plate and readings are one motor
    noted = {
        "system.stages": job.system.stages > 1,
        "heat.defrost": heat.defrost not in ("unknown", "none"),
        "heat.strip_in_defrost": heat.strip_in_defrost is not None,
        "blower.nameplate_amps": not fitted and blower.nameplate_amps is not None,
        "blower.nameplate_volts": not fitted and blower.nameplate_volts is not None,
        "blower.run_capacitor": not fitted and blower.run_capacitor is not None,
        "ducts.zones": ducts.zones > 1,
        "ducts.bypass_damper": ducts.bypass_damper is not None,
        "thermostat.humidity_terminals": thermostat.humidity_terminals is not None,
        "thermostat.overcool_limit": thermostat.overcool_limit is not None,
        "thermostat.set_backs": bool(thermostat.set_backs),
    }
    return [place for place, given in noted.items() if given]


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
    for place in recorded_only(job):
        remarks.append(f"{place} is kept for the papers; the year does not count it yet.")
    if job.heat.kind == "unknown":
        remarks.append("The heat kind is not known: findings and options will be given, but no setting.")
    try:
        airflow_known(job)
    except JobError as error:
        if not opens_airflow(job):
            remarks.append(str(error))
    return remarks
