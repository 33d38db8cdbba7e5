"""Heat under the setting to be issued, as the settings sheet shows it: verdict, what was judged, and what would settle it."""

from dataclasses import asdict
from typing import Any

from airtrim.physics.unit.heating import CONDENSING_EFFICIENCY
from airtrim.work.findings import Findings
from airtrim.work.options.candidates import Candidate
from airtrim.work.options.heat import CANNOT_TELL, NOT_SAFE, HeatCheck, heat_of

#: Cautions of each kind of heat, told on the sheet.
_CAUTIONS = {
    "electric_strip": ("electric_heat",),
    "furnace": ("combustion",),
    "heat_pump": ("electric_heat", "refrigerant"),
}


def heat_check(found: Findings, candidate: Candidate) -> dict[str, Any]:
    """{verdict, why, changes, blocks, airflow, rows, missing, notes, cautions} of heat under an option.

    `blocks` says whether no setting may be issued: heat is not safe under it, or cannot be told and the setting is what moves
    heat's airflow.
    """
    heat = heat_of(found, candidate)
    kinds = {row.kind for row in heat.rows} | {found.job.heat.kind}
    return {
        "verdict": heat.verdict,
        "why": _why(found, heat, candidate),
        "changes": heat.changes,
        "blocks": heat.changes and heat.verdict in (NOT_SAFE, CANNOT_TELL),
        "airflow": heat.airflow,
        "rows": [asdict(row) for row in heat.rows],
        "missing": heat.missing,
        "notes": heat.notes + _furnace_notes(found),
        "cautions": sorted({one for kind in kinds for one in _CAUTIONS.get(kind, ())}),
    }


def _why(found: Findings, heat: HeatCheck, candidate: Candidate) -> str:
    if found.job.heat.kind == "none":
        return "heat_why.none"
    if candidate.program is not None and candidate.program.coil_sensor_drop_k > 0.0:
        return f"heat_why.{heat.verdict}_line_speed"
    return f"heat_why.{heat.verdict}_{'moved' if heat.changes else 'as_now'}"


def _furnace_notes(found: Findings) -> list[str]:
    """What a furnace asks beside its rise: one made to condense its drain, another one dry flue and exchanger."""
    heat = found.job.heat
    if heat.kind != "furnace" and not any(stage.kind == "furnace" for stage in heat.stages):
        return []
    made = heat.condensing
    if made is None and heat.efficiency is not None:
        made = heat.efficiency.si >= CONDENSING_EFFICIENCY
    if made is None:
        return ["heat_note.furnace_kind_not_seen"]
    return ["heat_note.condensing_furnace" if made else "heat_note.dry_furnace"]
