"""Many systems under several airflow programs through a year of weather."""

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from airtrim.core.errors import OutOfRangeError, WeatherError
from airtrim.physics.coil.frost import STOP_C, WARN_C
from airtrim.physics.season.layout import MONTHLY, SATURATION_MARKS_C, parameter_rows, setting_rows
from airtrim.physics.season.many import DAYS_OF_MONTH, HouseYear, Progress, over_months, run_house_years
from airtrim.physics.season.system import AirflowProgram, Array, SystemSample, WeatherArrays

#: The low percentile that icing margins are judged by.
LOW_PART = 0.05
JOULES_PER_KWH = 3.6e6


@dataclass(frozen=True)
class YearResults:
    """A year's sums and means, arrays `[N systems, M programs]`, monthly ones `[N, M, 12]`; `[N, M, K]` and `[N, M, K, 12]` for
    K years of weather.

    Hours are hours of the year; energies kWh; `water_kg` went down the drain; temperatures degC; margins W. Balances are
    (in - out - held) over the sum of the absolute flows.

    Icing margins, K, are the coldest circuit-inlet saturation less 32 F while the unit runs settled: the least of the year
    and of each month (NaN in a month without such running), and the 5th percentile over running time
    (`low_icing_margin`). `warn_hours` and `stop_hours` ran below 36 F and 32 F there. `frost_hours` are all hours with a
    gram of frost or more on the coil, running or not; `frozen_kg` is what froze in the year. `air_blocked` is the part of
    the airflow that frost took away, over all cooling time; `greatest_air_blocked` the worst moment.
    """

    damp_hours: Array
    hours_over_65: Array
    mean_relative_humidity: Array
    monthly_relative_humidity: Array
    mean_temperature_c: Array
    sensible_kwh: Array
    latent_kwh: Array
    water_kg: Array
    compressor_kwh: Array
    blower_kwh: Array
    heating_kwh: Array
    run_hours: Array
    starts: Array
    least_saturated_suction_c: Array
    least_icing_margin_k: Array
    monthly_least_icing_margin_k: Array
    low_icing_margin_k: Array
    warn_hours: Array
    stop_hours: Array
    frost_hours: Array
    frost_peak_kg: Array
    frozen_kg: Array
    air_blocked: Array
    greatest_air_blocked: Array
    hours_set_point_missed: Array
    design_margin_w: Array
    least_supply_c: Array
    sweat_hours: Array
    mean_flow_fraction: Array
    water_balance: Array
    energy_balance: Array


