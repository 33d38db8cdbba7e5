"""What could be done, as an airflow program and the blower's watts on it."""

from dataclasses import dataclass, replace
from typing import Final, get_args

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import NoSolutionError
from airtrim.job.cards import Card, entered_cards, generic_card
from airtrim.job.model import Job, OptionId
from airtrim.physics.blower.supply import Estimate
from airtrim.physics.blower.system import BlowerSystem, hertz_for_flow, operating_point, watts_polynomial
from airtrim.physics.season.system import AirflowProgram, SystemSample
from airtrim.work.findings import Findings
from airtrim.work.findings.blower import ELECTRONIC, PSC
from airtrim.work.readings.site_steps import is_over_dry

Array = NDArray[np.float64]
#: Every option, the cheapest to do first.
IDS: Final[tuple[str, ...]] = get_args(OptionId)
DEFAULT_TAPS = 3
UNCHANGED_RISE = Estimate(1.0, 1.0, 1.0)
LONG_OFF_DELAY_S, SHORT_OFF_DELAY_S = 90.0, 30.0
#: Part of what a drive takes that it passes on, where its card does not say.
DRIVE_EFFICIENCY = 0.95
#: The kind of card that says what can be set on an option's hardware.
CARD_KINDS: Final = {
    "thermostat_that_dries": "thermostat_that_dries",
    "drive_coil_feedback": "speed_control_by_frequency",
    "reduced_voltage": "reduced_voltage_control",
    "constant_torque_motor": "constant_torque_motor",
    "constant_airflow_motor": "constant_airflow_motor",
    "constant_airflow_feedback": "constant_airflow_motor",
    "free_standing_dehumidifier": "dehumidifier",
    "ducted_dehumidifier": "ducted_dehumidifier",
}


#: What takes more water out of the house, and is no choice where it is too dry.
DRIES: Final = frozenset(
    ("lower_tap", "second_lower_tap", "thermostat_that_dries", "reduced_voltage", "free_standing_dehumidifier",
     "drive_coil_feedback", "constant_torque_motor", "constant_airflow_motor", "constant_airflow_feedback",
     "ducted_dehumidifier")
)  # fmt: skip


@dataclass(frozen=True, eq=False)
class Candidate:
    """One thing that could be done; `why_not` names why it does not apply (then it has no program).

    `system` and `blower` are what it leaves behind where it changes the house, the unit or the path (None: as found), `job` the
    survey where it changes that, `present_watts` the blower's before it. `parts` are the options joined in it. `notes` are ids of
    what it will not do, or asks for.
    """

    id: str
    program: AirflowProgram | None
    watts: Array | None = None
    why_not: str = ""
    hertz: float = 60.0
    rise: Estimate = UNCHANGED_RISE
    tap: int | None = None
    system: SystemSample | None = None
    blower: BlowerSystem | None = None
    job: Job | None = None
    present_watts: Array | None = None
    parts: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def watches_coil(self) -> bool:
        """Whether its program moves the airflow by a coil sensor."""
        return self.program is not None and self.program.coil_sensor_drop_k > 0.0

    @property
    def on_a_drive(self) -> bool:
        """Whether the existing motor runs on a drive."""
        return "drive_coil_feedback" in (self.id, *self.parts)

    def system_of(self, found: Findings) -> SystemSample:
        """The sample it is run on, as found or changed."""
        return self.system if self.system is not None else found.system

    def blower_of(self, found: Findings) -> BlowerSystem:
        """The blower as found or changed."""
        return self.blower if self.blower is not None else found.blower


def leave_as_is(found: Findings) -> Candidate:
    """The present tap, fan switch and off-delay."""
    thermostat = found.job.thermostat
    heating = thermostat.heating_set_point
    cooling = thermostat.set_point.si
    program = AirflowProgram(
        circulation_flow=1.0 if thermostat.fan == "on" else 0.0,
        off_delay_s=thermostat.off_delay.si if thermostat.off_delay is not None else 60.0,
        cooling_set_point_c=cooling,
        heating_set_point_c=min(heating.si if heating is not None else 20.0, cooling - 1.5),
    )
    return Candidate("leave_as_is", program)


def fan_auto(found: Findings, now: Candidate) -> Candidate:
    """Fan switch to AUTO, and a short off-delay."""
    assert now.program is not None
    if now.program.circulation_flow == 0.0 and now.program.off_delay_s <= LONG_OFF_DELAY_S:
        return Candidate("fan_auto", None, why_not="option_why.already_auto")
    return Candidate("fan_auto", automatic(now.program), notes=("option_note.ventilation",))


def shorter_off_delay(found: Findings, now: Candidate) -> Candidate:
    """The fan switch as it is, the blower off sooner after the compressor."""
    assert now.program is not None
    if now.program.circulation_flow > 0.0:
        return Candidate("shorter_off_delay", None, why_not="option_why.fan_is_on")
    if now.program.off_delay_s <= SHORT_OFF_DELAY_S:
        return Candidate("shorter_off_delay", None, why_not="option_why.off_delay_short")
    return Candidate("shorter_off_delay", automatic(now.program))


