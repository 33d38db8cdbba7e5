"""Years of several cases at once, each with a sample of systems of its own: what options do to one house.

`run_years` runs one sample under many programs; here every case brings its sample, as sealing the ducts changes it, and all
house-years still go through the lanes and over the cores together.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from airtrim.core.errors import OutOfRangeError
from airtrim.physics.season.design import design_balance
from airtrim.physics.season.layout import parameter_rows, setting_rows
from airtrim.physics.season.many import Asked, HouseYear, Progress, Told, run_house_years
from airtrim.physics.season.results import YearResults, results_of
from airtrim.physics.season.system import AirflowProgram, Array, SystemSample, WeatherArrays
from airtrim.physics.season.year import check_asked


@dataclass(frozen=True)
class Case:
    """N systems under one airflow program; `fan_watts` `[N, 4]` replaces the systems' own watts cubic."""

    systems: SystemSample
    program: AirflowProgram
    fan_watts: Array | None = None


def run_cases(
    cases: Sequence[Case],
    weather: WeatherArrays,
    step_s: float = 10.0,
    progress: Progress | None = None,
    threads: int = 2,
    *,
    by_hour: bool = False,
    hourly: bool = False,
) -> YearResults:
    """Results `[N, M]` of M cases; system n of every case is compared with system n of every other, so N must agree.

    Arguments as `run_years`, and the same bits as if each case were run by itself. Raises OutOfRangeError where cases hold
    different numbers of systems.
    """
    check_asked([case.program for case in cases], [weather], step_s, None, ())
    counts = [case.systems.count for case in cases]
    if len(set(counts)) > 1:
        raise OutOfRangeError(f"The cases hold {sorted(set(counts))} systems: give all cases the same number.")
    wanted: list[HouseYear] = []
    for case in cases:
        systems, program = case.systems, case.program
        rows = parameter_rows(systems, program, systems.fan_watts if case.fan_watts is None else case.fan_watts)
        settings = setting_rows(systems, program)
        low = systems.low_stage_surfaces if systems.low_stage_surfaces.shape[1] > 0 else 0.0 * systems.surfaces
        wanted += [HouseYear(rows[n], systems.surfaces[n], settings[n], 0, low[n]) for n in range(systems.count)]
    asked = Asked(by_hour, hourly)
    told = run_house_years(wanted, [weather], step_s, progress, threads, asked)
    each = [
        results_of(
            Told(*(values[m * counts[0] : (m + 1) * counts[0], None] for values in vars(told).values())),
            design_balance(case.systems, case.program, weather)[:, None],
            case.systems.circuit_offset_k,
            weather.pressure_pa,
            asked,
            step_s,
        )
        for m, case in enumerate(cases)
    ]
    return beside(each)


def beside(years: Sequence[YearResults]) -> YearResults:
    """Results of the same systems under several sets of programs as one, programs side by side."""
    merged: YearResults = _beside(years)
    return merged


def _beside(parts: Sequence[Any]) -> Any:
    first = parts[0]
    if isinstance(first, np.ndarray):
        return first if first.ndim == 1 else np.concatenate(parts, axis=1)
    if isinstance(first, dict):
        return {key: _beside([part[key] for part in parts]) for key in first}
    return type(first)(**{name: _beside([getattr(part, name) for part in parts]) for name in vars(first)})
