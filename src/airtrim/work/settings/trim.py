"""Trim by hand: one option with its settings changed, and the year it would have, one system first and then the sample."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, replace
from typing import Any, Final

import numpy as np

from airtrim.core.errors import InputError, NoSolutionError
from airtrim.job.measured import measured
from airtrim.physics.season.system import WeatherArrays
from airtrim.physics.season.year import YearResults, run_years
from airtrim.work.findings import Findings
from airtrim.work.options.candidates import Candidate, drive, leave_as_is
from airtrim.work.options.weigh import option_results

#: Step of the answer while a hand moves, and of the sharp one.
SCREEN_STEP_S, SHARP_STEP_S = 60.0, 10.0
#: What can be trimmed, in own words: unit, least, most, example.
WORDS: Final = {
    "least_airflow": ("m**3/s", 0.02, 2.0, "900 cfm"),
    "coil_sensor_drop": ("delta_degC", 4.0, 25.0, "26 F"),
    "off_delay": ("s", 0.0, 900.0, "30 s"),
    "ramp_time": ("s", 0.0, 1800.0, "30 s"),
}
Stop = Callable[[float], bool | None]


@dataclass(frozen=True)
class Values:
    """Where a hand put the settings: least airflow as a part of the present one, drop in K, times in s."""

    least_flow: float
    sensor_drop_k: float
    off_delay_s: float
    ramp_time_s: float


#: Where trimming begins when no setting was found.
BEGIN: Final = Values(0.8, 12.0, 30.0, 30.0)


@dataclass(frozen=True)
class Ready:
    """A job made ready to be trimmed: its systems, its weather, and the year as it is now on `count` systems."""

    found: Findings
    weather: WeatherArrays
    now: Candidate
    now_screen: YearResults
    count: int


def ready(found: Findings, weather: WeatherArrays, count: int) -> Ready:
    """Run the year as it is now on the first `count` systems at the screening step."""
    now = leave_as_is(found)
    assert now.program is not None
    years = run_years(found.system.first(count), [now.program], weather, SCREEN_STEP_S)
    return Ready(found, weather, now, years, count)


def values_of(candidate: Candidate) -> Values:
    """Where a drive's program stands."""
    program = candidate.program
    if program is None or not candidate.watches_coil:
        return BEGIN
    return Values(program.least_flow, program.coil_sensor_drop_k, program.off_delay_s, program.ramp_time_s)


def read_values(given: Mapping[str, str], begin: Values, full_m3_s: float) -> Values:
    """The values with some replaced, from texts with their units; raises `InputError` in one sentence."""
    changed: dict[str, float] = {}
    names = {"least_airflow": "least_flow", "coil_sensor_drop": "sensor_drop_k", "off_delay": "off_delay_s",
             "ramp_time": "ramp_time_s"}  # fmt: skip
    for word, text in given.items():
        if word not in WORDS:
            raise InputError(f"'{word}' cannot be trimmed; known here: {', '.join(WORDS)}.")
        unit, low, high, example = WORDS[word]
        value = measured(text, unit, low, high, word, example).si
        changed[names[word]] = value / full_m3_s if word == "least_airflow" else value
    values = replace(begin, **changed)
    if not 0.3 <= values.least_flow <= 1.0:
        raise InputError(
            f"least_airflow must lie between 30 and 100 % of the present airflow of {full_m3_s / 0.0004719474432:.0f} cfm, got "
            f"{100.0 * values.least_flow:.0f} % of it: give an airflow in between."
        )
    return values


def candidate_of(found: Findings, now: Candidate, values: Values) -> Candidate:
    """The drive so set; raises `NoSolutionError` where motor or card cannot do it (its message is the reason's id)."""
    made = drive(found, now, values.least_flow, values.sensor_drop_k)
    if made.program is None:
        raise NoSolutionError(made.why_not)
    return replace(made, program=replace(made.program, off_delay_s=values.off_delay_s, ramp_time_s=values.ramp_time_s))


def run_trimmed(
    made: Ready, values: Values, count: int, step_s: float, stop: Stop | None = None
) -> tuple[Candidate, YearResults]:
    """The candidate and its year beside leaving it alone, `[count, 2]`, on the first systems."""
    found = replace(made.found, system=made.found.system.first(count))
    candidate = candidate_of(found, made.now, values)
    assert candidate.program is not None and made.now.program is not None
    watts = None if candidate.watts is None else candidate.watts[:count]
    candidate = replace(candidate, watts=watts)
    if step_s == SCREEN_STEP_S and count == made.count:
        program = candidate.program
        assert program is not None
        year = run_years(found.system, [program], made.weather, step_s, [watts], stop)
        return candidate, beside(made.now_screen, year)
    both = [program for one in (made.now, candidate) if (program := one.program) is not None]
    return candidate, run_years(found.system, both, made.weather, step_s, [None, watts], stop)


def trimmed(made: Ready, values: Values, count: int, step_s: float, stop: Stop | None = None) -> dict[str, Any]:
    """The option as it is weighed, so set, against leaving it alone: now, figures, differences, limits, safe.

    `stop` cancels by returning True (`Cancelled`).
    """
    found = replace(made.found, system=made.found.system.first(count))
    candidate, years = run_trimmed(made, values, count, step_s, stop)
    now, own = option_results(found, [made.now, candidate], years)
    answer = {"now": now["figures"], "systems": count, "step_s": step_s, "values": vars(values)}
    return answer | {key: own[key] for key in ("figures", "differences", "limits", "safe")}


def beside(first: YearResults, second: YearResults) -> YearResults:
    """Two runs of the same systems as one, programs side by side; what only one of them has comes from the second."""
    joined: dict[str, Any] = {}
    for one in fields(YearResults):
        then, now = getattr(first, one.name), getattr(second, one.name)
        joined[one.name] = np.concatenate([then, now], axis=1) if isinstance(then, np.ndarray) else now
    return YearResults(**joined)
