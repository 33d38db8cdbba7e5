"""An invented house and an invented smooth year, for tests of the season only."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from airtrim.physics.air.moist import humidity_ratio_from_dew_point
from airtrim.physics.season.layout import LEAST, SUMS
from airtrim.physics.season.many import weather_arguments
from airtrim.physics.season.system import AirflowProgram, SystemSample
from airtrim.physics.unit.fit import bypass_constants, fit_surfaces
from airtrim.physics.unit.surface import SURFACE_SIZE

Array = NDArray[np.float64]
PRESSURE = 101325.0


@dataclass(frozen=True)
class Year:
    pressure_pa: float
    dry_bulb_c: Array
    humidity_ratio: Array
    wind_m_s: Array
    ghi_w_m2: Array
    facade_w_m2: Array
    design_dry_bulb_c: float
    design_humidity_ratio: float


@lru_cache(maxsize=1)
def humid_year() -> Year:
    """A made-up warm, damp place: yearly and daily cosines and a slow random swing; nobody's weather."""
    hour = np.arange(8760)
    day = hour / 24.0
    swing = np.repeat(np.random.default_rng(5).normal(0.0, 2.0, 366), 24)[:8760]
    dry = 20.0 - 8.0 * np.cos(2 * np.pi * (day - 20) / 365) + 5.0 * np.cos(2 * np.pi * (hour - 15) / 24) + swing
    dew = np.minimum(14.0 - 9.0 * np.cos(2 * np.pi * (day - 25) / 365) + 0.5 * swing, dry - 0.5)
    height = np.maximum(0.0, np.cos(2 * np.pi * (hour - 12.5) / 24))
    ghi = 800.0 * height * (1.0 - 0.25 * np.cos(2 * np.pi * (day - 172 + 182.5) / 365))
    humidity = np.array([humidity_ratio_from_dew_point(value, PRESSURE) for value in dew])
    facade = np.stack([0.15 * ghi, 0.45 * ghi, 0.5 * ghi, 0.45 * ghi], axis=1)
    return Year(PRESSURE, dry, humidity, np.full(8760, 2.5), ghi, facade, 34.0, 0.0165)


def steady_weather(dry_bulb_c: float, dew_point_c: float) -> Year:
    """No sun, no wind, one temperature and dew point."""
    nothing, ratio = np.zeros(8760), humidity_ratio_from_dew_point(dew_point_c, PRESSURE)
    return Year(
        PRESSURE, nothing + dry_bulb_c, nothing + ratio, nothing, nothing, np.zeros((8760, 4)), dry_bulb_c, float(ratio)
    )


@lru_cache(maxsize=8)
def invented_systems(count: int = 1, tons: float = 3.0, leak: float = 0.05) -> SystemSample:
    """`count` houses around one of 150 m2 with a cooling unit of `tons`.

    Glass 15 % of the floor (IECC reference house) x SHGC 0.35 x inside shade 0.85 x obstructions outside 0.7 [from-memory]:
    1.2 m2 of aperture on each side.
    """
    rng = np.random.default_rng(11)

    def spread(middle: float, part: float = 0.1) -> Array:
        return middle * (1.0 + (part * rng.uniform(-1.0, 1.0, count) if count > 1 else np.zeros(count)))

    capacity = spread(3516.85 * tons, 0.05)
    rated = np.full(count, 0.2265 * tons)
    units = np.stack(
        [
            capacity,
            capacity / 3.4,
            spread(17.0, 0.05),
            np.full(count, 0.75),
            np.full(count, 0.5),
            rated,
            np.zeros(count),
        ],
        axis=1,
    )
    return SystemSample(
        pressure_pa=PRESSURE, units=units, surfaces=fit_surfaces(units, PRESSURE), bypass=bypass_constants(units, PRESSURE),
        full_flow_kg_s=spread(0.2265 * tons * 1.05, 0.05), fan_watts=np.tile([60.0, 0.0, 0.0, 420.0], (count, 1)),
        floor_area_m2=np.full(count, 150.0), volume_m3=np.full(count, 366.0), envelope_w_k=spread(230.0),
        air_capacity_j_k=spread(3.0e6), mass_capacity_j_k=spread(1.5e7), mass_coupling_w_k=spread(900.0),
        solar_aperture_m2=np.tile([1.2, 1.2, 1.2, 1.2], (count, 1)), leakage_area_cm2=spread(700.0), storeys=np.full(count, 1.0),
        internal_gain_w=spread(750.0), moisture_gain_kg_s=spread(6.0 / 86400.0), moisture_buffer_kg=spread(4000.0),
        deep_buffer_kg=spread(12000.0), buffer_coupling_kg_s=spread(0.15), return_leak=np.full(count, leak),
        supply_leak=np.full(count, leak), duct_w_k=spread(25.0), attic_gain_k=spread(15.0), coil_water_max_kg=spread(0.9),
        heating_capacity_w=np.full(count, 10000.0), outdoor_air_part=np.zeros(count), exhaust_kg_s=np.zeros(count),
        ducts_in_attic=np.ones(count), ducts_in_crawl_space=np.zeros(count),
    )  # fmt: skip


def changed(systems: SystemSample, **fields: float) -> SystemSample:
    return replace(systems, **{name: np.full(systems.count, value) for name, value in fields.items()})


def days_of(
    row: Array, house: SystemSample, state: Array, days: Iterable[int], step_s: float = 10.0
) -> dict[str, float]:
    """Sums of these days of `humid_year`, hour by hour in the readable form; `state` is advanced. Settings stay as in the row."""
    from airtrim.physics.season.day import advance_hour

    weather, sums = weather_arguments(humid_year()), np.zeros(len(SUMS))
    sums[[SUMS.index(name) for name in LEAST]] = 99.0
    none = np.zeros(SURFACE_SIZE)
    for day in days:
        for hour in range(24):
            advance_hour(
                day, hour, 0, round(3600.0 / step_s), step_s, *weather, row, house.surfaces[0], none, state, sums
            )
    return dict(zip(SUMS, sums, strict=True))


def icy_program(flow: float = 0.45, set_point_c: float = 19.5, circulation: float = 0.0) -> AirflowProgram:
    """Too little air and too cold a house: what ices a coil."""
    return AirflowProgram(
        cooling_flow=flow, least_flow=flow, greatest_flow=flow, cooling_set_point_c=set_point_c,
        heating_set_point_c=set_point_c - 3.0, circulation_flow=circulation,
    )  # fmt: skip
