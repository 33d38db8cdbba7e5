"""All answers of a job's readings as one document of figures and messages."""

import hashlib
import json
from typing import Any

import airtrim
from airtrim.job.instruments import CLASSES, KIND_OF, instrument_for, stale_checks
from airtrim.job.model import Job, Readings
from airtrim.physics.air.moist import pressure_at_altitude_pa
from airtrim.work.readings.air_side import air_side
from airtrim.work.readings.airflow import Airflows, airflow_messages, airflows, flow_at
from airtrim.work.readings.electrical import electrical
from airtrim.work.readings.iced import held_back
from airtrim.work.readings.plausibility import plausibility
from airtrim.work.readings.point import Point, message
from airtrim.work.readings.pressures import pressures
from airtrim.work.readings.refrigerant_side import refrigerant_side
from airtrim.work.readings.refrigerant_state import refrigerant_state
from airtrim.work.readings.site_steps import site_steps
from airtrim.work.readings.steadiness import steadiness
from airtrim.work.readings.sweat import sweat
from airtrim.work.readings.taken import taken
from airtrim.work.readings.uncertain import NINETY, Uncertain, carried, in_logarithm, log_figure
from airtrim.work.readings.way import Way
from airtrim.work.readings.ways_by_air import STANDARD_DENSITY
from airtrim.work.readings.workings_of_airflow import working_of_way, workings_of_joined
from airtrim.work.readings.workings_of_point import workings_of_point

SCHEMA = "airtrim-readings-1"
SEA_LEVEL_PA = 101325.0


def points_of(job: Job, pressure_pa: float = SEA_LEVEL_PA) -> list[Point]:
    """The job's readings as points; the house's altitude, where it was noted, goes before `pressure_pa`."""
    altitude = job.house.altitude
    air = pressure_at_altitude_pa(altitude.si) if altitude is not None else pressure_pa
    held = held_back(job.readings)
    return [Point(job, reading, number, air, held[number - 1]) for number, reading in enumerate(job.readings, start=1)]


def read_job(job: Job, pressure_pa: float = SEA_LEVEL_PA) -> dict[str, Any]:
    """What the readings say; raises `JobError` for a traverse with a wrong number of points.

    The document holds `airflow` (joined figures, the ways with their weights, assumptions and largest sources of uncertainty),
    `points` (figures, messages and verdicts of each reading), `messages` of the job, `site_steps` (what to do at the house where a
    sign or a reading asks for it: {id, because, steps}), `taken` (the readings themselves),
    `instruments`, and `workings` (formula, inputs and source of every figure; working.py). Messages are {id, values}: a value is a
    text or number, {value, unit} in SI, or {id} of another sentence. Stop signs stand first.
    """
    points = points_of(job, pressure_pa)
    found = airflows(points)
    tap = job.blower.tap_in_use
    if points and tap not in found.joined:
        cooling = [point.tap for point in points if point.reading.operation == "cooling" and point.tap in found.joined]
        tap = cooling[0] if cooling else tap
    read = [_point(point, points, found) for point in points]
    workings = [one for point in read for one in point.pop("workings")]
    first = next((point for point in points if point.tap == tap and point.reading.operation == "cooling"), None)
    shown = first or (points[0] if points else None)
    airflow = _airflow(shown, found, tap, {point.number: _wet(point) for point in points})
    return {
        "schema": SCHEMA,
        "airtrim_version": airtrim.__version__,
        "input_hash": hashlib.sha256(json.dumps(job.model_dump(), sort_keys=True, default=str).encode()).hexdigest(),
        "job": {"name": job.name, "place": job.house.place},
        "air_pressure_pa": points[0].pressure_pa if points else pressure_pa,
        "airflow": {name: value for name, value in airflow.items() if name != "workings"},
        "points": read,
        "messages": [
            *(message(f"stop.{danger}") for danger in dict.fromkeys(job.house.dangers)),
            *(airflow_messages(points, found, tap) if points else [message("no_readings")]),
        ],
        "site_steps": site_steps(job, points, _joined_airflow(points, found, tap)),
        "taken": [taken(point) for point in points],
        "instruments": _instruments(job),
        "workings": [*airflow["workings"], *workings],
    }


