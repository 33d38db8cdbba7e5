"""Options that dry by something else than airflow alone: dehumidifiers, and a thermostat that dries on demand."""

from dataclasses import replace

import numpy as np

from airtrim.core.errors import OutOfRangeError
from airtrim.job.cards import Card
from airtrim.physics.season.system import AirflowProgram
from airtrim.physics.unit.dehumidifier import DUCTED_LOST_PART, dehumidifier_from_rating
from airtrim.work.findings import Findings
from airtrim.work.options.candidates import Candidate, automatic, card_of

#: Relative humidity aimed at: practice in the humid South holds 45 to 55 %, and no month's mean may pass 60 %, so that 55 % leaves
#: room for the humidistat's band and its error [judgement].
WANTED = 0.55
#: Water taken out at 80 F and 60 %, kg/s: 50 pints a day stand in a room, 75 hang in the ducts [common-practice].
STANDING_KG_S, DUCTED_KG_S = 23.7 / 86400.0, 35.5 / 86400.0
#: Overcooling asked of a thermostat, K: 2 F [common-practice]; more is felt as cold.
OVERCOOL_K = 2.0 / 1.8
_A_DAY = 86400.0


def free_standing_dehumidifier(found: Findings, now: Candidate) -> Candidate:
    """A dehumidifier that stands in a room and drains by hose; all its heat stays in the rooms."""
    notes = ("option_note.heats_the_room", "option_note.hums_in_the_room", "option_note.drain_by_hose")
    return _dehumidifier(found, now, "free_standing_dehumidifier", "dehumidifier", STANDING_KG_S, 0.0, notes)


def ducted_dehumidifier(found: Findings, now: Candidate) -> Candidate:
    """A dehumidifier on the ducts: its dried, warmed air goes into the supply, behind the coil; in an attic some heat is lost."""
    outside = found.job.ducts.place != "inside"
    notes = ("option_note.heats_the_room", "option_note.wants_circuit_and_drain")
    return _dehumidifier(
        found, now, "ducted_dehumidifier", "ducted_dehumidifier", DUCTED_KG_S, DUCTED_LOST_PART * outside, notes
    )


def _dehumidifier(
    found: Findings, now: Candidate, identity: str, kind: str, wanted_kg_s: float, lost: float, notes: tuple[str, ...]
) -> Candidate:
    assert now.program is not None
    if np.any(found.system.dehumidifier_kg_s > 0.0):
        return Candidate(identity, None, why_not="option_why.dries_already")
    card = card_of(found.job, kind)
    water, humidity = card.settings.water_removal, card.settings.humidity
    assert water is not None and humidity is not None and card.energy_factor is not None
    machine = dehumidifier_from_rating(water.nearest(wanted_kg_s) * _A_DAY, card.energy_factor.si)
    one = np.ones(found.system.count)
    system = replace(
        found.system,
        dehumidifier_kg_s=machine.water_kg_s * one,
        dehumidifier_w=machine.power_w * one,
        dehumidifier_lost_part=lost * one,
    )
    program = replace(automatic(now.program), dehumidifier_set=humidity.nearest(WANTED))
    return Candidate(identity, program, system=system, notes=notes)


def thermostat_that_dries(found: Findings, now: Candidate) -> Candidate:
    """A thermostat with a humidity set-point: while it is damp it cools a little below the set-point, with the airflow there is."""
    identity = "thermostat_that_dries"
    assert now.program is not None
    if found.job.thermostat.humidity_terminals and found.job.thermostat.overcool_limit is not None:
        return Candidate(identity, None, why_not="option_why.dries_on_demand_already")
    card = card_of(found.job, identity)
    try:
        program = drying_on_demand(found, automatic(now.program), card)
    except OutOfRangeError:  # overcooled it would meet the heating set-point
        return Candidate(identity, None, why_not="option_why.meets_heating")
    return Candidate(identity, program, notes=("option_note.cooler_when_damp", "option_note.needs_cooling_to_dry"))


def drying_on_demand(found: Findings, program: AirflowProgram, card: Card) -> AirflowProgram:
    """The program with a humidity set-point and overcooling as the card, and the owner's limit, allow."""
    humidity, overcool = card.settings.humidity, card.settings.overcool
    assert humidity is not None and overcool is not None
    limit = found.job.thermostat.overcool_limit
    wanted = OVERCOOL_K if limit is None else min(limit.si, OVERCOOL_K)
    return replace(
        program,
        humidity_set=humidity.nearest(WANTED),
        overcool_k=min(overcool.nearest(wanted), 3.0),
    )
