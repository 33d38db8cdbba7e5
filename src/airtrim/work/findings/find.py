"""From the job's survey and readings to a sample of systems that fit them."""

import hashlib
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import NoSolutionError
from airtrim.job.checks import Airflow, filter_area_m2, heating_power_w
from airtrim.job.model import Job, Readings
from airtrim.physics.air.moist import (
    humidity_ratio_from_relative_humidity,
    humidity_ratio_from_wet_bulb,
    specific_volume_m3_kg,
    wet_bulb_c,
)
from airtrim.physics.blower.fit import fit_blower
from airtrim.physics.blower.fit_motor import MotorReading, Nameplate, fit_motor
from airtrim.physics.blower.limits import LowestFrequency, lowest_safe_frequency
from airtrim.physics.blower.motor import PscMotor
from airtrim.physics.blower.system import TAP_FACTORS, BlowerSystem
from airtrim.physics.season.system import SystemSample, WeatherArrays
from airtrim.physics.unit.fields import EXPANSION_VALVE, FIXED_ORIFICE, complete_rows
from airtrim.physics.unit.fit import bypass_constants, fit_surfaces
from airtrim.physics.unit.steady import unit_state
from airtrim.work.figure import Figure, figure, spread_figure
from airtrim.work.findings.house import (
    Prior,
    aperture_prior,
    cabinet_prior,
    ceiling_prior,
    circuit_offset_prior,
    coil_water_prior,
    envelope_prior,
    exhaust_prior,
    gain_prior,
    leakage_prior,
    moisture_prior,
    outdoor_air_prior,
    storeys_of,
)
from airtrim.work.findings.survey import LEAST_PER_TON, MUCH_AIR, assumed, survey_messages
from airtrim.work.readings import job_for_fit, known_airflow

Array = NDArray[np.float64]
CFM = 0.0004719474432
#: Dry air at room state, kg/m3, for flows given as volumes of room air.
DENSITY = 1.17
TON_W = 3516.8528
#: Candidates drawn for each system kept: those nearest to the readings are resampled.
CANDIDATES = 16
#: What the readings tell about, and so what is drawn as candidates; the house keeps its own evenly spread points.
READ = ("airflow", "capacity_ratio", "cop", "coil_td", "sensible_heat_ratio", "blower_watts")
LATENT_HEAT = 2.466e6
#: One sigma of a good thermometer, K (0.1 % + 1.3 F at 90 %, RA3 2008 [from-memory]).
THERMOMETER_SIGMA_K = 0.45
#: What a thermometer at plenum and gauge is worth, K, one sigma: sensor, mixing and radiation together.
SUPPLY_SIGMA_K, SUPPLY_WET_BULB_SIGMA_K, SUCTION_SIGMA_K = 0.8, 1.0, 1.2
#: Superheat differs from unit to unit by its charge or its valve's setting, and the reading by gauge and clamp, K.
SUPERHEAT_SIGMA_K = 3.5
STANDARD = (23.9, 0.52, 29.0)  # return degC, relative humidity, outdoor degC of the airflow map


@dataclass(frozen=True)
class Findings:
    """What the system does: the sample everything later carries, the blower, figures, and what had to be assumed.

    `lowest` is how slowly a drive may turn the motor; None where no drive goes with it.
    """

    job: Job
    system: SystemSample
    blower: BlowerSystem
    airflow: Airflow
    lowest: LowestFrequency | None
    figures: list[Figure]
    assumed: list[dict[str, Any]]
    messages: list[dict[str, Any]]
    seed: int


def child_seed(seed: int, purpose: str) -> np.random.Generator:
    """A generator for one named purpose: a new purpose moves no other."""
    digest = int.from_bytes(hashlib.sha256(purpose.encode()).digest()[:4], "big")
    return np.random.default_rng(np.random.SeedSequence([seed, digest]))


