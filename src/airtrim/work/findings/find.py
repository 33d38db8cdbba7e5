"""From the job's survey and readings to a sample of systems that fit them."""

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from airtrim.job.checks import Airflow, filter_area_m2, heating_power_w
from airtrim.job.model import Job, Readings
from airtrim.physics.air.moist import (
    humidity_ratio_from_relative_humidity,
    humidity_ratio_from_wet_bulb,
    specific_volume_m3_kg,
)
from airtrim.physics.blower.limits import LowestFrequency
from airtrim.physics.blower.system import BlowerSystem
from airtrim.physics.season.many import compile_years_ahead
from airtrim.physics.season.system import SystemSample, WeatherArrays
from airtrim.physics.unit.circuits import coldest_below_suction_k
from airtrim.physics.unit.fields import METERING, SENSOR_PLACE, complete_rows
from airtrim.physics.unit.fit import bypass_constants, fit_surfaces
from airtrim.physics.unit.steady import unit_state
from airtrim.work.figure import Figure, figure, spread_figure
from airtrim.work.findings.blower import PSC, blower_of, lowest_of
from airtrim.work.findings.explain import Explained, explanations, fit_faults
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
    heat_pump_points_w,
    leakage_prior,
    moisture_prior,
    outdoor_air_prior,
    storeys_of,
)
from airtrim.work.findings.kept import USUAL_AIR, machines
from airtrim.work.findings.maker import maker_messages
from airtrim.work.findings.next_reading import next_reading
from airtrim.work.findings.observed import observed
from airtrim.work.findings.parameters import CFM, described
from airtrim.work.findings.response import LATENT_HEAT as LATENT_HEAT
from airtrim.work.findings.survey import LEAST_PER_TON, MUCH_AIR, assumed, ducts_at_full, load_ratio, survey_messages
from airtrim.work.findings.trusted import outside_messages
from airtrim.work.readings import job_for_fit, known_airflow, read_job

Array = NDArray[np.float64]
Progress = Callable[[float], object]

#: Dry air at room state, kg/m3, for flows given as volumes of room air.
DENSITY = 1.17
TON_W = 3516.8528
#: Draws a round under each explanation: for a quick answer, and for a full one.
DRAWS, DRAWS_FULL = 256, 2048
#: From this chance on that it is something not on the list, the readings are said to disagree.
DISAGREE = 0.30
#: One sigma of a good thermometer, K (0.1 % + 1.3 F at 90 %, RA3 2008 [from-memory]).
THERMOMETER_SIGMA_K = 0.45
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
    explanations: dict[str, Any]
    next_reading: dict[str, Any]


def child_seed(seed: int, purpose: str) -> np.random.Generator:
    """A generator for one named purpose: a new purpose moves no other."""
    digest = int.from_bytes(hashlib.sha256(purpose.encode()).digest()[:4], "big")
    return np.random.default_rng(np.random.SeedSequence([seed, digest]))


def find(
    job: Job,
    weather: WeatherArrays,
    count: int = 32,
    seed: int = 1,
    full: bool = False,
    progress: Progress | None = None,
) -> Findings:
    """Fit the machine to every reading under every explanation and keep `count` systems in proportion to their chances.

    `full` takes eight times the draws. `progress` hears 0 to 1; an error it raises cancels. The same seed gives the same findings.
    Raises `JobError` where no airflow is known, `NoSolutionError` where no machine of this size runs under the readings.
    """
    airflow_read = known_airflow(job, weather.pressure_pa)
    compile_years_ahead(lanes=False)  # of the systems that are found
    whole, job = job, job_for_fit(job, weather.pressure_pa)
    pressure = weather.pressure_pa
    loads = load_ratio(job, weather)
    explained = fit_faults(
        whole,
        observed(whole, pressure),
        return_leak_ends(job),
        loads,
        DRAWS_FULL if full else DRAWS,
        lambda purpose: child_seed(seed, purpose),
        progress,
    )
    drawn = machines(explained, count, lambda purpose: child_seed(seed, purpose))
    priors = _priors(job)
    airflow = _fitted_airflow(drawn.values["airflow"])
    drawn.values.update(_draw(priors, count, child_seed(seed, "house")))
    flow_kg = drawn.values["airflow"] / specific_volume_m3_kg(*_return_state(job, _reading(job), pressure), pressure)
    # of a PSC 0.5 W/cfm where none were read, of others what their kind usually takes at this airflow
    usual = 0.5 * airflow.m3_s / CFM if job.blower.motor in PSC else float(np.median(drawn.values["blower_watts"]))
    tap_ratio = float(np.median(drawn.values["tap_ratio"]))
    blower, told_of_blower = blower_of(job, whole, airflow.m3_s, usual, tap_ratio)
    present = np.zeros((count, 4))
    present[:, 0] = drawn.values["blower_watts"]
    system = _system(job, drawn.values, drawn.units, flow_kg, present, pressure)
    seen = [
        (one.number, one.return_c.value, one.humidity_ratio.value, one.outdoor_c.value) for one in explained.seen.air
    ]
    messages = [
        *outside_messages(job, airflow_read.m3_s, seen, pressure),
        *survey_messages(whole, airflow, loads),
        *told_of_blower,
        *ducts_at_full(whole, blower, airflow, pressure),
        *maker_messages(
            job, described(job, "fixed_orifice" if np.mean(system.units[:, METERING]) > 0.5 else "expansion_valve")
        ),
    ]
    if explained.chances.get("something_else", 0.0) > DISAGREE:
        messages.insert(0, {"id": "finding.readings_disagree", "values": {}})
    read = read_job(whole, pressure)
    told_of = [*read["messages"], *(one for point in read["points"] for one in point["messages"])]
    stops = [one for one in told_of if _is_stop(one)]
    messages = [*stops, *messages]  # above everything
    told = explanations(explained, lambda purpose: child_seed(seed, purpose))
    return Findings(
        job,
        system,
        blower,
        airflow,
        lowest_of(job, blower),
        _figures(job, system, drawn.values),
        assumed([*_machine_priors(explained), *priors], job, system.units[:, METERING]),
        messages,
        seed,
        told,
        next_reading(whole, explained, lambda purpose: child_seed(seed, purpose)),
    )


