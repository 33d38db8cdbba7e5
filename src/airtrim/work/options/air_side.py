"""Options of path and motor: filter, coil, ducts, another motor, less voltage; each by the blower's balance on its new path."""

from dataclasses import replace
from math import pi

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import NoSolutionError
from airtrim.job.cards import Card
from airtrim.physics.blower.electronic import ElectronicMotor, torque_at
from airtrim.physics.blower.fit import ELECTRONIC_RPM
from airtrim.physics.blower.motor import WATTS_PER_HORSEPOWER
from airtrim.physics.blower.path import COIL_EXPONENT, Path, Resistance
from airtrim.physics.blower.system import BlowerPoint, BlowerSystem, operating_point
from airtrim.physics.blower.wheel import wheel_load
from airtrim.work.findings import Findings
from airtrim.work.findings.blower import horsepower_of
from airtrim.work.findings.survey import CFM_PER_TON
from airtrim.work.options.candidates import (
    UNCHANGED_RISE,
    Candidate,
    automatic,
    card_of,
    coil_feedback,
    is_psc,
    scaled_watts,
)
from airtrim.work.readings import points_of
from airtrim.work.readings.pressures import external_static

Array = NDArray[np.float64]
#: Twice the filter's face halves its velocity, and so its drop goes by its exponent.
TWICE_THE_FACE = 2.0
#: Duct work on one side is reckoned to halve that side's drop (a second return, a wider trunk) [judgement].
DUCT_WORK = 0.5
#: Where only the total was read, this part of the ducts' drop is the return's [from-memory].
RETURN_PART = 0.5
#: Total external static above which duct work is worth a look: most equipment is rated at 0.5 in w.c. (125 Pa).
HIGH_STATIC_PA = 0.5 * 249.08891
#: A filter of another type and the same size (a deeper pleat) drops half as much [judgement]; clean ones take 0.10 to 0.20 in w.c.
#: [common-practice], so from 0.20 on another is worth a look.
FREER, FILTER_PA = 0.5, 0.20 * 249.08891
#: Boots and registers take this part of what the supply ducts drop [judgement].
REGISTER_PART = 0.5
#: A wet coil takes 0.30 in w.c. at 400 cfm/ton [common-practice]; a drop above this many times that is called dirty.
COIL_PA, COIL_PER_TON, DIRTY = 0.30 * 249.08891, 400.0 * CFM_PER_TON, 1.3
#: Face velocity of a filter that is fast, m/s (300 ft/min).
FAST_FILTER_M_S = 1.524
#: Airflow a fixed setting aims at: the trade's floor in wet climates, 350 cfm/ton.
PROVEN_PER_TON = 350.0 * CFM_PER_TON
LEAST_PART, FALLBACK_DROP_K = 0.7, 14.0
_PARTS = np.linspace(0.35, 1.05, 8)


def larger_filter(found: Findings, now: Candidate) -> Candidate:
    """Twice the filter face: half the velocity through it."""
    speed = next((one for one in found.figures if one["id"] == "filter_velocity"), None)
    if speed is None:
        return Candidate("larger_filter", None, why_not="option_why.filter_size_not_known")
    if speed["high"] < FAST_FILTER_M_S:
        return Candidate("larger_filter", None, why_not="option_why.filter_large_enough")
    exponent = found.blower.path.filter_exponent
    return on_path(found, now, "larger_filter", found.blower.path._replace(
        filter=found.blower.path.filter * TWICE_THE_FACE**-exponent
    ))  # fmt: skip


def freer_filter(found: Findings, now: Candidate) -> Candidate:
    """A filter of the same size that drops half as much, where the drop read is high for a clean one."""
    ports = next(
        (r for r in found.job.readings if r.static_before_filter is not None and r.static_after_filter is not None),
        None,
    )
    if ports is None or ports.static_before_filter is None or ports.static_after_filter is None:
        return Candidate("freer_filter", None, why_not="option_why.filter_not_read")
    if abs(ports.static_after_filter.si - ports.static_before_filter.si) < FILTER_PA:
        return Candidate("freer_filter", None, why_not="option_why.filter_free_enough")
    path = found.blower.path
    made = on_path(found, now, "freer_filter", path._replace(filter=path.filter * FREER))
    return replace(made, notes=(*made.notes, "option_note.catches_as_much"))


def registers_open(found: Findings, now: Candidate) -> Candidate:
    """All supply registers opened: those shut left the air to fewer, whose drop goes by the square of what each passes."""
    ducts = found.job.ducts
    if not ducts.closed_registers or not ducts.registers:
        return Candidate("registers_open", None, why_not="option_why.no_register_shut")
    open_part = 1.0 - ducts.closed_registers / ducts.registers
    part = REGISTER_PART * (1.0 - RETURN_PART)
    path = found.blower.path
    made = on_path(found, now, "registers_open", path._replace(ducts=path.ducts * (1.0 - part * (1.0 - open_part**2))))
    return replace(made, notes=(*made.notes, "option_note.duct_part_assumed"))


