"""Where the cooling unit's model was held against others' figures, and what is said and widened outside of that."""

from collections.abc import Iterable
from typing import Any

from airtrim.job.model import Job
from airtrim.physics.air.moist import wet_bulb_c
from airtrim.physics.unit.steady import TRUSTED_AIRFLOW, TRUSTED_OUTDOOR_C, TRUSTED_WET_BULB_C
from airtrim.work.findings.parameters import CFM_PER_TON

#: Outside the model may be off so many times more than inside, and ranges are so many times wider [judgement].
WIDER = 2.0
#: Rated airflow of a unit nobody has the rating of, m3/s per W [cutler2013].
RATED_PER_WATT = 386.1 * CFM_PER_TON


def rated_airflow_m3_s(job: Job) -> float:
    """The coil's usual rated airflow: what was checked is how a coil answers its air, so that a larger coil counts with its own."""
    return float(RATED_PER_WATT * job.system.coil_size.si)


def rated_part(job: Job, airflow_m3_s: float) -> float:
    """An airflow over the coil's usual rated one."""
    return airflow_m3_s / rated_airflow_m3_s(job)


def outside(
    dry_c: float, humidity_ratio: float, outdoor_c: float, pressure_pa: float
) -> list[tuple[str, float, float, float]]:
    """(which, value, least, greatest), degC, of each state of air outside the trusted envelope."""
    states = (
        ("outdoor", outdoor_c, TRUSTED_OUTDOOR_C),
        ("wet_bulb", wet_bulb_c(dry_c, humidity_ratio, pressure_pa), TRUSTED_WET_BULB_C),
    )
    return [(name, value, *ends) for name, value, ends in states if not ends[0] - 1e-6 <= value <= ends[1] + 1e-6]


def outside_messages(
    job: Job, airflow_m3_s: float, points: Iterable[tuple[int, float, float, float]], pressure_pa: float
) -> list[dict[str, Any]]:
    """What lies outside: the present airflow, and the air of each point (number, return degC, humidity ratio, outdoor degC)."""
    told = []
    low, high = TRUSTED_AIRFLOW
    if not low <= rated_part(job, airflow_m3_s) <= high:
        rated = rated_airflow_m3_s(job)
        values = {"airflow": airflow_m3_s, "low": low * rated, "high": high * rated}
        shown: dict[str, Any] = {name: {"value": value, "unit": "m3/s"} for name, value in values.items()}
        told.append({"id": "finding.outside_airflow", "values": shown})
    for number, dry_c, humidity_ratio, outdoor_c in points:
        for name, value, least, greatest in outside(dry_c, humidity_ratio, outdoor_c, pressure_pa):
            ends = {"read": value, "low": least, "high": greatest}
            shown = {one: {"value": at, "unit": "degC"} for one, at in ends.items()}
            told.append({"id": f"finding.outside_{name}", "values": {"number": number, **shown}})
    return told
