"""The compatibility list of a drive on an existing motor: every line met, not met or not yet known, with what to do.

A line not met refuses the drive; a line not yet known leaves its setting calculated and not final. Makers' instructions, codes
and licensed practice come first. Common practice of the trade where no other source stands.
"""

from typing import Any

from airtrim.job.model import Job, ProvenMode
from airtrim.work.figure import Figure, spread_figure
from airtrim.work.findings import Findings
from airtrim.work.options.heat import SAFE, heat_under

MET, NOT_MET, NOT_YET_KNOWN = "met", "not_met", "not_yet_known"
#: Plate volts against the drive's, either way: the usual tolerance of motors [from-memory].
VOLTS_PART = 0.10
#: Hottest air where a drive may hang, degC: an attic passes 120 F and is taken at 140 F, outdoors 115 F in shade, a crawl space
#: 95 F, inside 90 F [judgement; the attic common-practice].
HOTTEST_C = {"attic": 60.0, "outdoors": 46.1, "crawl_space": 35.0, "inside": 32.2}
#: Refrigerants that burn a little (A2L): their leak signal wants the listed airflow, whatever the coil asks.
FLAMMABLE = ("R-32", "R-454B")
#: Motors that never go on a drive.
NEVER = ("capacitor_start", "split_phase", "shaded_pole", "constant_torque", "constant_airflow")
#: Told with the list, on any drive.
CAUTIONS = ("line_voltage", "capacitor", "drive_wiring")


def drive_check(found: Findings) -> dict[str, Any]:
    """The list `items`, each {id, status, why, do, figure, bound}, and whether all is `complete` or the drive is `refused`.

    `missing` are the ids of lines not yet known, `not_met` of those that refuse it.
    """
    job = found.job
    items = [
        _motor(job),
        _yes_no("maker_approves", job.drive.maker_approves),
        _volts(job),
        _amps(job),
        _ambient(job),
        _yes_no("protector", job.drive.protector_in_circuit),
        _lead(job),
        _yes_no("leads_capped", job.drive.other_leads_capped),
        *(_mode(found, mode) for mode in modes_wanted(job)),
    ]
    missing = [one["id"] for one in items if one["status"] == NOT_YET_KNOWN]
    broken = [one["id"] for one in items if one["status"] == NOT_MET]
    return {
        "items": items,
        "missing": missing,
        "not_met": broken,
        "refused": bool(broken),
        "complete": not missing and not broken,
        "cautions": list(CAUTIONS),
    }


def modes_wanted(job: Job) -> list[str]:
    """The modes to be proven on this house: faults always, heat where there is any, defrost and leak signal where they exist."""
    modes = ["drive_fault", "sensor_loss"]
    if job.heat.kind != "none":
        modes.append("heat_call")
    pump = job.heat.kind == "heat_pump" or any(stage.kind == "heat_pump" for stage in job.heat.stages)
    if (pump and job.heat.defrost != "none") or job.heat.kind == "unknown":
        modes.append("defrost")
    if job.system.refrigerant in (*FLAMMABLE, "unknown"):
        modes.append("leak_signal")
    return modes


def _item(
    identity: str, status: str, why: str | None = None, figure: Figure | None = None, bound: float | None = None
) -> dict[str, Any]:
    reason = f"drive_why.{why or f'{identity}_{status}'}"
    do = "" if status == MET else f"drive_do.{identity}"
    return {"id": identity, "status": status, "why": reason, "do": do, "figure": figure, "bound": bound}


def _yes_no(identity: str, answer: bool | None) -> dict[str, Any]:
    return _item(identity, NOT_YET_KNOWN if answer is None else MET if answer else NOT_MET)


def _motor(job: Job) -> dict[str, Any]:
    motor = job.blower.motor
    if motor in NEVER:
        return _item("motor", NOT_MET, f"motor_{motor}")
    seen = motor == "psc" and "motor" in job.blower.model_fields_set
    if seen and job.blower.run_capacitor is not None:
        return _item("motor", MET)
    return _item("motor", NOT_YET_KNOWN)


