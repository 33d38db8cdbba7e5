"""How long a fit takes, how often its ranges hold the truth, and how often the true fault is first.

`./run bench fit` takes AIRTRIM_BENCH_HOUSES invented houses of every fault (tests/work/findings/invented.py); what was done is
kept in the file named by AIRTRIM_BENCH_FIT, so that a long run can be stopped and taken up again.
"""

import json
import os
import time
from pathlib import Path
from typing import Any

import numpy as np

from airtrim.work.findings.explain import TOLD, Explained, fit_faults
from airtrim.work.findings.faults import FAULTS
from airtrim.work.findings.find import DRAWS, DRAWS_FULL, child_seed
from airtrim.work.findings.kept import machines
from airtrim.work.findings.observed import observed
from airtrim.work.findings.response import air_array, unit_states
from tests.work.findings.invented import FEW, FULL, PRESSURE, SEVERITY, Invented, invented

HOUSES = int(os.environ.get("AIRTRIM_BENCH_HOUSES", "2"))
LEAK = (0.015, 0.04, 0.09)
SYSTEMS = 200
#: What one house with nothing wrong may be told: the machine is sound in each of them.
SOUND = ("nothing_found", "moisture_source", "small_load")
EXPLANATION = {one.id: one.explanation for one in FAULTS}
FIGURES = ("airflow", "total_w", "sensible_w", "suction", "blower_watts", "return_leak")


def fitted(house: Invented, draws: int) -> Explained:
    """One fit as the findings make it."""
    seen = observed(house.job, PRESSURE)
    return fit_faults(house.job, seen, LEAK, 1.2, draws, lambda purpose: child_seed(1, purpose))


def judged(house: Invented, draws: int) -> dict[str, Any]:
    """Seconds, whether each figure's 90 % range holds the truth, chance of the true fault, and what was first."""
    began = time.perf_counter()
    found = fitted(house, draws)
    seconds = time.perf_counter() - began
    chances, own = found.chances, EXPLANATION[house.fault]
    first = max(chances, key=lambda name: chances[name])
    if house.fault == "nothing_found" and first in SOUND:
        first = own
    kept = machines(found, SYSTEMS, lambda purpose: child_seed(1, purpose))
    air = air_array(found.seen)
    flow = kept.values["airflow"] / found.seen.air[0].volume_m3_kg
    states = unit_states(kept.units, flow[:, None], air, PRESSURE)[:, 0]
    sample = {
        "airflow": kept.values["airflow"],
        "total_w": states[:, 0],
        "sensible_w": states[:, 1],
        "suction": states[:, 2],
        "blower_watts": kept.values["blower_watts"],
        "return_leak": kept.values["return_leak"],
    }
    held = {}
    for name in FIGURES:
        low, high = np.nanquantile(sample[name], (0.05, 0.95))
        held[name] = bool(low <= house.truth[name] <= high)
    return {
        "seconds": seconds,
        "held": held,
        "first": first == own,
        "own": chances[own],
        "told": chances[max(chances, key=lambda name: chances[name])] >= TOLD,
        "effective": found.effective,
    }


def run() -> list[dict[str, Any]]:
    """Entries of the benchmark."""
    kept_at = os.environ.get("AIRTRIM_BENCH_FIT")
    done: dict[str, dict[str, Any]] = {}
    if kept_at and Path(kept_at).is_file():
        done = {one["key"]: one for one in map(json.loads, Path(kept_at).read_text().splitlines())}

    def once(seed: int, fault: str, taken: str, draws: int) -> dict[str, Any]:
        key = f"{seed}.{fault}.{taken}.{draws}"
        if key not in done:
            house = invented(seed, fault, FULL if taken == "full" else FEW)
            done[key] = {"key": key, **judged(house, draws)}
            if kept_at:
                with Path(kept_at).open("a") as file:
                    file.write(json.dumps(done[key]) + "\n")
        return done[key]

    once(0, "nothing_found", "few", 64)  # compiles
    quick = [once(seed, fault, "full", DRAWS) for seed in range(HOUSES) for fault in SEVERITY]
    few = [once(seed, fault, "few", DRAWS) for seed in range(HOUSES) for fault in SEVERITY]
    full = [
        once(seed, fault, "full", DRAWS_FULL) for seed in range(max(HOUSES // 8, 1)) for fault in list(SEVERITY)[::4]
    ]

    def entry(name: str, value: float, unit: str, better: str) -> dict[str, Any]:
        return {"bench": name, "value": value, "unit": unit, "better": better, "against": None, "ratio": None}

    entries = [
        entry("fit_quick", float(np.median([one["seconds"] for one in quick])), "s", "lower"),
        entry("fit_full", float(np.median([one["seconds"] for one in full])), "s", "lower"),
        entry("fit_fault_ranking", float(np.mean([one["first"] for one in quick])), "share first", "higher"),
        entry("fit_fault_ranking.told", float(np.mean([one["told"] for one in quick])), "share told", "higher"),
        entry(
            "fit_fault_ranking.missed", float(np.mean([one["own"] < 0.05 for one in quick])), "share under 5 %", "lower"
        ),
        entry("fit_effective", float(np.median([one["effective"] for one in quick])), "draws", "higher"),
    ]
    for name in FIGURES:
        share = float(np.mean([one["held"][name] for one in quick + full]))
        entries.append(entry(f"fit_coverage.{name}", share, "share held", "higher"))
        share = float(np.mean([one["held"][name] for one in few]))
        entries.append(entry(f"fit_coverage_few.{name}", share, "share held", "higher"))
    return entries
