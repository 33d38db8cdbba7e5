"""The figures whose ranges are held against the truth of invented houses, of a fitted sample and of the house as it is."""

import numpy as np
from numpy.typing import NDArray

from airtrim.physics.air.moist import humidity_ratio_from_relative_humidity
from airtrim.physics.unit.steady import unit_state
from airtrim.work.findings.explain import Explained
from airtrim.work.findings.find import STANDARD, child_seed
from airtrim.work.findings.kept import machines
from airtrim.work.findings.response import unit_states
from tests.work.findings.invented import PRESSURE, Invented

Array = NDArray[np.float64]
SYSTEMS = 200
#: While it was read, each machine in the air as it has it; and what the findings show, in the map's air.
NOW = ("airflow", "total_w", "sensible_w", "suction", "blower_watts", "return_leak")
SHOWN = ("total_capacity", "latent_capacity", "saturated_suction")
FIGURES = (*NOW, *SHOWN)


def _standard_air() -> tuple[float, float, float]:
    dry, humid, outdoor = STANDARD
    return dry, humidity_ratio_from_relative_humidity(dry, humid, PRESSURE), outdoor


def figures(units: Array, values: dict[str, Array], flow_kg_s: Array, air: Array) -> dict[str, Array]:
    """`FIGURES` of machines `[N]` by their rows, values by name, dry air, and the air of every point `[N, P, 3]`."""
    now = unit_states(units, flow_kg_s[:, None], np.ascontiguousarray(air[:, :1]), PRESSURE)[:, 0]
    standard = np.tile(np.array([_standard_air()]), (len(units), 1, 1))
    shown = unit_states(units, flow_kg_s[:, None], standard, PRESSURE)[:, 0]
    return {
        "airflow": values["airflow"],
        "total_w": now[:, 0],
        "sensible_w": now[:, 1],
        "suction": now[:, 2],
        "blower_watts": values["blower_watts"],
        "return_leak": values["return_leak"],
        "total_capacity": shown[:, 0],
        "latent_capacity": shown[:, 0] - shown[:, 1],
        "saturated_suction": shown[:, 2],
    }


def truth_of(house: Invented) -> dict[str, float]:
    """The same figures as they are; NaN where the true unit would not run in the map's air."""
    total, sensible, _, suction, *_ = unit_state(*_standard_air(), house.dry_air_kg_s, PRESSURE, house.unit)
    return {**house.truth, "total_capacity": total, "latent_capacity": total - sensible, "saturated_suction": suction}


def ranges(house: Invented, found: Explained) -> dict[str, tuple[float, float, float, float]]:
    """(5 %, median, 95 %, truth) of every figure that has a truth."""
    kept = machines(found, SYSTEMS, lambda purpose: child_seed(1, purpose))
    flow = kept.values["airflow"] / found.seen.air[0].volume_m3_kg
    sample, truth = figures(kept.units, kept.values, flow, kept.air), truth_of(house)
    told = {}
    for name in FIGURES:
        if np.isfinite(truth[name]):
            low, middle, high = (float(one) for one in np.nanquantile(sample[name], (0.05, 0.5, 0.95)))
            told[name] = (low, middle, high, float(truth[name]))
    return told