def _joined_airflow(points: list[Point], found: Airflows, tap: int) -> Uncertain | None:
    """The joined airflow of a tap, m3/s of air entering the coil."""
    joined = found.joined.get(tap)
    return None if joined is None else _volume_flow(joined.flow_kg_s, points[0].return_volume())


def _volume_flow(flow: Uncertain, volume: Uncertain) -> Uncertain:
    return carried(lambda flow, v: flow * v, flow=flow, v=volume)


def _wet(point: Point) -> bool:
    return point.reading.operation == "cooling" and point.reading.coil != "dry"


def _airflow(point: Point | None, found: Airflows, tap: int, wet: dict[int, bool]) -> dict[str, Any]:
    joined = found.joined.get(tap)
    answer: dict[str, Any] = {"tap": tap, "figures": [], "ways": [], "workings": []}
    if point is None:
        return answer
    volume, size = point.return_volume(), point.job.system.outdoor_size.si
    if joined is not None:
        flow = _volume_flow(joined.flow_kg_s, volume)
        standard = carried(lambda m: m / STANDARD_DENSITY, m=joined.flow_kg_s)
        answer["figures"] = [
            log_figure(in_logarithm(flow), "airflow", "m3/s"),
            log_figure(in_logarithm(carried(lambda q: q / size, q=flow)), "airflow_per_ton", "m3/s/W"),
            log_figure(in_logarithm(standard), "standard_airflow", "m3/s"),
        ]
        answer["workings"] = workings_of_joined(joined, answer["figures"], point, volume.value, wet)
    for way in found.ways:
        used = joined is not None and way in joined.ways
        weight = joined.weights[joined.ways.index(way)] if joined is not None and used else 0.0
        made = _way(way, used, weight, volume)
        answer["ways"].append(made)
        if "figure" in made:
            answer["workings"].append(working_of_way(way, made["figure"], volume.value))
    return answer


def _way(way: Way, joined: bool, weight: float, volume: Uncertain) -> dict[str, Any]:
    shown: dict[str, Any] = {
        "id": way.id,
        "point": way.point,
        "tap": way.tap,
        "operation": way.operation,
        "joined": joined,
        "weight": weight,
        "assumptions": [{"id": name, "state": kept} for name, kept in way.assumptions],
        "formula": way.formula,
        "source": way.source,
        "inputs": [{"name": name, "value": value, "unit": unit} for name, (value, unit) in way.inputs.items()],
    }
    if way.flow_kg_s is None:
        return shown | {"status": "not_computed", "why": way.why}
    flow = _volume_flow(way.flow_kg_s, volume)
    largest = sorted(way.flow_kg_s.parts.items(), key=lambda one: -abs(one[1]))[:3]
    whole = way.flow_kg_s.value
    return shown | {
        "figure": log_figure(in_logarithm(flow), f"airflow_by.{way.id}", "m3/s"),
        # half of the 90 % range that each source alone would give, as a part of the airflow
        "largest": [{"source": name, "part": NINETY * abs(part) / whole} for name, part in largest],
    }


