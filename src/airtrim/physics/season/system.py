"""What the season runs on: a sample of systems (arrays), one airflow program, and a year of weather (arrays)."""

from dataclasses import dataclass, field, fields
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import OutOfRangeError
from airtrim.physics.coil.frost import CIRCUIT_OFFSET_K

Array = NDArray[np.float64]


class WeatherArrays(Protocol):
    """The part of a weather year that physics reads; hour h of the year ends at index h (standard time)."""

    @property
    def pressure_pa(self) -> float: ...
    @property
    def dry_bulb_c(self) -> Array: ...
    @property
    def humidity_ratio(self) -> Array: ...
    @property
    def wind_m_s(self) -> Array: ...
    @property
    def ghi_w_m2(self) -> Array: ...
    @property
    def facade_w_m2(self) -> Array: ...
    @property
    def design_dry_bulb_c(self) -> float: ...
    @property
    def design_humidity_ratio(self) -> float: ...


@dataclass(frozen=True)
class SystemSample:
    """N systems that fit the readings equally well; every array has length N in its first axis.

    `units` and `surfaces` are the cooling unit's description and its fitted surfaces (physics/unit). Flows are kilograms of
    dry air a second. `fan_watts` holds the coefficients of watts as a cubic in flow / full flow. `moisture_buffer_kg` and
    `deep_buffer_kg` are kilograms of water taken up for a unit change of humidity ratio. `outdoor_air_part` of the blower's flow
    comes through an outdoor-air duct; `exhaust_kg_s` leaves by fans all the time. `ducts_in_attic` and
    `ducts_in_crawl_space` (0 or 1, both 0 inside) say what surrounds the ducts and feeds the return leak; a crawl space lies
    half-way between outdoors and the ground [from-memory]. `circuit_offset_k` is how much colder than saturated suction the
    coldest circuit inlet boils; left out, every system takes the middle of `coil/frost.CIRCUIT_OFFSET_K`.
    """

    pressure_pa: float
    units: Array
    surfaces: Array
    bypass: Array
    full_flow_kg_s: Array
    fan_watts: Array
    floor_area_m2: Array
    volume_m3: Array
    envelope_w_k: Array
    air_capacity_j_k: Array
    mass_capacity_j_k: Array
    mass_coupling_w_k: Array
    solar_aperture_m2: Array
    leakage_area_cm2: Array
    storeys: Array
    internal_gain_w: Array
    moisture_gain_kg_s: Array
    moisture_buffer_kg: Array
    deep_buffer_kg: Array
    buffer_coupling_kg_s: Array
    return_leak: Array
    supply_leak: Array
    duct_w_k: Array
    attic_gain_k: Array
    coil_water_max_kg: Array
    heating_capacity_w: Array
    outdoor_air_part: Array
    exhaust_kg_s: Array
    ducts_in_attic: Array
    ducts_in_crawl_space: Array
    circuit_offset_k: Array = field(default_factory=lambda: np.empty(0))

    @property
    def count(self) -> int:
        return int(self.full_flow_kg_s.shape[0])

    def __post_init__(self) -> None:
        if self.circuit_offset_k.size == 0:
            object.__setattr__(self, "circuit_offset_k", np.full(self.count, CIRCUIT_OFFSET_K[1]))
        for column in fields(self)[1:]:
            value = getattr(self, column.name)
            if value.shape[0] != self.count:
                raise OutOfRangeError(
                    f"{column.name} holds {value.shape[0]} systems, expected {self.count}: give one row for each."
                )
            if not np.all(np.isfinite(value)):
                raise OutOfRangeError(
                    f"{column.name} holds a value that is not a finite number: check the survey value behind it."
                )

    def first(self, count: int) -> "SystemSample":
        """The first `count` systems; a quasi-random sample stays balanced when cut to a power of two."""
        return SystemSample(self.pressure_pa, *(getattr(self, column.name)[:count] for column in fields(self)[1:]))


@dataclass(frozen=True)
class AirflowProgram:
    """What airflow is wanted when. Flows are fractions of the system's full flow (present tap, 0.1 to 1.3).

    `coil_sensor_drop_k` is return dry-bulb less what a sensor in the fins shows (0: the cooling flow is fixed); the program
    then moves the flow between least and greatest. Below `coil_floor_c` of saturated suction it adds air, whatever the drop.
    `circulation_flow` runs without any call (0: the fan switch is on AUTO).
    """

    cooling_flow: float = 1.0
    least_flow: float = 1.0
    greatest_flow: float = 1.0
    coil_sensor_drop_k: float = 0.0
    coil_floor_c: float = 2.2
    circulation_flow: float = 0.0
    off_delay_s: float = 60.0
    ramp_time_s: float = 15.0
    cooling_set_point_c: float = 24.0
    heating_set_point_c: float = 20.5
    deadband_k: float = 0.6
    least_on_s: float = 180.0
    least_off_s: float = 300.0

    def __post_init__(self) -> None:
        if not 0.1 <= self.least_flow <= self.greatest_flow <= 1.5:
            raise OutOfRangeError(
                f"least airflow {self.least_flow:.2f} and greatest airflow {self.greatest_flow:.2f} must rise from 0.10 to at most "
                "1.50 of full airflow: set the least below the greatest."
            )
        if not self.least_flow <= self.cooling_flow <= self.greatest_flow:
            raise OutOfRangeError(
                f"cooling airflow {self.cooling_flow:.2f} must lie between least {self.least_flow:.2f} and greatest "
                f"{self.greatest_flow:.2f}: move one of them."
            )
        if not self.heating_set_point_c + self.deadband_k < self.cooling_set_point_c:
            raise OutOfRangeError(
                f"heating set-point {self.heating_set_point_c:.1f} C must stay below cooling set-point "
                f"{self.cooling_set_point_c:.1f} C by more than the deadband of {self.deadband_k:.1f} K: lower it."
            )
        for name, low, high in (
            ("coil_sensor_drop_k", 0.0, 30.0),
            ("off_delay_s", 0.0, 900.0),
            ("ramp_time_s", 0.0, 1800.0),
            ("deadband_k", 0.1, 5.0),
            ("circulation_flow", 0.0, 1.5),
            ("least_on_s", 0.0, 1800.0),
            ("least_off_s", 0.0, 1800.0),
        ):
            value = getattr(self, name)
            if not low <= value <= high:
                raise OutOfRangeError(f"{name} must lie in {low:g} to {high:g}, got {value:g}: check the program.")
