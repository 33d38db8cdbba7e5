"""What was read, as the fit compares it with the model: one row for each reading, with the air it was read at."""

from dataclasses import dataclass
from math import isfinite, log

import numpy as np

from airtrim.job.model import Job
from airtrim.physics.unit.steady import TRUSTED_AIRFLOW
from airtrim.work.findings.parameters import PARTS
from airtrim.work.findings.trusted import WIDER, outside, rated_part
from airtrim.work.readings.airflow import FROM_COOLING, airflows
from airtrim.work.readings.answers import points_of
from airtrim.work.readings.electrical import capacitors, electrical
from airtrim.work.readings.join import join
from airtrim.work.readings.point import Point, finite
from airtrim.work.readings.pressures import external_static, parts_of
from airtrim.work.readings.refrigerant_state import refrigerant_state
from airtrim.work.readings.uncertain import Uncertain, carried, in_logarithm

#: How far a right model may lie from a right reading, one sigma [judgement: the loop's own checks in docs/validation]. K, parts of
#: a humidity ratio, and logarithms. Suction: a compressor map that leans by 5 % moves it by 0.2 K, by 0.4 K where the metering
#: starves [own-derivation, tests/work/findings/invented.py], and the suction line's drop to the port is not in the model. Blower
#: watts are what the meter reads, so that only their wandering with the line is left.
MODEL_SIGMA = {
    "suction": 0.4,
    "superheat": 1.2,
    "condensing": 0.8,
    "subcooling": 0.9,
    "supply": 0.4,
    "supply_humidity": 0.02,
    "condensate": 0.06,
    "airflow": 0.01,
    "fan_table": 0.02,
    "external_static": 0.04,
    **{f"{part}_drop": 0.06 for part in PARTS},
    "duct_gain": 0.25,
    "capacitor": 0.01,
    "blower_power": 0.002,
}
#: Before it has settled everything at the coil may be off so many times more.
UNSETTLED = 2.5
#: A reading within a pressure port's error of nothing tells no ratio, Pa.
LEAST_DROP_PA = 2.0


@dataclass(frozen=True)
class Observation:
    """One reading: its kind, the point (place in `Observed.air`, -1 for none), value with sources, and the model's own sigma.

    Pressures, airflows, watts and condensate are logarithms; `shown` is (value, unit) as it was read, SI.
    """

    kind: str
    point: int
    value: Uncertain
    model_sigma: float
    shown: tuple[float, str]


@dataclass(frozen=True)
class Air:
    """Air a cooling point was read at; `tap_steps` how many taps slower than the tap in use; `heat_in_supply` the blower's."""

    return_c: Uncertain
    humidity_ratio: Uncertain
    outdoor_c: Uncertain
    volume_m3_kg: float
    tap_steps: int
    heat_in_supply: bool
    number: int


@dataclass(frozen=True)
class Observed:
    """All readings of a job for the fit."""

    air: tuple[Air, ...]
    rows: tuple[Observation, ...]
    pressure_pa: float

    def has(self, kind: str) -> bool:
        return any(one.kind == kind for one in self.rows)


def _logarithm(one: Uncertain | None, least: float = 0.0) -> Uncertain | None:
    return in_logarithm(one) if one is not None and finite(one) and one.value > least else None


def observed(job: Job, pressure_pa: float) -> Observed:
    """Every reading the model can answer for; what was read on a coil in ice is left out."""
    points = [point for point in points_of(job, pressure_pa) if not point.iced]
    air: list[Air] = []
    rows: list[Observation] = []

    def put(kind: str, place: int, value: Uncertain | None, shown: tuple[float, str], times: float = 1.0) -> None:
        if value is not None and finite(value) and isfinite(shown[0]):
            rows.append(Observation(kind, place, value, MODEL_SIGMA[kind] * times, shown))

    joined = airflows(points).joined.get(job.blower.tap_in_use) if points else None
    part = None if joined is None else rated_part(job, joined.flow_kg_s.value * points[0].return_volume().value)
    far_airflow = part is not None and not TRUSTED_AIRFLOW[0] <= part <= TRUSTED_AIRFLOW[1]
    for point in points:
        if point.reading.operation != "cooling":
            continue
        outdoor = point.of("outdoor_dry_bulb")
        dry, ratio, read = point.return_air()
        if outdoor is None or not read or not finite(dry, ratio):
            continue
        place = len(air)
        before = point.reading.blower_place != "after_supply_reading"
        steps = point.tap - job.blower.tap_in_use
        volume = point.return_volume().value
        air.append(Air(dry, ratio, outdoor, volume, steps, before, point.number))
        far = bool(outside(dry.value, ratio.value, outdoor.value, pressure_pa))
        _coil_rows(point, place, put, WIDER if far or far_airflow else 1.0)
    _air_rows(job, points, air, put)
    return Observed(tuple(air), tuple(rows), points[0].pressure_pa if points else pressure_pa)


