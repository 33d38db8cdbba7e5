"""Moist air: million states a second of humidity ratio, enthalpy and wet bulb, against PsychroLib with its numba switch."""

import time
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def _states(low_c: float, high_c: float, count: int) -> tuple[Array, Array, Array]:
    """Random states; above 5 degC only those whose wet bulb is clear of freezing, the frost side stands apart."""
    from airtrim.physics.air.many import FROST_CLEAR_C, air_states

    rng = np.random.default_rng(7)
    t, rh = rng.uniform(low_c, high_c, 2 * count), rng.uniform(0.1, 0.98, 2 * count)
    p = np.full(2 * count, 101325.0)
    keep = air_states(t, rh, p)[2] > FROST_CLEAR_C if low_c >= 5.0 else np.full(2 * count, True)
    return t[keep][:count], rh[keep][:count], p[:count]


def _theirs(t: Array, rh: Array, p: Array) -> None:
    import psychrolib

    ratio = psychrolib.GetHumRatioFromRelHum(t, rh, p)
    psychrolib.GetMoistAirEnthalpy(t, ratio)
    psychrolib.GetTWetBulbFromHumRatio(t, ratio, p)


def _rate(call: Callable[[], object], count: int) -> float:
    began = time.perf_counter()
    call()
    return count / (time.perf_counter() - began) / 1e6


def run() -> list[dict[str, Any]]:
    """Best of five, ours and theirs in turn, one thread; the frost side apart."""
    import psychrolib

    from airtrim.physics.air.many import air_states

    psychrolib.SetUnitSystem(psychrolib.SI)
    entries = []
    for name, low, high in (("moist_air", 5.0, 45.0), ("moist_air_frost", -20.0, 5.0)):
        many, few = _states(low, high, 100_000), _states(low, high, 40_000)
        air_states(*(one[:100] for one in many))
        _theirs(*(one[:100] for one in few))
        out = np.empty((3, 100_000))
        ours = theirs = 0.0
        for _ in range(5):
            ours = max(ours, _rate(lambda many=many, out=out: [air_states(*many, out) for _ in range(10)], 1_000_000))
            theirs = max(theirs, _rate(lambda few=few: _theirs(*few), 40_000))
        entries.append(
            {"bench": name, "value": ours, "unit": "million states/s", "better": "higher",
             "against": "PsychroLib with numba", "ratio": ours / theirs}
        )  # fmt: skip
    return entries
