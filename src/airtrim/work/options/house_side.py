"""Options of house, ducts' leaks, habits and the unit's size: the sample of systems changed, or the thermostat's settings."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from airtrim.job.measured import Measured
from airtrim.job.model import Job
from airtrim.physics.season.system import SystemSample, WeatherArrays
from airtrim.physics.season.year import design_margin_w
from airtrim.physics.unit.fields import UNIT_FIELDS
from airtrim.physics.unit.fit import bypass_constants, fit_surfaces
from airtrim.work.findings import Findings
from airtrim.work.findings.find import DENSITY
from airtrim.work.options.air_side import PROVEN_PER_TON, electronic_motor_of, electronic_watts
from airtrim.work.options.candidates import Candidate, automatic, card_of

Array = NDArray[np.float64]
#: What careful sealing leaves of a duct leak: 30 to 50 % [from-memory].
LEAK_LEFT = 0.4
#: A set-point 2 F higher.
HIGHER_K = 2.0 / 1.8
#: A bath or kitchen fan run for this long a day does its work [judgement].
FAN_HOURS, LONG_FAN_HOURS = 1.0, 2.0
_CFM, _TON = 0.0004719474432, 3516.8528
#: A first stage of this part of capacity, power and airflow (a public two-speed unit, second-hand).
LOW_STAGE = {"gross_capacity_w": 0.72, "compressor_power_w": 0.66, "rated_flow_kg_s": 0.86}
#: A design sample to choose a size with, and what of a unit grows with it.
_SIZING_SYSTEMS = 8
_GROWS = ("gross_capacity_w", "compressor_power_w", "rated_flow_kg_s")


def seal_ducts(found: Findings, now: Candidate) -> Candidate:
    """Return and supply leaks sealed to two fifths of what they are."""
    assert now.program is not None
    if found.job.ducts.place == "inside":
        return Candidate("seal_ducts", None, why_not="option_why.ducts_inside")
    system = replace(
        found.system, return_leak=LEAK_LEFT * found.system.return_leak, supply_leak=LEAK_LEFT * found.system.supply_leak
    )
    notes = ["option_note.leak_assumed"] if found.job.ducts.return_leak is None else []
    if found.job.house.combustion_appliances:
        notes.append("option_note.combustion")
    return Candidate("seal_ducts", automatic(now.program), system=system, notes=tuple(notes))


def set_point_higher(found: Findings, now: Candidate) -> Candidate:
    """The cooling set-point 2 F higher."""
    assert now.program is not None
    if now.program.cooling_set_point_c + HIGHER_K > 27.0:
        return Candidate("set_point_higher", None, why_not="option_why.set_point_high")
    program = automatic(now.program)
    program = replace(program, cooling_set_point_c=program.cooling_set_point_c + HIGHER_K)
    return Candidate("set_point_higher", program, notes=("option_note.warmer",))


def exhausts_by_need(found: Findings, now: Candidate) -> Candidate:
    """Bath and kitchen fans run for an hour a day, as needed."""
    assert now.program is not None
    fans = found.job.habits.exhausts
    long = [fan for fan in fans if fan.kind in ("bath", "kitchen", "other") and fan.hours_a_day > LONG_FAN_HOURS]
    if not long:
        return Candidate("exhausts_by_need", None, why_not="option_why.no_long_exhaust")
    before = sum(fan.airflow.si * fan.hours_a_day for fan in fans)
    saved = sum(fan.airflow.si * (fan.hours_a_day - FAN_HOURS) for fan in long)
    system = replace(found.system, exhaust_kg_s=found.system.exhaust_kg_s * (1.0 - saved / before))
    notes = ("option_note.ventilation", "option_note.source_moisture")
    return Candidate("exhausts_by_need", automatic(now.program), system=system, notes=notes)


def less_outdoor_air(found: Findings, now: Candidate) -> Candidate:
    """An outdoor-air duct that brings more than ASHRAE 62.2 asks of the whole house is damped down to that."""
    assert now.program is not None
    duct = found.job.ducts.outdoor_air_duct
    if duct is None:
        return Candidate("less_outdoor_air", None, why_not="option_why.no_outdoor_air_duct")
    needed = ventilation_m3_s(found.job)
    if duct.si <= 1.1 * needed:
        return Candidate("less_outdoor_air", None, why_not="option_why.outdoor_air_needed")
    system = replace(found.system, outdoor_air_part=found.system.outdoor_air_part * needed / duct.si)
    return Candidate("less_outdoor_air", automatic(now.program), system=system, notes=("option_note.ventilation",))


def ventilation_m3_s(job: Job) -> float:
    """Whole-house ventilation, 0.03 cfm a square foot and 7.5 cfm for each bedroom and one more (ASHRAE 62.2 [from-memory])."""
    bedrooms = job.house.bedrooms if job.house.bedrooms is not None else 3
    return _CFM * (0.03 * job.house.floor_area.si / 0.09290304 + 7.5 * (bedrooms + 1))


def right_sized_unit(found: Findings, now: Candidate, weather: WeatherArrays) -> Candidate:
    """At the unit's end of life one of the smallest size, in half tons, that carries the design hour; as efficient as now.

    Its blower is a constant-airflow motor at 350 cfm/ton on the same ducts.
    """
    assert now.program is not None
    identity = "right_sized_unit"
    program = automatic(now.program)
    few = found.system.first(_SIZING_SYSTEMS)
    size = found.job.system.outdoor_size.si
    fitting = None
    tons = size / _TON - 0.5
    while tons >= 1.45:
        tried = _resized(few, tons * _TON, size)
        if float(np.median(design_margin_w(tried, program, weather))) < 0.0:
            break
        fitting, tons = tons, tons - 0.5
    if fitting is None:
        return Candidate(identity, None, why_not="option_why.unit_not_oversized")
    return _new_unit(found, now, fitting)


def _new_unit(found: Findings, now: Candidate, tons: float) -> Candidate:
    """A unit of this size, as efficient as the present one, with a constant-airflow motor at 350 cfm/ton."""
    assert now.program is not None
    system = _resized(found.system, tons * _TON, found.job.system.outdoor_size.si)
    flow = PROVEN_PER_TON * tons * _TON
    card = card_of(found.job, "constant_airflow_motor")
    shape = electronic_watts(found.blower, electronic_motor_of(found, "constant_airflow", card, flow))
    part = flow / found.airflow.m3_s
    # the cubic is of parts of the present airflow, the new unit's flow is its own full flow
    watts = np.tile(shape * part ** np.arange(4), (found.system.count, 1))
    named = Measured(text=f"{tons:g} tons", si=tons * _TON, unit="W")
    plates = found.job.system.model_copy(update={"outdoor_size": named, "coil_size": named})
    job = found.job.model_copy(update={"system": plates})
    notes = ("option_note.end_of_life", "option_note.new_motor")
    return Candidate("right_sized_unit", automatic(now.program), watts, system=system, job=job, notes=notes)


def _resized(system: SystemSample, size_w: float, present_w: float) -> SystemSample:
    """The same house with a unit of another size: capacity, power and rated airflow in proportion, 350 cfm/ton."""
    ratio = size_w / present_w
    same = abs(ratio - 1.0) < 1e-9
    units = system.units.copy()
    units[:, [UNIT_FIELDS.index(name) for name in _GROWS]] *= 1.0 if same else ratio
    flow_ratio = PROVEN_PER_TON * size_w * DENSITY / system.full_flow_kg_s
    return replace(
        system,
        units=units,
        surfaces=system.surfaces if same else fit_surfaces(units, system.pressure_pa),
        bypass=system.bypass if same else bypass_constants(units, system.pressure_pa),
        full_flow_kg_s=system.full_flow_kg_s * flow_ratio,
        outdoor_air_part=system.outdoor_air_part / flow_ratio,
        coil_water_max_kg=system.coil_water_max_kg * ratio,
    )


def staged_unit(found: Findings, now: Candidate, right_sized: Candidate) -> Candidate:
    """At the unit's end of life one of two stages: of the right size where the present one is too large, else of its size.

    Its blower is a constant-airflow motor; the first stage moves as much less air as it cools.
    """
    identity = "staged_unit"
    assert now.program is not None
    if found.job.system.stages > 1:
        return Candidate(identity, None, why_not="option_why.staged_already")
    base = right_sized
    if right_sized.program is None:
        size = found.job.system.outdoor_size.si
        base = _new_unit(found, now, size / _TON)
    system, program = base.system_of(found), base.program
    assert program is not None
    low = system.units.copy()
    for name, part in LOW_STAGE.items():
        low[:, UNIT_FIELDS.index(name)] *= part
    system = replace(
        system,
        low_stage_units=low,
        low_stage_surfaces=fit_surfaces(low, system.pressure_pa),
        low_stage_bypass=bypass_constants(low, system.pressure_pa),
    )
    flow = LOW_STAGE["gross_capacity_w"]
    return replace(base, id=identity, system=system, program=replace(program, low_stage_flow=flow, least_flow=flow))