def clean_coil(found: Findings, now: Candidate) -> Candidate:
    """The coil's drop back to a clean wet coil's, where ports show that it is above it."""
    ports = next(
        (r for r in found.job.readings if r.static_before_coil is not None and r.static_after_coil is not None), None
    )
    if ports is None or ports.static_before_coil is None or ports.static_after_coil is None:
        return Candidate("clean_coil", None, why_not="option_why.coil_not_read")
    drop = abs(ports.static_after_coil.si - ports.static_before_coil.si)
    per_ton = found.airflow.m3_s / found.job.system.coil_size.si
    usual = COIL_PA * (per_ton / COIL_PER_TON) ** COIL_EXPONENT
    if drop < DIRTY * usual:
        return Candidate("clean_coil", None, why_not="option_why.coil_not_dirty")
    path = found.blower.path
    made = on_path(found, now, "clean_coil", path._replace(coil=path.coil * usual / drop))
    return replace(made, notes=(*made.notes, "option_note.coil_heat_not_counted"))


def duct_work(found: Findings, now: Candidate, side: str) -> Candidate:
    """Return or supply duct work that halves that side's drop."""
    identity = f"{side}_duct"
    static = next((r for r in found.job.readings if r.total_external_static is not None), None)
    if static is None or static.total_external_static is None:
        return Candidate(identity, None, why_not="option_why.static_not_read")
    total = static.total_external_static.si
    if total <= HIGH_STATIC_PA:
        return Candidate(identity, None, why_not="option_why.static_low")
    read = static.static_before_filter
    part = RETURN_PART if read is None else min(abs(read.si) / total, 1.0)
    part = part if side == "return" else 1.0 - part
    path = found.blower.path
    made = on_path(found, now, identity, path._replace(ducts=path.ducts * (1.0 - DUCT_WORK * part)))
    return replace(made, notes=(*made.notes, "option_note.duct_part_assumed")) if read is None else made


def on_path(found: Findings, now: Candidate, identity: str, path: Path, tap: int | None = None) -> Candidate:
    """The present motor, of whichever kind, on its tap or another, through another path."""
    assert now.program is not None
    blower = replace(found.blower, path=path)
    try:
        point = operating_point(blower, tap=tap)
    except NoSolutionError:
        return Candidate(identity, None, why_not="option_why.motor_cannot")
    made = _fixed(found, now, identity, point, blower)
    return replace(made, tap=tap)


def _fixed(
    found: Findings, now: Candidate, identity: str, point: BlowerPoint, blower: BlowerSystem | None = None
) -> Candidate:
    assert now.program is not None
    part = point.airflow_m3_s / found.blower.wheel.airflow
    watts = scaled_watts(found, np.array([point.watts / operating_point(found.blower).watts]))
    program = replace(automatic(now.program), cooling_flow=part, least_flow=part, greatest_flow=part)
    return Candidate(identity, program, watts, rise=point.winding_rise, blower=blower)


def aimed_part(found: Findings) -> float:
    """Airflow a fixed setting aims at, as a part of now: 350 cfm/ton and the maker's least, never above now."""
    wanted = PROVEN_PER_TON * found.job.system.outdoor_size.si
    listed = found.job.system.least_listed_airflow
    if listed is not None:
        wanted = max(wanted, listed.si)
    return float(min(max(wanted / found.airflow.m3_s, 0.4), 1.0))


def reduced_voltage(found: Findings, now: Candidate) -> Candidate:
    """Line voltage cut by phase until the aimed airflow is moved; usually the winding's heat forbids it."""
    identity = "reduced_voltage"
    if not is_psc(found):
        return Candidate(identity, None, why_not="option_why.not_psc")
    if found.blower.tap_in_use > 1:
        return Candidate(identity, None, why_not="option_why.control_on_low_tap")
    card = card_of(found.job, "reduced_voltage_control")
    if card.refuses("psc"):
        return Candidate(identity, None, why_not="option_why.card_refuses_motor")
    volts, aimed = card.settings.volts, aimed_part(found)
    assert volts is not None
    if aimed > 0.98:
        return Candidate(identity, None, why_not="option_why.airflow_low_already")
    low, high = max(volts.low.si, 0.1), min(volts.high.si, 1.0)
    point = None
    for ratio in np.arange(high, low - 1e-9, -0.02):
        try:
            tried = operating_point(found.blower, volts_ratio=volts.nearest(float(ratio)), phase_cut=True)
        except NoSolutionError:  # it stalls from here on
            break
        point = tried
        if tried.airflow_m3_s <= aimed * found.blower.wheel.airflow:
            break
    if point is None:
        return Candidate(identity, None, why_not="option_why.motor_cannot")
    made = _fixed(found, now, identity, point)
    return replace(made, notes=("option_note.hum", "option_note.no_coil_feedback"))


def static_known(found: Findings) -> bool:
    """Whether the total external static was read: without it nobody can say how loud a motor that holds its setting will be."""
    return any(external_static(point) is not None for point in points_of(found.job))


