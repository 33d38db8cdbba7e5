"""What a year of many house-years comes to."""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from airtrim.core.kernels import over_arrays
from airtrim.physics.air.moist import relative_humidity
from airtrim.physics.coil.frost import STOP_C, WARN_C
from airtrim.physics.season.layout import (
    BY_HOUR,
    DEW_POINT_LINES_C,
    HUMIDITY_LINES,
    MONTHLY,
    SATURATION_MARKS_C,
    STATE,
    SUMS,
)
from airtrim.physics.season.many import DAYS_OF_MONTH, Asked, Told, over_months
from airtrim.physics.season.system import Array

#: The low percentile that icing margins are judged by.
LOW_PART = 0.05
JOULES_PER_KWH = 3.6e6


@dataclass(frozen=True)
class Details:
    """What is told only where it is asked for.

    `by_hour` by month and hour of the day (from midnight), `[N, M, 12, 24]`: means of relative_humidity, temperature_c, dew_point_c
    and run_fraction; damp_hours; sensible, latent, compressor, blower, dehumidifier, strips_or_furnace and heat_pump in kWh;
    starts. `hourly` temperature_c and relative_humidity, hourly means `[N, M, 8760]`, for comfort. `traces` of each day asked for:
    `time_h` `[steps]` (a step's end), the state after it and, in W, kg/s or parts of one, what it added over its length
    (season/layout: STATE, SUMS), and relative_humidity, `[N, M, steps]`. With K years of weather K comes after M.
    """

    by_hour: dict[str, Array]
    hourly: dict[str, Array]
    traces: dict[int, dict[str, Array]]


@dataclass(frozen=True)
class YearResults:
    """A year's sums and means, arrays `[N systems, M programs]`, monthly ones `[N, M, 12]`; `[N, M, K]` and `[N, M, K, 12]` for
    K years of weather.

    Hours are hours of the year; energies kWh; `water_kg` went down the coil's drain; temperatures degC; margins W. Balances are
    (in - out - held) over the sum of the absolute flows.

    Air. `hours_over_humidity` `[N, M, 5]` and `hours_over_dew_point` count above layout's HUMIDITY_LINES (step by step) and
    DEW_POINT_LINES_C (hourly means); `damp_hours` is above 60 %; `over_dry_hours` below 35 %. `longest_wet_spell_h` are
    hours on end with a mean above 60 %. `mould_index` (0 to 6) is the greatest the VTT model reaches at the house's coldest inner
    surface (watch.SURFACE_FACTOR), from nothing at the year's beginning; `mite_safe_hours` have a mean below 50 %.

    Energy. `heating_kwh` is heat given by everything but the blower: `heat_pump_heat_kwh`, for which the pump took
    `heat_pump_kwh`, and `strips_or_furnace_kwh` (what strips take; a furnace takes that over its efficiency).
    `compressor_kwh` is cooling only. `dehumidified_kg` the dehumidifier took out,
    `window_water_kg` ran down the panes.

    Control. `hours_set_point_missed` have the cooling call and the room 1 K above the set-point, `hours_heating_missed` 1 K below
    in heating. `long_call_hours` run at long-call airflow, `drying_hours` while the drive is told to dry, `high_stage_hours` in
    the second stage (all of a one-stage unit's).

    Icing margins, K, are the coldest circuit-inlet saturation less 32 F while the unit runs settled: the least of the year
    and of each month (NaN in a month without such running), and the 5th percentile over running time
    (`low_icing_margin`). `warn_hours` and `stop_hours` ran below 36 F and 32 F there. `frost_hours` are all hours with a
    gram of frost or more on the coil, running or not; `frozen_kg` is what froze in the year. `air_blocked` is the part of
    the airflow that frost took away, over all cooling time; `greatest_air_blocked` the worst moment. `sweat_hours` have a
    register's face below the room's dew point while cooling, `duct_sweat_hours` a duct's skin below that of the air round it.
    """

    damp_hours: Array
    hours_over_65: Array
    hours_over_humidity: Array
    monthly_hours_over_humidity: Array
    hours_over_dew_point: Array
    over_dry_hours: Array
    mean_relative_humidity: Array
    monthly_relative_humidity: Array
    mean_temperature_c: Array
    monthly_temperature_c: Array
    mean_dew_point_c: Array
    monthly_dew_point_c: Array
    longest_wet_spell_h: Array
    mould_index: Array
    monthly_mould_index: Array
    mite_safe_hours: Array
    monthly_mite_safe_hours: Array
    sensible_kwh: Array
    monthly_sensible_kwh: Array
    latent_kwh: Array
    monthly_latent_kwh: Array
    water_kg: Array
    dehumidified_kg: Array
    window_water_kg: Array
    compressor_kwh: Array
    monthly_compressor_kwh: Array
    blower_kwh: Array
    monthly_blower_kwh: Array
    dehumidifier_kwh: Array
    monthly_dehumidifier_kwh: Array
    heating_kwh: Array
    monthly_heating_kwh: Array
    strips_or_furnace_kwh: Array
    heat_pump_heat_kwh: Array
    heat_pump_kwh: Array
    run_hours: Array
    monthly_run_hours: Array
    run_fraction: Array
    starts: Array
    high_stage_hours: Array
    long_call_hours: Array
    drying_hours: Array
    dehumidifier_hours: Array
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
    hours_heating_missed: Array
    design_margin_w: Array
    least_supply_c: Array
    sweat_hours: Array
    duct_sweat_hours: Array
    mean_flow_fraction: Array
    water_balance: Array
    energy_balance: Array
    details: Details


