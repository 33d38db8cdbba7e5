"""Whether heat stays safe under an airflow: rise over strips and furnaces, condensing of a heat pump, over the sample.

A part-loaded filter counts on the side of too little air, a clean one on the side of too much. What was not read is drawn
evenly over its range, the same for every option.
"""

from dataclasses import dataclass, field
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import NoSolutionError
from airtrim.core.kernels import over_arrays
from airtrim.job.model import Job
from airtrim.physics.air.moist import specific_volume_m3_kg
from airtrim.physics.blower.system import BlowerSystem, operating_point
from airtrim.physics.refrigerant.saturation import bubble_temperature_c
from airtrim.physics.season.system import SystemSample
from airtrim.physics.unit.heating import (
    FURNACE_LIMIT_C,
    STRIP_LIMIT_C,
    USUAL_STRIP_RISE_K,
    defrost_supply_c,
    limit_trip_share,
    temperature_rise_k,
)
from airtrim.physics.unit.heating_pump import HIGH_PRESSURE_SWITCH_PA, heat_pump_closure, heat_pump_state
from airtrim.tables import refrigerant
from airtrim.work.figure import Figure, figure, spread_figure
from airtrim.work.findings import Findings
from airtrim.work.findings.blower import PSC
from airtrim.work.options.candidates import Candidate

Array = NDArray[np.float64]
SAFE, NOT_SAFE, CANNOT_TELL = "safe", "not_safe", "cannot_tell"
#: A row that is told and decides nothing.
TOLD = "told"

#: A filter part-loaded takes this part of the air away.
LOADED_FILTER = 0.95
#: Heat against its plate: strips by the square of 220 to 246 V on a 240 V element; furnaces by input within 5 % and
#: efficiency within 3 points [from-memory]; heat pumps by 10 % either way [from-memory].
HEAT_AGAINST_PLATE = {"electric_strip": (0.84, 1.05), "furnace": (0.92, 1.05), "heat_pump": (0.90, 1.10)}
#: One-sigma of a rise read with two thermometers of 1 F each, K.
RISE_SIGMA_K = 0.8
#: A heat pump at 47 F: heat over compressor power, condensing and evaporating TD, exponent of its coil [judgement].
PUMP_RANGES = {
    "ratio": (3.2, 4.6),
    "condensing_td": (20.0, 28.0),
    "evaporating_td": (5.0, 11.0),
    "exponent": (0.2, 0.6),
}
PUMP_FLOW_KG_S_PER_W = 400.0 * 0.0004719474432 / 3516.8528 * 1.20
#: The warmest a heat pump is asked to heat: 62 F outdoors, air 2 F above the set-point [judgement].
WARM_OUTDOOR_C, ABOVE_SET_POINT_K = (62.0 - 32.0) / 1.8, 2.0 / 1.8
USUAL_SET_POINT_C = 20.0
#: Of a high-pressure switch's label this part is used; a switch opens within some per cent of it [from-memory].
SWITCH_PART = 0.95
HOTTEST_CONDENSING_C = 63.9
#: Steps of even sequences that do not fall in with one another: the roots of the first primes.
_IRRATIONAL = tuple(prime**0.5 % 1.0 for prime in (2.0, 3.0, 5.0, 7.0, 11.0, 13.0, 17.0, 19.0, 23.0, 29.0))
#: A chance of the limit switch opening below this is not worth a line.
SHOWN_CHANCE = 0.005
#: Heat that a reversed heat pump takes from the air, against its heat at 47 F [from-memory].
DEFROST_TAKES = (0.8, 1.1)


@dataclass(frozen=True)
class HeatRow:
    """One thing judged: what, of which stage, on which figure, within which bounds (SI, of the figure's unit)."""

    id: str
    kind: str
    stage: int
    verdict: str
    figure: Figure | None
    least: float | None = None
    greatest: float | None = None