def find(job: Job, weather: WeatherArrays, count: int = 32, seed: int = 1) -> Findings:
    """Draw systems from survey and age, and keep those that agree with the readings; `count` a power of two is best."""
    airflow = known_airflow(job, weather.pressure_pa)
    job = job_for_fit(job, weather.pressure_pa)
    reading = _reading(job)
    priors = _priors(job, airflow, reading)
    drawn = _draw([one for one in priors if one.id in READ], count * CANDIDATES, child_seed(seed, "machine"))
    pressure = weather.pressure_pa
    flow_kg = drawn["airflow"] / specific_volume_m3_kg(*_return_state(job, reading, pressure), pressure)
    units = _units(job, drawn)
    weight, effective = _agreement(units, flow_kg, drawn["blower_watts"], reading, pressure)
    kept = resampled(weight, drawn["airflow"], count, child_seed(seed, "resample"))
    drawn = {name: values[kept] for name, values in drawn.items()}
    drawn |= _draw([one for one in priors if one.id not in READ], count, child_seed(seed, "house"))
    units, flow_kg = units[kept], flow_kg[kept]
    mid = {prior.id: prior.mid for prior in priors}
    blower = _blower(job, mid)
    present = np.zeros((count, 4))
    present[:, 0] = drawn["blower_watts"]
    system = _system(job, drawn, units, flow_kg, present, pressure)
    messages = survey_messages(job, airflow)
    has_checks = reading is not None and any(
        one is not None for one in (reading.supply_dry_bulb, reading.supply_wet_bulb, reading.saturated_suction)
    )
    if has_checks and effective < 0.02 * count * CANDIDATES:
        messages.insert(0, {"id": "finding.readings_disagree", "values": {}})
    figures = _figures(job, system, drawn)
    return Findings(
        job,
        system,
        blower,
        airflow,
        _lowest(job, blower),
        figures,
        assumed(priors, job, system.units[:, 6]),
        messages,
        seed,
    )


def _reading(job: Job) -> Readings | None:
    for reading in job.readings:
        if (
            reading.return_dry_bulb is not None
            and reading.return_wet_bulb is not None
            and reading.outdoor_dry_bulb is not None
        ):
            return reading
    for reading in job.readings:  # air at the grille stands in for air at the coil where that was not read
        if (
            reading.outdoor_dry_bulb is not None
            and reading.grille_dry_bulb is not None
            and reading.grille_wet_bulb is not None
        ):
            return reading.model_copy(
                update={"return_dry_bulb": reading.grille_dry_bulb, "return_wet_bulb": reading.grille_wet_bulb}
            )
    return None


def _return_state(job: Job, reading: Readings | None, pressure: float) -> tuple[float, float]:
    if reading is not None and reading.return_dry_bulb is not None and reading.return_wet_bulb is not None:
        dry = reading.return_dry_bulb.si
        return dry, humidity_ratio_from_wet_bulb(dry, reading.return_wet_bulb.si, pressure)
    dry = job.thermostat.set_point.si
    return dry, humidity_ratio_from_relative_humidity(dry, 0.55, pressure)


def _priors(job: Job, airflow: Airflow, reading: Readings | None) -> list[Prior]:
    spread = 1.645 * airflow.sigma
    size = job.system.outdoor_size.si
    read_watts = next((r.blower_power.si for r in job.readings if r.blower_power is not None), None)
    watts = read_watts if read_watts is not None else 0.5 * airflow.m3_s / CFM
    watts_spread = 0.05 if read_watts is not None else 0.25
    year = job.system.year if job.system.year is not None else 2012
    cop = 2.6 if year < 1992 else 3.0 if year < 2006 else 3.4 if year < 2023 else 3.7
    warmer = (size / job.system.coil_size.si) ** 0.6
    inside = job.ducts.place == "inside"

    def leak(given: Any, mid: float, name: str) -> Prior:
        if given is not None:
            return Prior(name, given.si, 0.8 * given.si, 1.2 * given.si + 1e-6, "fraction")
        part = 0.2 if inside else 1.0
        return Prior(name, mid * part, 0.3 * mid * part, 2.2 * mid * part, "fraction")

    return [
        Prior("airflow", airflow.m3_s, airflow.m3_s * (1 - spread), airflow.m3_s * (1 + spread), "m3/s"),
        Prior("capacity_ratio", 0.97, 0.86, 1.07, "fraction"),
        Prior("cop", cop, 0.88 * cop, 1.12 * cop, ""),
        Prior("coil_td", 17.5 * warmer, 15.0 * warmer, 20.0 * warmer, "K"),
        Prior("sensible_heat_ratio", 0.75, 0.72, 0.79, "fraction"),
        Prior("blower_watts", watts, watts * (1 - watts_spread), watts * (1 + watts_spread), "W"),
        leak(job.ducts.return_leak, 0.05, "return_leak"),
        cabinet_prior(job),
        leak(job.ducts.supply_leak, 0.08, "supply_leak"),
        envelope_prior(job),
        aperture_prior(job),
        leakage_prior(job),
        gain_prior(job),
        moisture_prior(job),
        Prior("mass", 80000.0, 50000.0, 165000.0, "J/m2K"),
        Prior("moisture_multiplier", 15.0, 10.0, 25.0, ""),
        Prior("attic_gain", 15.0, 8.0, 23.0, "K"),
        ceiling_prior(job),
        outdoor_air_prior(job),
        exhaust_prior(job),
        coil_water_prior(job),
        circuit_offset_prior(),
    ]