def results_of(
    told: Told, margins: Array, circuit_offset_k: Array, pressure_pa: float, asked: Asked, step_s: float
) -> YearResults:
    """Of sums `[N, M, ...]` under one weather, margins `[N, M]` and offsets `[N]`."""
    column = {name: told.months[..., i] for i, name in enumerate(MONTHLY)}
    days = np.array(DAYS_OF_MONTH)
    seconds = days * 86400.0
    year = {name: over_months(values, 2) for name, values in column.items()}
    hours = {name: year[name] / 3600.0 for name in year if name.endswith("_s")}
    kwh = {name: year[name] / JOULES_PER_KWH for name in year if name.endswith("_j")}
    monthly_kwh = {name: column[name] / JOULES_PER_KWH for name in column if name.endswith("_j")}
    run = np.maximum(year["run_s"], 1e-9)
    offset = circuit_offset_k[:, None]
    settled = column["settled_run_s"] > 0.0
    monthly_margin = np.where(settled, column["least_suction_c"] - offset[..., None] - STOP_C, np.nan)
    least_suction = column["least_suction_c"].min(axis=2)
    below = np.stack([year[name] for name in MONTHLY if name.startswith("coldest_below")], axis=-1)
    over = [f"over_{100 * line:.0f}_s" for line in HUMIDITY_LINES]
    return YearResults(
        damp_hours=hours["over_60_s"],
        hours_over_65=hours["over_65_s"],
        hours_over_humidity=np.stack([hours[name] for name in over], axis=-1),
        monthly_hours_over_humidity=np.stack([column[name] / 3600.0 for name in over], axis=-2),
        hours_over_dew_point=np.stack([hours[f"dew_over_{mark:.1f}_s"] for mark in DEW_POINT_LINES_C], axis=-1),
        over_dry_hours=hours["over_dry_s"],
        mean_relative_humidity=year["relative_humidity_s"] / seconds.sum(),
        monthly_relative_humidity=column["relative_humidity_s"] / seconds,
        mean_temperature_c=year["air_temperature_s"] / seconds.sum(),
        monthly_temperature_c=column["air_temperature_s"] / seconds,
        mean_dew_point_c=year["dew_point_s"] / seconds.sum(),
        monthly_dew_point_c=column["dew_point_s"] / seconds,
        longest_wet_spell_h=column["wet_spell_peak_h"].max(axis=2),
        mould_index=column["mould_peak"].max(axis=2),
        monthly_mould_index=column["mould_peak"],
        mite_safe_hours=hours["mite_safe_s"],
        monthly_mite_safe_hours=column["mite_safe_s"] / 3600.0,
        sensible_kwh=kwh["sensible_j"],
        monthly_sensible_kwh=monthly_kwh["sensible_j"],
        latent_kwh=kwh["latent_j"],
        monthly_latent_kwh=monthly_kwh["latent_j"],
        water_kg=year["drained_kg"],
        dehumidified_kg=year["dehumidified_kg"],
        window_water_kg=year["on_panes_kg"],
        compressor_kwh=kwh["compressor_j"],
        monthly_compressor_kwh=monthly_kwh["compressor_j"],
        blower_kwh=kwh["blower_j"],
        monthly_blower_kwh=monthly_kwh["blower_j"],
        dehumidifier_kwh=kwh["dehumidifier_j"],
        monthly_dehumidifier_kwh=monthly_kwh["dehumidifier_j"],
        heating_kwh=kwh["strips_or_furnace_j"] + kwh["pump_heat_j"],
        monthly_heating_kwh=monthly_kwh["strips_or_furnace_j"] + monthly_kwh["pump_heat_j"],
        strips_or_furnace_kwh=kwh["strips_or_furnace_j"],
        heat_pump_heat_kwh=kwh["pump_heat_j"],
        heat_pump_kwh=kwh["pump_input_j"],
        run_hours=hours["run_s"],
        monthly_run_hours=column["run_s"] / 3600.0,
        run_fraction=year["run_s"] / seconds.sum(),
        starts=year["starts"],
        high_stage_hours=hours["high_stage_s"],
        long_call_hours=hours["long_call_s"],
        drying_hours=hours["drying_call_s"],
        dehumidifier_hours=hours["dehumidifier_s"],
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
        hours_heating_missed=hours["missed_heating_s"],
        design_margin_w=margins,
        least_supply_c=column["least_supply_c"].min(axis=2),
        sweat_hours=hours["sweat_s"],
        duct_sweat_hours=hours["duct_sweat_s"],
        mean_flow_fraction=year["flow_run_s"] / run,
        water_balance=told.balances[..., 0],
        energy_balance=told.balances[..., 1],
        details=_details(told, days, pressure_pa, asked, step_s),
    )


