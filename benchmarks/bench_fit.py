"""How long a fit takes, how often its ranges hold the truth, how often the true fault is first, and what a long run says.

`./run bench fit` takes AIRTRIM_BENCH_HOUSES invented houses of every fault (tests/work/findings/invented.py): 28 of them are 504
quick fits and 40 full ones. What was done is kept in the file named by AIRTRIM_BENCH_FIT, so that a long run can be stopped and
taken up again. `python -m benchmarks.bench_fit` prints what that file holds, with counts.
"""

import json
import os
import time
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from airtrim.work.findings.explain import TOLD, Explained, Fitted, fit_faults, residuals_of
from airtrim.work.findings.faults import COMPLAINTS, FAULTS
from airtrim.work.findings.find import DRAWS, DRAWS_FULL, child_seed
from airtrim.work.findings.observed import observed
from airtrim.work.findings.parameters import values_at
from airtrim.work.findings.response import Model
from tests.work.findings.held import FIGURES, figures, ranges
from tests.work.findings.invented import FEW, FULL, PRESSURE, SEVERITY, Invented, invented

Array = NDArray[np.float64]
HOUSES = int(os.environ.get("AIRTRIM_BENCH_HOUSES", "2"))
#: Full fits for so many houses of every fault.
FULL_FITS, FULL_HOUSES = 40, 28
LEAK = (0.015, 0.04, 0.09)
#: What one house with nothing wrong may be told: the machine is sound in each of them.
SOUND = ("nothing_found", "moisture_source", "small_load")
EXPLANATION = {one.id: one.explanation for one in FAULTS}


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
    told = ranges(house, found)
    return {
        "seconds": seconds,
        "fault": house.fault,
        "held": {name: low <= truth <= high for name, (low, _, high, truth) in told.items()},
        "ranges": told,
        "first": first == own,
        "own": chances[own],
        "told": chances[max(chances, key=lambda name: chances[name])] >= TOLD,
        "effective": found.effective,
    }


#: Cases of the long reference run: house, fault, readings.
LONG = ((1, "undercharge", "full"), (2, "restricted_filter", "full"), (1, "nothing_found", "few"))
#: Walkers and steps of the reference run, of which the first third is left out; length of a step against the prior.
WALKERS, STEPS, STEP = 96, 24_000, 0.12


def long_run(residuals: Any, dimensions: int, generator: np.random.Generator) -> tuple[Array, float]:
    """Draws `[N, d]` by a Markov chain that knows nothing of the sampler it is held against, and its worst split-R.

    z' = root(1 - b^2) z + b e leaves the unit-normal prior as it is, and is taken with the ratio of the likelihoods [cotter2013].
    Half of the walkers step three times as short. R is between the walkers' means and within, of every coordinate [gelman1992].
    """
    z = generator.standard_normal((WALKERS, dimensions))
    score = -0.5 * np.sum(np.square(residuals(z)), axis=1)
    step = np.where(np.arange(WALKERS) % 2 == 0, STEP, STEP / 3.0)[:, None]
    kept = []
    for number in range(STEPS):
        made = np.sqrt(1.0 - step**2) * z + step * generator.standard_normal(z.shape)
        its = -0.5 * np.sum(np.square(residuals(made)), axis=1)
        better = np.log(generator.random(WALKERS)) < its - score
        z, score = np.where(better[:, None], made, z), np.where(better, its, score)
        if number >= STEPS // 3 and number % 50 == 0:
            kept.append(z)
    chains = np.array(kept)  # [steps, walkers, d]
    half = len(chains) // 2
    split = np.concatenate([chains[:half], chains[half : 2 * half]], axis=1)
    within = split.var(axis=0, ddof=1).mean(axis=0)
    between = split.mean(axis=0).var(axis=0, ddof=1)
    return chains.reshape(-1, dimensions), float(np.sqrt((half - 1) / half + between / within).max())