def _fitted_airflow(drawn_m3_s: Array) -> Airflow:
    """The one airflow of everything that follows: the fitted systems' median and their spread."""
    low, middle, high = np.quantile(drawn_m3_s, (0.05, 0.5, 0.95))
    return Airflow(float(middle), float((high - low) / (2.0 * 1.645 * middle)), "fitted")


def _is_stop(one: dict[str, Any]) -> bool:
    return str(one["id"]).startswith("reading.stop.")


def return_leak_ends(job: Job) -> tuple[float, float, float]:
    """Part of the airflow that the return draws in: as surveyed, else 5 % (1.5 to 9 %), a fifth of it inside the house."""
    given = job.ducts.return_leak
    if given is not None:
        return 0.8 * given.si, given.si + 1e-7, 1.2 * given.si + 1e-6
    part = 0.2 if job.ducts.place == "inside" else 1.0
    return 0.015 * part, 0.04 * part, 0.09 * part


def _machine_priors(explained: Explained) -> list[Prior]:
    """What was taken for the machine before the readings, as it is shown; of the explanation that nothing is wrong."""
    sound = next(one for one in explained.fitted if one.fault.explanation == "nothing_found")
    ends = {one.name: one for one in sound.parameters}
    size = sound.model.job.system.outdoor_size.si
    shown = [
        ("capacity_ratio", "gross_capacity_w", "fraction", 1.0 / size),
        ("coil_td", "coil_td_k", "K", 1.0),
        ("sensible_heat_ratio", "sensible_heat_ratio", "fraction", 1.0),
        ("blower_watts", "watts_per_airflow", "W", ends["blower"].mid),
        ("charge", "charge", "fraction", 1.0),
        ("coil_clean", "coil_clean", "fraction", 1.0),
        ("condenser_clean", "condenser_clean", "fraction", 1.0),
        ("return_leak", "return_leak", "fraction", 1.0),
        ("attic_gain", "attic_gain", "K", 1.0),
    ]
    listed = [
        Prior(name, factor * ends[key].mid, factor * ends[key].low, factor * ends[key].high, unit)
        for name, key, unit, factor in shown
    ]
    capacity, power = ends["gross_capacity_w"].mid, ends["compressor_power_w"]
    return [*listed, Prior("cop", capacity / power.mid, capacity / power.high, capacity / power.low, "")]


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


def _priors(job: Job) -> list[Prior]:
    """What the readings say nothing about: house, supply ducts, water on the coil."""
    inside = job.ducts.place == "inside"
    given = job.ducts.supply_leak
    part = 0.2 if inside else 1.0
    leak = (
        Prior("supply_leak", given.si, 0.8 * given.si, 1.2 * given.si + 1e-6, "fraction")
        if given is not None
        else Prior("supply_leak", 0.08 * part, 0.024 * part, 0.176 * part, "fraction")
    )
    return [
        cabinet_prior(job),
        leak,
        envelope_prior(job),
        aperture_prior(job),
        leakage_prior(job),
        gain_prior(job),
        moisture_prior(job),
        Prior("mass", 80000.0, 50000.0, 165000.0, "J/m2K"),
        Prior("moisture_multiplier", 15.0, 10.0, 25.0, ""),
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

    points = qmc.Sobol(d=len(priors), rng=generator).random(count)
    drawn: dict[str, Array] = {}
    for column, prior in enumerate(priors):
        if prior.high == 0.0:  # not there
            drawn[prior.id] = np.zeros(count)
            continue
        z = norm.ppf(np.clip(points[:, column], 0.005, 0.995)) / 1.645
        up, down = np.log(prior.high / prior.mid), np.log(prior.mid / prior.low)
        drawn[prior.id] = prior.mid * np.exp(np.where(z > 0.0, z * up, z * down))
    return drawn


def _system(job: Job, d: dict[str, Array], units: Array, flow: Array, watts: Array, pressure: float) -> SystemSample:
    area = job.house.floor_area.si
    height = d["ceiling_height"]
    count = len(flow)
    one = np.ones(count)
    air_kg = area * height * DENSITY
    inside = job.ducts.place == "inside"
    part = 0.27 if storeys_of(job) < 1.5 else 0.20
    pump_heat, pump_power = heat_pump_points_w(job)
    dry, ratio, outdoor = (float(one) for one in USUAL_AIR[0])
    below = coldest_below_suction_k(units, dry, ratio, outdoor, flow, pressure)
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
        circuit_offset_k=d["circuit_offset"] + below,
        heat_pump_heat_w=np.tile(pump_heat, (count, 1)),
        heat_pump_power_w=np.tile(pump_power, (count, 1)),
        sensor_place=complete_rows(units)[:, SENSOR_PLACE],
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