def _volts(job: Job) -> dict[str, Any]:
    plate, rated = job.blower.nameplate_volts, job.drive.rated_volts
    if plate is None or rated is None:
        return _item("volts", NOT_YET_KNOWN)
    return _item("volts", MET if abs(plate.si - rated.si) <= VOLTS_PART * rated.si else NOT_MET)


def _amps(job: Job) -> dict[str, Any]:
    """Plate amps against the drive's, the derated ones where its surroundings pass its full rating."""
    plate, allowed = job.blower.nameplate_amps, job.drive.rated_amps
    hot, rated = hottest_c(job), job.drive.rated_ambient
    if hot is not None and rated is not None and hot > rated.si and job.drive.derated_amps is not None:
        allowed = job.drive.derated_amps
    if plate is None or allowed is None:
        return _item("amps", NOT_YET_KNOWN)
    return _item("amps", MET if plate.si <= allowed.si else NOT_MET)


def hottest_c(job: Job) -> float | None:
    """Hottest air where the drive hangs, degC: as given, else by its place; None where the place is not known."""
    if job.drive.mounting_ambient is not None:
        return job.drive.mounting_ambient.si
    return HOTTEST_C.get(job.drive.mounting)


def _ambient(job: Job) -> dict[str, Any]:
    hot, rated, derated = hottest_c(job), job.drive.rated_ambient, job.drive.derated_ambient
    if hot is None or rated is None:
        return _item("ambient", NOT_YET_KNOWN)
    read = spread_figure("drive_ambient", hot, 0.0, "degC")
    if hot <= rated.si:
        return _item("ambient", MET, None, read, rated.si)
    if derated is not None and hot <= derated.si:
        return _item("ambient", MET, "ambient_derated", read, derated.si)
    return _item("ambient", NOT_MET, None, read, (derated or rated).si)


def _lead(job: Job) -> dict[str, Any]:
    if job.drive.lead_approved is False:
        return _item("one_lead", NOT_MET)
    known = job.drive.lead is not None and job.drive.lead_approved is True
    return _item("one_lead", MET if known else NOT_YET_KNOWN)


def _mode(found: Findings, mode: str) -> dict[str, Any]:
    """A mode is proven by the airflow it needs, or by compressor and heat locked out; a leak signal by airflow alone."""
    job = found.job
    seen = next((one for one in job.drive.modes if one.mode == mode), None)
    if seen is None:
        return _item(mode, NOT_YET_KNOWN, "mode_untested")
    wanted = airflow_wanted(found, mode)
    if seen.airflow is not None:
        moved = spread_figure("airflow", seen.airflow.si, 1.645 * found.airflow.sigma * seen.airflow.si, "m3/s")
        if seen.airflow.si >= wanted or (mode == "heat_call" and _heat_is_safe(found, seen.airflow.si)):
            return _item(mode, MET, "mode_airflow", moved, wanted)
        if not _locks_out(seen, mode):
            return _item(mode, NOT_MET, "mode_short_of_air", moved, wanted)
    if _locks_out(seen, mode):
        return _item(mode, MET, "mode_locked_out")
    return _item(mode, NOT_MET, "leak_needs_air" if mode == "leak_signal" else "mode_not_locked_out")


def _heat_is_safe(found: Findings, airflow_m3_s: float) -> bool:
    """Whether heat is safe on an airflow proven for it, less than full line speed though it be."""
    fraction = airflow_m3_s / found.airflow.m3_s
    return heat_under(found.job, found.system, found.blower, fraction, through_drive=True).verdict == SAFE


def _locks_out(seen: ProvenMode, mode: str) -> bool:
    return seen.locked_out is True and mode != "leak_signal"


def airflow_wanted(found: Findings, mode: str) -> float:
    """Airflow to be read in a mode, m3/s: full line speed less what its reading leaves open, or what plates list if more.

    Full line speed is the present airflow, known to its own 90 % range. A heat call may do with less where heat is safe on it.
    """
    job = found.job
    full = found.airflow.m3_s * (1.0 - 1.645 * found.airflow.sigma)
    listed = [full]
    if mode == "leak_signal" and job.system.least_listed_airflow is not None:
        listed.append(job.system.least_listed_airflow.si)
    if mode in ("heat_call", "defrost") and job.heat.least_airflow is not None:
        listed.append(job.heat.least_airflow.si)
    return max(listed)
