"""Single hours that decide: the hot day's margin, and how near the coil comes to icing at a stated state."""

from math import log

import numpy as np

from airtrim.core.errors import OutOfRangeError
from airtrim.core.kernels import kernel
from airtrim.physics.air.moist import humidity_ratio_from_relative_humidity, humidity_ratio_from_wet_bulb, wet_bulb_c
from airtrim.physics.coil.frost import STOP_C
from airtrim.physics.house.leakage import enhanced_leakage_m3_s, envelope_flows_kg_s
from airtrim.physics.season.day import ATTIC_SKY_K, ATTIC_SUN_W_M2, SPECIFIC_HEAT
from airtrim.physics.season.layout import P, parameter_rows, setting_rows
from airtrim.physics.season.system import AirflowProgram, Array, SystemSample, WeatherArrays
from airtrim.physics.unit.steady import unit_state
from airtrim.physics.unit.surface import split_sensible, surface_state

ROOM_RELATIVE_HUMIDITY = 0.50
#: The set-point is that of the hour from 15:00, standard time.
DESIGN_HOUR = 15


def design_balance(systems: SystemSample, program: AirflowProgram, weather: WeatherArrays) -> Array:
    """Sensible capacity less sensible load, W, `[N]`; see `year.design_margin_w`."""
    hot = np.abs(weather.dry_bulb_c - weather.design_dry_bulb_c) <= 1.0
    if not hot.any():
        hot = weather.dry_bulb_c >= np.max(weather.dry_bulb_c) - 1.0
    sun = weather.facade_w_m2[hot].mean(axis=0)
    irradiance, wind = float(weather.ghi_w_m2[hot].mean()), float(weather.wind_m_s[hot].mean())
    rows, settings = parameter_rows(systems, program, systems.fan_watts), setting_rows(systems, program)
    rows[:, P.cooling_set_c] = settings[:, DESIGN_HOUR, P.cooling_set_c]
    means = settings[:, :, [P.internal_gain_w, P.exhaust_kg_s, P.supply_air_kg_s]].mean(axis=1)
    ground = float(weather.dry_bulb_c.mean())
    outdoor, outdoor_w = weather.design_dry_bulb_c, weather.design_humidity_ratio
    return np.array(
        [
            _margin(row, surfaces, weather.pressure_pa, outdoor, outdoor_w, sun, irradiance, wind, ground, *mean)
            for row, surfaces, mean in zip(rows, systems.surfaces, means, strict=True)
        ]
    )


@kernel
def _margin(
    row: Array,
    surfaces: Array,
    pressure_pa: float,
    outdoor_c: float,
    outdoor_w: float,
    sun_w_m2: Array,
    irradiance_w_m2: float,
    wind_m_s: float,
    ground_c: float,
    gain_w: float,
    exhaust: float,
    supply_air: float,
) -> float:
    room, flow, full = row[P.cooling_set_c], row[P.greatest_flow], row[P.full_flow_kg_s]
    moved = flow * full
    humidity = humidity_ratio_from_relative_humidity(room, ROOM_RELATIVE_HUMIDITY, pressure_pa)
    attic = outdoor_c + row[P.attic_gain_k] * irradiance_w_m2 / ATTIC_SUN_W_M2 - ATTIC_SKY_K
    around = (
        room
        + row[P.ducts_in_attic] * (attic - room)
        + row[P.ducts_in_crawl_space] * (0.5 * (outdoor_c + ground_c) - room)
    )
    entering = room + row[P.return_leak] * (around - room) + row[P.outdoor_air_part] * (outdoor_c - room)
    entering_w = humidity + (row[P.return_leak] + row[P.outdoor_air_part]) * (outdoor_w - humidity)
    wet_bulb = wet_bulb_c(entering, entering_w, pressure_pa)
    total, _, _ = surface_state(surfaces, entering, wet_bulb, outdoor_c, log(moved / row[P.rated_flow_kg_s]))
    sensible, _ = split_sensible(
        total, entering, entering_w, moved, row[P.bypass], row[P.air_exponent], row[P.rated_flow_kg_s], pressure_pa
    )
    watts = row[P.watts_0] + flow * (row[P.watts_1] + flow * (row[P.watts_2] + flow * row[P.watts_3]))
    supply = entering + (watts - sensible) / (moved * SPECIFIC_HEAT)
    exchange = row[P.duct_w_k] / (moved * SPECIFIC_HEAT)
    register = around + (supply - around) / (1.0 + exchange * (1.0 + 0.5 * exchange))
    delivered = (1.0 - row[P.supply_leak]) * moved * SPECIFIC_HEAT * (room - register)
    density = pressure_pa / (287.055 * (outdoor_c + 273.15))
    natural = density * enhanced_leakage_m3_s(
        row[P.leakage_coefficient],
        row[P.leakage_exponent],
        row[P.stack_coefficient],
        row[P.wind_coefficient],
        row[P.shelter],
        room - outdoor_c,
        wind_m_s,
    )
    drawn_in = row[P.return_leak] + row[P.outdoor_air_part]
    came, _ = envelope_flows_kg_s(natural, (row[P.supply_leak] - drawn_in) * moved + exhaust - supply_air)
    sun = (
        row[P.aperture_north_m2] * sun_w_m2[0]
        + row[P.aperture_east_m2] * sun_w_m2[1]
        + row[P.aperture_south_m2] * sun_w_m2[2]
        + row[P.aperture_west_m2] * sun_w_m2[3]
    )
    load = (
        (row[P.glass_w_k] + row[P.wall_w_k] + row[P.heavy_wall_w_k]) * (outdoor_c - room)
        + row[P.ceiling_w_k] * (attic - room)
        + (row[P.floor_w_k] + row[P.heavy_floor_w_k]) * (ground_c - room)
        + (came + supply_air) * SPECIFIC_HEAT * (outdoor_c - room)
        + gain_w
        + sun
    )
    return float(delivered - load)


