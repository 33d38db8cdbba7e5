"""The thermostat's call and the airflow program's answer."""

from airtrim.core.kernels import inline_kernel

IDLE, COOLING, HEATING = 0.0, 1.0, 2.0


@inline_kernel
def call_after(
    call: float,
    held_s: float,
    room_c: float,
    cooling_set_c: float,
    heating_set_c: float,
    deadband_k: float,
    least_on_s: float,
    least_off_s: float,
) -> float:
    """The call (0 idle, 1 cooling, 2 heating) that follows one held for `held_s` seconds at this room temperature."""
    half = 0.5 * deadband_k
    if call == 0.0:
        if held_s >= least_off_s:
            if room_c > cooling_set_c + half:
                return 1.0
            if room_c < heating_set_c - half:
                return 2.0
        return 0.0
    if held_s >= least_on_s and (
        (call == 1.0 and room_c < cooling_set_c - half) or (call == 2.0 and room_c > heating_set_c + half)
    ):
        return 0.0
    return call


#: Fraction of full flow the coil feedback moves per second and kelvin of error: slow enough to be stable at a 60 s step.
FEEDBACK_GAIN = 0.0012


@inline_kernel
def switched_above(on: float, value: float, low: float, high: float) -> float:
    """A contact (0 or 1) with a deadband: made above `high`, broken below `low`, between them as it was."""
    if value > high:
        return 1.0
    return 0.0 if value < low else on


@inline_kernel
def cooling_flow_after(
    flow: float,
    step_s: float,
    fixed_flow: float,
    least_flow: float,
    greatest_flow: float,
    ramp_per_s: float,
    holding: float,
    sensor_drop_k: float,
    held_suction_c: float,
    return_c: float,
    sensor_c: float,
    suction_c: float,
    coldest_c: float,
    floor_c: float,
    settled: float,
) -> tuple[float, float]:
    """Airflow (fraction of full) one step on while cooling, and the part of the step in which it moves there, steadily.

    Holding nothing (0) the flow ramps to `fixed_flow`. Holding a drop (1) it moves so that the fin sensor shows `return - drop`,
    holding a saturated suction (2) so that `suction_c` is `held_suction_c`; but only in the part of the step in which the coil has
    `settled` (0 to 1), before that it ramps to the least flow. In every case a settled coil gets more air when the coldest
    inlet's saturation nears the floor.
    """
    reach = ramp_per_s * step_s
    wanted = fixed_flow if holding < 0.5 else least_flow
    least_part = 0.0
    if settled > 0.0 and flow >= least_flow:
        gain = FEEDBACK_GAIN * step_s * settled
        above_floor = coldest_c - floor_c
        error = sensor_c - (return_c - sensor_drop_k) if holding < 1.5 else suction_c - held_suction_c
        if holding > 0.5:
            wanted = flow - gain * min(error, above_floor)
            least_part = settled
        else:
            wanted = max(wanted, flow - gain * above_floor)
    wanted = min(max(wanted, least_flow), greatest_flow)
    change = min(max(wanted - flow, -reach), reach)
    return flow + change, max(abs(change) / reach, least_part)