def lower_tap(found: Findings, now: Candidate, steps: int = 1) -> Candidate:
    """The next slower tap, or the one `steps` slower, fan switch on AUTO."""
    assert now.program is not None
    identity = "lower_tap" if steps == 1 else "second_lower_tap"
    blower = found.blower
    tap = blower.tap_in_use + steps
    if not (is_psc(found) or found.job.blower.motor in ELECTRONIC):
        return Candidate(identity, None, why_not="option_why.not_psc")
    if tap > (found.job.blower.taps or max(DEFAULT_TAPS, blower.tap_in_use)):
        return Candidate(identity, None, why_not="option_why.no_lower_tap")
    try:
        point = operating_point(blower, tap=tap)
    except NoSolutionError:
        return Candidate(identity, None, why_not="option_why.motor_cannot")
    fraction = point.airflow_m3_s / blower.wheel.airflow
    present = operating_point(blower).watts
    watts = scaled_watts(found, np.array([point.watts / present]))
    program = replace(automatic(now.program), cooling_flow=fraction, least_flow=fraction, greatest_flow=fraction)
    notes = () if is_psc(found) else ("option_note.own_setting",)
    return Candidate(
        identity,
        program,
        watts,
        rise=point.winding_rise,
        tap=tap,
        present_watts=found.system.fan_watts[:, 0],
        notes=notes,
    )


def drive(found: Findings, now: Candidate, least: float, drop_k: float) -> Candidate:
    """A drive on the PSC that holds a coil sensor drop between a least airflow and the present one."""
    assert now.program is not None
    identity = "drive_coil_feedback"
    if not is_psc(found):
        return Candidate(identity, None, why_not="option_why.not_psc")
    if found.lowest is None:
        return Candidate(identity, None, why_not="option_why.motor_cannot")
    card = card_of(found.job, "speed_control_by_frequency")
    if not card.holds_the_coil:
        return Candidate(identity, None, why_not="option_why.card_senses_no_coil")
    program = coil_feedback(found, automatic(now.program), least, drop_k)
    try:
        hertz = hertz_for_flow(found.blower, least)
        rise = operating_point(found.blower, hertz=hertz).winding_rise
    except NoSolutionError:
        return Candidate(identity, None, why_not="option_why.motor_cannot")
    if card.settings.frequency is not None and not card.settings.frequency.allows(hertz):
        return Candidate(identity, None, why_not="option_why.card_out_of_range")
    shape = watts_polynomial(found.blower)
    efficiency = card.efficiency[-1].efficiency.si if card.efficiency else DRIVE_EFFICIENCY
    watts = scaled_watts(found, shape / float(shape.sum()) / efficiency)
    return Candidate(identity, program, watts, hertz=hertz, rise=rise)


def coil_feedback(found: Findings, program: AirflowProgram, least: float, drop_k: float) -> AirflowProgram:
    """The program that holds a coil sensor drop between a least airflow and the present one."""
    floor = found.job.safe_limits.coil_floor
    return replace(
        program,
        cooling_flow=1.0,
        least_flow=least,
        greatest_flow=1.0,
        coil_sensor_drop_k=drop_k,
        coil_floor_c=floor.si if floor is not None else 2.2222,
        ramp_time_s=30.0,
    )


def scaled_watts(found: Findings, shape: Array) -> Array:
    """Coefficients `[N, 4]` of watts over flow: each system's own watts at present times `shape` (up to 4 coefficients)."""
    watts = np.zeros((found.system.count, 4))
    watts[:, : len(shape)] = found.system.fan_watts[:, :1] * shape[None, :]
    return watts


def automatic(program: AirflowProgram) -> AirflowProgram:
    """The program with the fan switch on AUTO and a short off-delay: free steps come first in every option."""
    return replace(program, circulation_flow=0.0, off_delay_s=min(program.off_delay_s, SHORT_OFF_DELAY_S))


def is_psc(found: Findings) -> bool:
    """Drives and less voltage are for a PSC motor; an unknown motor counts as one until somebody looks."""
    return found.job.blower.motor in PSC


def card_of(job: Job, kind: str) -> Card:
    """The job's own card of a kind, else the generic one. Raises `JobError` where a card was not read with the job."""
    own = next((card for card in entered_cards(job.options.cards) if card.kind == kind), None)
    return own if own is not None else generic_card(kind)


def asked_for(found: Findings, candidate: Candidate) -> Candidate:
    """The candidate, or the same one set aside because the job does not ask for it, or because it dries a house too dry."""
    if candidate.id != "leave_as_is" and candidate.id not in found.job.options.consider:
        return Candidate(candidate.id, None, why_not="option_why.not_asked")
    if candidate.id in DRIES and is_over_dry(found.job):
        return Candidate(candidate.id, None, why_not="option_why.too_dry")
    return candidate


def cards_of(job: Job, candidate: Candidate) -> list[Card]:
    """The cards of what a candidate fits: one for each part that has hardware to set, none for work on house or ducts."""
    names = candidate.parts or (candidate.id,)
    return [card_of(job, CARD_KINDS[name]) for name in names if name in CARD_KINDS]
