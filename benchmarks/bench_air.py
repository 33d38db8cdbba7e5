"""Moist air: million states a second of humidity ratio, enthalpy and wet bulb, against PsychroLib with its numba switch."""

import time
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
ROUNDS, OURS, THEIRS = 9, 1_000_000, 40_000


def _random_states(low_c: float, high_c: float) -> list[Array]:
    generator = np.random.default_rng(7)
    return [
        generator.uniform(low_c, high_c, OURS),
        generator.uniform(0.1, 0.98, OURS),
        generator.uniform(80000.0, 103000.0, OURS),
    ]


def _psychrolib_states(t: Array, rh: Array, p: Array) -> None:
    import psychrolib

    ratio = psychrolib.GetHumRatioFromRelHum(t, rh, p)
    psychrolib.GetMoistAirEnthalpy(t, ratio)
    psychrolib.GetTWetBulbFromHumRatio(t, ratio, p)


def _millions_a_second(call: Callable[..., object], states: list[Array]) -> float:
    began = time.perf_counter()
    call(*states)
    return len(states[0]) / (time.perf_counter() - began) / 1e6


def run() -> list[dict[str, Any]]:
    """The best of nine rounds, ours and theirs in turn, one thread; the frost side apart. Same kind of states for both."""
    import psychrolib

    from airtrim.physics.air.many import air_states

    psychrolib.SetUnitSystem(psychrolib.SI)  # psychrolib vectorises itself with numba where that can be imported
    entries = []
    for name, low_c, high_c in (("moist_air", 5.0, 45.0), ("moist_air_frost", -20.0, 5.0)):
        many = _random_states(low_c, high_c)
        few = [one[:THEIRS] for one in many]
        for call in (air_states, _psychrolib_states):  # compile first
            call(*(one[:100] for one in few))
        ours = theirs = 0.0
        for _ in range(ROUNDS):
            ours = max(ours, _millions_a_second(air_states, many))
            theirs = max(theirs, _millions_a_second(_psychrolib_states, few))
        entries.append(
            {
                "bench": name,
                "value": ours,
                "unit": "million states/s",
                "better": "higher",
                "against": "PsychroLib with numba",
                "ratio": ours / theirs,
            }
        )
    return entries
