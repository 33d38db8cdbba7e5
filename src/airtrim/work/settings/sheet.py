"""The settings sheet: what to set, within which band, and what readings then ought to show."""

from typing import Any

import numpy as np

from airtrim.core.errors import NoSolutionError
from airtrim.physics.control.program import AirflowProgram
from airtrim.physics.season.year import YearResults
from airtrim.work.figure import Figure, figure, spread_figure
from airtrim.work.findings import Findings
from airtrim.work.findings.find import at_standard
from airtrim.work.options.candidates import Candidate
from airtrim.work.settings.drive_check import drive_check
from airtrim.work.settings.heat_check import heat_check

#: A chance limit of 1 in 20 is claimed only when at most 4 of 200 systems break it (one-sided 95 % bound 4.5 %).
CLAIM_SYSTEMS, CLAIM_BROKEN = 200, 4
SPECIFIC_HEAT = 1023.7
DRIVE_CAUTIONS = ("line_voltage", "capacitor", "drive_wiring", "motor_heat", "frost", "warranty")
TAP_CAUTIONS = ("line_voltage", "capacitor", "motor_heat", "frost", "ventilation")
AUTO_CAUTIONS = ("ventilation",)
HUMIDISTAT_CAUTIONS, DEHUMIDIFIER_CAUTIONS = ("line_voltage", "frost"), ("condensate", "line_voltage", "permit")
#: Held lower than this a dehumidifier runs for little good; common-practice.
LEAST_HELD = 0.45


def settings_sheet(
    found: Findings, chosen: Candidate, icing_margin_k: np.ndarray[Any, Any] | None, safe: bool
) -> dict[str, Any]:
    """The sheet of one option, or why none is issued; low and high of a row are its allowed band.

    `icing_margin_k` is each system's least icing margin of the year under the option, `[N]`.
    """
    on_a_drive = chosen.on_a_drive
    heat = heat_check(found, chosen)
    sheet: dict[str, Any] = {
        "option": chosen.id,
        "card": [],
        "expected": [],
        "shown": "not_yet_shown",
        "final": False,
        "broken": None,
        "cautions": [],
        "issued": False,
        "heat": heat,
        "drive": drive_check(found) if on_a_drive else None,
    }
    if found.job.house.dangers:
        return sheet | {"why": "settings.danger"}
    if found.job.heat.kind == "unknown":
        return sheet | {"why": "settings.heat_unknown"}
    if chosen.id == "leave_as_is":
        return sheet | {"why": "settings.leave"}
    if on_a_drive and sheet["drive"]["refused"]:
        return sheet | {"why": "settings.drive_refused"}
    if heat["blocks"]:
        return sheet | {"why": "settings.heat_not_safe" if heat["verdict"] == "not_safe" else "settings.heat_not_told"}
    if chosen.program is None or icing_margin_k is None or not safe:
        return sheet | {"why": "settings.not_safe"}
    card, cautions = _card(found, chosen)
    humidity, more = _humidity_rows(chosen.program)
    card, cautions = [*humidity, *card], (*more, *cautions)
    broken = int(np.sum(~(icing_margin_k >= 0.0)))
    claim = len(icing_margin_k) >= CLAIM_SYSTEMS and broken <= CLAIM_BROKEN
    why = "settings.one_in_twenty" if claim else "settings.few_systems"
    if on_a_drive and not (sheet["drive"]["complete"] and heat["verdict"] == "safe"):
        claim, why = False, "settings.drive_not_proven"
    return sheet | {
        "card": card,
        "cautions": list(dict.fromkeys([*cautions, *heat["cautions"]])),
        "expected": _expected(found, chosen),
        "issued": True,
        "shown": "one_in_twenty" if claim else "not_yet_shown",
        "final": claim,
        "broken": {"systems": len(icing_margin_k), "broken": broken},
        "why": why,
    }


def _row(identity: str, value: float | str, low: float | None, high: float | None, unit: str) -> dict[str, Any]:
    return {"id": identity, "value": value, "low": low, "high": high, "unit": unit, "why": f"setting_why.{identity}"}


def _airflow_row(identity: str, part: float, full: float, low: float, high: float) -> dict[str, Any]:
    """An airflow set as a part of full airflow, m3/s, with what it was made of (for showing the work)."""
    return _row(identity, part * full, low, high, "m3/s") | {"part_of": {"part": part, "full": full}}