def _coil_rows(point: Point, place: int, put, wider: float) -> None:  # type: ignore[no-untyped-def]
    state = refrigerant_state(point)
    running = point.reading.running_for
    times = wider * (UNSETTLED if running is not None and running.si < 900.0 else 1.0)
    for kind, value, unit in (
        ("suction", state.suction_c, "degC"),
        ("superheat", state.superheat_k, "K"),
        ("condensing", state.condensing_c, "degC"),
        ("subcooling", state.subcooling_k, "K"),
        ("supply", point.supply_dry_bulb() if point.reading.supply_place == "plenum" else None, "degC"),
    ):
        if value is not None:
            put(kind, place, value, (value.value, unit), times)
    wet = point.reading.supply_wet_bulb is not None or point.reading.supply_relative_humidity is not None
    humid = point.humidity("supply") if wet else None
    if humid is not None and humid.value > 0.0:
        put("supply_humidity", place, in_logarithm(humid), (humid.value, "kg/kg"), times)
    caught = point.reading.condensate
    if caught is not None:
        volume = point.taken("condensate", caught.volume)
        water = carried(lambda v: v * 998.0 / caught.time.si, v=volume)
        put("condensate", place, _logarithm(water), (water.value, "kg/s"), times)


def _air_rows(job: Job, points: list[Point], air: list[Air], put) -> None:  # type: ignore[no-untyped-def]
    tap = job.blower.tap_in_use
    found = airflows(points)
    wet = {point.number: point.reading.operation == "cooling" and point.reading.coil != "dry" for point in points}
    volumes = {one.number: one.volume_m3_kg for one in air}
    for steps_tap in sorted({point.tap for point in points}):
        ways = [way for way in found.ways if way.id not in (*FROM_COOLING, "fan_table")]
        joined = join(ways, steps_tap, wet)
        if joined is not None:
            here = next((one for one in air if one.tap_steps == steps_tap - tap), None)
            volume = here.volume_m3_kg if here is not None else points[0].return_volume().value
            value = joined.log_flow
            put("airflow", steps_tap - tap, value, (float(np.exp(value.value)) * volume, "m3/s"))
    main = next((point for point in points if point.tap == tap and point.reading.operation == "cooling"), None)
    main = main or next((point for point in points if point.tap == tap), None)
    if main is None:
        return
    for way in found.ways:
        if way.id == "fan_table" and way.flow_kg_s is not None and way.point == main.number and way.usable:
            volume = volumes.get(way.point, main.return_volume().value)
            put("fan_table", 0, _logarithm(way.flow_kg_s), (way.flow_kg_s.value * volume, "m3/s"))
    static = external_static(main)
    parts = parts_of(main)
    for part, drop in parts.items():
        if drop.value > LEAST_DROP_PA:
            put(f"{part}_drop", 0, _logarithm(drop), (drop.value, "Pa"))
    if static is not None and static.value > LEAST_DROP_PA and len(parts) < 3:
        put("external_static", 0, _logarithm(static), (static.value, "Pa"))
    back, grille = main.of("return_dry_bulb"), main.of("grille_dry_bulb")
    outdoor = main.of("outdoor_dry_bulb")
    if back is not None and grille is not None and outdoor is not None:
        gain = carried(lambda a, b: a - b, a=back, b=grille)
        put("duct_gain", 0, gain, (gain.value, "K"))
    label = job.blower.run_capacitor
    read = next((one for point in [main, *points] for one in capacitors(point).values()), None)
    if read is not None and label is not None:
        ratio = carried(lambda f: f / label.si, f=read)
        put("capacitor", 0, _logarithm(ratio), (read.value * 1e6, "uF"))
    power = electrical(main, None).watts  # by wattmeter, else by volts, amps and power factor
    if power is not None:
        put("blower_power", 0, _logarithm(power), (power.value, "W"))


def log_ratio(value: float, base: float) -> float:
    """Logarithm of a ratio of two positive values."""
    return log(value / base)
