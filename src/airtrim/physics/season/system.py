"""What the season runs on: a sample of systems (arrays), one airflow program, and a year of weather (arrays)."""

from dataclasses import dataclass, field, fields
from typing import ClassVar, Final, Protocol

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import OutOfRangeError
from airtrim.physics.coil.frost import CIRCUIT_OFFSET_K
from airtrim.physics.control.program import AirflowProgram as AirflowProgram
from airtrim.physics.house.habits import HOURS, daily_shapes
from airtrim.physics.house.leakage import FLOW_EXPONENT, SUBURBAN_SHELTER

Array = NDArray[np.float64]

#: Which part of the envelope's conductance joins outdoors to the air (glass, doors), outdoors to the mass (walls), attic to the
#: mass (ceiling), ground to the mass (floor) where nothing is said; the ground stays at the year's mean dry-bulb [from-memory].
ENVELOPE_PARTS: Final = (0.40, 0.25, 0.25, 0.10)
#: The part of sun through glass that warms the air at once [from-memory].
SUN_TO_AIR: Final = 0.3
#: A sensor pushed between the fins touches tube and fin: half-way from saturated suction to the mean surface (0.3 to 0.7:
#: judgement).
SENSOR_PLACE: Final = 0.5
#: A node's part of its difference to the air that may pass in one step of 60 s.
_STABLE = 0.5


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


def _left_out() -> Array:
    return np.empty(0)


