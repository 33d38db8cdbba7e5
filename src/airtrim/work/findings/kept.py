"""The systems everything later carries, drawn from all explanations in proportion to their chances."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import NoSolutionError
from airtrim.work.findings.explain import Explained, Fitted
from airtrim.work.findings.parameters import values_at
from airtrim.work.findings.response import unit_states

Array = NDArray[np.float64]
#: Return degC, humidity ratio, outdoor degC of a house being cooled, and dry air's density there, kg/m3.
USUAL_AIR, DENSITY = np.array([[23.9, 0.0097, 29.0]]), 1.17
_KEPT = ("airflow", "blower_watts", "return_leak", "attic_gain", "tap_ratio")


@dataclass(frozen=True)
class Machines:
    """Units `[N, len(UNIT_FIELDS)]`; values by name, each `[N]`: airflow m3/s, blower_watts, return_leak, attic_gain, tap_ratio.

    `air` `[N, P, 3]` is the air of every point as each machine has it (return degC, humidity ratio, outdoor degC);
    `airflow_m3_s` the median airflow of all draws, `airflow_sigma` the spread of its logarithm.
    """

    units: Array
    values: dict[str, Array]
    air: Array
    airflow_m3_s: float
    airflow_sigma: float


def machines(explained: Explained, count: int, child: Callable[[str], np.random.Generator]) -> Machines:
    """`count` machines drawn by share and weight."""
    pooled: dict[int, tuple[Fitted, float]] = {}
    for one in explained.fitted:  # explanations that share a fit draw from it together
        before = pooled.get(id(one.drawn))
        pooled[id(one.drawn)] = (one, one.share + (before[1] if before is not None else 0.0))
    units, airs, weights = [], [], []
    pressure = explained.seen.pressure_pa
    kept: dict[str, list[Array]] = {name: [] for name in _KEPT}
    for one, share in pooled.values():
        worth = one.drawn.weight * share > 1e-9  # the others would never be drawn
        if not worth.any():
            continue
        values = values_at(one.parameters, one.drawn.z[worth])
        values["airflow"] = one.model.airflow_m3_s(values)[0]
        values["blower_watts"] = one.model.blower_watts(values)
        rows = one.model.rows(values)
        # a machine without a steady state at usual conditions would not have cooled the house so far
        usual = np.tile(USUAL_AIR, (len(rows), 1, 1))
        runs = np.isfinite(unit_states(rows, values["airflow"][:, None] * DENSITY, usual, pressure)[:, 0, 0])
        units.append(rows)
        airs.append(one.model.air(values))
        weights.append(one.drawn.weight[worth] * share * runs)
        for name, column in kept.items():
            column.append(values[name])
    weight = np.concatenate(weights)
    joined = {name: np.concatenate(column) for name, column in kept.items()}
    if not weight.sum() > 0.0:
        raise NoSolutionError(
            "No cooling unit of this size works at the airflow and temperatures read: check tonnage, airflow and readings."
        )
    weight = weight / weight.sum()
    log_flow = np.log(joined["airflow"])
    order = np.argsort(log_flow)
    middle = float(np.interp(0.5, np.cumsum(weight[order]) - 0.5 * weight[order], log_flow[order]))
    spread = float(np.sqrt(weight @ np.square(log_flow - weight @ log_flow)))
    chosen = resampled(weight, joined["airflow"], count, child("resample"))
    values = {name: column[chosen] for name, column in joined.items()}
    return Machines(np.concatenate(units)[chosen], values, np.concatenate(airs)[chosen], float(np.exp(middle)), spread)


def resampled(weight: Array, ordered_by: Array, count: int, generator: np.random.Generator) -> NDArray[np.intp]:
    """Indices of `count` candidates drawn by weight, evenly over `ordered_by`, in an order of no meaning.

    A systematic draw keeps whatever order it walks in: through the points' own (quasi-random) order it would meet every
    sixteenth of them, which cluster. So it walks along one quantity, and what it finds is shuffled.
    """
    order = np.argsort(ordered_by, kind="stable")
    places = (np.arange(count) + generator.random()) / count
    chosen = np.searchsorted(np.cumsum(weight[order]), places, side="right")
    return np.asarray(generator.permutation(order[np.minimum(chosen, len(weight) - 1)]))
