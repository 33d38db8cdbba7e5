"""House values from age and size when nobody has measured them; each with the range it is drawn from."""

from dataclasses import dataclass
from math import exp, sqrt

from airtrim.job.model import Job
from airtrim.physics.coil.water import retained_water_from_size_kg
from airtrim.physics.house.vintage import APERTURE_PARTS, ENVELOPE_PARTS, vintage_of

GLASS_PART, OBSTRUCTION = 0.15, 0.7  # IECC reference house: 15 % of floor on four sides; shade outside [from-memory]


@dataclass(frozen=True)
class Prior:
    """Middle and 90 % range of an assumed value; `unit` is how it is shown."""

    id: str
    mid: float
    low: float
    high: float
    unit: str


def storeys_of(job: Job) -> float:
    """Storeys, one where the survey does not say."""
    return job.house.storeys if job.house.storeys is not None else 1.0


def ceiling_prior(job: Job) -> Prior:
    """Height of the rooms, m: as surveyed to 2 %, else 8 ft, up to 9 [from-memory]."""
    if job.house.ceiling_height is not None:
        height = job.house.ceiling_height.si
        return Prior("ceiling_height", height, 0.98 * height, 1.02 * height, "m")
    return Prior("ceiling_height", 2.44, 2.38, 2.75, "m")


def cabinet_prior(job: Job) -> Prior:
    """Part of the airflow the air handler's cabinet draws in: as surveyed, else 1 % (0.3 to 3 %) [from-memory]."""
    if job.ducts.cabinet_leakage is not None:
        part = job.ducts.cabinet_leakage.si
        return Prior("cabinet_leakage", part, 0.6 * part, 1.5 * part, "fraction")
    return Prior("cabinet_leakage", 0.01, 0.003, 0.03, "fraction")


def outdoor_air_prior(job: Job) -> Prior:
    """Outdoor air drawn by a duct while the blower runs, m3/s: as surveyed, -30 to +30 %; none where none was seen."""
    given = job.ducts.outdoor_air_duct
    mid = given.si if given is not None else 0.0
    return Prior("outdoor_air", mid, 0.7 * mid, 1.3 * mid, "m3/s")


def exhaust_prior(job: Job) -> Prior:
    """Air the fans take out, mean over the day, m3/s: as surveyed, -30 to +30 %; none where none was seen."""
    mid = sum(fan.airflow.si * fan.hours_a_day / 24.0 for fan in job.habits.exhausts)
    return Prior("exhaust", mid, 0.7 * mid, 1.3 * mid, "m3/s")


def envelope_prior(job: Job) -> Prior:
    """Conductance of ceiling, walls, floor and glass by year built (physics/house/vintage), W/K, -30 to +40 %."""
    area, storeys, built = job.house.floor_area.si, storeys_of(job), vintage_of(job.house.year_built)
    foot = area / storeys
    walls = 4.4 * sqrt(foot) * 2.5 * storeys
    panes = GLASS_PART * area
    total = (
        foot / built.ceiling_m2k_w.mid
        + (walls - panes) / built.wall_m2k_w.mid
        + built.glass_w_m2k.mid * panes
        + built.floor_w_m2k.mid * foot
    )
    return Prior("envelope", total, ENVELOPE_PARTS[0] * total, ENVELOPE_PARTS[1] * total, "W/K")


def aperture_prior(job: Job) -> Prior:
    """Sun-collecting area of each of four sides, m2: glass x SHGC by year x inside shade x obstructions."""
    gain = vintage_of(job.house.year_built).glass_shgc.mid
    each = GLASS_PART * job.house.floor_area.si / 4.0 * gain * (0.92 - 0.21 * gain) * OBSTRUCTION
    return Prior("aperture", each, APERTURE_PARTS[0] * each, APERTURE_PARTS[1] * each, "m2")


def leakage_prior(job: Job) -> Prior:
    """Effective leakage area at 4 Pa, cm2: a blower-door figure, else the regression on year and size (Chan 2005)."""
    if job.house.blower_door_at_50_pa is not None:
        area = 0.2083 * job.house.blower_door_at_50_pa.si * 3600.0
        return Prior("leakage_area", area, 0.9 * area, 1.1 * area, "cm2")
    floor = job.house.floor_area.si
    normalised = exp(20.7 - 0.0107 * min(job.house.year_built, 2010) - 0.0022 * min(floor, 400.0))
    area = normalised * floor * 10.0 / storeys_of(job) ** 0.3
    return Prior("leakage_area", area, 0.5 * area, 2.0 * area, "cm2")


def gain_prior(job: Job) -> Prior:
    """Internal gain, W (IECC performance path: 17,900 + 23.8 ft2 + 4,104 bedrooms, Btu/day)."""
    bedrooms = job.house.bedrooms if job.house.bedrooms is not None else 3
    watts = (17900.0 + 23.8 * job.house.floor_area.si / 0.09290304 + 4104.0 * bedrooms) * 1055.06 / 86400.0
    return Prior("internal_gain", watts, 0.7 * watts, 1.3 * watts, "W")


def moisture_prior(job: Job) -> Prior:
    """Water given off indoors, kg/s: 6 kg a day for three people, 3 to 12 (judgement), or the job's figure."""
    if job.habits.moisture is not None:
        given = job.habits.moisture.si
        return Prior("moisture", given, 0.7 * given, 1.4 * given, "kg/s")
    people = job.house.people if job.house.people is not None else 3
    day = 6.0 * people / 3.0 / 86400.0
    return Prior("moisture", day, 0.5 * day, 2.0 * day, "kg/s")


def coil_water_prior(job: Job) -> Prior:
    """Water the coil holds before it drains, kg, from its nominal cooling (physics/coil/water)."""
    low, mid, high = retained_water_from_size_kg(job.system.coil_size.si)
    return Prior("coil_water", mid, low, high, "kg")


#: A heat pump's heat at 17 F as a part of that at 47 F, and its heat over its input at 47 and 17 F with the outdoor fan: ordinary
#: single-speed units of 8 HSPF [from-memory].
HEAT_AT_17_F, COP_47_F, COP_17_F = 0.60, 3.3, 2.3


def heat_pump_points_w(job: Job) -> tuple[tuple[float, float], tuple[float, float]]:
    """Heat given and power taken at 47 and 17 F outdoors, W; zeros where the house has no heat pump.

    The heat at 47 F is the survey's, else a heat pump stage's, else what the outdoor unit cools.
    """
    heat = job.heat
    stages = [stage.power.si for stage in heat.stages if stage.kind == "heat_pump"]
    if heat.kind != "heat_pump" and not stages:
        return (0.0, 0.0), (0.0, 0.0)
    surveyed = heat.heat_pump_output.si if heat.heat_pump_output is not None else max(stages, default=None)
    warm = float(job.system.outdoor_size.si if surveyed is None else surveyed)
    cold = HEAT_AT_17_F * warm
    return (warm, cold), (warm / COP_47_F, cold / COP_17_F)


#: What the loop's worst circuit, which has less air and less refrigerant alike, leaves out: circuits whose air and feed do not go
#: together, K: low, middle, high [judgement, 0 to 1 K].
UNEVEN_FEED_K = (0.1, 0.35, 1.0)


def circuit_offset_prior() -> Prior:
    """How much colder the coldest circuit boils than the loop's worst circuit, K; pressure drop and glide come from the loop."""
    low, mid, high = UNEVEN_FEED_K
    return Prior("circuit_offset", mid, low, high, "K")