@dataclass(frozen=True)
class SystemSample:
    """N systems that fit the readings equally well; every array has length N in its first axis.

    `units` and `surfaces` are the cooling unit's description and its fitted surfaces (physics/unit). Flows are kilograms of
    dry air a second. `fan_watts` holds the coefficients of watts as a cubic in flow / full flow. `moisture_buffer_kg` and
    `deep_buffer_kg` are kilograms of water taken up for a unit change of humidity ratio. `outdoor_air_part` of the blower's flow
    comes through an outdoor-air duct; `exhaust_kg_s` leaves by fans all the time. `ducts_in_attic` and
    `ducts_in_crawl_space` (0 or 1, both 0 inside) say what surrounds the ducts and feeds the return leak; a crawl space lies
    half-way between outdoors and the ground [from-memory]. `circuit_offset_k` is how much colder than saturated suction the
    coldest circuit inlet boils; left out, every system takes the middle of `coil/frost.CIRCUIT_OFFSET_K`. `sensor_place` (0 to
    1) is where a sensor in the fins reads between saturated suction and the mean surface; left out, SENSOR_PLACE.

    Left out, what follows takes these values. A heavy mass (slab, masonry) of `heavy_capacity_j_k`, joined to the air by
    `heavy_coupling_w_k`: none. `node_w_k` `[N, 6]`, conductances outdoors-air, outdoors-mass, attic-mass, ground-mass,
    outdoors-heavy and ground-heavy: ENVELOPE_PARTS of `envelope_w_k`, of which the heavy mass takes the floor and `heavy_part` of
    the walls. `sun_parts` `[N, 3]`, what of the sun through glass warms air, mass and heavy mass: SUN_TO_AIR, and
    `heavy_part` of the rest. `gain_by_hour` and `moisture_by_hour` `[N, 24]` about a mean of 1: house/habits.
    `exhaust_by_hour`, `supply_air_by_hour` `[N, 24]`: 1; `supply_air_kg_s` of outdoor air blown in by a fan of its own: 0. The
    leaks follow the ASHRAE enhanced model: `leakage_exponent` 0.65, `shelter` 0.7, `on_crawl_space` 0.

    Equipment. `low_stage_units`, `low_stage_surfaces` and `low_stage_bypass` describe a two-stage unit's first stage as `units`,
    `surfaces` and `bypass` do the second: none. `heat_pump_heat_w` and `heat_pump_power_w` `[N, 2]` at HEAT_PUMP_POINTS_C outdoors
    (47 and 17 F), on a straight line between and beyond: none, and then `heating_capacity_w` alone heats; with a heat pump
    that is its strips'. `dehumidifier_kg_s` and `dehumidifier_w` at 80 F and 60 %, `dehumidifier_lost_part`: none
    (unit/dehumidifier).
    """

    HEAT_PUMP_POINTS_C: ClassVar = ((47.0 - 32.0) / 1.8, (17.0 - 32.0) / 1.8)

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
    circuit_offset_k: Array = field(default_factory=_left_out)
    sensor_place: Array = field(default_factory=_left_out)
    node_w_k: Array = field(default_factory=_left_out)
    sun_parts: Array = field(default_factory=_left_out)
    heavy_capacity_j_k: Array = field(default_factory=_left_out)
    heavy_coupling_w_k: Array = field(default_factory=_left_out)
    heavy_part: Array = field(default_factory=_left_out)
    gain_by_hour: Array = field(default_factory=_left_out)
    moisture_by_hour: Array = field(default_factory=_left_out)
    exhaust_by_hour: Array = field(default_factory=_left_out)
    supply_air_kg_s: Array = field(default_factory=_left_out)
    supply_air_by_hour: Array = field(default_factory=_left_out)
    leakage_exponent: Array = field(default_factory=_left_out)
    shelter: Array = field(default_factory=_left_out)
    on_crawl_space: Array = field(default_factory=_left_out)
    low_stage_units: Array = field(default_factory=_left_out)
    low_stage_surfaces: Array = field(default_factory=_left_out)
    low_stage_bypass: Array = field(default_factory=_left_out)
    heat_pump_heat_w: Array = field(default_factory=_left_out)
    heat_pump_power_w: Array = field(default_factory=_left_out)
    dehumidifier_kg_s: Array = field(default_factory=_left_out)
    dehumidifier_w: Array = field(default_factory=_left_out)
    dehumidifier_lost_part: Array = field(default_factory=_left_out)

    @property
    def conductances_w_k(self) -> Array:
        """`node_w_k`, or what stands for it, `[N, 6]`."""
        if self.node_w_k.shape[1] > 0:
            return self.node_w_k
        glass, wall, ceiling, floor = np.outer(ENVELOPE_PARTS, self.envelope_w_k)
        heavy, part = self.heavy_capacity_j_k > 0.0, self.heavy_part
        floors = np.where(heavy, 0.0, floor), np.where(heavy, floor, 0.0)
        return np.stack([glass, wall * (1.0 - part), ceiling, floors[0], wall * part, floors[1]], axis=1)

    @property
    def suns(self) -> Array:
        """`sun_parts`, or what stands for them, `[N, 3]`."""
        if self.sun_parts.shape[1] > 0:
            return self.sun_parts
        later = 1.0 - SUN_TO_AIR
        return np.stack(
            [0.0 * self.heavy_part + SUN_TO_AIR, later * (1.0 - self.heavy_part), later * self.heavy_part], axis=1
        )

    @property
    def count(self) -> int:
        return int(self.full_flow_kg_s.shape[0])

    def __post_init__(self) -> None:
        for name, value in self._where_left_out().items():
            if getattr(self, name).size == 0:
                object.__setattr__(self, name, value)
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
        self._check()

    def _where_left_out(self) -> dict[str, Array]:
        n = self.count
        heat, moisture = daily_shapes()
        zero, one, by_hour = np.zeros(n), np.ones(n), np.ones((n, HOURS))
        return {
            "node_w_k": np.zeros((n, 0)), "sun_parts": np.zeros((n, 0)),
            "circuit_offset_k": CIRCUIT_OFFSET_K[1] * one, "sensor_place": SENSOR_PLACE * one,
            "heavy_capacity_j_k": zero, "heavy_coupling_w_k": zero, "heavy_part": zero, "gain_by_hour": heat * by_hour,
            "moisture_by_hour": moisture * by_hour, "exhaust_by_hour": by_hour, "supply_air_kg_s": zero,
            "supply_air_by_hour": by_hour, "leakage_exponent": FLOW_EXPONENT * one, "shelter": SUBURBAN_SHELTER * one,
            "on_crawl_space": zero, "low_stage_units": np.zeros((n, 0)), "low_stage_surfaces": np.zeros((n, 0)),
            "low_stage_bypass": zero, "heat_pump_heat_w": np.zeros((n, 2)), "heat_pump_power_w": np.zeros((n, 2)),
            "dehumidifier_kg_s": zero, "dehumidifier_w": zero, "dehumidifier_lost_part": zero,
        }  # fmt: skip

    def _check(self) -> None:
        """Two-dimensional arrays of their widths, and what would make the heavy mass swing between steps."""
        for name in ("gain_by_hour", "moisture_by_hour", "exhaust_by_hour", "supply_air_by_hour"):
            if getattr(self, name).shape[1:] != (HOURS,):
                raise OutOfRangeError(f"{name} must hold 24 values for each system, one for each hour from midnight.")
            if np.any(getattr(self, name) < 0.0):
                raise OutOfRangeError(f"{name} holds a negative value: give parts of the mean, 0 or more.")
        if (self.low_stage_units.shape[1] > 0) != (self.low_stage_surfaces.shape[1] > 0):
            raise OutOfRangeError(
                "A two-stage unit needs low_stage_units and low_stage_surfaces: give both or neither."
            )
        heavy = self.heavy_capacity_j_k > 0.0
        for name, counts in (("mass", heavy | True), ("heavy", heavy)):
            coupling, capacity = getattr(self, f"{name}_coupling_w_k"), getattr(self, f"{name}_capacity_j_k")
            if np.any(counts & (60.0 * coupling > _STABLE * capacity)):
                raise OutOfRangeError(
                    f"{name}_coupling_w_k empties the mass within two minutes: raise {name}_capacity_j_k, or leave the mass out."
                )
        for name, width in (("node_w_k", 6), ("sun_parts", 3), ("heat_pump_heat_w", 2), ("heat_pump_power_w", 2)):
            value = getattr(self, name)
            if value.ndim != 2 or value.shape[1] not in (0, width) or np.any(value < 0.0):
                raise OutOfRangeError(f"{name} must hold {width} values of 0 or more for each system.")
        if np.any(~heavy & ((self.heavy_coupling_w_k != 0.0) | (self.heavy_part != 0.0))):
            raise OutOfRangeError(
                "heavy_coupling_w_k or heavy_part is given without heavy_capacity_j_k: give the capacity too."
            )

    def rows(self, places: NDArray[np.int64]) -> "SystemSample":
        """The systems at these places, in their order."""
        return SystemSample(self.pressure_pa, *(getattr(self, column.name)[places] for column in fields(self)[1:]))

    def first(self, count: int) -> "SystemSample":
        """The first `count` systems; a quasi-random sample stays balanced when cut to a power of two."""
        return SystemSample(self.pressure_pa, *(getattr(self, column.name)[:count] for column in fields(self)[1:]))
