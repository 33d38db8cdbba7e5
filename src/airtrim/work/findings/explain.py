"""Which explanation accounts best for the readings: every one is fitted, weighed by its evidence, and told with reasons."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import NoSolutionError
from airtrim.job.checks import filter_area_m2
from airtrim.job.model import Job
from airtrim.physics.unit.fields import EXPANSION_VALVE, FIXED_ORIFICE
from airtrim.work.findings.blower import PSC
from airtrim.work.findings.faults import AIRFLOW, CHARGE, COMPLAINTS, FAULTS, FROST_SEEN, HOUSE, NONE, Fault
from airtrim.work.findings.observed import Observation, Observed
from airtrim.work.findings.parameters import Ends, Parameter, changed, described, sound_parameters, values_at
from airtrim.work.findings.response import Model, air_parameters, likelihood
from airtrim.work.findings.sampling import NO_STATE, Drawn, Residuals, draw_posterior

Array = NDArray[np.float64]
Progress = Callable[[float], object]

#: An explanation is given as the answer from this chance on; below, the answer is that it cannot be told yet [judgement].
TOLD = 0.50
#: While airflow explanations together are above this, none of charge or metering stands before them [judgement].
AIRFLOW_FIRST = 0.15
#: An explanation so many nats below the best one so far is drawn no finer: first draws may miss it by some, not by three million.
OUT_OF_THE_QUESTION = 15.0
#: Then the explanations whose draws are worth least for their chance are drawn so many times finer, the worst first and at most so
#: many, until all draws together are worth so many times what one round draws.
FINER, FINER_MOST, FINER_UNTIL = 8, 4, 2.0
#: A filter whose face meets air faster than this is more often the restriction, m/s.
FAST_FILTER_M_S, FAST_FILTER_TIMES = 1.524, 1.6
#: A coil larger than its outdoor unit by more than this is a mismatch, W; without one the explanation has no weight.
MISMATCH_W = 1900.0


@dataclass(frozen=True)
class Fitted:
    """One fault with one metering device, fitted."""

    fault: Fault
    device: float
    parameters: list[Parameter]
    model: Model
    log_prior: float
    drawn: Drawn
    share: float = 0.0


@dataclass(frozen=True)
class Explained:
    """Every fault fitted; `share` adds up to 1 over them. `effective` is what all draws together are worth."""

    fitted: tuple[Fitted, ...]
    seen: Observed
    effective: float
    survey: tuple[tuple[str, str, dict[str, Any]], ...]

    @property
    def chances(self) -> dict[str, float]:
        """Chance of each explanation."""
        found: dict[str, float] = {}
        for one in self.fitted:
            found[one.fault.explanation] = found.get(one.fault.explanation, 0.0) + one.share
        return found


def devices(job: Job) -> list[float]:
    """The metering devices it may have."""
    known = {"expansion_valve": EXPANSION_VALVE, "fixed_orifice": FIXED_ORIFICE}.get(job.system.metering_device)
    return [EXPANSION_VALVE, FIXED_ORIFICE] if known is None else [known]


def fit_faults(
    job: Job,
    seen: Observed,
    return_leak: Ends,
    load_ratio: float,
    count: int,
    child: Callable[[str], np.random.Generator],
    progress: Progress | None = None,
) -> Explained:
    """Fit every fault to all readings with `count` draws a round, and more where the answer hangs on few.

    `load_ratio` is the unit's sensible cooling at the design hour over the house's load, for the explanation that the load is too
    small. `child` gives a generator for a purpose. `progress` hears 0 to 1 and may raise to cancel.
    """
    survey = _survey_weights(job, seen, load_ratio)
    told: list[tuple[str, str, dict[str, Any]]] = [one for _, reasons in survey.values() for one in reasons]
    kinds = devices(job)
    todo = [(fault, device) for device in kinds for fault in FAULTS if fault.device in (None, device)]
    done: dict[_Key, _Fit] = {}
    found: list[tuple[_Key, Fault, float]] = []
    best = -np.inf
    for place, (fault, device) in enumerate(todo):
        weight = fault.weight * survey[fault.id][0]
        if weight <= 0.0:
            continue
        # explanations that move nothing in the machine share one fit
        key = (device, fault.id if fault.moves or fault.spread != 1.0 else "sound")
        log_prior = float(np.log(weight / len(kinds)))
        if key not in done:
            generator = child(f"fit.{key[1]}.{device:.0f}")
            least = best - OUT_OF_THE_QUESTION - log_prior
            done[key] = _fit(job, seen, fault, device, return_leak, count, generator, least)
        best = max(best, log_prior + done[key][2].log_evidence)
        found.append((key, fault, log_prior))
        if progress is not None:
            progress((place + 1) / (len(todo) + FINER_MOST))
    faults = {key: fault for key, fault, _ in reversed(found)}
    finer: set[_Key] = set()
    while True:
        shares = _shares([log_prior + done[key][2].log_evidence for key, _, log_prior in found])
        spent = dict.fromkeys(done, 0.0)
        for (key, _, _), share in zip(found, shares, strict=True):
            spent[key] += float(share)
        lacks = {key: share**2 / done[key][2].effective for key, share in spent.items()}
        effective = 1.0 / sum(lacks.values())
        left = [key for key in lacks if key not in finer]
        if not seen.rows or effective >= FINER_UNTIL * count or len(finer) == FINER_MOST or not left:
            break
        key = max(left, key=lambda one: lacks[one])
        finer.add(key)
        generator = child(f"finer.{key[1]}.{key[0]:.0f}")
        done[key] = _fit(job, seen, faults[key], key[0], return_leak, FINER * count, generator, -np.inf)
        if progress is not None:
            progress((len(todo) + len(finer)) / (len(todo) + FINER_MOST))
    fitted = tuple(
        Fitted(fault, key[0], *done[key][:2], log_prior, done[key][2], float(share))
        for (key, fault, log_prior), share in zip(found, shares, strict=True)
    )
    return Explained(fitted, seen, float(effective), tuple(told))


def _shares(log_evidences: list[float]) -> Array:
    """Chances of explanations by prior times evidence, logarithms."""
    logs = np.array(log_evidences)
    if not np.isfinite(logs).any():
        raise NoSolutionError(
            "No cooling unit of this size works at the airflow and temperatures read: check tonnage, airflow and readings."
        )
    shares = np.exp(logs - np.max(logs[np.isfinite(logs)]))
    shares = np.where(np.isfinite(shares), shares, 0.0)
    return np.asarray(shares / shares.sum())


#: A fit's metering device and fault.
_Key = tuple[float, str]
_Fit = tuple[list[Parameter], Model, Drawn]


def _fit(
    job: Job,
    seen: Observed,
    fault: Fault,
    device: float,
    return_leak: Ends,
    count: int,
    generator: np.random.Generator,
    least: float,
) -> _Fit:
    unit = described(job, "expansion_valve" if device == EXPANSION_VALVE else "fixed_orifice")
    model = Model(job, seen, device, unit["refrigerant"].mid, unit["compressor"].mid, unit["coil_scale"].mid)
    parameters = [*changed(sound_parameters(job, unit, return_leak), fault.moves), *air_parameters(model)]
    if not seen.rows:
        z = generator.standard_normal((count, len(parameters)))
        return parameters, model, Drawn(z, np.full(count, 1.0 / count), 0.0, float(count))
    residuals, constant = residuals_of(model, parameters, fault.spread)
    drawn = draw_posterior(residuals, len(parameters), count, generator, least + constant)
    return parameters, model, Drawn(drawn.z, drawn.weight, drawn.log_evidence - constant, drawn.effective)


def residuals_of(model: Model, parameters: list[Parameter], spread: float) -> tuple[Residuals, float]:
    """Whitened residuals of all readings by coordinates, and what is to be taken from the logarithm of their evidence."""
    told = likelihood(model, spread)
    kinds = [(one.kind, one.point) for one in model.seen.rows]
    names = [one.name for one in parameters]
    air_errors = [names.index(name) for name in model.air_errors.names]

    def residuals(z: Array) -> Array:
        values = values_at(parameters, z)
        found = told.residuals(model.predicted(values, model.air(values), kinds), z[:, air_errors])
        found[~np.isfinite(found).all(axis=1)] = NO_STATE
        return np.clip(found, -NO_STATE, NO_STATE)

    return residuals, told.constant


def _survey_weights(
    job: Job, seen: Observed, load_ratio: float
) -> dict[str, tuple[float, list[tuple[str, str, dict[str, Any]]]]]:
    """Factor on each fault's weight by what was seen and asked, and the reasons: (explanation, "for" or "against", message)."""
    complaint = job.complaint.kinds[0]
    frosted = any(one.coil == "frosted" for one in job.readings)
    area = filter_area_m2(job)
    flow = next((one.shown[0] for one in seen.rows if one.kind == "airflow" and one.point == 0), None)
    fast = area is not None and flow is not None and flow / area > FAST_FILTER_M_S
    table = COMPLAINTS[complaint]
    usual = table["other"]
    found: dict[str, tuple[float, list[tuple[str, str, dict[str, Any]]]]] = {}
    for fault in FAULTS:
        name = fault.explanation
        reasons: list[tuple[str, str, dict[str, Any]]] = []
        chance = table.get(name, usual)
        factor = chance

        def reason(side: str, identity: str, name: str = name, reasons: list[Any] = reasons, **values: Any) -> None:
            reasons.append((name, side, {"id": f"explanation.why.{identity}", "values": values}))

        if chance >= 2.0 * usual:
            reason("for", f"complaint_{complaint}")
        elif chance <= 0.7 * usual and fault.group != NONE:
            reason("against", f"complaint_{complaint}")
        if frosted:
            factor *= FROST_SEEN.get(name, FROST_SEEN["other"])
            if name in FROST_SEEN and fault.group != NONE:
                reason("for" if FROST_SEEN[name] > FROST_SEEN["other"] else "against", "frost_seen")
        if name == "restricted_filter" and fast:
            factor *= FAST_FILTER_TIMES
            reason("for", "fast_filter")
        if name == "fan_on":
            factor *= 1.0 if job.thermostat.fan == "on" else 0.0
            if job.thermostat.fan == "on":
                reason("for", "fan_on")
        if name == "mismatched_coil":
            apart = job.system.coil_size.si - job.system.outdoor_size.si
            factor *= 1.0 if abs(apart) > MISMATCH_W else 0.0
            if abs(apart) > MISMATCH_W:
                reason("for", "sizes", coil=job.system.coil_size.text, outdoor=job.system.outdoor_size.text)
        if name == "small_load":
            factor *= 2.5 if load_ratio > 1.5 else 1.0 if load_ratio > 1.15 else 0.2
            reason("for" if load_ratio > 1.15 else "against", "load", ratio=round(100.0 * load_ratio))
        if name == "return_leak" and job.ducts.place == "inside":
            factor *= 0.2
            reason("against", "ducts_inside")
        if name == "return_leak" and job.ducts.return_leak is not None:
            large = job.ducts.return_leak.si > 0.09
            factor *= 3.0 if large else 0.1
            reason("for" if large else "against", "leak_surveyed")
        if name == "weak_capacitor" and job.blower.motor not in PSC:
            factor = 0.0
        found[fault.id] = (factor, reasons)
    return found


