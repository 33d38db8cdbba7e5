"""What could be done, as an airflow program and the blower's watts on it."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import NoSolutionError
from airtrim.physics.blower.supply import Estimate
from airtrim.physics.blower.system import hertz_for_flow, operating_point, watts_polynomial
from airtrim.physics.season.system import AirflowProgram
from airtrim.work.findings import Findings

Array = NDArray[np.float64]
IDS = ("leave_as_is", "fan_auto", "lower_tap", "drive_coil_feedback")
DEFAULT_TAPS = 3
UNCHANGED_RISE = Estimate(1.0, 1.0, 1.0)
LONG_OFF_DELAY_S, SHORT_OFF_DELAY_S = 90.0, 30.0


@dataclass(frozen=True)
class Candidate:
    """One thing that could be done; `why_not` names why it does not apply (then it has no program)."""

    id: str
    program: AirflowProgram | None
    watts: Array | None = None
    why_not: str = ""
    hertz: float = 60.0
    rise: Estimate = UNCHANGED_RISE
    tap: int | None = None


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
    program = replace(now.program, circulation_flow=0.0, off_delay_s=min(now.program.off_delay_s, SHORT_OFF_DELAY_S))
    return Candidate("fan_auto", program)


def lower_tap(found: Findings, now: Candidate) -> Candidate:
    """The next slower tap, fan switch on AUTO."""
    assert now.program is not None
    blower = found.blower
    tap = blower.tap_in_use + 1
    if not _is_psc(found):
        return Candidate("lower_tap", None, why_not="option_why.not_psc")
    if tap > (found.job.blower.taps or max(DEFAULT_TAPS, blower.tap_in_use)):
        return Candidate("lower_tap", None, why_not="option_why.no_lower_tap")
    point = operating_point(blower, tap=tap)
    fraction = point.airflow_m3_s / blower.wheel.airflow
    watts = np.zeros((found.system.count, 4))
    present = operating_point(blower).watts
    watts[:, 0] = found.system.fan_watts[:, 0] * point.watts / present
    program = replace(_automatic(now.program), cooling_flow=fraction, least_flow=fraction, greatest_flow=fraction)
    return Candidate("lower_tap", program, watts, rise=point.winding_rise, tap=tap)


def drive(found: Findings, now: Candidate, least: float, drop_k: float) -> Candidate:
    """A drive on the PSC that holds a coil sensor drop between a least airflow and the present one."""
    assert now.program is not None
    if not _is_psc(found):
        return Candidate("drive_coil_feedback", None, why_not="option_why.not_psc")
    if found.lowest is None:
        return Candidate("drive_coil_feedback", None, why_not="option_why.motor_cannot")
    floor = found.job.safe_limits.coil_floor
    program = replace(
        _automatic(now.program),
        cooling_flow=1.0,
        least_flow=least,
        greatest_flow=1.0,
        coil_sensor_drop_k=drop_k,
        coil_floor_c=floor.si if floor is not None else 2.2222,
        ramp_time_s=30.0,
    )
    try:
        hertz = hertz_for_flow(found.blower, least)
        rise = operating_point(found.blower, hertz=hertz).winding_rise
    except NoSolutionError:
        return Candidate("drive_coil_feedback", None, why_not="option_why.motor_cannot")
    shape = watts_polynomial(found.blower)
    at_full = float(shape.sum())
    watts = found.system.fan_watts[:, :1] * (shape / at_full)[None, :] / 0.95
    return Candidate("drive_coil_feedback", program, watts, hertz=hertz, rise=rise)


def _automatic(program: AirflowProgram) -> AirflowProgram:
    return replace(program, circulation_flow=0.0, off_delay_s=min(program.off_delay_s, SHORT_OFF_DELAY_S))


def _is_psc(found: Findings) -> bool:
    """Taps and drives are reckoned for a PSC motor; an unknown motor counts as one until somebody looks."""
    return found.job.blower.motor in ("psc", "unknown")


def asked_for(found: Findings, candidate: Candidate) -> Candidate:
    """The candidate, or the same one set aside because the job does not ask for it."""
    if candidate.id == "leave_as_is" or candidate.id in found.job.options.consider:
        return candidate
    return Candidate(candidate.id, None, why_not="option_why.not_asked")
