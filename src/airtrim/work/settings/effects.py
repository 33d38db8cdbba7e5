"""What turning each setting up or down does to the year, and what an owner is told about it."""

from dataclasses import replace
from typing import Any, Final

from airtrim.job.model import Job
from airtrim.physics.season.system import WeatherArrays
from airtrim.physics.season.weeks import representative_weeks
from airtrim.physics.season.year import run_years
from airtrim.work.figure import figure
from airtrim.work.findings import Findings
from airtrim.work.options.candidates import Candidate, drive
from airtrim.work.settings.seasons import Season

#: How far each setting is turned to say what that does: part of the present airflow, K, s.
TURNED: Final = {"least_airflow": 0.08, "coil_sensor_drop": 2.0, "off_delay": 30.0, "ramp_time": 30.0}
#: Systems and step of it, on stitched weeks.
SYSTEMS, STEP_S = 12, 10.0
SHOWN: Final = {"damp_hours": "h/yr", "blower_kwh": "kWh/yr", "least_icing_margin_k": "K"}


def turned(found: Findings, now: Candidate, chosen: Candidate) -> list[tuple[str, str, Candidate]]:
    """(setting, "up" or "down", the candidate) of each setting of a program that watches the coil, and of any off-delay."""
    program = chosen.program
    assert program is not None
    made: list[tuple[str, str, Candidate]] = []
    for way, sign in (("up", 1.0), ("down", -1.0)):
        if chosen.on_a_drive and chosen.watches_coil:
            least = program.least_flow + sign * TURNED["least_airflow"]
            if least <= 1.0:
                other = drive(found, now, least, program.coil_sensor_drop_k)
                if other.program is not None:
                    moved = replace(program, least_flow=least)
                    made.append(("least_airflow", way, replace(other, program=moved)))
            drop = program.coil_sensor_drop_k + sign * TURNED["coil_sensor_drop"]
            made.append(("coil_sensor_drop", way, replace(chosen, program=replace(program, coil_sensor_drop_k=drop))))
            ramp = program.ramp_time_s + sign * TURNED["ramp_time"]
            if ramp >= 0.0:
                made.append(("ramp_time", way, replace(chosen, program=replace(program, ramp_time_s=ramp))))
        delay = program.off_delay_s + sign * TURNED["off_delay"]
        if delay >= 0.0:
            made.append(("off_delay", way, replace(chosen, program=replace(program, off_delay_s=delay))))
    return made


def effects(found: Findings, now: Candidate, chosen: Candidate, weather: WeatherArrays) -> list[dict[str, Any]]:
    """What each setting turned up or down changes, paired: {id, way, by, unit, figures}; the present settings are nought."""
    if chosen.program is None:
        return []
    ways = turned(found, now, chosen)
    few = found.system.first(SYSTEMS)
    programs = [program for one in (chosen, *(way[2] for way in ways)) if (program := one.program) is not None]
    watts = [None if one.watts is None else one.watts[: few.count] for one in (chosen, *(way[2] for way in ways))]
    years = run_years(few, programs, weather, STEP_S, watts, calendar=representative_weeks(weather))
    units = {"least_airflow": "m3/s", "coil_sensor_drop": "K", "off_delay": "s", "ramp_time": "s"}
    told = []
    for place, (name, way, _) in enumerate(ways, start=1):
        by = TURNED[name] * (found.airflow.m3_s if name == "least_airflow" else 1.0)
        changes = [
            figure(key, getattr(years, key)[:, place] - getattr(years, key)[:, 0], unit) for key, unit in SHOWN.items()
        ]
        told.append({"id": name, "way": way, "by": by, "unit": units[name], "figures": changes})
    return told


def steps_on_site(chosen: Candidate) -> list[str]:
    """Ids of what to do on site, in order."""
    if chosen.on_a_drive:
        return ["power_off", "one_lead", "sensors", "power_on", "enter", "wait", "read", "faults", "heat", "leave_copy"]
    if chosen.tap is not None:
        return ["power_off", "move_lead", "power_on", "wait", "read", "heat", "leave_copy"]
    if chosen.id in ("constant_airflow_motor", "constant_torque_motor", "constant_airflow_feedback"):
        return ["power_off", "new_motor", "power_on", "enter", "wait", "read", "heat", "leave_copy"]
    return ["enter", "wait", "read", "leave_copy"]


def advice(job: Job, seasons: list[Season] | None, option: str) -> list[dict[str, Any]]:
    """Messages for the owner: the mild wet week, when to change sets, the filter, whom to call."""
    told: list[dict[str, Any]] = [{"id": "owner.mild_wet_week", "values": {}}]
    worth = [one for one in seasons or [] if one.worth]
    if not worth:
        told.append({"id": "owner.one_set", "values": {}})
    for one in worth:
        for month, day in one.begins:
            last = next(m for m in (*range(month, 13), *range(1, month)) if m % 12 + 1 not in one.months)
            until = last % 12 + 1
            told.append({"id": f"owner.set_{one.name}", "values": {"from": [month, day], "until": [until, 1]}})
    told.append({"id": "owner.filter", "values": {}})
    if option != "leave_as_is":
        told.append({"id": "owner.call", "values": {}})
    return told
