"""How much water a house's materials take up and give back: two depths by effective penetration.

    depth      d = sqrt(delta psat T / (pi rho xi)), at most the material's own thickness
    capacity   A rho xi d, kg of water for a unit of relative humidity
    from air   1/h_m + coating + d / (2 delta);  from the day's depth to the deep one  (d + d_deep) / (2 delta)

xi is the slope of the sorption curve (kg/kg for a unit of relative humidity), delta the permeability, T the period: a day and
three weeks. Cunningham 1992 [cunningham1992], recalled; the two depths are those of Woods et al. 2013 [woods2013], recalled.
A half-infinite solid under a sinusoid of the depth's own period answers exactly as its one depth does, in size and in phase.
"""

from dataclasses import dataclass
from math import isfinite, pi, sqrt
from typing import Final

from airtrim.core.errors import OutOfRangeError
from airtrim.physics.air.moist import humidity_ratio_from_relative_humidity, saturation_pressure_pa

DAY_S: Final = 86400.0
DEEP_PERIOD_S: Final = 21.0 * 86400.0
#: Vapour film indoors, kg/m2 s Pa: 3 W/m2K of convection by Lewis' relation, h / (rho cp Rv T) [own-derivation].
INDOOR_FILM_KG_M2SPA: Final = 1.8e-8


@dataclass(frozen=True)
class MoistureMaterial:
    """density kg/m3, slope of the sorption curve kg/kg per unit of relative humidity, vapour permeability kg/m s Pa."""

    name: str
    density_kg_m3: float
    sorption_slope: float
    permeability_kg_mspa: float

    def __post_init__(self) -> None:
        for name in ("density_kg_m3", "sorption_slope", "permeability_kg_mspa"):
            value = getattr(self, name)
            if not (isfinite(value) and value > 0.0):
                raise OutOfRangeError(
                    f"{self.name}: {name} must be a finite number above 0, got {value!r}: check the material."
                )


#: Common materials near 25 degC and 50 % [from-memory]; between makes they differ by half as much again.
GYPSUM: Final = MoistureMaterial("gypsum board", 700.0, 0.010, 2.3e-11)
SOFTWOOD: Final = MoistureMaterial("softwood, across the grain", 450.0, 0.17, 1.0e-12)
CONCRETE: Final = MoistureMaterial("concrete", 2300.0, 0.03, 3.0e-12)


@dataclass(frozen=True)
class MoistureSurface:
    """A face open to the room. `thickness_m` up to what stops vapour: half of a board open on both faces.

    `coating_m2spa_kg` is the resistance of paint or varnish: two coats of latex about 2e9 [from-memory]; bare 0.
    """

    material: MoistureMaterial
    area_m2: float
    thickness_m: float
    coating_m2spa_kg: float = 0.0

    def __post_init__(self) -> None:
        if not (self.area_m2 > 0.0 and self.thickness_m > 0.0 and self.coating_m2spa_kg >= 0.0):
            raise OutOfRangeError(
                f"{self.material.name}: area and thickness must be above 0 and the coating not below, got {self.area_m2:g} m2, "
                f"{self.thickness_m:g} m, {self.coating_m2spa_kg:g} m2 s Pa/kg: check the surface."
            )


@dataclass(frozen=True)
class MoistureDepths:
    """Kilograms of water for a unit of humidity ratio, and kg/s of flow for a difference of one, air to day's depth to deep one."""

    moisture_buffer_kg: float
    deep_buffer_kg: float
    buffer_coupling_kg_s: float
    deep_coupling_kg_s: float


def penetration_depth_m(material: MoistureMaterial, period_s: float, temperature_c: float = 25.0) -> float:
    """Depth that answers a swing of this period, m; 5 to 40 degC."""
    stored = material.density_kg_m3 * material.sorption_slope
    return sqrt(material.permeability_kg_mspa * saturation_pressure_pa(temperature_c) * period_s / (pi * stored))


def water_for_a_tenth_kg_m2(surface: MoistureSurface, period_s: float = DAY_S, temperature_c: float = 25.0) -> float:
    """Water a square metre takes up while relative humidity rises by 10 %, kg/m2, within the depth of this period."""
    depth = min(penetration_depth_m(surface.material, period_s, temperature_c), surface.thickness_m)
    return 0.1 * surface.material.density_kg_m3 * surface.material.sorption_slope * depth


def moisture_depths(
    surfaces: tuple[MoistureSurface, ...],
    temperature_c: float = 25.0,
    relative_humidity: float = 0.5,
    pressure_pa: float = 101325.0,
    film_kg_m2spa: float = INDOOR_FILM_KG_M2SPA,
) -> MoistureDepths:
    """Surfaces side by side as the two stores of the year's kernel, linear about one indoor state.

    Faces of different coupling are added as if they kept pace with each other, which overstates a mixed house's day's exchange.
    """
    if not surfaces:
        raise OutOfRangeError(
            "A house without any surface that takes up water: give at least one, such as gypsum board."
        )
    if not (0.0 < relative_humidity < 1.0 and 0.0 <= temperature_c <= 45.0):
        raise OutOfRangeError(
            f"The indoor state of {temperature_c:g} C and {relative_humidity:g} lies outside 0 to 45 C and 0 to 1: check it."
        )
    saturated = saturation_pressure_pa(temperature_c)
    humidity = humidity_ratio_from_relative_humidity(temperature_c, relative_humidity, pressure_pa)
    vapour_per_humidity = 0.621945 * pressure_pa / (0.621945 + humidity) ** 2  # Pa for a unit of humidity ratio
    per_unit = vapour_per_humidity / saturated
    day, deep, coupling, onward = 0.0, 0.0, 0.0, 0.0
    for one in surfaces:
        stored = one.area_m2 * one.material.density_kg_m3 * one.material.sorption_slope
        near = min(penetration_depth_m(one.material, DAY_S, temperature_c), one.thickness_m)
        far = min(penetration_depth_m(one.material, DEEP_PERIOD_S, temperature_c), one.thickness_m) - near
        delta = one.material.permeability_kg_mspa
        day += stored * near * per_unit
        coupling += (
            one.area_m2 * vapour_per_humidity / (1.0 / film_kg_m2spa + one.coating_m2spa_kg + near / (2.0 * delta))
        )
        if far > 0.0:
            deep += stored * far * per_unit
            onward += one.area_m2 * vapour_per_humidity * 2.0 * delta / (near + far)
    return MoistureDepths(day, deep, coupling, onward)