def run_years(
    systems: SystemSample,
    programs: Sequence[AirflowProgram],
    weather: WeatherArrays | Sequence[WeatherArrays],
    step_s: float = 10.0,
    fan_watts: Sequence[Array | None] | None = None,
    progress: Progress | None = None,
    threads: int = 2,
) -> YearResults:
    """Run every system under every program through the year, or through each of K years: then results are `[N, M, K]`.

    `step_s` (1 to 60, dividing 3,600): 10 for results, 60 for screening. `fan_watts[m]` replaces the systems' own watts
    cubic under program m (`[N, 4]`). `progress(done)` hears 0 to 1 and cancels by returning True (`Cancelled`).
    Each house-year is computed alone and in the same order of operations, so results do not depend on the batch, to the
    last bit (season/many.py; memory is stated there).
    """
    weathers = list(weather) if isinstance(weather, Sequence) else [weather]
    _check(programs, weathers, step_s, fan_watts)
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
    told = run_house_years(wanted, weathers, step_s, progress, threads)
    years = []
    for k, one in enumerate(weathers):
        margins = np.stack([design_margin_w(systems, program, one) for program in programs], axis=1)
        ours = slice(k * len(wanted) // len(weathers), (k + 1) * len(wanted) // len(weathers))
        by_system, closing = (
            np.moveaxis(values[ours].reshape(len(programs), systems.count, *values.shape[1:]), 0, 1)
            for values in (told.months, told.balances)
        )
        years.append(_results(by_system, closing, margins, systems.circuit_offset_k))
    if not isinstance(weather, Sequence):
        return years[0]
    names = [field.name for field in fields(YearResults)]
    return YearResults(*(np.stack([getattr(one, name) for one in years], axis=2) for name in names))


def design_margin_w(systems: SystemSample, program: AirflowProgram, weather: WeatherArrays) -> Array:
    """Sensible capacity at full program airflow less the sensible load, W, steady at the design hour; `[N]`.

    Room at set-point and 50 % relative humidity; the attic at its peak gain; sun the mean of the design dry-bulb's hours.
    """
    from airtrim.physics.season.design import design_balance

    return design_balance(systems, program, weather)


def _check(
    programs: Sequence[AirflowProgram],
    weathers: Sequence[WeatherArrays],
    step_s: float,
    fan_watts: Sequence[Array | None] | None,
) -> None:
    if not programs:
        raise OutOfRangeError("No airflow program was given to run: give at least one.")
    if not (1.0 <= step_s <= 60.0 and 3600.0 % step_s == 0.0):
        raise OutOfRangeError(f"step_s must lie in 1 to 60 s and divide 3600 s, got {step_s:g} s: use 10 or 60.")
    if fan_watts is not None and len(fan_watts) != len(programs):
        raise OutOfRangeError(
            f"fan_watts holds {len(fan_watts)} entries for {len(programs)} programs: give one for each."
        )
    if not weathers:
        raise OutOfRangeError("No weather year was given to run: give at least one.")
    for weather in weathers:
        for name in ("dry_bulb_c", "humidity_ratio", "wind_m_s", "ghi_w_m2", "facade_w_m2"):
            value = getattr(weather, name)
            if len(value) != 8760 or not np.all(np.isfinite(value)):
                raise WeatherError(
                    f"Weather column {name} must hold 8,760 finite hours, got {len(value)}: mend the weather file."
                )


def _results(sums: Array, balances: Array, margins: Array, circuit_offset_k: Array) -> YearResults:
    column = {name: sums[..., i] for i, name in enumerate(MONTHLY)}
    seconds = np.array(DAYS_OF_MONTH) * 86400.0
    year = {name: over_months(values, 2) for name, values in column.items()}
    hours = {name: year[name] / 3600.0 for name in year if name.endswith("_s")}
    run = np.maximum(year["run_s"], 1e-9)
    offset = circuit_offset_k[:, None]
    settled = column["settled_run_s"] > 0.0
    monthly_margin = np.where(settled, column["least_suction_c"] - offset[..., None] - STOP_C, np.nan)
    least_suction = column["least_suction_c"].min(axis=2)
    below = np.stack([year[name] for name in MONTHLY if name.startswith("coldest_below")], axis=-1)
    return YearResults(
        damp_hours=hours["over_60_s"],
        hours_over_65=hours["over_65_s"],
        mean_relative_humidity=year["relative_humidity_s"] / seconds.sum(),
        monthly_relative_humidity=column["relative_humidity_s"] / seconds,
        mean_temperature_c=year["air_temperature_s"] / seconds.sum(),
        sensible_kwh=year["sensible_j"] / JOULES_PER_KWH,
        latent_kwh=year["latent_j"] / JOULES_PER_KWH,
        water_kg=year["drained_kg"],
        compressor_kwh=year["compressor_j"] / JOULES_PER_KWH,
        blower_kwh=year["blower_j"] / JOULES_PER_KWH,
        heating_kwh=(year["strips_or_furnace_j"] + year["pump_heat_j"]) / JOULES_PER_KWH,
        run_hours=hours["run_s"],
        starts=year["starts"],
        least_saturated_suction_c=least_suction,
        least_icing_margin_k=np.where(settled.any(axis=2), least_suction - offset - STOP_C, np.nan),
        monthly_least_icing_margin_k=monthly_margin,
        low_icing_margin_k=_low_margin(least_suction - offset, below, year["settled_run_s"]),
        warn_hours=below[..., SATURATION_MARKS_C.index(WARN_C)] / 3600.0,
        stop_hours=below[..., SATURATION_MARKS_C.index(STOP_C)] / 3600.0,
        frost_hours=hours["frost_s"],
        frost_peak_kg=column["frost_peak_kg"].max(axis=2),
        frozen_kg=year["frozen_kg"],
        air_blocked=year["air_blocked_run_s"] / run,
        greatest_air_blocked=column["air_blocked_peak"].max(axis=2),
        hours_set_point_missed=hours["missed_s"],
        design_margin_w=margins,
        least_supply_c=column["least_supply_c"].min(axis=2),
        sweat_hours=hours["sweat_s"],
        mean_flow_fraction=year["flow_run_s"] / run,
        water_balance=balances[..., 0],
        energy_balance=balances[..., 1],
    )


def _low_margin(least_c: Array, below_s: Array, running_s: Array) -> Array:
    """The 5th percentile over settled running time of coldest inlet saturation less 32 F, K, `[N, M]`.

    Read on straight lines between the marks, from the year's least upwards: known to a part of the distance between two
    marks (1 to 3 K). Where less than the 5th part in a hundred lies below the last mark the margin is told as that mark's.
    NaN where the unit never ran.
    """
    result = np.full(least_c.shape, np.nan)
    marks = np.array(SATURATION_MARKS_C)
    for place in np.ndindex(*least_c.shape):
        if running_s[place] > 0.0:
            parts = below_s[place] / running_s[place]
            above = marks > least_c[place]  # nothing runs below the least
            points, shares = np.append(least_c[place], marks[above]), np.append(0.0, parts[above])
            result[place] = np.interp(LOW_PART, shares, points) - STOP_C
    return result