@dataclass(frozen=True)
class HeatCheck:
    """The verdict on heat under one setting.

    `changes` says whether the setting moves the airflow heat runs on; `missing` names the places of the job file that would
    settle it; `notes` are ids of what was taken for granted; `airflow` is what heat moves with a clean filter.
    """

    verdict: str
    changes: bool
    rows: list[HeatRow] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    airflow: Figure | None = None


@dataclass(frozen=True)
class _Run:
    """What heats at once: heat by kind (W), and the tap of its airflow (None where nobody looked)."""

    kind: str
    strip_w: float
    furnace_w: float
    pump_w: float
    tap: int | None

    @property
    def watts(self) -> float:
        return self.strip_w + self.furnace_w + self.pump_w


def heat_of(found: Findings, candidate: Candidate) -> HeatCheck:
    """Heat under an option: on its own lead as now, on a moved cooling lead, or at line speed through a drive."""
    job, blower = found.job, candidate.blower_of(found)
    if candidate.on_a_drive and candidate.watches_coil:
        proven = next((one for one in job.drive.modes if one.mode == "heat_call" and one.airflow is not None), None)
        seen = None if proven is None or proven.airflow is None else proven.airflow.si / found.airflow.m3_s
        return heat_under(job, found.system, found.blower, 1.0 if seen is None else seen, through_drive=True)
    moves_lead = candidate.tap is not None or candidate.blower is not None or candidate.id == "reduced_voltage"
    if moves_lead and candidate.program is not None:
        return heat_under(job, found.system, blower, candidate.program.cooling_flow, moves_lead=True)
    return heat_under(job, found.system, found.blower, 1.0)


def heat_under(
    job: Job,
    system: SystemSample,
    blower: BlowerSystem | None,
    fraction: float,
    moves_lead: bool = False,
    through_drive: bool = False,
) -> HeatCheck:
    """The verdict where the cooling lead moves `fraction` of the present airflow; `blower` tells what other taps move.

    A heat lead of its own keeps heat's airflow when the cooling lead is moved (`moves_lead`); through a drive all heat runs on
    its one lead (`through_drive`). Where nobody looked, heat is judged on the cooling lead: safe there means safe either way.
    """
    kind = job.heat.kind
    if kind == "none":
        return HeatCheck(SAFE, False)
    if kind == "unknown":
        return HeatCheck(CANNOT_TELL, True, missing=["heat.kind"])
    runs = _runs(job)
    own = own_lead(job)
    changes = (moves_lead and own is not True) or (through_drive and own is True)
    if not runs:
        wanted = {"furnace": "heat.furnace_output", "heat_pump": "heat.heat_pump_output"}
        return HeatCheck(CANNOT_TELL, changes, missing=[wanted.get(kind, "heat.strip_power")])
    rows: list[HeatRow] = []
    missing: list[str] = []
    notes = [] if through_drive or own is not None or not moves_lead else ["heat_note.lead_not_seen"]
    least: Array | None = None
    pump_air: dict[float, float] = {}  # least air, as a part, that each output of the heat pump was judged on
    for number, run in enumerate(runs, start=1):
        part = fraction if through_drive else _fraction(job, blower, run.tap, fraction, own)
        if part is None:
            missing.append("heat.tap")
            continue
        flow = system.full_flow_kg_s * part
        least = flow if least is None else np.minimum(least, flow)
        top = number == len(runs)
        found, wanted_places = _judge(job, system, blower, run, number, flow, part, top)
        rows += found
        missing += wanted_places
        if run.pump_w > 0.0:
            # strips on top take nothing off the condenser: on a slower tap it is judged again, on the pump's own output
            if run.strip_w > 0.0 and part < pump_air.get(run.pump_w, np.inf) - 1e-9:
                rows.append(_condensing(job, system, run, number, flow))
            pump_air[run.pump_w] = min(part, pump_air.get(run.pump_w, np.inf))
    if job.heat.kind == "heat_pump" and job.heat.strip_in_defrost is None and job.heat.defrost != "none":
        notes.append("heat_note.defrost_not_seen")
    verdict = _joined(rows, missing)
    if verdict == NOT_SAFE and "heat_note.lead_not_seen" in notes:
        verdict = CANNOT_TELL
        missing.append("heat.own_lead")
    read = None if least is None else figure("heat_airflow", least * _volume_m3_kg(job, system), "m3/s")
    return HeatCheck(verdict, changes, rows, list(dict.fromkeys(missing)), notes, read)