def _point(point: Point, points: list[Point], found: Airflows) -> dict[str, Any]:
    flow, own = flow_at(point, found.joined), flow_at(point, found.independent)
    volume = point.return_volume()
    airflow = _volume_flow(flow, volume) if flow is not None else None
    state = refrigerant_state(point)
    counted = own if own is not None else flow
    air = air_side(point, counted, drain_known_apart=own is not None)
    pressed = pressures(point, airflow)
    steady_figures, steady = steadiness(point, [one.reading for one in points[: point.number - 1] if _same(one, point)])
    moving = any(one["id"] == "reading.still_moving" for one in steady)
    charge = refrigerant_side(point, state, air.split_k, airflow, moving)
    power = electrical(point, airflow)
    wetted = sweat(point)
    told = [
        *charge.messages, *power.messages, *plausibility(point, state), *pressed.messages, *air.messages, *wetted.messages, *steady,
        *_checks(point),
    ]  # fmt: skip
    figures = [
        *pressed.figures, *air.figures, *charge.figures, *power.figures, *wetted.figures, *steady_figures,
    ]  # fmt: skip
    if point.iced:  # a coil in ice says nothing of the system
        kept = [one for one in told if one["id"].startswith(("reading.stop.", "reading.ask."))]
        told, figures = [*kept, message(f"held.{point.iced}")], []
    return {
        "number": point.number,
        "id": point.reading.id,
        "operation": point.reading.operation,
        "tap": point.tap,
        "coil": point.reading.coil,
        "figures": figures,
        "workings": workings_of_point(point, figures, airflow, counted, air),
        "verdicts": {} if point.iced else charge.verdicts,
        "invalid": charge.invalid,
        "restriction": None if point.iced else pressed.restriction,
        "messages": in_order(told),
    }


def _same(one: Point, point: Point) -> bool:
    return one.reading.operation == point.reading.operation and one.tap == point.tap


def in_order(messages: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Stop signs first, then questions, then the rest, each in the order they came."""

    def rank(one: dict[str, Any]) -> int:
        return 0 if one["id"].startswith("reading.stop.") else 1 if one["id"].startswith("reading.ask.") else 2

    return sorted(messages, key=rank)


def _checks(point: Point) -> list[dict[str, Any]]:
    told = []
    for instrument, age in stale_checks(point.job, point.reading):
        days = CLASSES[instrument.kind].days
        if age is None:
            told.append(message("instrument_never_checked", instrument=instrument.id, days=days))
        elif age < 0:
            told.append(message("ask.checked_later", instrument=instrument.id, day=str(instrument.last_checked)))
        else:
            told.append(message("instrument_check_old", instrument=instrument.id, age=age, days=days))
    return told


def _taken(reading: Readings) -> set[str]:
    """Names (keys of `KIND_OF`) of what was read, those inside nested tables with them."""
    taken = {name for name in KIND_OF if name != "rooms" and getattr(reading, name, None)}
    inside = {
        "strip_volts": reading.strip_circuits,
        "strip_amps": reading.strip_circuits,
        "supply_dry_bulb": reading.supply_dry_bulbs,
        "plate_drop": reading.plate,
        "fan_airflow": reading.matching,
        "grille_velocities": [one for one in reading.grilles if one.velocity is not None],
        "traverse_velocities": [one for one in reading.traverses if one.velocities],
        "rooms": [one for one in reading.rooms if one.pressure is not None],
        "surface": reading.surfaces,
        "surface_air": [one for one in reading.surfaces if one.air_dry_bulb is not None],
        "surface_humidity": [one for one in reading.surfaces if one.air_relative_humidity is not None],
    }
    return taken | {name for name, given in inside.items() if given}


def _instruments(job: Job) -> list[dict[str, Any]]:
    """Class by class, what accuracy is taken where an instrument states none, from where, and which are yours."""
    names = {name for reading in job.readings for name in _taken(reading)}
    listed: list[dict[str, Any]] = []
    for kind in sorted({KIND_OF[name] for name in names}):
        base = CLASSES[kind]
        own = {one.id for name in names if KIND_OF[name] == kind and (one := instrument_for(job, name)) is not None}
        listed.append(
            {
                "kind": kind,
                "yours": sorted(own),
                "part_of_reading": base.part,
                "least": base.least,
                "unit": base.unit,
                "greater_of_both": base.greater,
                "source": base.source,
            }
        )
    return listed