def _draw(priors: list[Prior], count: int, generator: np.random.Generator) -> dict[str, Array]:
    """Scrambled Sobol points through log-normal (or split-normal) quantiles; each prior its own column.

    The last column, uniform, decides the metering device where it is not known.
    """
    from scipy.stats import norm, qmc

    points = qmc.Sobol(d=len(priors) + 1, rng=generator).random(count)
    drawn = {"metering": points[:, -1]} if any(prior.id in READ for prior in priors) else {}
    for column, prior in enumerate(priors):
        if prior.high == 0.0:  # not there
            drawn[prior.id] = np.zeros(count)
            continue
        z = norm.ppf(np.clip(points[:, column], 0.005, 0.995)) / 1.645
        up, down = np.log(prior.high / prior.mid), np.log(prior.mid / prior.low)
        drawn[prior.id] = prior.mid * np.exp(np.where(z > 0.0, z * up, z * down))
    return drawn


def _units(job: Job, drawn: dict[str, Array]) -> Array:
    size = job.system.outdoor_size.si
    capacity = size * drawn["capacity_ratio"]
    rated_flow = np.full_like(capacity, 386.0 * CFM * size / TON_W * 1.165)
    exponent = np.full_like(capacity, 0.5)
    device = {"expansion_valve": EXPANSION_VALVE, "fixed_orifice": FIXED_ORIFICE}.get(job.system.metering_device)
    either = np.where(drawn["metering"] < 0.5, EXPANSION_VALVE, FIXED_ORIFICE)
    metering = either if device is None else np.full_like(capacity, device)
    return complete_rows(
        np.stack(
            [
                capacity,
                capacity / drawn["cop"],
                drawn["coil_td"],
                drawn["sensible_heat_ratio"],
                exponent,
                rated_flow,
                metering,
            ],
            axis=1,
        )
    )