def own_lead(job: Job) -> bool | None:
    """Whether heat has a speed lead of its own; None where nobody looked."""
    if job.heat.own_lead is not None:
        return job.heat.own_lead
    taps = [job.heat.tap, *(stage.tap for stage in job.heat.stages)]
    seen = [tap for tap in taps if tap is not None]
    return True if any(tap != job.blower.tap_in_use for tap in seen) else None


def _runs(job: Job) -> list[_Run]:
    """What heats at once, least first: strips add up, furnaces step up, strips come on top of a heat pump.

    The heat pump's part is its own output wherever it was written (its stage, `heat_pump_output`), never the strips'.
    """
    heat = job.heat
    alone = heat.heat_pump_output.si if heat.heat_pump_output is not None else job.system.outdoor_size.si
    if heat.stages:
        runs: list[_Run] = []
        strips = pump = 0.0
        surveyed = heat.kind == "heat_pump" or heat.heat_pump_output is not None
        if surveyed and not any(stage.kind == "heat_pump" for stage in heat.stages):
            pump = alone
            runs.append(_Run("heat_pump", 0.0, 0.0, pump, heat.tap))
        for stage in heat.stages:
            if stage.kind == "electric_strip":
                strips += stage.power.si
            elif stage.kind == "heat_pump":
                pump = stage.power.si
            furnace = stage.power.si if stage.kind == "furnace" else 0.0
            runs.append(_Run(stage.kind, strips, furnace, pump if furnace == 0.0 else 0.0, stage.tap or heat.tap))
        return runs
    strip = heat.strip_power.si if heat.strip_power is not None else 0.0
    if heat.kind == "electric_strip":
        return [_Run("electric_strip", strip, 0.0, 0.0, heat.tap)] if strip > 0.0 else []
    if heat.kind == "furnace":
        output = heat.furnace_output.si if heat.furnace_output is not None else 0.0
        if output == 0.0 and heat.furnace_input is not None and heat.efficiency is not None:
            output = heat.furnace_input.si * heat.efficiency.si
        return [_Run("furnace", 0.0, output, 0.0, heat.tap)] if output > 0.0 else []
    first = _Run("heat_pump", 0.0, 0.0, alone, heat.tap)
    return [first] if strip == 0.0 else [first, _Run("electric_strip", strip, 0.0, alone, heat.tap)]


def _fraction(job: Job, blower: BlowerSystem | None, tap: int | None, shared: float, own: bool | None) -> float | None:
    """What heat moves against the present cooling airflow; None where its own tap was not seen or cannot be reckoned."""
    if own is not True:
        return shared
    if tap is None:
        return None
    if tap == job.blower.tap_in_use:
        return 1.0
    if blower is None or job.blower.motor not in PSC:  # an electronic motor's other settings are a guess
        return None
    try:
        return operating_point(blower, tap=tap).airflow_m3_s / blower.wheel[0]
    except NoSolutionError:
        return None


def _even(system: SystemSample, place: int, low: float, high: float) -> Array:
    """One value a system, evenly over the range and in an order of its own for each `place` (no draw)."""
    shares = (0.5 + _IRRATIONAL[place] * np.arange(system.count)) % 1.0
    ranks = (np.argsort(np.argsort(shares)) + 0.5) / system.count
    return np.asarray(low + (high - low) * ranks)