def _figures_of(model: Model, one: Fitted, z: Array) -> dict[str, Array]:
    values = values_at(one.parameters, z)
    values["airflow"], values["blower_watts"] = model.airflow_m3_s(values)[0], model.blower_watts(values)
    return figures(model.rows(values), values, values["airflow"] / model.seen.air[0].volume_m3_kg, model.air(values))


def _ends(sample: Array, weight: Array) -> list[float]:
    """Mean and 5 and 95 % quantiles of a weighted sample."""
    good = np.isfinite(sample)
    order = np.argsort(sample[good])
    sample, weight = sample[good][order], weight[good][order] / weight[good].sum()
    at = np.cumsum(weight) - 0.5 * weight
    return [float(weight @ sample), float(np.interp(0.05, at, sample)), float(np.interp(0.95, at, sample))]


def against_long_run(house: Invented) -> dict[str, Any]:
    """Mean and ends of every figure under the true explanation, quick and full, less those of the long run, over its spread."""
    apart: dict[str, dict[str, list[float]]] = {}
    found = {draws: fitted(house, draws) for draws in (DRAWS, DRAWS_FULL)}
    of = {draws: next(one for one in every.fitted if one.fault.id == house.fault) for draws, every in found.items()}
    one = of[DRAWS]
    residuals, _ = residuals_of(one.model, one.parameters, one.fault.spread)
    z, worst = long_run(residuals, len(one.parameters), child_seed(1, "long_run"))
    long = _figures_of(one.model, one, z)
    for draws, it in of.items():
        drawn = _figures_of(it.model, it, it.drawn.z)
        apart[str(draws)] = {
            name: [
                (a - b) / float(np.nanstd(long[name]))
                for a, b in zip(
                    _ends(drawn[name], it.drawn.weight), _ends(long[name], np.full(len(z), 1.0 / len(z))), strict=True
                )
            ]
            for name in FIGURES
        }
    return {"split_r": worst, "effective": {str(d): it.drawn.effective for d, it in of.items()}, "apart": apart}


def weight_of(fault: str) -> float:
    """How common a house of this fault is held to be among damp ones before anything is read (faults.py)."""
    table = COMPLAINTS["damp"]
    alike = {"slow_tap": ("slow_row",), "fast_tap": ("fast_row",), "restricted_coil": ("iced_coil",)}.get(fault, ())
    ids = {*SOUND} if fault == "nothing_found" else {fault, *alike}
    return sum(one.weight * table.get(one.explanation, table["other"]) for one in FAULTS if one.id in ids)


def share_held(fits: list[dict[str, Any]], name: str, weighted: bool = False) -> float:
    """Part of the fits whose range holds the truth; `weighted`, each fault as common as it is held to be."""
    held = [(one["held"][name], weight_of(one["fault"]) if weighted else 1.0) for one in fits if name in one["held"]]
    return float(sum(weight for yes, weight in held if yes) / sum(weight for _, weight in held))


def _kept() -> dict[str, dict[str, Any]]:
    at = os.environ.get("AIRTRIM_BENCH_FIT")
    if at is None or not Path(at).is_file():
        return {}
    return {one["key"]: one for one in map(json.loads, Path(at).read_text().splitlines())}