def _details(told: Told, days: Array, pressure_pa: float, asked: Asked, step_s: float) -> Details:
    by_hour: dict[str, Array] = {}
    if asked.by_hour:
        column = {name: told.by_hour[..., i] for i, name in enumerate(BY_HOUR)}
        seconds = 3600.0 * days[:, None]
        by_hour = {
            "relative_humidity": column["relative_humidity_s"] / seconds,
            "temperature_c": column["air_temperature_s"] / seconds,
            "dew_point_c": column["dew_point_s"] / seconds,
            "run_fraction": column["run_s"] / seconds,
            "damp_hours": column["over_60_s"] / 3600.0,
            "starts": column["starts"],
        }
        for name, wanted in (("pump_input", "heat_pump"), *((n, n) for n in (
            "sensible", "latent", "compressor", "blower", "dehumidifier", "strips_or_furnace")
        )):  # fmt: skip
            by_hour[f"{wanted}_kwh"] = column[f"{name}_j"] / JOULES_PER_KWH
    hourly = {"temperature_c": told.hourly[..., 0], "relative_humidity": told.hourly[..., 1]} if asked.hourly else {}
    traces = {
        day: _trace(told.states[..., i, :, :], told.added[..., i, :, :], pressure_pa, step_s)
        for i, day in enumerate(asked.days)
    }
    return Details(by_hour, hourly, traces)


def _trace(states: Array, added: Array, pressure_pa: float, step_s: float) -> dict[str, Array]:
    columns = {name: states[..., i] for i, name in enumerate(STATE)}
    columns |= {name: added[..., i] / step_s for i, name in enumerate(SUMS) if name.endswith(("_j", "_kg", "_s"))}
    columns["starts"] = added[..., SUMS.index("starts")]
    columns["time_h"] = np.arange(1.0, 1.0 + states.shape[-2]) * (step_s / 3600.0)
    columns["relative_humidity"] = over_arrays(relative_humidity)(columns["air_c"], columns["humidity"], pressure_pa)
    return columns


def side_by_side(years: Sequence[YearResults]) -> YearResults:
    """K years as one, K after the programs' axis."""
    names = [field.name for field in fields(YearResults) if field.name != "details"]
    merged = {name: np.stack([getattr(one, name) for one in years], axis=2) for name in names}
    details = [one.details for one in years]
    return YearResults(**merged, details=Details(*(_merged([getattr(one, name) for one in details]) for name in (
        "by_hour", "hourly", "traces"
    ))))  # fmt: skip


def _merged(parts: list[Any]) -> Any:
    if isinstance(parts[0], dict):
        return {key: _merged([part[key] for part in parts]) for key in parts[0]}
    return parts[0] if parts[0].ndim == 1 else np.stack(parts, axis=2)


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