def _volume_m3_kg(job: Job, system: SystemSample) -> float:
    """Volume of the air the airflow was read on, so that heat's cfm compare with it."""
    return specific_volume_m3_kg(job.thermostat.set_point.si, 0.009, system.pressure_pa)


def _entering_c(job: Job) -> float:
    set_point = job.thermostat.heating_set_point
    return (set_point.si if set_point is not None else USUAL_SET_POINT_C) + ABOVE_SET_POINT_K


def _joined(rows: list[HeatRow], missing: list[str]) -> str:
    verdicts = [row.verdict for row in rows]
    if NOT_SAFE in verdicts:
        return NOT_SAFE
    return CANNOT_TELL if CANNOT_TELL in verdicts or missing or SAFE not in verdicts else SAFE


def _verdict(inside: NDArray[np.bool_]) -> str:
    """Safe where 19 of 20 systems keep the bound, not safe where half break it."""
    share = float(np.mean(inside))
    return SAFE if share >= 0.95 else NOT_SAFE if share <= 0.5 else CANNOT_TELL


def _judge(
    job: Job,
    system: SystemSample,
    blower: BlowerSystem | None,
    run: _Run,
    number: int,
    flow: Array,
    part: float,
    top: bool,
) -> tuple[list[HeatRow], list[str]]:
    """Rows of one run and the places of the job file that would settle it."""
    rows: list[HeatRow] = []
    missing: list[str] = []
    heat = job.heat
    if run.pump_w > 0.0 and run.strip_w == 0.0:
        rows.append(_condensing(job, system, run, number, flow))
        rows += _defrost(job, system, run, number, flow)
        return rows, missing
    rise = _rise(job, system, blower, run, flow, part, top)
    listed = heat.least_airflow
    strips = run.kind == "electric_strip"
    if listed is not None:
        moved = LOADED_FILTER * flow * _volume_m3_kg(job, system)
        read = figure("heat_airflow", moved, "m3/s")
        rows.append(HeatRow("heat_airflow", run.kind, number, _verdict(moved >= listed.si), read, listed.si))
    hot, plate = rise / LOADED_FILTER, heat.greatest_rise
    if plate is not None:
        greatest, judged = plate.si, hot
    elif strips and listed is None:
        greatest, judged = USUAL_STRIP_RISE_K, hot * run.strip_w / run.watts
    else:
        greatest, judged = None, hot
    if greatest is not None:
        read = figure("temperature_rise", judged, "K")
        rows.append(HeatRow("greatest_rise", run.kind, number, _verdict(judged <= greatest), read, None, greatest))
    elif not strips:
        missing.append("heat.greatest_rise")
    if heat.least_rise is not None and not strips:
        ok, read = rise >= heat.least_rise.si, figure("temperature_rise", rise, "K")
        rows.append(HeatRow("least_rise", run.kind, number, _verdict(ok), read, heat.least_rise.si, None))
    rows += _limit_switch(job, run, number, rise / LOADED_FILTER, top)
    if heat.rise_read is None and any(row.verdict == CANNOT_TELL and row.id.endswith("_rise") for row in rows):
        missing.append("heat.rise_read")
    return rows, missing


def _rise(
    job: Job, system: SystemSample, blower: BlowerSystem | None, run: _Run, flow: Array, part: float, top: bool
) -> Array:
    """Rise of a run, `[N]`, K: as read on site and carried to this airflow, else from plate and airflow."""
    read = job.heat.rise_read
    if read is not None and top:
        before = _fraction(job, blower, run.tap, 1.0, own_lead(job))
        noise = np.array([NormalDist(0.0, RISE_SIGMA_K).inv_cdf(one) for one in _even(system, 1, 0.0, 1.0)])
        return np.asarray((read.si + noise) * ((before or part) / part))
    watts = np.zeros(system.count)
    for place, (kind, given) in enumerate(
        (("electric_strip", run.strip_w), ("furnace", run.furnace_w), ("heat_pump", run.pump_w)), start=2
    ):
        watts = watts + given * _even(system, place, *HEAT_AGAINST_PLATE[kind])
    return np.asarray(over_arrays(temperature_rise_k)(watts, flow, np.full(system.count, 0.005)))