def run() -> list[dict[str, Any]]:
    """Entries of the benchmark."""
    done = _kept()

    def once(key: str, work: Any) -> dict[str, Any]:
        if key not in done:
            done[key] = {"key": key, **work()}
            if at := os.environ.get("AIRTRIM_BENCH_FIT"):
                with Path(at).open("a") as file:
                    file.write(json.dumps(done[key]) + "\n")
        return done[key]

    def fit(seed: int, fault: str, taken: str, draws: int) -> dict[str, Any]:
        readings = FULL if taken == "full" else FEW
        return once(f"{seed}.{fault}.{taken}.{draws}", lambda: judged(invented(seed, fault, readings), draws))

    faults = list(SEVERITY)
    judged(invented(0, "nothing_found", FEW), 64)  # compiles
    quick, few = [], []
    for seed in range(HOUSES):  # a run that is stopped has whole houses of all faults
        quick += [fit(seed, fault, "full", DRAWS) for fault in faults]
        few += [fit(seed, fault, "few", DRAWS) for fault in faults]
    number = max(round(FULL_FITS * HOUSES / FULL_HOUSES), 1)
    full = [fit(k % HOUSES, faults[k % len(faults)], "full", DRAWS_FULL) for k in range(number)]
    long = [
        once(
            f"long.{seed}.{fault}.{taken}",
            lambda: against_long_run(invented(seed, fault, FULL if taken == "full" else FEW)),  # noqa: B023
        )
        for seed, fault, taken in LONG[: max(HOUSES // 2, 1)]
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
        entries.append(entry(f"fit_coverage.{name}", share_held(quick, name), "share held", "higher"))
        entries.append(entry(f"fit_coverage_full.{name}", share_held(full, name), "share held", "higher"))
        entries.append(entry(f"fit_coverage_few.{name}", share_held(few, name), "share held", "higher"))
        common = share_held(few, name, weighted=True)
        entries.append(entry(f"fit_coverage_few_common.{name}", common, "share held", "higher"))
    for draws, kind in ((DRAWS, "quick"), (DRAWS_FULL, "full")):
        apart = max(abs(x) for one in long for ends in one["apart"][str(draws)].values() for x in ends)
        entries.append(entry(f"fit_from_long_run.{kind}", apart, "standard deviations", "lower"))
    return entries


def print_kept() -> None:
    """What the kept file holds: counts, and shares with one standard deviation of a count."""
    done = _kept()

    def told(share: float, number: int) -> str:
        return f"{100.0 * share:.1f} +- {100.0 * (share * (1.0 - share) / number) ** 0.5:.1f}"

    for taken, draws in (("full", DRAWS), ("full", DRAWS_FULL), ("few", DRAWS)):
        fits = [one for key, one in done.items() if key.endswith(f".{taken}.{draws}")]
        if not fits:
            continue
        number = len(fits)
        print(f"{taken} readings, {draws} draws: {number} fits")
        for name, yes in (
            ("first", [one["first"] for one in fits]),
            ("under 5 %", [one["own"] < 0.05 for one in fits]),
            ("told", [one["told"] for one in fits]),
            ("first of those told", [one["first"] for one in fits if one["told"]]),
        ):
            print(f"  {name}: {told(float(np.mean(yes)), len(yes))} % ({sum(yes)} of {len(yes)})")
        seconds = [one["seconds"] for one in fits]
        print(f"  seconds: median {np.median(seconds):.2f}, 95 % {np.quantile(seconds, 0.95):.2f}")
        print(f"  draws worth: median {np.median([one['effective'] for one in fits]):.0f}")
        for name in FIGURES:
            with_it = [one for one in fits if name in one["held"]]
            low, _, high, true = np.array([one["ranges"][name] for one in with_it]).T
            print(
                f"  {name}: holds {told(share_held(fits, name), len(with_it))} % of {len(with_it)}, below "
                f"{100.0 * np.mean(true < low):.1f}, above {100.0 * np.mean(true > high):.1f}; as common as held to be "
                f"{100.0 * share_held(fits, name, weighted=True):.1f}; median width {np.median(high - low):.4g}"
            )
        for fault in SEVERITY:
            own = [one for one in fits if one["fault"] == fault]
            print(f"  {fault}: first {sum(one['first'] for one in own)} of {len(own)}")
    for key, one in done.items():
        if key.startswith("long."):
            print(f"{key}: split-R {one['split_r']:.3f}, draws worth {one['effective']}")
            for draws, figures_of in one["apart"].items():
                for name, ends in figures_of.items():
                    print(f"  {draws} {name}: " + " ".join(f"{x:+.2f}" for x in ends))


if __name__ == "__main__":
    print_kept()
