"""When a house rests: nothing in it moves within minutes and no contact is near, so that it may take a longer step.

Decided for each house by itself, so that its steps, and with them its results, do not hang on what runs beside it.
"""

from airtrim.core.kernels import inline_kernel
from airtrim.physics.season.layout import P
from airtrim.physics.season.system import Array

#: A resting step is as long as so many short ones, and no longer than this.
RESTING_STEPS, RESTING_STEP_S = 6, 60.0
#: How long after the call changed, and the fan's last seconds, a house may rest.
AFTER_S = 30.0
#: By the trend of the step before, a resting step and half as much again keep the air from every contact by this much.
LOOK, CLEAR_K = 1.5, 0.02
#: Its relative humidity is this far from every humidistat's contact.
CLEAR_RH = 0.01
#: The coil's cooling is even, gone or whole, within this part.
EVEN = 0.01


@inline_kernel
def rests(
    parameters: Array,
    resting_s: float,
    call: float,
    held_s: float,
    air_c: float,
    trend_k_s: float,
    relative: float,
    running: float,
    flow: float,
    steady: float,
    held_water_kg: float,
    frost_kg: float,
    stage: float,
    strips: float,
) -> bool:
    """Whether a house may take a step of `resting_s`: idle, in even cooling or in even heating, and clear of every contact.

    `steady` is 1 where airflow stood still in the step before. A call that a least time holds back is near its contact all the
    while; air over a wet coil dries it within minutes; a stage, strips or a long call's airflow that may come are contacts too.
    """
    look = LOOK * resting_s * trend_k_s
    warmest, coolest = air_c + max(look, 0.0) + CLEAR_K, air_c + min(look, 0.0) - CLEAR_K
    half = 0.5 * parameters[P.deadband_k]
    cooling_set, heating_set = parameters[P.cooling_set_c], parameters[P.heating_set_c]
    no_evaporation = (flow <= 0.0) | ((held_water_kg <= 0.0) & (running < EVEN))
    idle = (
        (call == 0.0)
        & (held_s >= parameters[P.off_delay_s] + AFTER_S)
        & no_evaporation
        & (warmest < cooling_set - parameters[P.overcool_k] + half)
        & (coolest > heating_set - half)
    )
    long_call_s = parameters[P.long_call_s]
    stage_stays = (stage >= parameters[P.has_low_stage]) | (
        (held_s + resting_s < parameters[P.second_stage_after_s])
        & (warmest < cooling_set + parameters[P.second_stage_above_k])
    )
    cooling = (
        (call == 1.0)
        & (running > 1.0 - EVEN)
        & (steady > 0.5)
        & stage_stays
        & ((held_s + resting_s < long_call_s) | (held_s >= long_call_s))
        & (coolest > cooling_set - half)
    )
    strips_stay = (
        (strips > 0.5)
        | (parameters[P.pump_heat_w] <= 0.0)
        | ((held_s + resting_s < parameters[P.strips_after_s]) & (coolest > heating_set - parameters[P.strips_below_k]))
    )
    heating = (call == 2.0) & (held_s >= AFTER_S) & no_evaporation & strips_stay & (warmest < heating_set + half)
    clear_of_humidistats = (
        (abs(relative - parameters[P.humid_low]) > CLEAR_RH)
        & (abs(relative - parameters[P.humid_high]) > CLEAR_RH)
        & (abs(relative - parameters[P.dehumidifier_low]) > CLEAR_RH)
        & (abs(relative - parameters[P.dehumidifier_high]) > CLEAR_RH)
    )
    resting: bool = (frost_kg <= 0.0) & clear_of_humidistats & (idle | cooling | heating)
    return resting