def _limit_switch(job: Job, run: _Run, number: int, rise: Array, top: bool) -> list[HeatRow]:
    """The outlet air against the limit switch: by its label, or where such switches may open at all."""
    if not top:
        return []
    outlet = _entering_c(job) + rise
    given = job.heat.limit_temperature
    read = figure("heat_outlet", outlet, "degC")
    if given is not None:
        return [HeatRow("limit_switch", run.kind, number, _verdict(outlet < given.si), read, None, given.si)]
    opens = STRIP_LIMIT_C if run.furnace_w == 0.0 else FURNACE_LIMIT_C
    chance = float(np.mean(over_arrays(limit_trip_share)(outlet, opens[0], opens[1])))
    if chance < SHOWN_CHANCE:
        return []
    told = spread_figure("limit_chance", chance, 0.0, "fraction")
    return [HeatRow("limit_switch_chance", run.kind, number, TOLD, told)]


def _condensing(job: Job, system: SystemSample, run: _Run, number: int, flow: Array) -> HeatRow:
    """Condensing temperature on the warmest heating hour, part-loaded filter, against the high-pressure switch."""
    name = job.system.refrigerant if job.system.refrigerant != "unknown" else "R-410A"
    table = refrigerant(name).table
    switch = job.heat.high_pressure_switch
    opens = SWITCH_PART * switch.si if switch is not None else HIGH_PRESSURE_SWITCH_PA[name][0]
    bound = bubble_temperature_c(table, opens + system.pressure_pa)
    greatest = bound if bound < HOTTEST_CONDENSING_C else HOTTEST_CONDENSING_C
    drawn = {key: _even(system, place, *ends) for place, (key, ends) in enumerate(PUMP_RANGES.items(), start=5)}
    heats = run.pump_w * _even(system, 4, *HEAT_AGAINST_PLATE["heat_pump"])
    found = np.full(system.count, np.nan)
    rated = run.pump_w * PUMP_FLOW_KG_S_PER_W
    for index, heat_w in enumerate(heats):
        closed = heat_pump_closure(
            table,
            heat_w,
            heat_w / drawn["ratio"][index],
            rated,
            drawn["condensing_td"][index],
            drawn["evaporating_td"][index],
        )
        found[index] = heat_pump_state(
            table,
            closed,
            rated,
            drawn["exponent"][index],
            LOADED_FILTER * float(flow[index]),
            _entering_c(job),
            WARM_OUTDOOR_C,
        )[2]
    settled = np.where(np.isfinite(found), found, np.inf)  # no balance: hotter than any switch allows
    read = figure("condensing_temperature", found, "degC")
    return HeatRow("condensing", "heat_pump", number, _verdict(settled <= greatest), read, None, float(greatest))


def _defrost(job: Job, system: SystemSample, run: _Run, number: int, flow: Array) -> list[HeatRow]:
    """Supply air while it defrosts, strips on where they are known to come on; told, not judged."""
    heat = job.heat
    if heat.defrost == "none" or heat.strip_in_defrost is None:
        return []
    on = [stage.power.si for stage in heat.stages if stage.kind == "electric_strip"]
    strip = sum(on) if on else heat.strip_power.si if heat.strip_power is not None else 0.0
    strips = _even(system, 2, *HEAT_AGAINST_PLATE["electric_strip"]) * (strip if heat.strip_in_defrost else 0.0)
    taken = run.pump_w * _even(system, 9, *DEFROST_TAKES)
    supply = over_arrays(defrost_supply_c)(
        _entering_c(job) * np.ones(system.count), LOADED_FILTER * flow, strips, taken, np.full(system.count, 0.005)
    )
    return [HeatRow("defrost_supply", "heat_pump", number, TOLD, figure("defrost_supply", np.asarray(supply), "degC"))]
