"""Many systems under several airflow programs through a year of weather."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from airtrim.core.errors import OutOfRangeError, WeatherError
from airtrim.physics.season.layout import parameter_rows, setting_rows
from airtrim.physics.season.machines import Client, run_on_machines
from airtrim.physics.season.many import Asked, HouseYear, Progress, Told, run_house_years
from airtrim.physics.season.results import YearResults as YearResults
from airtrim.physics.season.results import results_of, side_by_side
from airtrim.physics.season.system import AirflowProgram, Array, SystemSample, WeatherArrays
from airtrim.physics.season.weeks import WHOLE_YEAR, Calendar


def run_years(
    systems: SystemSample,
    programs: Sequence[AirflowProgram],
    weather: WeatherArrays | Sequence[WeatherArrays],
    step_s: float = 10.0,
    fan_watts: Sequence[Array | None] | None = None,
    progress: Progress | None = None,
    threads: int = 2,
    *,
    by_hour: bool = False,
    hourly: bool = False,
    traces: Sequence[int] = (),
    client: Client | None = None,
    calendar: Calendar = WHOLE_YEAR,
) -> YearResults:
    """Run every system under every program through the year, or through each of K years: then results are `[N, M, K]`.

    `step_s` (1 to 60, dividing 3,600): 10 for results, 60 for screening. `fan_watts[m]` replaces the systems' own watts
    cubic under program m (`[N, 4]`). `progress(done)` hears 0 to 1 and cancels by returning True (`Cancelled`).
    `by_hour`, `hourly` and `traces` (days of the year, 0 to 364) ask for what `YearResults.details` holds; season/many.py states
    its memory. Each house-year is computed alone and in the same order of operations, so results do not depend on the batch,
    nor on what is asked for, to the last bit; neither do they on where: a dask.distributed `client`'s workers give the same
    (season/machines.py), and `threads` is then not used. A `calendar` of representative weeks (season/weeks.py) stands for the year
    in a search, in this process only; what lasts over weeks (mould, spells) is then not comparable, and balances are NaN.
    """
    weathers = list(weather) if isinstance(weather, Sequence) else [weather]
    check_asked(programs, weathers, step_s, fan_watts, traces)
    watts = fan_watts if fan_watts is not None else [None] * len(programs)
    rows = [
        parameter_rows(systems, program, systems.fan_watts if own is None else own)
        for program, own in zip(programs, watts, strict=True)
    ]
    settings = [setting_rows(systems, program) for program in programs]
    low = systems.low_stage_surfaces if systems.low_stage_surfaces.shape[1] > 0 else 0.0 * systems.surfaces
    wanted = [
        HouseYear(rows[m][n], systems.surfaces[n], settings[m][n], k, low[n])
        for k in range(len(weathers))
        for m in range(len(programs))
        for n in range(systems.count)
    ]
    asked = Asked(by_hour, hourly, tuple(dict.fromkeys(traces)))
    if client is None:
        told = run_house_years(wanted, weathers, step_s, progress, threads, asked, calendar)
    else:
        told = run_on_machines(client, wanted, weathers, step_s, progress, asked)
    years = []
    for k, one in enumerate(weathers):
        margins = np.stack([design_margin_w(systems, program, one) for program in programs], axis=1)
        ours = slice(k * len(wanted) // len(weathers), (k + 1) * len(wanted) // len(weathers))
        by_system = Told(*(_by_system(values[ours], len(programs)) for values in vars(told).values()))
        years.append(results_of(by_system, margins, systems.circuit_offset_k, one.pressure_pa, asked, step_s))
    return side_by_side(years) if isinstance(weather, Sequence) else years[0]


def _by_system(values: Any, programs: int) -> Any:
    """`[M x N, ...]` as `[N, M, ...]`."""
    return np.moveaxis(values.reshape(programs, len(values) // programs, *values.shape[1:]), 0, 1)


def design_margin_w(systems: SystemSample, program: AirflowProgram, weather: WeatherArrays) -> Array:
    """Sensible capacity at full program airflow less the sensible load, W, steady at the design hour; `[N]`.

    Room at set-point and 50 % relative humidity; the attic at its peak gain; sun the mean of the design dry-bulb's hours.
    """
    from airtrim.physics.season.design import design_balance

    return design_balance(systems, program, weather)


def check_asked(
    programs: Sequence[AirflowProgram],
    weathers: Sequence[WeatherArrays],
    step_s: float,
    fan_watts: Sequence[Array | None] | None,
    traces: Sequence[int],
) -> None:
    """Refuse what cannot be run, in one sentence (`OutOfRangeError`, `WeatherError`)."""
    if not programs:
        raise OutOfRangeError("No airflow program was given to run: give at least one.")
    if not (1.0 <= step_s <= 60.0 and 3600.0 % step_s == 0.0):
        raise OutOfRangeError(f"step_s must lie in 1 to 60 s and divide 3600 s, got {step_s:g} s: use 10 or 60.")
    if fan_watts is not None and len(fan_watts) != len(programs):
        raise OutOfRangeError(
            f"fan_watts holds {len(fan_watts)} entries for {len(programs)} programs: give one for each."
        )
    if any(not 0 <= day <= 364 for day in traces):
        raise OutOfRangeError(f"Days to trace must lie in 0 to 364, got {sorted(traces)}: 0 is the first of January.")
    if not weathers:
        raise OutOfRangeError("No weather year was given to run: give at least one.")
    for weather in weathers:
        for name in ("dry_bulb_c", "humidity_ratio", "wind_m_s", "ghi_w_m2", "facade_w_m2"):
            value = getattr(weather, name)
            if len(value) != 8760 or not np.all(np.isfinite(value)):
                raise WeatherError(
                    f"Weather column {name} must hold 8,760 finite hours, got {len(value)}: mend the weather file."
                )