def explanations(explained: Explained, child: Callable[[str], np.random.Generator]) -> dict[str, Any]:
    """The ranked list with reasons, the answer, and the order of work, as it goes into the result."""
    chances = explained.chances
    groups = {one.fault.explanation: one.fault.group for one in explained.fitted}
    ranked = ranking(chances, groups)
    best = max(chances, key=lambda name: chances[name])
    airflow_known = any(one.kind == "airflow" for one in explained.seen.rows)
    expected = _expected(explained, child)
    listed = []
    for name in ranked:
        reasons = _evidence(name, explained, expected)
        listed.append(
            {
                "id": name,
                "group": groups[name],
                "probability": chances[name],
                "for": [one for side, one in reasons if side == "for"],
                "against": [one for side, one in reasons if side == "against"],
            }
        )
    notes: list[dict[str, Any]] = []
    if any(groups[name] == CHARGE and chances[name] > 0.05 for name in ranked):
        notes.append(
            {"id": "explanation.airflow_first" if airflow_known else "explanation.airflow_unread", "values": {}}
        )
    if explained.effective < 60.0:
        notes.append({"id": "explanation.few_effective", "values": {"number": round(explained.effective)}})
    answer = best if chances[best] >= TOLD else "cannot_tell"
    if answer != "cannot_tell" and groups[answer] == CHARGE and not airflow_known:
        answer = "cannot_tell"  # airflow before charge
    return {"answer": answer, "list": listed, "notes": notes, "effective": explained.effective}