def _agreement(
    units: Array, flow: Array, watts: Array, reading: Readings | None, pressure: float
) -> tuple[Array, float]:
    """The candidates' weights by their likelihood under the readings (sum 1), and how many they are worth."""
    score = np.zeros(len(units))
    state = (23.9, 0.0093, 32.0)
    if reading is not None and reading.return_dry_bulb is not None and reading.return_wet_bulb is not None:
        assert reading.outdoor_dry_bulb is not None
        dry = reading.return_dry_bulb.si
        state = (
            dry,
            humidity_ratio_from_wet_bulb(dry, reading.return_wet_bulb.si, pressure),
            reading.outdoor_dry_bulb.si,
        )
    found = np.array([unit_state(*state, f, pressure, u)[:6] for f, u in zip(flow, units, strict=True)])
    score[~np.isfinite(found[:, 0])] = -np.inf
    if reading is not None and reading.supply_dry_bulb is not None:
        supply = state[0] - (found[:, 1] - watts) / (flow * 1023.7)
        score -= 0.5 * ((supply - reading.supply_dry_bulb.si) / SUPPLY_SIGMA_K) ** 2
    if reading is not None and reading.supply_wet_bulb is not None:
        leaving_w = state[1] - (found[:, 0] - found[:, 1]) / (LATENT_HEAT * flow)
        leaving_c = state[0] - (found[:, 1] - watts) / (flow * 1023.7)
        leaving = np.array([wet_bulb_c(t, w, pressure) for t, w in zip(leaving_c, leaving_w, strict=True)])
        leaving[~np.isfinite(leaving)] = np.inf
        score -= 0.5 * ((leaving - reading.supply_wet_bulb.si) / SUPPLY_WET_BULB_SIGMA_K) ** 2
    if reading is not None and reading.saturated_suction is not None:
        score -= 0.5 * ((found[:, 3] - reading.saturated_suction.si) / SUCTION_SIGMA_K) ** 2
    if reading is not None and reading.superheat is not None:
        score -= 0.5 * ((np.maximum(found[:, 5], 0.0) - reading.superheat.si) / SUPERHEAT_SIGMA_K) ** 2
    if not np.isfinite(score).any():
        raise NoSolutionError(
            "No cooling unit of this size works at the airflow and temperatures read: check tonnage, airflow and readings."
        )
    weight = np.exp(score - np.max(score[np.isfinite(score)]))
    weight[~np.isfinite(weight)] = 0.0
    weight /= weight.sum()
    return weight, float(1.0 / np.sum(weight**2))


def resampled(weight: Array, ordered_by: Array, count: int, generator: np.random.Generator) -> NDArray[np.intp]:
    """Indices of `count` candidates drawn by weight, evenly over `ordered_by`, in an order of no meaning.

    A systematic draw keeps whatever order it walks in: through the points' own (quasi-random) order it would meet every
    sixteenth of them, which cluster. So it walks along one quantity, and what it finds is shuffled.
    """
    order = np.argsort(ordered_by, kind="stable")
    places = (np.arange(count) + generator.random()) / count
    chosen = np.searchsorted(np.cumsum(weight[order]), places, side="right")
    return np.asarray(generator.permutation(order[np.minimum(chosen, len(weight) - 1)]))


def _blower(job: Job, mid: dict[str, float]) -> BlowerSystem:
    static = next(
        (r.total_external_static.si for r in job.readings if r.total_external_static is not None), 0.5 * 249.09
    )
    power = job.blower.horsepower or (1.0 / 3.0 if job.tons < 2.4 else 0.5 if job.tons < 3.9 else 0.75)
    motor = _motor_by_plate(job)
    return fit_blower(mid["airflow"], static, mid["blower_watts"], power, job.blower.tap_in_use, motor=motor)


def _lowest(job: Job, blower: BlowerSystem) -> LowestFrequency | None:
    """The lowest safe frequency on a drive; None for other motors than a PSC, and where line frequency itself is too slow."""
    if job.blower.motor not in ("psc", "unknown"):
        return None
    floor = job.safe_limits.least_frequency
    try:
        return lowest_safe_frequency(
            blower, bearing=job.blower.bearing, maker_least_hertz=None if floor is None else floor.si
        )
    except NoSolutionError:
        return None


def _motor_by_plate(job: Job) -> PscMotor | None:
    """The PSC motor that plate and wattmeter tell; None where the plate has no more than horsepower on it."""
    plate = job.blower
    if plate.motor not in ("psc", "unknown") or plate.horsepower is None or plate.nameplate_volts is None:
        return None
    amps, capacitor = plate.nameplate_amps, plate.run_capacitor
    printed = Nameplate(
        plate.horsepower,
        plate.nameplate_volts.si,
        amps=None if amps is None else amps.si,
        capacitor_uf=None if capacitor is None else 1e6 * capacitor.si,
    )
    factor = TAP_FACTORS[plate.tap_in_use - 1]
    read = [
        MotorReading(watts=r.blower_power.si, tap_factor=factor) for r in job.readings if r.blower_power is not None
    ]
    return fit_motor(printed, read[:1]).motor


