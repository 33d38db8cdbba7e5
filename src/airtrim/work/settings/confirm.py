"""The proof of a setting by calculation: all systems at 10 s under every scenario, each limit with its chance."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import Cancelled
from airtrim.work.figure import Figure, figure
from airtrim.work.options.candidates import Candidate
from airtrim.work.settings.judge import BROKEN_PART, LIMITS, Chance, broken, chance_of, measured
from airtrim.work.settings.knobs import off_delays
from airtrim.work.settings.scenarios import COLD, HOT, TYPICAL, WET, run_under
from airtrim.work.settings.search import NOISE_SIGMAS, Search

STEP_S = 10.0
#: Scenarios of the proof. A sensor that shows too little leaves the coil warmer than the typical year does: no limit comes nearer.
SCENARIOS = (TYPICAL, COLD, HOT, WET)


@dataclass(frozen=True)
class Confirmed:
    """Chances by limit; gains against leaving it alone, paired, by year; whether every limit is kept as often as is asked for.

    `margin_k` is each system's least icing margin of the typical year, `[N]`.
    """

    chances: list[Chance]
    gains: list[dict[str, Any]]
    margin_k: NDArray[np.float64]
    held: bool


def confirm(search: Search, candidate: Candidate, progress: Callable[[float], object] | None = None) -> Confirmed:
    """Run leaving it alone and the candidate on all systems of the search's findings. Raises `Cancelled`."""
    found = search.found
    any_broken = {name: np.zeros(found.system.count, dtype=bool) for name in LIMITS}
    gains: list[dict[str, Any]] = []
    margin = np.empty(0)
    for place, scenario in enumerate(SCENARIOS):

        def heard(done: float, place: int = place) -> bool:
            return progress is not None and progress((place + done) / len(SCENARIOS)) is True

        years = run_under(
            found, [search.now, candidate], scenario, search.years, STEP_S, search.accuracy_k, progress=heard
        )
        read = measured(years, search.aim)
        for name, hits in broken(read, scenario.id).items():
            any_broken[name] |= hits[:, 1]
        if scenario is TYPICAL:
            margin = years.least_icing_margin_k[:, 1]
        if scenario is not COLD:
            gains.append({"scenario": scenario.id, "figures": _gains(years)})
    chances = [chance_of(name, hits) for name, hits in any_broken.items()]
    held = all(one.claimed or one.broken <= BROKEN_PART * one.systems for one in chances if one.limit != "sweat")
    if found.system.count >= 200:
        held = all(one.claimed for one in chances if one.limit in ("coil", "frost"))
    return Confirmed(chances, gains, margin, held)


def _gains(years: Any) -> list[Figure]:
    """What changes, paired system by system."""
    shown = {"damp_hours": "h/yr", "mean_relative_humidity": "points", "compressor_kwh": "kWh/yr", "blower_kwh": "kWh/yr",
             "hours_set_point_missed": "h/yr", "sweat_hours": "h/yr"}  # fmt: skip
    return [figure(name, getattr(years, name)[:, 1] - getattr(years, name)[:, 0], unit) for name, unit in shown.items()]


def with_best_off_delay(search: Search, candidate: Candidate) -> Candidate:
    """The candidate with the off-delay that serves the aim best at 10 s on stitched weeks; a shorter one among equals.

    An off-delay is too short for the screening's step, so it is chosen by itself.
    """
    assert candidate.program is not None
    delays = off_delays(search.found, search.space.option)
    tried = [replace(candidate, program=replace(candidate.program, off_delay_s=value)) for value in delays]
    years = run_under(
        search.found,
        tried,
        TYPICAL,
        search.years,
        STEP_S,
        search.accuracy_k,
        search.places(False),
        search.weeks(TYPICAL),
    )
    aims = measured(years, search.aim).aim
    best = 0
    for place in range(1, len(delays)):
        gain = aims[:, best] - aims[:, place]
        noise = NOISE_SIGMAS * float(gain.std(ddof=1)) / np.sqrt(len(gain)) if len(gain) > 1 else 0.0
        if float(gain.mean()) > noise:
            best = place
    if search.stopped():
        raise Cancelled("The search for settings was stopped: start it again for the answer.")
    return tried[best]