def ranking(chances: dict[str, float], groups: dict[str, str]) -> list[str]:
    """Explanations by chance; while airflow may be at fault, none of charge stands before the likeliest of airflow."""
    by_chance = sorted(chances, key=lambda name: -chances[name])
    airflow = [name for name in by_chance if groups[name] == AIRFLOW]
    if sum(chances[name] for name in airflow) < AIRFLOW_FIRST:
        return by_chance
    first = by_chance.index(airflow[0])
    before = [name for name in by_chance[:first] if groups[name] != CHARGE]
    held = [name for name in by_chance[:first] if groups[name] == CHARGE]
    return [*before, airflow[0], *held, *by_chance[first + 1 :]]


_EXPECTED_DRAWS = 192
#: Below this logarithm of a ratio a reading is not worth a sentence.
SPEAKS = 0.7


def _expected(
    explained: Explained, child: Callable[[str], np.random.Generator]
) -> dict[str, list[tuple[float, float]]]:
    """Mean and spread of every reading under each explanation before readings, airflow as far as it is known counted in."""
    seen = explained.seen
    kinds = [(one.kind, one.point) for one in seen.rows]
    found: dict[str, list[tuple[float, float]]] = {}
    flow_rows = [n for n, one in enumerate(seen.rows) if one.kind == "airflow"]
    pooled: dict[str, tuple[list[Array], list[Array]]] = {}
    for one in explained.fitted:
        z = child(f"expected.{one.fault.id}.{one.device:.0f}").standard_normal((_EXPECTED_DRAWS, len(one.parameters)))
        values = values_at(one.parameters, z)
        made = one.model.predicted(values, one.model.air(values), kinds)
        score = np.zeros(len(made))
        for n in flow_rows:
            row = seen.rows[n]
            score -= 0.5 * np.square((made[:, n] - row.value.value) / max(row.value.sigma, 0.05))
        made[~np.isfinite(made).all(axis=1)] = np.nan
        score[np.isnan(made).any(axis=1)] = -np.inf
        if not np.isfinite(score).any():
            continue
        weight = np.exp(score - np.max(score)) * max(one.share, 1e-12)
        readings, weights = pooled.setdefault(one.fault.explanation, ([], []))
        readings.append(np.nan_to_num(made))
        weights.append(weight)
    for name, (readings, weights) in pooled.items():
        every, weight = np.concatenate(readings), np.concatenate(weights)
        weight = weight / weight.sum()
        mean = weight @ every
        spread = np.sqrt(weight @ np.square(every - mean))
        found[name] = [
            (float(m), float(np.hypot(np.hypot(s, row.value.sigma), row.model_sigma)))
            for m, s, row in zip(mean, spread, seen.rows, strict=True)
        ]
    return found


