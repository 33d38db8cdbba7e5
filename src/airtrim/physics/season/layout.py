"""The order in which the day kernel reads its parameters, keeps its state and adds up its sums."""

from typing import Final

import numpy as np

from airtrim.physics.coil.frost import STOP_C, WARN_C
from airtrim.physics.season.system import AirflowProgram, Array, SystemSample

#: One row of floats for one system under one program.
PARAMETERS: Final = (
    # house
    "volume_m3", "envelope_w_k", "air_capacity_j_k", "mass_capacity_j_k", "mass_coupling_w_k",
    "aperture_north_m2", "aperture_east_m2", "aperture_south_m2", "aperture_west_m2",
    "leakage_area_cm2", "storeys", "internal_gain_w", "moisture_gain_kg_s",
    "moisture_buffer_kg", "deep_buffer_kg", "buffer_coupling_kg_s",
    # ducts, blower, unit
    "return_leak", "supply_leak", "duct_w_k", "attic_gain_k", "coil_water_max_kg", "heating_capacity_w",
    "full_flow_kg_s", "watts_0", "watts_1", "watts_2", "watts_3", "bypass", "air_exponent", "rated_flow_kg_s",
    # program
    "cooling_flow", "least_flow", "greatest_flow", "coil_sensor_drop_k", "coil_floor_c", "circulation_flow",
    "off_delay_s", "ramp_per_s", "cooling_set_c", "heating_set_c", "deadband_k", "least_on_s", "least_off_s",
    # air brought in and out by ducts and fans, and what surrounds the ducts
    "outdoor_air_part", "exhaust_kg_s", "ducts_in_attic", "ducts_in_crawl_space",
    # coil
    "circuit_offset_k",
)  # fmt: skip

STATE: Final = (
    "air_c", "mass_c", "attic_c", "humidity", "buffer_humidity", "deep_humidity", "held_water_kg",
    "running", "flow", "call", "held_s", "wet_bulb_c", "suction_c", "sensor_c", "time_off_s",
    "frost_kg", "frosted_part",
)  # fmt: skip

#: Marks of the coldest circuit-inlet saturation, degC: the running time below each is added up, and the low end of its spread is
#: read between them. 0 and 2.2222 are 32 and 36 F.
SATURATION_MARKS_C: Final = (-4.0, -2.0, STOP_C, 1.1, WARN_C, 3.5, 5.0, 7.0, 9.0, 12.0)

#: Sums over a day: joules, kilograms, seconds, or seconds times the quantity.
SUMS: Final = (
    "relative_humidity_s", "damp_s", "over_65_s", "sensible_j", "latent_j", "water_in_kg", "water_out_kg", "water_absolute_kg",
    "drained_kg", "compressor_j", "blower_j", "run_s", "starts", "least_suction_c", "frost_s", "missed_s", "least_supply_c",
    "sweat_s", "flow_run_s", "heat_in_j", "heat_absolute_j", "air_temperature_s", "heating_j",
    "frost_peak_kg", "frozen_kg", "air_blocked_run_s", "air_blocked_peak",
    *(f"coldest_below_{mark:.1f}_s" for mark in SATURATION_MARKS_C), "settled_run_s",
)  # fmt: skip


def parameter_rows(systems: SystemSample, program: AirflowProgram, fan_watts: Array) -> Array:
    """Parameters of every system under one program, `[N, len(PARAMETERS)]`; `fan_watts` is `[N, 4]`."""
    columns = {name: np.asarray(getattr(systems, name)) for name in PARAMETERS if hasattr(systems, name)}
    columns |= {
        f"aperture_{side}_m2": systems.solar_aperture_m2[:, i]
        for i, side in enumerate(("north", "east", "south", "west"))
    }
    columns |= {f"watts_{power}": fan_watts[:, power] for power in range(4)}
    columns |= {"air_exponent": systems.units[:, 4], "rated_flow_kg_s": systems.units[:, 5]}
    count = systems.count
    settings = {
        "cooling_flow": program.cooling_flow,
        "least_flow": program.least_flow,
        "greatest_flow": program.greatest_flow,
        "coil_sensor_drop_k": program.coil_sensor_drop_k,
        "coil_floor_c": program.coil_floor_c,
        "circulation_flow": program.circulation_flow,
        "off_delay_s": program.off_delay_s,
        "ramp_per_s": 1.0 / max(program.ramp_time_s, 1.0),
        "cooling_set_c": program.cooling_set_point_c,
        "heating_set_c": program.heating_set_point_c,
        "deadband_k": program.deadband_k,
        "least_on_s": program.least_on_s,
        "least_off_s": program.least_off_s,
    }
    columns |= {name: np.full(count, value) for name, value in settings.items()}
    return np.ascontiguousarray(np.stack([columns[name] for name in PARAMETERS], axis=1).astype(np.float64))