def coldest_inlet(
    systems: SystemSample, return_c: float, wet_bulb_c: float, outdoor_c: float, flow_kg_s: Array
) -> tuple[Array, Array]:
    """(coldest circuit-inlet saturation degC, superheat K) of every system running steadily at this airflow; each `[N]`.

    Saturated suction of the unit in balance less the system's `circuit_offset_k`. `flow_kg_s` is dry air, one for each system
    (or one for all), 0.02 to 2; return 5 to 45 and outdoor 5 to 50 degC; wet bulb not above the return. A system without a
    balance there gives NaN. Raises `OutOfRangeError`.
    """
    flows = np.broadcast_to(np.asarray(flow_kg_s, dtype=np.float64), (systems.count,))
    for name, value, low, high in (
        ("return temperature", return_c, 5.0, 45.0),
        ("return wet bulb", wet_bulb_c, 0.0, 35.0),
        ("outdoor temperature", outdoor_c, 5.0, 50.0),
        ("least airflow", float(np.min(flows)), 0.02, 2.0),
        ("greatest airflow", float(np.max(flows)), 0.02, 2.0),
    ):
        if not low <= value <= high:
            unit = "kg/s" if "airflow" in name else "C"
            raise OutOfRangeError(
                f"{name} must lie in {low:g} to {high:g} {unit} for the icing margin, got {value:g} {unit}: check the state given."
            )
    if wet_bulb_c > return_c:
        raise OutOfRangeError(
            f"return wet bulb {wet_bulb_c:.1f} C is above the return's {return_c:.1f} C: exchange the two or read again."
        )
    humidity = humidity_ratio_from_wet_bulb(return_c, wet_bulb_c, systems.pressure_pa)
    if humidity < 0.0:
        raise OutOfRangeError(
            f"return wet bulb {wet_bulb_c:.1f} C is below that of bone-dry air at {return_c:.1f} C: read it again with a wet wick."
        )
    states = np.array(
        [
            unit_state(return_c, humidity, outdoor_c, flow, systems.pressure_pa, unit)[:6]
            for flow, unit in zip(flows, systems.units, strict=True)
        ]
    )
    return states[:, 3] - systems.circuit_offset_k, states[:, 5]


def icing_margin_k(
    systems: SystemSample, return_c: float, wet_bulb_c: float, outdoor_c: float, flow_kg_s: Array
) -> Array:
    """Coldest circuit-inlet saturation less 32 F, K, `[N]`; arguments, ranges and errors as `coldest_inlet`.

    A part-loaded filter or a frosted coil is told by the airflow that is left.
    """
    return coldest_inlet(systems, return_c, wet_bulb_c, outdoor_c, flow_kg_s)[0] - STOP_C