def _evidence(
    name: str, explained: Explained, expected: dict[str, list[tuple[float, float]]]
) -> list[tuple[str, dict[str, Any]]]:
    """(side, message) of what speaks for and against, the weightiest first, at most three of each side by readings."""
    reasons = [(side, one) for who, side, one in explained.survey if who == name]
    reasons = list({(side, one["id"]): (side, one) for side, one in reasons}.values())
    if name not in expected or name == "something_else":
        return reasons
    chances = explained.chances
    scored: list[tuple[float, Observation, tuple[float, float]]] = []
    for place, row in enumerate(explained.seen.rows):
        own = _log_density(row.value.value, *expected[name][place])
        others = [
            (chances[other], _log_density(row.value.value, *expected[other][place]))
            for other in expected
            if other not in (name, "something_else")
        ]
        whole = sum(chance for chance, _ in others)
        if whole <= 0.0:
            continue
        rest = float(np.log(sum(chance / whole * np.exp(log) for chance, log in others) + 1e-300))
        scored.append((own - rest, row, expected[name][place]))
    for side, sign in (("for", 1.0), ("against", -1.0)):
        speaking = sorted((one for one in scored if sign * one[0] > SPEAKS), key=lambda one: -sign * one[0])[:3]
        reasons += [(side, _sentence(row, wanted, side)) for _, row, wanted in speaking]
    return reasons


def _log_density(value: float, mean: float, sigma: float) -> float:
    return -0.5 * ((value - mean) / sigma) ** 2 - float(np.log(sigma))


_LOGARITHMIC = ("airflow", "fan_table", "condensate", "supply_humidity", "external_static", "capacitor", "blower_power")


def _sentence(row: Observation, wanted: tuple[float, float], side: str) -> dict[str, Any]:
    """A reading, and the range this explanation would make it."""
    mean, sigma = wanted
    low, high = mean - 1.645 * sigma, mean + 1.645 * sigma
    shown, unit = row.shown
    if row.kind in _LOGARITHMIC or row.kind.endswith("_drop"):
        ends = [shown * float(np.exp(end - row.value.value)) for end in (low, high)]
    else:
        ends = [low, high]
        if row.kind in ("superheat", "subcooling"):
            ends = [max(end, 0.0) for end in ends]
    return {
        "id": f"explanation.reads.{row.kind}",
        "values": {
            "read": {"value": shown, "unit": unit},
            "low": {"value": ends[0], "unit": unit},
            "high": {"value": ends[1], "unit": unit},
        },
    }


__all__ = ["HOUSE", "Explained", "Fitted", "devices", "explanations", "fit_faults", "ranking", "residuals_of"]
