"""The order in which the hour's kernel reads its parameters, keeps its state and adds up its sums."""

from collections import namedtuple
from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from airtrim.physics.coil.frost import STOP_C, WARN_C
from airtrim.physics.control.program import AirflowProgram
from airtrim.physics.house.leakage import enhanced_coefficients, flow_coefficient_from_leakage_area
from airtrim.physics.season.system import Array, SystemSample

#: What changes by the hour of the day: 24 rows of these are copied over the first parameters.
SETTINGS: Final = (
    "cooling_set_c", "heating_set_c", "internal_gain_w", "moisture_gain_kg_s", "exhaust_kg_s", "supply_air_kg_s",
)  # fmt: skip

#: One row of floats for one system under one program.
PARAMETERS: Final = (
    *SETTINGS,
    # house
    "volume_m3", "glass_w_k", "wall_w_k", "ceiling_w_k", "floor_w_k", "air_capacity_j_k", "mass_capacity_j_k",
    "mass_coupling_w_k", "heavy_capacity_j_k", "heavy_coupling_w_k", "heavy_wall_w_k", "heavy_floor_w_k", "sun_air_part",
    "sun_mass_part", "sun_heavy_part",
    "aperture_north_m2", "aperture_east_m2", "aperture_south_m2", "aperture_west_m2",
    "leakage_coefficient", "leakage_exponent", "stack_coefficient", "wind_coefficient", "shelter",
    "moisture_buffer_kg", "deep_buffer_kg", "buffer_coupling_kg_s",
    # ducts, blower, unit
    "return_leak", "supply_leak", "duct_w_k", "attic_gain_k", "coil_water_max_kg", "outdoor_air_part", "ducts_in_attic",
    "ducts_in_crawl_space", "full_flow_kg_s", "watts_0", "watts_1", "watts_2", "watts_3", "bypass", "air_exponent",
    "rated_flow_kg_s", "circuit_offset_k", "sensor_place", "has_low_stage", "low_stage_bypass", "low_stage_exponent",
    "low_stage_rated_kg_s",
    # heating, dehumidifier
    "heating_capacity_w", "pump_heat_w", "pump_heat_w_k", "pump_power_w", "pump_power_w_k",
    "dehumidifier_kg_s", "dehumidifier_w", "dehumidifier_lost_part",
    # program
    "cooling_flow", "drying_flow", "low_stage_flow", "least_flow", "greatest_flow", "holding", "hold_always",
    "coil_sensor_drop_k", "held_suction_c", "sensor_error_k", "coil_floor_c", "circulation_flow", "heating_flow", "off_delay_s",
    "ramp_per_s", "long_call_s", "deadband_k", "least_on_s", "least_off_s", "second_stage_after_s", "second_stage_above_k",
    "strips_below_k", "strips_after_s", "humid_low", "humid_high", "overcool_k", "drying_base", "drying_slope",
    "dehumidifier_low", "dehumidifier_high", "works",
)  # fmt: skip

STATE: Final = (
    "air_c", "mass_c", "heavy_c", "attic_c", "humidity", "buffer_humidity", "deep_humidity", "held_water_kg",
    "running", "flow", "call", "held_s", "wet_bulb_c", "suction_c", "sensor_c", "time_off_s",
    "frost_kg", "frosted_part", "stage", "strips", "humid", "dehumidifying",
    # in the step before: the room's trend by the second, its relative humidity, the trend of what a feedback reads
    "air_trend_k_s", "humidity_trend", "relative_humidity", "sensor_trend_k_s", "suction_trend_k_s",
    # of the coil at the airflow before (negative: of the first stage's): ln of it over rated, part of it that touches the fins
    "coil_flow_kg_s", "coil_flow_log", "coil_touched",
    # held for minutes, and for the hour
    "natural_m3_s", "drying_kg_s", "drying_w", "pane_humidity",
    # short steps: done of the hour, since resting steps would begin, since the leaks were last found
    "done_steps", "odd_steps", "leaks_age_steps",
    # 1 where airflow stood still in the step before
    "steady",
)  # fmt: skip

#: Marks of the coldest circuit-inlet saturation, degC: the running time below each is added up, and the low end of its spread is
#: read between them. 0 and 2.2222 are 32 and 36 F.
SATURATION_MARKS_C: Final = (-4.0, -2.0, STOP_C, 1.1, WARN_C, 3.5, 5.0, 7.0, 9.0, 12.0)