def electronic_motor_of(found: Findings, kind: str, card: Card, setting: float) -> ElectronicMotor:
    """A motor of the card's losses and the present horsepower, with one setting in its own unit."""
    power = card.limits.horsepower or horsepower_of(found.job)
    motor = ElectronicMotor(kind, (setting,), WATTS_PER_HORSEPOWER * power)
    if card.standby is not None:
        motor = replace(motor, standby_w=card.standby.si)
    points = [(one.load.si, one.efficiency.si) for one in card.efficiency]
    return motor.with_efficiency(points) if points else motor


def constant_torque_motor(found: Findings, now: Candidate, part: float | None = None) -> Candidate:
    """A constant-torque motor in place of the PSC, on the step of its card nearest to a part of now's airflow."""
    identity, kind = "constant_torque_motor", "constant_torque"
    if not is_psc(found):
        return Candidate(identity, None, why_not="option_why.not_psc")
    if not static_known(found):
        return Candidate(identity, None, why_not="option_why.static_before_motor")
    card = card_of(found.job, identity)
    part = part if part is not None else aimed_part(found)
    _, _, torque, _ = wheel_load(part, found.blower.wheel, found.blower.path, Resistance())
    motor = electronic_motor_of(found, kind, card, float(torque))
    rated = torque_at(motor.rated_w, ELECTRONIC_RPM)
    torques = card.settings.torque
    assert torques is not None
    setting = torques.nearest(float(torque) / rated)
    return _with_motor(found, now, identity, replace(motor, settings=(setting * rated,)))


def constant_airflow_motor(found: Findings, now: Candidate, part: float | None = None) -> Candidate:
    """A constant-airflow motor in place of the PSC, set to a part of now's airflow (the aimed one)."""
    identity, kind = "constant_airflow_motor", "constant_airflow"
    if not is_psc(found):
        return Candidate(identity, None, why_not="option_why.not_psc")
    if not static_known(found):
        return Candidate(identity, None, why_not="option_why.static_before_motor")
    card = card_of(found.job, identity)
    airflow = card.settings.airflow
    assert airflow is not None
    part = part if part is not None else aimed_part(found)
    setting = airflow.nearest(part * found.airflow.m3_s) * found.blower.wheel.airflow / found.airflow.m3_s
    return _with_motor(found, now, identity, electronic_motor_of(found, kind, card, setting))


def _with_motor(found: Findings, now: Candidate, identity: str, motor: ElectronicMotor) -> Candidate:
    try:
        point = operating_point(replace(found.blower, motor=motor, tap_in_use=1))
    except NoSolutionError:
        return Candidate(identity, None, why_not="option_why.motor_cannot")
    made = _fixed(found, now, identity, point)
    # its winding is another's: the present one's rise says nothing of it
    notes = ("option_note.new_motor", *(("option_note.motor_at_its_limit",) if point.limited_by else ()))
    return replace(made, rise=UNCHANGED_RISE, notes=notes)


def constant_airflow_feedback(found: Findings, now: Candidate, like: Candidate) -> Candidate:
    """A constant-airflow motor whose control holds a coil sensor drop, as its card allows; `like` is the drive's program."""
    identity = "constant_airflow_feedback"
    assert now.program is not None
    if not is_psc(found):
        return Candidate(identity, None, why_not="option_why.not_psc")
    if not static_known(found):
        return Candidate(identity, None, why_not="option_why.static_before_motor")
    card = card_of(found.job, "constant_airflow_motor")
    if not card.holds_the_coil:
        return Candidate(identity, None, why_not="option_why.card_senses_no_coil")
    settings = card.settings
    assert settings.airflow is not None and settings.coil_sensor_drop is not None
    least, drop = LEAST_PART, FALLBACK_DROP_K
    if like.program is not None:
        least, drop = like.program.least_flow, like.program.coil_sensor_drop_k
    least = min(max(least, settings.airflow.low.si / found.airflow.m3_s), 1.0)
    drop = settings.coil_sensor_drop.nearest(drop)
    motor = electronic_motor_of(found, "constant_airflow", card, found.blower.wheel.airflow)
    program = coil_feedback(found, automatic(now.program), least, drop)
    watts = scaled_watts(found, electronic_watts(found.blower, motor) / operating_point(found.blower).watts)
    return Candidate(identity, program, watts, notes=("option_note.new_motor",))


def electronic_watts(blower: BlowerSystem, motor: ElectronicMotor) -> Array:
    """Watts as a cubic in airflow / present airflow of an electronic motor on this wheel and path; `[4]`."""
    watts = []
    for part in _PARTS:
        speed, _, torque, _ = wheel_load(float(part), blower.wheel, blower.path, Resistance())
        watts.append(motor.watts(float(torque) * 2.0 * pi * float(speed) * blower.wheel.speed_rpm / 60.0))
    return np.asarray(np.polynomial.polynomial.polyfit(_PARTS, np.array(watts), 3), dtype=np.float64)