def _system(job: Job, d: dict[str, Array], units: Array, flow: Array, watts: Array, pressure: float) -> SystemSample:
    area = job.house.floor_area.si
    height = d["ceiling_height"]
    count = len(flow)
    one = np.ones(count)
    air_kg = area * height * DENSITY
    inside = job.ducts.place == "inside"
    part = 0.27 if storeys_of(job) < 1.5 else 0.20
    return SystemSample(
        pressure_pa=pressure,
        units=units,
        surfaces=fit_surfaces(units, pressure),
        bypass=bypass_constants(units, pressure),
        full_flow_kg_s=flow,
        fan_watts=watts,
        floor_area_m2=one * area,
        volume_m3=area * height,
        envelope_w_k=d["envelope"],
        air_capacity_j_k=one * 20000.0 * area,
        mass_capacity_j_k=d["mass"] * area,
        mass_coupling_w_k=one * 6.0 * area,
        solar_aperture_m2=np.tile(d["aperture"][:, None], (1, 4)),
        leakage_area_cm2=d["leakage_area"],
        storeys=one * storeys_of(job),
        internal_gain_w=d["internal_gain"],
        moisture_gain_kg_s=d["moisture"],
        moisture_buffer_kg=0.4 * d["moisture_multiplier"] * air_kg,
        deep_buffer_kg=0.6 * d["moisture_multiplier"] * air_kg,
        buffer_coupling_kg_s=one * 0.001 * area,
        return_leak=d["return_leak"] + d["cabinet_leakage"],
        supply_leak=d["supply_leak"],
        duct_w_k=one * (0.0 if inside else part * area / (6.0 / 5.678)),
        attic_gain_k=d["attic_gain"],
        coil_water_max_kg=d["coil_water"],
        heating_capacity_w=one * heating_power_w(job),
        outdoor_air_part=d["outdoor_air"] * DENSITY / flow,
        exhaust_kg_s=d["exhaust"] * DENSITY,
        ducts_in_attic=one * (job.ducts.place in ("attic", "unknown")),
        ducts_in_crawl_space=one * (job.ducts.place == "crawl_space"),
        circuit_offset_k=d["circuit_offset"],
    )


def at_standard(system: SystemSample, fraction: float) -> Array:
    """Total, sensible, power, suction, surface, superheat at a fraction of full flow, map conditions; `[N, 6]`."""
    dry, humid, outdoor = STANDARD
    ratio = humidity_ratio_from_relative_humidity(dry, humid, system.pressure_pa)
    return np.array(
        [
            unit_state(dry, ratio, outdoor, fraction * flow, system.pressure_pa, unit)[:6]
            for flow, unit in zip(system.full_flow_kg_s, system.units, strict=True)
        ]
    )


def _figures(job: Job, system: SystemSample, drawn: dict[str, Array]) -> list[Figure]:
    state = at_standard(system, 1.0)
    size = job.system.outdoor_size.si
    return [
        figure("airflow", drawn["airflow"], "m3/s"),
        figure("airflow_per_ton", drawn["airflow"] / size, "m3/s/W", allowed=(LEAST_PER_TON, MUCH_AIR)),
        figure("total_capacity", state[:, 0], "W_heat"),
        figure("latent_capacity", state[:, 0] - state[:, 1], "W_heat"),
        figure("saturated_suction", state[:, 3], "degC", allowed=(0.0, None)),
        figure("blower_watts", drawn["blower_watts"], "W"),
        *_from_readings(job, drawn["airflow"]),
    ]


def _from_readings(job: Job, airflow: Array) -> list[Figure]:
    """What filter and thermometers say beside the model: face velocity, and what the return duct adds."""
    figures = []
    area = filter_area_m2(job)
    if area is not None:
        figures.append(figure("filter_velocity", airflow / area, "m/s"))
    for reading in job.readings:
        if reading.return_dry_bulb is not None and reading.grille_dry_bulb is not None:
            gain = reading.return_dry_bulb.si - reading.grille_dry_bulb.si
            sigma = 2.0**0.5 * THERMOMETER_SIGMA_K
            figures.append(spread_figure("return_duct_gain", gain, 1.645 * sigma, "K"))
            break
    return figures