#: Below this relative humidity a house is over-dried (EPA's healthy range begins at 30 %, comfort suffers below about 35 %:
#: common-practice).
OVER_DRY: Final = 0.35
#: Hours are counted above these relative humidities, and above these dew points: 55, 57.5, 60, 62.5 and 65 F.
HUMIDITY_LINES: Final = (0.50, 0.55, 0.60, 0.65, 0.70)
DEW_POINT_LINES_C: Final = tuple((f - 32.0) / 1.8 for f in (55.0, 57.5, 60.0, 62.5, 65.0))

#: Sums over an hour: joules, kilograms, seconds, or seconds times the quantity; then the least and the greatest of an hour.
ADDED: Final = (
    "relative_humidity_s", "over_dry_s", *(f"over_{100 * line:.0f}_s" for line in HUMIDITY_LINES), "air_temperature_s",
    "humidity_s", "sensible_j", "latent_j", "water_in_kg", "water_out_kg", "water_absolute_kg", "drained_kg",
    "dehumidified_kg", "on_panes_kg", "compressor_j", "blower_j", "dehumidifier_j", "pump_input_j", "strips_or_furnace_j",
    "pump_heat_j",
    "run_s", "starts", "high_stage_s", "long_call_s", "dehumidifier_s", "drying_call_s", "frost_s", "missed_s", "missed_heating_s",
    "sweat_s", "duct_sweat_s", "flow_run_s", "heat_in_j", "heat_absolute_j", "frozen_kg", "air_blocked_run_s",
    *(f"coldest_below_{mark:.1f}_s" for mark in SATURATION_MARKS_C), "settled_run_s",
)  # fmt: skip
LEAST: Final = ("least_suction_c", "least_supply_c")
GREATEST: Final = ("frost_peak_kg", "air_blocked_peak")
SUMS: Final = (*ADDED, *LEAST, *GREATEST)
#: What is added up from the hour's means (season/watch.py), after the sums in a month's row.
WATCHED: Final = (
    "dew_point_s", "mite_safe_s", *(f"dew_over_{mark:.1f}_s" for mark in DEW_POINT_LINES_C), "mould_peak", "wet_spell_peak_h",
)  # fmt: skip
MONTHLY: Final = (*SUMS, *WATCHED)
#: What is kept by month and hour of the day where that is asked for.
BY_HOUR: Final = (
    "relative_humidity_s", "air_temperature_s", "humidity_s", "over_60_s", "sensible_j", "latent_j", "compressor_j", "blower_j",
    "dehumidifier_j", "strips_or_furnace_j", "pump_input_j", "run_s", "starts", "dew_point_s",
)  # fmt: skip


def _places(name: str, columns: Sequence[str]) -> Any:
    return namedtuple(name, columns)(*range(len(columns)))


#: Places in a row of parameters, of state and of sums, for kernels: `parameters[P.volume_m3]`.
P: Final[Any] = _places("P", PARAMETERS)
S: Final[Any] = _places("S", STATE)
Q: Final[Any] = _places("Q", [name.replace(".", "_").replace("-", "m") for name in SUMS])

#: Never reached: a humidistat that is not there.
_NEVER = 9.0


def parameter_rows(systems: SystemSample, program: AirflowProgram, fan_watts: Array) -> Array:
    """Parameters of every system under one program, `[N, len(PARAMETERS)]`; `fan_watts` is `[N, 4]`.

    The settings are those of midnight.
    """
    columns = {name: np.asarray(getattr(systems, name)) for name in PARAMETERS if hasattr(systems, name)}
    columns |= {name: values[:, 0] for name, values in zip(SETTINGS, _settings(systems, program), strict=True)}
    columns |= {
        f"aperture_{side}_m2": systems.solar_aperture_m2[:, i]
        for i, side in enumerate(("north", "east", "south", "west"))
    }
    columns |= {f"watts_{power}": fan_watts[:, power] for power in range(4)}
    columns |= {"air_exponent": systems.units[:, 4], "rated_flow_kg_s": systems.units[:, 5]}
    columns |= _envelope(systems) | _leakage(systems) | _equipment(systems)
    columns |= {name: np.full(systems.count, value) for name, value in _program(program).items()}
    return np.ascontiguousarray(np.stack([columns[name] for name in PARAMETERS], axis=1).astype(np.float64))


def setting_rows(systems: SystemSample, program: AirflowProgram) -> Array:
    """SETTINGS by hour of every system under one program, `[N, 24, len(SETTINGS)]`."""
    return np.ascontiguousarray(np.stack(_settings(systems, program), axis=2))