def _card(found: Findings, chosen: Candidate) -> tuple[list[dict[str, Any]], tuple[str, ...]]:
    program = chosen.program
    assert program is not None
    full = found.airflow.m3_s
    ends = [
        _row("fan_switch", "value.auto", None, None, ""),
        _row("off_delay", program.off_delay_s, 0.0, program.off_delay_s, "s"),
    ]
    if chosen.tap is not None:
        spread = 1.645 * found.airflow.sigma
        flow = program.cooling_flow * full
        tap = _row("tap", float(chosen.tap), None, None, "tap")
        moved = _airflow_row("tap_airflow", program.cooling_flow, full, flow * (1 - spread), flow * (1 + spread))
        return [tap, moved, *ends], TAP_CAUTIONS
    if program.cooling_set_point_c != found.job.thermostat.set_point.si:
        to = program.cooling_set_point_c
        ends.insert(0, _row("set_point", to, to, to, "degC"))
    if program.coil_sensor_drop_k == 0.0:
        system = chosen.system_of(found)
        full *= float(np.median(system.full_flow_kg_s / found.system.full_flow_kg_s))
        if program.cooling_flow * full != found.airflow.m3_s:
            flow, spread = program.cooling_flow * full, 1.645 * found.airflow.sigma
            low, high = flow * (1 - spread), flow * (1 + spread)
            ends.insert(0, _airflow_row("tap_airflow", program.cooling_flow, full, low, high))
            return ends, TAP_CAUTIONS
        return ends, AUTO_CAUTIONS
    drop, floor = program.coil_sensor_drop_k, program.coil_floor_c
    hertz = [
        _row("least_hertz", chosen.hertz, chosen.hertz, 60.0, "Hz"),
        _row("greatest_hertz", 60.0, 60.0, 60.0, "Hz"),
    ]
    return [
        _airflow_row("least_airflow", program.least_flow, full, program.least_flow * full, full),
        *(hertz if chosen.on_a_drive else []),
        _row("coil_sensor_drop", drop, drop - 2.0, drop, "K"),
        _row("coil_floor", floor, floor, floor + 2.0, "degC"),
        _row("ramp_time", program.ramp_time_s, 15.0, 120.0, "s"),
        *ends,
    ], DRIVE_CAUTIONS


def _humidity_rows(program: AirflowProgram) -> tuple[list[dict[str, Any]], tuple[str, ...]]:
    """What a dehumidifier or a thermostat that dries is set to, what tells that its sensor is right, and the cautions."""
    rows: list[dict[str, Any]] = []
    cautions: tuple[str, ...] = ()
    if program.dehumidifier_set > 0.0:
        held = program.dehumidifier_set
        rows += [
            _row("dehumidifier_set", held, min(LEAST_HELD, held), held, "fraction"),
            _row("dehumidifier_drain", "value.drains", None, None, ""),
        ]
        cautions += DEHUMIDIFIER_CAUTIONS
    if program.humidity_set > 0.0 and program.overcool_k > 0.0:
        held, below = program.humidity_set, program.overcool_k
        rows += [
            _row("humidity_set", held, min(LEAST_HELD, held), held, "fraction"),
            _row("overcool", below, 0.0, below, "K"),
        ]
        cautions += HUMIDISTAT_CAUTIONS
    if rows:
        rows.append(_row("humidity_meter", "value.own_meter", None, None, ""))
    return rows, cautions


def _expected(found: Findings, chosen: Candidate) -> list[Figure]:
    """What the instruments should show at the least airflow, at the map's state of air."""
    assert chosen.program is not None
    system, fraction = chosen.system_of(found), chosen.program.least_flow
    state = at_standard(system, fraction)
    if not np.all(np.isfinite(state)):
        raise NoSolutionError("The unit has no steady state at the least airflow: raise the least airflow.")
    flow = fraction * system.full_flow_kg_s
    split = state[:, 1] / (flow * SPECIFIC_HEAT)
    moved = fraction * found.airflow.m3_s * float(np.median(system.full_flow_kg_s / found.system.full_flow_kg_s))
    return [
        spread_figure("airflow", moved, 1.645 * found.airflow.sigma * moved, "m3/s"),
        figure("saturated_suction", state[:, 3], "degC"),
        figure("superheat", np.maximum(state[:, 5], 0.0), "K"),
        figure("temperature_split", split, "K"),
        figure("condensate", (state[:, 0] - state[:, 1]) / 2.466e6, "kg/s"),
    ]


def icing_margin_of(years: YearResults, index: int) -> np.ndarray[Any, Any]:
    """Each system's least icing margin under program `index`, K, `[N]`."""
    return np.asarray(years.least_icing_margin_k[:, index])
