"""The cooling unit by its maker's extended table: fitted once, with what the fit misses of every row."""

from functools import lru_cache
from typing import Any

import numpy as np

from airtrim.job.model import Job
from airtrim.job.performance import performance_array
from airtrim.physics.unit.describe import UnitDescription
from airtrim.physics.unit.fields import UNIT_FIELDS
from airtrim.physics.unit.maker_table import FittedUnit, fit_unit

#: How far a unit as built lies from its maker's table, 90 % each way: parts of capacity and power, kelvins, and plain numbers
#: [judgement; ratings are certified within 5 %].
SPREAD: dict[str, tuple[str, float]] = {
    "gross_capacity_w": ("part", 0.05),
    "compressor_power_w": ("part", 0.05),
    "coil_td_k": ("plus", 1.0),
    "sensible_heat_ratio": ("plus", 0.015),
    "air_exponent": ("plus", 0.08),
    "condenser_lift_k": ("plus", 2.0),
    "rated_flow_kg_s": ("part", 0.01),
}
#: A table missed by more than this is said not to be this unit's.
FAR = 0.05


def by_maker(job: Job, unit: UnitDescription) -> dict[str, tuple[float, float, float]]:
    """(low, mid, high) of the columns a table tells; empty where the job has none. Raises what `fit_unit` raises, the row named."""
    if not job.system.performance:
        return {}
    row = _fitted(job, unit).row
    ends = {}
    for name, (how, spread) in SPREAD.items():
        mid = float(row[UNIT_FIELDS.index(name)])
        low, high = (mid * (1.0 - spread), mid * (1.0 + spread)) if how == "part" else (mid - spread, mid + spread)
        ends[name] = (max(low, 1e-3), max(mid, 2e-3), max(high, 3e-3))
    return ends


def _fitted(job: Job, unit: UnitDescription) -> FittedUnit:
    known = tuple(unit[name].mid for name in ("refrigerant", "metering_device", "compressor"))
    return _once(tuple(job.system.performance), known)


@lru_cache(maxsize=16)
def _once(rows: tuple[str, ...], known: tuple[float, ...]) -> FittedUnit:
    names = ("refrigerant", "metering_device", "compressor")
    return fit_unit(performance_array(list(rows)), **dict(zip(names, known, strict=True)))


def maker_messages(job: Job, unit: UnitDescription) -> list[dict[str, Any]]:
    """How well the table is met, its worst row, and what is missed of every row in per cent."""
    if not job.system.performance:
        return []
    residuals = 100.0 * _fitted(job, unit).residuals
    worst = np.abs(residuals)
    place = int(np.argmax(worst.max(axis=1)))
    each = "; ".join(
        f"{number}: " + ", ".join(f"{one:+.1f}" for one in row) for number, row in enumerate(residuals, start=1)
    )
    values = {"rows": len(residuals), "row": place + 1, "each": each}
    values |= {name: f"{worst[:, at].max():.1f}" for at, name in enumerate(("total", "sensible", "power"))}
    far = max(worst[:, 0].max(), worst[:, 2].max()) > 100.0 * FAR
    return [{"id": "finding.maker_table_far" if far else "finding.maker_table", "values": values}]