def _settings(systems: SystemSample, program: AirflowProgram) -> list[Array]:
    one = np.ones((systems.count, 1))
    return [
        one * np.array(program.cooling_sets_c),
        one * np.array(program.heating_sets_c),
        systems.internal_gain_w[:, None] * systems.gain_by_hour,
        systems.moisture_gain_kg_s[:, None] * systems.moisture_by_hour,
        systems.exhaust_kg_s[:, None] * systems.exhaust_by_hour,
        systems.supply_air_kg_s[:, None] * systems.supply_air_by_hour,
    ]


def _envelope(systems: SystemSample) -> dict[str, Array]:
    conductances = ("glass_w_k", "wall_w_k", "ceiling_w_k", "floor_w_k", "heavy_wall_w_k", "heavy_floor_w_k")
    suns = ("sun_air_part", "sun_mass_part", "sun_heavy_part")
    return dict(zip(conductances, systems.conductances_w_k.T, strict=True)) | dict(
        zip(suns, systems.suns.T, strict=True)
    )


def _leakage(systems: SystemSample) -> dict[str, Array]:
    coefficient = [
        flow_coefficient_from_leakage_area(area, exponent)
        for area, exponent in zip(systems.leakage_area_cm2, systems.leakage_exponent, strict=True)
    ]
    stack, wind = enhanced_coefficients(systems.storeys, systems.on_crawl_space)
    return {"leakage_coefficient": np.array(coefficient), "stack_coefficient": stack, "wind_coefficient": wind}


def _equipment(systems: SystemSample) -> dict[str, Array]:
    two_stage = systems.low_stage_units.shape[1] > 0
    low = systems.low_stage_units if two_stage else systems.units
    heat, power = systems.heat_pump_heat_w, systems.heat_pump_power_w
    warm, cold = systems.HEAT_PUMP_POINTS_C
    slopes = [(each[:, 0] - each[:, 1]) / (warm - cold) for each in (heat, power)]
    return {
        "has_low_stage": np.full(systems.count, float(two_stage)),
        "low_stage_bypass": systems.low_stage_bypass if two_stage else systems.bypass,
        "low_stage_exponent": low[:, 4],
        "low_stage_rated_kg_s": low[:, 5],
        "pump_heat_w": heat[:, 0] - slopes[0] * warm,
        "pump_heat_w_k": slopes[0],
        "pump_power_w": power[:, 0] - slopes[1] * warm,
        "pump_power_w_k": slopes[1],
    }


def _program(program: AirflowProgram) -> dict[str, float]:
    base, slope = program.drying_signal
    drying, low_stage = program.drying_flow, program.low_stage_flow

    def band(middle: float, width: float) -> tuple[float, float]:
        return (middle - 0.5 * width, middle + 0.5 * width) if middle > 0.0 else (_NEVER, _NEVER)

    humid = band(program.humidity_set, program.humidity_deadband)
    dehumidifier = band(program.dehumidifier_set, program.dehumidifier_deadband)
    return {
        "cooling_flow": program.cooling_flow,
        "drying_flow": program.cooling_flow if drying is None else drying,
        "low_stage_flow": program.cooling_flow if low_stage is None else low_stage,
        "least_flow": program.least_flow,
        "greatest_flow": program.greatest_flow,
        "holding": program.holding,
        "hold_always": float(not program.hold_only_when_drying),
        "coil_sensor_drop_k": program.coil_sensor_drop_k,
        "held_suction_c": 0.0 if program.saturated_suction_c is None else program.saturated_suction_c,
        "sensor_error_k": program.sensor_error_k,
        "coil_floor_c": program.coil_floor_c,
        "circulation_flow": program.circulation_flow,
        "heating_flow": program.heating_flow,
        "off_delay_s": program.off_delay_s,
        "ramp_per_s": 1.0 / max(program.ramp_time_s, 1.0),
        "long_call_s": program.long_call_s if program.long_call_s > 0.0 else np.inf,
        "deadband_k": program.deadband_k,
        "least_on_s": program.least_on_s,
        "least_off_s": program.least_off_s,
        "second_stage_after_s": program.second_stage_after_s,
        "second_stage_above_k": program.second_stage_above_k,
        "strips_below_k": program.strips_below_k,
        "strips_after_s": program.strips_after_s,
        "humid_low": humid[0],
        "humid_high": humid[1],
        "overcool_k": program.overcool_k,
        "drying_base": base,
        "drying_slope": slope,
        "dehumidifier_low": dehumidifier[0],
        "dehumidifier_high": dehumidifier[1],
        "works": 0.0 if program.stopped else 1.0,
    }
