"""Which reading would tell most for the minutes it takes.

For every reading not yet taken: what each fitted machine says it would be, with the error of the instrument that takes it. The
expected fall of the entropy of the explanations (mutual information, worked out over the draws [lindley1956]) and of the logarithm
of the airflow's and cooling's ranges, over the minutes.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from airtrim.job.model import Job
from airtrim.work.findings.explain import Explained, Fitted
from airtrim.work.findings.observed import MODEL_SIGMA
from airtrim.work.findings.parameters import PARTS, values_at

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Candidate:
    """A reading that can be taken: kinds it gives with one sigma of each (in the terms of `Observation`), minutes, what shows it
    was taken. `look` is a fault that is seen or not seen by looking, with how often the look is right.
    """

    id: str
    minutes: float
    gives: tuple[tuple[str, float], ...] = ()
    look: tuple[str, ...] = ()


#: Minutes by a practised hand with the system already running [judgement]. Sigmas: instruments' classes and places together
#: (work/readings); humidity ratio and airflow as parts.
CANDIDATES: Final = (
    Candidate("suction_and_line", 8.0, (("suction", 0.9), ("superheat", 1.2))),
    Candidate("liquid_and_line", 8.0, (("condensing", 0.8), ("subcooling", 1.0))),
    Candidate("supply_dry_bulb", 4.0, (("supply", 0.65),)),
    Candidate("supply_wet_bulb", 6.0, (("supply_humidity", 0.06),)),
    Candidate("airflow", 20.0, (("airflow", 0.06),)),
    Candidate("static_ports", 12.0, tuple((f"{part}_drop", 0.08) for part in PARTS)),
    Candidate("static", 5.0, (("external_static", 0.05),)),
    Candidate("condensate", 25.0, (("condensate", 0.06),)),
    Candidate("return_at_grille", 3.0, (("duct_gain", 0.45),)),
    Candidate("capacitor", 6.0, (("capacitor", 0.03),)),
    Candidate("look_at_filter", 2.0, look=("restricted_filter",)),
    Candidate("look_at_condenser", 3.0, look=("dirty_condenser",)),
    Candidate("look_at_wheel", 10.0, look=("dirty_wheel", "backward_wheel")),
    Candidate("look_at_coil", 15.0, look=("restricted_coil", "iced_coil")),
    Candidate("look_at_tap", 5.0, look=("slow_tap", "fast_tap", "slow_row", "fast_row")),
    Candidate("look_for_moisture", 10.0, look=("moisture_source",)),
)
#: How often a look shows what is there, and what is not there [judgement].
SEEN_WHERE_IT_IS, SEEN_WHERE_IT_IS_NOT = 0.85, 0.10
#: Draws the simulation runs over, and simulated readings.
MEMBERS, SIMULATED = 640, 320
#: Narrowing the settings' ranges (airflow, cooling) counts so much against deciding between explanations [judgement].
RANGE_COUNTS = 0.5
#: A reading that is expected to tell less than this, nats, is not worth asking for.
WORTH = 0.02


def next_reading(job: Job, explained: Explained, child: Callable[[str], np.random.Generator]) -> dict[str, Any]:
    """The readings not yet taken, the one that tells most per minute first: {list: [{id, minutes, bits, bits_per_minute}], why}."""
    names, members = _members(explained, child("next_reading.members"))
    if not members:
        return {"list": [], "why": "next_reading.no_air"}
    explanation = np.array([names.index(one.fault.explanation) for one, _ in members for _ in range(1)])
    prior = _classes(explanation, np.full(len(members), 1.0 / len(members)), len(names))
    generator = child("next_reading.simulate")
    listed: list[dict[str, Any]] = []
    kinds = [(kind, 0) for kind in MODEL_SIGMA]
    table, airflow = _table(explained, members, kinds)
    for candidate in CANDIDATES:
        if _taken(candidate, explained, job):
            continue
        if candidate.look:
            told = _by_look(candidate, members, explanation, prior)
        else:
            columns = [place for place, (kind, _) in enumerate(kinds) if kind in dict(candidate.gives)]
            sigma = np.array([np.hypot(dict(candidate.gives)[kinds[c][0]], MODEL_SIGMA[kinds[c][0]]) for c in columns])
            told = _by_value(table[:, columns] / sigma, explanation, airflow, prior, len(names), generator)
        bits = float(told / np.log(2.0))
        if told > WORTH:
            listed.append(
                {
                    "id": candidate.id,
                    "minutes": candidate.minutes,
                    "bits": bits,
                    "bits_per_minute": bits / candidate.minutes,
                }
            )
    listed.sort(key=lambda one: float(one["bits_per_minute"]), reverse=True)
    if not listed:
        return {"list": [], "why": "next_reading.enough"}
    return {"list": listed[:5], "why": "next_reading.most_per_minute"}


def _members(explained: Explained, generator: np.random.Generator) -> tuple[list[str], list[tuple[Fitted, Array]]]:
    """Equally weighted machines of all explanations, each with its fault and coordinates."""
    if not explained.seen.air:
        return [], []
    names = list(explained.chances)
    weights = np.concatenate([one.share * one.drawn.weight for one in explained.fitted])
    places = (np.arange(MEMBERS) + generator.random()) / MEMBERS
    chosen = np.minimum(np.searchsorted(np.cumsum(weights), places, side="right"), len(weights) - 1)
    owner = np.repeat(np.arange(len(explained.fitted)), [len(one.drawn.weight) for one in explained.fitted])
    start = np.cumsum([0, *(len(one.drawn.weight) for one in explained.fitted)])
    return names, [
        (explained.fitted[owner[c]], explained.fitted[owner[c]].drawn.z[c - start[owner[c]]]) for c in chosen
    ]


def _table(
    explained: Explained, members: list[tuple[Fitted, Array]], kinds: list[tuple[str, int]]
) -> tuple[Array, Array]:
    """What every kind of reading would be, `[N, kinds]`, and logarithm of the airflow, `[N]`."""
    table, airflow = np.empty((len(members), len(kinds))), np.empty(len(members))
    for owner in {id(one): one for one, _ in members}.values():
        rows = [n for n, (one, _) in enumerate(members) if one is owner]
        values = values_at(owner.parameters, np.array([members[n][1] for n in rows]))
        table[rows] = owner.model.predicted(values, owner.model.air(values), kinds)
        airflow[rows] = np.log(owner.model.airflow_m3_s(values)[0])
    for column in range(table.shape[1]):  # a machine without a state tells nothing
        bad = ~np.isfinite(table[:, column])
        table[bad, column] = np.mean(table[~bad, column]) if (~bad).any() else 0.0
    return table, airflow


def _classes(explanation: NDArray[np.intp], weight: Array, count: int) -> Array:
    return np.asarray(np.bincount(explanation, weights=weight, minlength=count))


def _entropy(chances: Array) -> Array:
    """Nats along the last axis."""
    return np.asarray(-np.sum(np.where(chances > 0.0, chances * np.log(np.maximum(chances, 1e-300)), 0.0), axis=-1))


def _by_value(
    values: Array,
    explanation: NDArray[np.intp],
    airflow: Array,
    prior: Array,
    count: int,
    generator: np.random.Generator,
) -> float:
    """Expected nats told: of the explanations, and half of what it narrows the airflow."""
    source = generator.integers(len(values), size=SIMULATED)
    read = values[source] + generator.standard_normal((SIMULATED, values.shape[1]))
    apart = read[:, None, :] - values[None, :, :]
    weight = np.exp(-0.5 * np.sum(apart * apart, axis=2))
    weight /= weight.sum(axis=1, keepdims=True)
    onehot = np.eye(count)[explanation]
    told = float(_entropy(prior) - np.mean(_entropy(weight @ onehot)))
    mean = weight @ airflow
    variance = weight @ np.square(airflow) - np.square(mean)
    before = max(float(np.var(airflow)), 1e-8)
    narrowed = 0.5 * float(np.mean(np.log(before / np.maximum(variance, 1e-3 * before))))
    return float(max(told, 0.0) + RANGE_COUNTS * max(narrowed, 0.0) * min(before**0.5 / 0.05, 1.0))


def _by_look(
    candidate: Candidate, members: list[tuple[Fitted, Array]], explanation: NDArray[np.intp], prior: Array
) -> float:
    there = np.array([one.fault.id in candidate.look for one, _ in members])
    seen = np.where(there, SEEN_WHERE_IT_IS, SEEN_WHERE_IT_IS_NOT)
    after = 0.0
    for chance in (seen, 1.0 - seen):
        whole = float(chance.mean())
        after += whole * float(_entropy(_classes(explanation, chance / chance.sum(), len(prior))))
    return float(_entropy(prior)) - after


def _taken(candidate: Candidate, explained: Explained, job: Job) -> bool:
    if candidate.look:
        return False
    kinds = [kind for kind, _ in candidate.gives]
    if candidate.id == "static" and any(explained.seen.has(f"{part}_drop") for part in PARTS):
        return True
    if candidate.id == "capacitor" and job.blower.run_capacitor is None:
        return job.blower.motor not in ("psc", "unknown")
    return all(explained.seen.has(kind) for kind in kinds)
