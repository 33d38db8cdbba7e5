"""One house, step by step: room, materials, attic, ducts, coil, blower, thermostat and dehumidifier joined.

`advance_hour` is the physics, also in lanes (docs/decisions/lanes.md); `advance_day` goes through the hours, with the hour's
settings before each and what is watched hour by hour after it (season/watch.py).

A step is centred (docs/decisions/year.md): what comes and goes within it (the coil's cooling, a ramping airflow, the fan's last
seconds) counts with its mean over the step, air enters the coil as it is half a step on, and a contact is looked at half a step
ahead, so that it is late as often as early. A house at rest takes longer steps (season/rest.py).
"""

from airtrim.core.elementary import exp, log, sqrt
from airtrim.core.kernels import inline_kernel, kernel
from airtrim.physics.air.moist import saturation_pressure_fast_pa, wet_bulb_step_c
from airtrim.physics.coil.frost import HEAT_OF_FUSION, SEEN_KG, air_left, frost_step, inlet_surface_c
from airtrim.physics.coil.water import water_step
from airtrim.physics.coil.wet import split_of_total
from airtrim.physics.control.thermostat import call_after, cooling_flow_after, switched_above
from airtrim.physics.house.leakage import enhanced_leakage_m3_s, envelope_flows_kg_s
from airtrim.physics.season.layout import HUMIDITY_LINES, OVER_DRY, PARAMETERS, SATURATION_MARKS_C, STATE, SUMS, P, Q, S
from airtrim.physics.season.rest import RESTING_STEP_S, RESTING_STEPS, rests
from airtrim.physics.season.system import Array
from airtrim.physics.season.watch import begin_hour, end_hour
from airtrim.physics.unit.dehumidifier import LATENT_HEAT as ROOM_LATENT_HEAT
from airtrim.physics.unit.dehumidifier import dehumidifier_ratios
from airtrim.physics.unit.surface import SURFACE_SIZE, surface_state

#: Moist air's specific heat at 9.5 g/kg, and water's latent heat at coil temperatures, J/kg K and J/kg.
SPECIFIC_HEAT = 1006.0 + 1860.0 * 0.0095
LATENT_HEAT = 2.466e6
#: The part of internal gains that warms the air at once.
GAIN_TO_AIR = 0.6
#: Attic storage delay of 1 to 2 h [tenwolde1997]; attic gain is stated at this irradiance.
ATTIC_LAG_S, ATTIC_SUN_W_M2 = 5400.0, 900.0
#: The roof's loss to a humid sky 8 K below air: films of 5 (radiation) and 12 W/m2K leave the deck 2.4 K and the attic about 2 K
#: below what sun and outdoor air alone would give [own-derivation].
ATTIC_SKY_K = 2.0
#: The coil's cooling comes and goes with the refrigerant's migration.
START_LAG_S = 45.0
#: Part of its steady cooling from which a coil counts as settled: a feedback follows it, and its least temperatures are noted.
SETTLED = 0.9
#: How long air through the leaks is held: wind and temperature enter it bent, and the room's own swing at a small difference.
LEAKS_HELD_S = 300.0
#: Where cooling changes by more within a step (of 20 s or longer), the wet coil is read at two points: a weak one is dry.
LONG_STEP_CHANGE = 0.3
#: What a feedback reads is told half a step ahead from the two steps before; at longer steps less far, where that would swing.
STEADY_STEP_S = 10.0
#: The surfaces are not read below this ln(airflow / rated), where they end: a blower starting from rest passes there in a few
#: seconds. Below it cooling falls with the air that is there to be cooled.
LEAST_READ = -1.2
#: Materials' deep layer is reached through this part of the surface layer's coupling.
DEEP_PART = 0.15
#: Part of the room-to-supply difference by which a register's face is warmer than the supply air.
REGISTER_WARMING = 0.2
#: Part of the difference between what surrounds a duct and its air that is left across the outer air film: 0.11 m2K/W over R-6
#: (1.06) and the film.
DUCT_FILM_PART = 0.11 / (0.11 + 1.06)
#: Water on window panes: a double pane's inner face lies this part of the way from room to outdoors (U of 3 over a film of
#: 8.3 W/m2K), and its convective film and its U are about equal, so that glass conductance / cp is its mass transfer [from-memory].
PANE_PART, PANE_KG_J_K = 3.0 / 8.3, 1.0 / 1006.0

_STATE_AT = len(PARAMETERS)
_SUMS_AT = _STATE_AT + len(STATE)
_SURFACES_AT = _SUMS_AT + len(SUMS)
_LOW_AT = _SURFACES_AT + SURFACE_SIZE


@inline_kernel
def room_air_kg(volume_m3: float, pressure_pa: float) -> float:
    """Dry air in the rooms, kg, at 24 C: held constant so that the water balance closes whatever the temperature."""
    return volume_m3 * pressure_pa / (287.055 * 297.15)


#: What frost and defrosting leave of a heat pump's heat and of its input at 35 F, against a straight line between 47 and 17 F;
#: below 17 F and above 45 F the line holds (AHRI 210/240 and 10 CFR 430 B appendix M1, 4.2) [from-memory].
DEFROSTING_HEAT, DEFROSTING_POWER = 0.90, 0.985
_F17, _F35, _F45 = (17.0 - 32.0) / 1.8, (35.0 - 32.0) / 1.8, (45.0 - 32.0) / 1.8


@inline_kernel
def with_defrosting(at_0_c: float, slope_k: float, at_35_f: float, outdoor_c: float) -> float:
    """Heat or input, W, of a heat pump at `outdoor_c`; `at_0_c` and `slope_k` are the line between 47 and 17 F."""
    line = at_0_c + slope_k * outdoor_c
    cold = at_0_c + slope_k * _F17
    frosty = cold + (at_35_f * (at_0_c + slope_k * _F35) - cold) * (outdoor_c - _F17) * (1.0 / (_F35 - _F17))
    return frosty if (outdoor_c > _F17) & (outdoor_c < _F45) else line


@kernel
def advance_hour(
    day: int,
    hour: int,
    first: int,
    last: int,
    step_s: float,
    pressure_pa: float,
    ground_c: float,
    dry_bulb_c: Array,
    outdoor_humidity: Array,
    wind_m_s: Array,
    ghi_w_m2: Array,
    facade_w_m2: Array,
    parameters: Array,
    surfaces: Array,
    low_surfaces: Array,
    state: Array,
    sums: Array,
) -> int:
    """Advance `state` by the rounds `first` to `last` (not with it) of one hour and add to `sums`; returns the rounds taken.

    In a round a house goes on by a step, or by a longer one while it rests; `state` says how much of the hour is done, and round 0
    begins it. As many rounds as the hour has steps complete it; a house that is through stays as it is. Each house's steps hang on
    itself alone. Places in parameters, state and sums are layout's. Weather arrays hold 8,760 hours, each value the hour's end;
    sun is the hour's mean. `step_s` divides 3,600. Air through the leaks is found every LEAKS_HELD_S with the room as it then is;
    held for the hour are the panes, and what the dehumidifier can do.
    """
    cooling_set, heating_set, gain, moisture, exhaust, supply_air = (
        parameters[P.cooling_set_c], parameters[P.heating_set_c], parameters[P.internal_gain_w],
        parameters[P.moisture_gain_kg_s], parameters[P.exhaust_kg_s], parameters[P.supply_air_kg_s])  # fmt: skip
    glass, wall, ceiling, floor, air_capacity, mass_capacity, coupling = (
        parameters[P.glass_w_k], parameters[P.wall_w_k], parameters[P.ceiling_w_k], parameters[P.floor_w_k],
        parameters[P.air_capacity_j_k], parameters[P.mass_capacity_j_k], parameters[P.mass_coupling_w_k])  # fmt: skip
    heavy_capacity, heavy_coupling, heavy_wall, heavy_floor = (
        parameters[P.heavy_capacity_j_k], parameters[P.heavy_coupling_w_k], parameters[P.heavy_wall_w_k],
        parameters[P.heavy_floor_w_k])  # fmt: skip
    buffer, deep_buffer, buffer_coupling, return_leak, supply_leak, duct, attic_gain, water_max = (
        parameters[P.moisture_buffer_kg], parameters[P.deep_buffer_kg], parameters[P.buffer_coupling_kg_s],
        parameters[P.return_leak], parameters[P.supply_leak], parameters[P.duct_w_k], parameters[P.attic_gain_k],
        parameters[P.coil_water_max_kg])  # fmt: skip
    outdoor_part, in_attic, in_crawl, full_flow, bypass, air_exponent, rated_flow, circuit_offset, sensor_place, has_low, works = (
        parameters[P.outdoor_air_part], parameters[P.ducts_in_attic], parameters[P.ducts_in_crawl_space],
        parameters[P.full_flow_kg_s], parameters[P.bypass], parameters[P.air_exponent], parameters[P.rated_flow_kg_s],
        parameters[P.circuit_offset_k], parameters[P.sensor_place], parameters[P.has_low_stage],
        parameters[P.works])  # fmt: skip
    cooling_flow, circulation, off_delay, deadband = (
        parameters[P.cooling_flow], parameters[P.circulation_flow], parameters[P.off_delay_s],
        parameters[P.deadband_k])  # fmt: skip
    air, mass, heavy, attic, humidity, buffer_humidity, deep_humidity, held_water = (
        state[S.air_c], state[S.mass_c], state[S.heavy_c], state[S.attic_c], state[S.humidity], state[S.buffer_humidity],
        state[S.deep_humidity], state[S.held_water_kg])  # fmt: skip
    running, flow, call, held, wet_bulb, suction, sensor, time_off, frost, frosted = (
        state[S.running], state[S.flow], state[S.call], state[S.held_s], state[S.wet_bulb_c], state[S.suction_c],
        state[S.sensor_c], state[S.time_off_s], state[S.frost_kg], state[S.frosted_part])  # fmt: skip
    stage, strips, humid, dehumidifying, drying_kg_s, drying_w, pane_humidity = (
        state[S.stage], state[S.strips], state[S.humid], state[S.dehumidifying], state[S.drying_kg_s], state[S.drying_w],
        state[S.pane_humidity])  # fmt: skip
    natural_flow, trend, water_trend, relative = (
        state[S.natural_m3_s], state[S.air_trend_k_s], state[S.humidity_trend], state[S.relative_humidity])  # fmt: skip
    done, odd, leaks_age, steady = (
        state[S.done_steps], state[S.odd_steps], state[S.leaks_age_steps], state[S.steady])  # fmt: skip
    coil_flow, coil_flow_log, coil_touched, sensor_trend, suction_trend = (
        state[S.coil_flow_kg_s], state[S.coil_flow_log], state[S.coil_touched], state[S.sensor_trend_k_s],
        state[S.suction_trend_k_s])  # fmt: skip

    hours = dry_bulb_c.shape[0]
    per_hour = round(3600.0 / step_s)
    now = (day * 24 + hour) % hours
    before = (now - 1 + hours) % hours
    # a resting step is this many steps, and begins at a multiple of them
    longer = 1.0 * max(min(RESTING_STEPS, round(RESTING_STEP_S / step_s)), 1)
    resting_s = step_s * longer
    short_lag_left, long_lag_left = exp(-step_s / START_LAG_S), exp(-resting_s / START_LAG_S)
    short_lag_mean = (1.0 - short_lag_left) * START_LAG_S / step_s
    long_lag_mean = (1.0 - long_lag_left) * START_LAG_S / resting_s
    # standard deviation within a step of what decays, as a part of its change
    lag_spread = sqrt(
        (1.0 - short_lag_left * short_lag_left) * START_LAG_S / (2.0 * step_s) - short_lag_mean * short_lag_mean
    ) / (1.0 - short_lag_left)
    per_step = 1.0 / step_s
    ahead_s = min(step_s, STEADY_STEP_S)
    per_rest = 1.0 / resting_s
    leaks_held = longer * max(round(LEAKS_HELD_S / resting_s), 1)
    per_hour_part = 1.0 / per_hour
    short_attic_part = step_s / (ATTIC_LAG_S + 0.5 * step_s)
    long_attic_part = resting_s / (ATTIC_LAG_S + 0.5 * resting_s)
    outdoor_change, outdoor_w_change = (
        dry_bulb_c[now] - dry_bulb_c[before],
        outdoor_humidity[now] - outdoor_humidity[before],
    )
    wind_change = wind_m_s[now] - wind_m_s[before]
    deep_coupling = DEEP_PART * buffer_coupling
    room_air = room_air_kg(parameters[P.volume_m3], pressure_pa)
    # divisions are the dearest operations of a step: what does not change within the hour is divided once
    per_mass, per_buffer, per_deep_buffer = 1.0 / mass_capacity, 1.0 / buffer, 1.0 / deep_buffer
    per_heavy = 1.0 / heavy_capacity if heavy_capacity > 0.0 else 0.0
    sun = (
        parameters[P.aperture_north_m2] * facade_w_m2[now, 0]
        + parameters[P.aperture_east_m2] * facade_w_m2[now, 1]
        + parameters[P.aperture_south_m2] * facade_w_m2[now, 2]
        + parameters[P.aperture_west_m2] * facade_w_m2[now, 3]
    )
    attic_sun = attic_gain * ghi_w_m2[now] / ATTIC_SUN_W_M2 - ATTIC_SKY_K
    air_gain = parameters[P.sun_air_part] * sun + GAIN_TO_AIR * gain
    mass_gain = parameters[P.sun_mass_part] * sun + (1.0 - GAIN_TO_AIR) * gain
    heavy_gain = parameters[P.sun_heavy_part] * sun
    all_gains = air_gain + mass_gain + heavy_gain
    if first == 0:
        done, odd, leaks_age = 0.0, 0.0, leaks_held
        colder = max(air - 0.5 * (dry_bulb_c[before] + dry_bulb_c[now]), 0.0)
        saturated = saturation_pressure_fast_pa(air - PANE_PART * colder)
        pane_humidity = 0.621945 * saturated / (pressure_pa - saturated)
        saturated = saturation_pressure_fast_pa(air)
        drying_part, drying_power_part = dehumidifier_ratios(
            air, humidity * pressure_pa / ((0.621945 + humidity) * saturated)
        )
        drying_kg_s = parameters[P.dehumidifier_kg_s] * drying_part
        drying_w = parameters[P.dehumidifier_w] * drying_power_part

    for _ in range(first, last):
        if done < per_hour:
            resting = False
            if longer > 1.0 and odd == 0.0:
                resting = (done + longer <= per_hour) & rests(
                    parameters,
                    resting_s,
                    call,
                    held,
                    air,
                    trend,
                    relative,
                    running,
                    flow,
                    steady,
                    held_water,
                    frost,
                    stage,
                    strips,
                )
            steps = longer if resting else 1.0
            length_s = resting_s if resting else step_s
            per_length = per_rest if resting else per_step
            lag_left = long_lag_left if resting else short_lag_left
            lag_mean = long_lag_mean if resting else short_lag_mean
            attic_part = long_attic_part if resting else short_attic_part

            part = (done + 0.5 * steps) * per_hour_part
            outdoor = dry_bulb_c[before] + part * outdoor_change
            outdoor_w = outdoor_humidity[before] + part * outdoor_w_change
            if leaks_age >= leaks_held:
                leaks_age = 0.0
                middle = min((done + 0.5 * leaks_held) * per_hour_part, 1.0)
                natural_flow = enhanced_leakage_m3_s(
                    parameters[P.leakage_coefficient],
                    parameters[P.leakage_exponent],
                    parameters[P.stack_coefficient],
                    parameters[P.wind_coefficient],
                    parameters[P.shelter],
                    air - dry_bulb_c[before] - middle * outdoor_change,
                    wind_m_s[before] + middle * wind_change,
                )
            around = air + in_attic * (attic - air) + in_crawl * (0.5 * (outdoor + ground_c) - air)
            # the room as it will be half a step on
            centre = air + 0.5 * length_s * trend
            centre_w = humidity + 0.5 * length_s * water_trend
            relative = centre_w * pressure_pa / ((0.621945 + centre_w) * saturation_pressure_fast_pa(centre))

            # the calls
            humid = switched_above(humid, relative, parameters[P.humid_low], parameters[P.humid_high])
            drying_call = parameters[P.drying_base] + parameters[P.drying_slope] * humid
            next_call = call_after(
                call,
                held,
                centre,
                cooling_set - parameters[P.overcool_k] * humid,
                heating_set,
                deadband,
                parameters[P.least_on_s],
                parameters[P.least_off_s],
            )
            if next_call != call:
                if next_call == 1.0:
                    sums[Q.starts] += works
                    time_off = 0.0
                    stage = 1.0 - has_low
                held = 0.0
                strips = 0.0
                call = next_call
            cooling = works if call == 1.0 else 0.0
            if call == 1.0 and (
                held >= parameters[P.second_stage_after_s] or centre > cooling_set + parameters[P.second_stage_above_k]
            ):
                stage = 1.0
            low = has_low * (1.0 - stage)

            # the coil's cooling follows the compressor
            cooled = cooling + (running - cooling) * lag_mean
            more = (cooling - running) * (1.0 - lag_left)
            running += more

            # the blower: in a part of the step airflow moves steadily from `start` to `flow`, or stands at `start` before
            long_call = 0.0
            start = flow
            moving = 0.0
            standing = 0.0
            if call == 1.0:
                fixed = cooling_flow + low * (parameters[P.low_stage_flow] - cooling_flow)
                if drying_call > 0.5:
                    fixed = min(fixed, parameters[P.drying_flow])
                holding = parameters[P.holding] if max(parameters[P.hold_always], drying_call) > 0.5 else 0.0
                if held >= parameters[P.long_call_s]:
                    long_call = 1.0
                    holding = 0.0
                    fixed = parameters[P.greatest_flow]
                settled = min(max((running - SETTLED) / max(more, 1e-9), 0.0), 1.0)
                flow, moving = cooling_flow_after(
                    flow,
                    length_s,
                    fixed,
                    parameters[P.least_flow],
                    parameters[P.greatest_flow],
                    parameters[P.ramp_per_s],
                    holding,
                    parameters[P.coil_sensor_drop_k],
                    parameters[P.held_suction_c],
                    centre,
                    sensor + ahead_s * sensor_trend + parameters[P.sensor_error_k],
                    suction + ahead_s * suction_trend,
                    suction + ahead_s * suction_trend - circuit_offset,
                    parameters[P.coil_floor_c],
                    settled,
                )
                flow *= works
            elif call == 2.0:
                flow = works * parameters[P.heating_flow]
            else:
                flow = works * circulation
                if time_off < off_delay:
                    start = works * max(min(start, cooling_flow), circulation)
                    standing = min((off_delay - time_off) * per_step, 1.0)
            if call != 1.0:
                time_off += length_s
            steady = 1.0 if flow == start else 0.0
            # means over the step of the airflow, its square and its cube, and the part of the step in which the blower runs
            there = 1.0 - moving - standing
            standing_3 = standing * start * start * start
            blown = moving * 0.5 * (start + flow) + standing * start + there * flow
            squared = moving * (start * start + flow * (start + flow)) * (1.0 / 3.0) + standing * start * start
            squared += there * flow * flow
            cubed = (
                moving * 0.25 * (start + flow) * (start * start + flow * flow) + standing_3 + there * flow * flow * flow
            )
            blowing = moving + (standing if start > 0.0 else 0.0) + (there if flow > 0.0 else 0.0)
            if standing >= 1.0:
                flow = start

            # heating: a heat pump with its strips, or strips or a furnace alone
            pumped = 0.0
            pump_w = 0.0
            burnt = 0.0
            if call == 2.0 and flow > 0.0:
                burnt = parameters[P.heating_capacity_w]
                pumped = max(
                    with_defrosting(parameters[P.pump_heat_w], parameters[P.pump_heat_w_k], DEFROSTING_HEAT, outdoor),
                    0.0,
                )
                pump_w = max(
                    with_defrosting(
                        parameters[P.pump_power_w], parameters[P.pump_power_w_k], DEFROSTING_POWER, outdoor
                    ),
                    0.0,
                )
                if pumped > 0.0:
                    if air < heating_set - parameters[P.strips_below_k] or held >= parameters[P.strips_after_s]:
                        strips = 1.0
                    burnt *= strips

            sensible = 0.0
            latent = 0.0
            evaporated = 0.0
            condensing = 0.0
            drained = 0.0
            watts = 0.0
            input_w = 0.0
            freezing = 0.0
            thawed = 0.0
            thaw_around = 0.0
            supply = air
            register = air
            supply_w = humidity
            past_frost = 1.0
            if frost > 0.0:
                past_frost = air_left(frost, frosted, rated_flow)
            moved = blown * full_flow * past_frost
            if blown > 0.0:
                watts = (
                    parameters[P.watts_0] * blowing
                    + parameters[P.watts_1] * blown
                    + parameters[P.watts_2] * squared
                    + parameters[P.watts_3] * cubed
                )
                entering = centre + return_leak * (around - centre) + outdoor_part * (outdoor - centre)
                entering_w = centre_w + (return_leak + outdoor_part) * (outdoor_w - centre_w)
                wet_bulb = wet_bulb_step_c(wet_bulb, entering, entering_w, pressure_pa)
                leaving = entering
                surface = entering
                if cooled > 0.001:
                    total = 0.0
                    if coil_flow != moved * (1.0 - 2.0 * low):
                        touching_bypass, touching_exponent, touching_flow = bypass, air_exponent, rated_flow
                        if low > 0.5:
                            touching_bypass = parameters[P.low_stage_bypass]
                            touching_exponent = parameters[P.low_stage_exponent]
                            touching_flow = parameters[P.low_stage_rated_kg_s]
                        coil_flow = moved * (1.0 - 2.0 * low)
                        coil_flow_log = log(moved / touching_flow)
                        coil_touched = 1.0 - exp(-touching_bypass * exp((touching_exponent - 1.0) * coil_flow_log))
                    read_at = max(coil_flow_log, LEAST_READ)
                    suction_before = suction
                    if low > 0.5:
                        total, input_w, suction = surface_state(low_surfaces, entering, wet_bulb, outdoor, read_at)
                    else:
                        total, input_w, suction = surface_state(surfaces, entering, wet_bulb, outdoor, read_at)
                    if coil_flow_log < LEAST_READ:
                        total *= exp(coil_flow_log - LEAST_READ)
                    sensible, surface = split_of_total(
                        total * cooled, entering, entering_w, moved * coil_touched, pressure_pa
                    )
                    if abs(more) > LONG_STEP_CHANGE:
                        spread = abs(more) * lag_spread
                        drier, _ = split_of_total(
                            total * (cooled - spread), entering, entering_w, moved * coil_touched, pressure_pa
                        )
                        wetter, _ = split_of_total(
                            total * (cooled + spread), entering, entering_w, moved * coil_touched, pressure_pa
                        )
                        sensible = 0.5 * (drier + wetter)
                    latent = total * cooled - sensible
                    condensing = latent * (1.0 / LATENT_HEAT)
                    shown = suction + sensor_place * (surface - suction)
                    sensor_trend = (shown - sensor) * per_length
                    sensor = shown
                    suction_trend = (suction - suction_before) * per_length
                    input_w *= cooling
                coldest = suction - circuit_offset
                if frost > 0.0 or (cooled > 0.001 and inlet_surface_c(coldest, surface) < 0.0):
                    frost, frosted, freezing, thawed, thaw_around = frost_step(
                        frost,
                        frosted,
                        coldest,
                        surface,
                        entering,
                        entering_w,
                        moved,
                        cooled,
                        around,
                        rated_flow,
                        bypass,
                        pressure_pa,
                        step_s,
                    )
                    # a coil dry on the whole can still frost at its inlets: that water is latent cooling too
                    more = max(freezing - condensing, 0.0)
                    condensing += more
                    latent += more * LATENT_HEAT
                    sensible += (thawed - freezing) * HEAT_OF_FUSION - more * LATENT_HEAT
                potential = 0.0
                if call != 1.0 and held_water > 0.0:
                    saturated = saturation_pressure_fast_pa(wet_bulb)
                    saturated_w = 0.621945 * saturated / (pressure_pa - saturated)
                    potential = moved * max(saturated_w - entering_w, 0.0) * (1.0 - cooled)
                held_water, drained, evaporated = water_step(
                    held_water, condensing - freezing + thawed, potential, length_s, water_max
                )
                per_moved = 1.0 / moved
                per_watt = per_moved * (1.0 / SPECIFIC_HEAT)
                leaving = entering - (sensible + evaporated * LATENT_HEAT) * per_watt
                supply = leaving + (watts + burnt + pumped) * per_watt
                exchange = duct * per_watt
                register = around + (supply - around) / (1.0 + exchange * (1.0 + 0.5 * exchange))
                supply_w = entering_w + (evaporated - condensing) * per_moved

            elif frost > 0.0:
                frost, frosted, freezing, thawed, thaw_around = frost_step(
                    frost,
                    frosted,
                    0.0,
                    0.0,
                    air,
                    humidity,
                    0.0,
                    0.0,
                    around,
                    rated_flow,
                    bypass,
                    pressure_pa,
                    step_s,
                )
                held_water, drained, evaporated = water_step(held_water, thaw_around, 0.0, step_s, water_max)
            # what surrounds a cabinet inside is the room; an attic or crawl space gives this heat without being cooled
            thaw_room = thaw_around * HEAT_OF_FUSION * (1.0 - in_attic - in_crawl)

            # the dehumidifier, its heat and that of its water to the room
            dehumidifying = switched_above(
                dehumidifying, relative, parameters[P.dehumidifier_low], parameters[P.dehumidifier_high]
            )
            dried = dehumidifying * drying_kg_s
            dried_w = dehumidifying * drying_w
            dry_heat = (dried_w + dried * ROOM_LATENT_HEAT) * (1.0 - parameters[P.dehumidifier_lost_part])

            # air through the envelope
            density = pressure_pa / (287.055 * (outdoor + 273.15))
            drawn_in = return_leak + outdoor_part
            came, went = envelope_flows_kg_s(
                natural_flow * density, (supply_leak - drawn_in) * moved + exhaust - supply_air
            )
            came += supply_air
            went += exhaust
            delivered = (1.0 - supply_leak) * moved

            # heat: room air by the implicit midpoint, then the masses and the attic
            at_once = air_gain + dry_heat - thaw_room
            losses = coupling + heavy_coupling + glass + came * SPECIFIC_HEAT
            rate = (
                delivered * SPECIFIC_HEAT * (register - centre)
                + came * SPECIFIC_HEAT * (outdoor - air)
                + coupling * (mass - air)
                + heavy_coupling * (heavy - air)
                + glass * (outdoor - air)
                + at_once
            )
            trend = rate / (air_capacity + 0.5 * length_s * losses)
            change = length_s * trend
            midway = air + 0.5 * change
            through_light = wall * (outdoor - mass) + ceiling * (attic - mass) + floor * (ground_c - mass)
            through_heavy = heavy_wall * (outdoor - heavy) + heavy_floor * (ground_c - heavy)
            mass_change = length_s * (coupling * (midway - mass) + through_light + mass_gain) * per_mass
            heavy_change = length_s * (heavy_coupling * (midway - heavy) + through_heavy + heavy_gain) * per_heavy
            attic += (outdoor + attic_sun - attic) * attic_part

            # water: room air by the implicit midpoint, then the two layers of materials
            to_panes = PANE_KG_J_K * glass if humidity > pane_humidity else 0.0
            water_rate = (
                came * outdoor_w
                - went * humidity
                + delivered * supply_w
                - (1.0 - drawn_in) * moved * centre_w
                + buffer_coupling * (buffer_humidity - humidity)
                + moisture
                - dried
                - to_panes * (humidity - pane_humidity)
            )
            water_losses = went + buffer_coupling + to_panes
            water_trend = water_rate / (room_air + 0.5 * length_s * water_losses)
            water_change = length_s * water_trend
            midway_w = humidity + 0.5 * water_change
            to_buffer = buffer_coupling * (midway_w - buffer_humidity)
            to_deep = deep_coupling * (buffer_humidity - deep_humidity)

            sums[Q.relative_humidity_s] += length_s * relative
            sums[Q.over_dry_s] += length_s if relative < OVER_DRY else 0.0
            sums[Q.over_50_s] += length_s if relative > HUMIDITY_LINES[0] else 0.0
            sums[Q.over_55_s] += length_s if relative > HUMIDITY_LINES[1] else 0.0
            sums[Q.over_60_s] += length_s if relative > HUMIDITY_LINES[2] else 0.0
            sums[Q.over_65_s] += length_s if relative > HUMIDITY_LINES[3] else 0.0
            sums[Q.over_70_s] += length_s if relative > HUMIDITY_LINES[4] else 0.0
            sums[Q.air_temperature_s] += length_s * midway
            sums[Q.humidity_s] += length_s * midway_w
            sums[Q.sensible_j] += length_s * (sensible + evaporated * LATENT_HEAT)
            sums[Q.latent_j] += length_s * (latent - evaporated * LATENT_HEAT)
            entered = came * outdoor_w + drawn_in * moved * outdoor_w + moisture
            on_panes = to_panes * (midway_w - pane_humidity)
            left = went * midway_w + supply_leak * moved * supply_w + drained + dried + on_panes
            sums[Q.water_in_kg] += length_s * entered
            sums[Q.water_out_kg] += length_s * left
            sums[Q.water_absolute_kg] += length_s * (entered + left)
            sums[Q.drained_kg] += length_s * drained
            sums[Q.dehumidified_kg] += length_s * dried
            sums[Q.on_panes_kg] += length_s * on_panes
            sums[Q.dehumidifier_j] += length_s * dried_w
            sums[Q.dehumidifier_s] += length_s * dehumidifying
            sums[Q.compressor_j] += length_s * input_w
            sums[Q.blower_j] += length_s * watts
            if call == 1.0:
                sums[Q.missed_s] += length_s if midway > cooling_set + 1.0 else 0.0
            if cooling > 0.5:
                sums[Q.run_s] += length_s
                sums[Q.high_stage_s] += length_s * stage
                sums[Q.long_call_s] += length_s * long_call
                sums[Q.drying_call_s] += length_s * drying_call
                sums[Q.flow_run_s] += length_s * blown * past_frost
                if cooled > SETTLED:
                    sums[Q.least_suction_c] = min(sums[Q.least_suction_c], suction)
                    sums[Q.least_supply_c] = min(sums[Q.least_supply_c], register)
                    coldest = suction - circuit_offset
                    sums[Q.coldest_below_m4_0_s] += length_s if coldest < SATURATION_MARKS_C[0] else 0.0
                    sums[Q.coldest_below_m2_0_s] += length_s if coldest < SATURATION_MARKS_C[1] else 0.0
                    sums[Q.coldest_below_0_0_s] += length_s if coldest < SATURATION_MARKS_C[2] else 0.0
                    sums[Q.coldest_below_1_1_s] += length_s if coldest < SATURATION_MARKS_C[3] else 0.0
                    sums[Q.coldest_below_2_2_s] += length_s if coldest < SATURATION_MARKS_C[4] else 0.0
                    sums[Q.coldest_below_3_5_s] += length_s if coldest < SATURATION_MARKS_C[5] else 0.0
                    sums[Q.coldest_below_5_0_s] += length_s if coldest < SATURATION_MARKS_C[6] else 0.0
                    sums[Q.coldest_below_7_0_s] += length_s if coldest < SATURATION_MARKS_C[7] else 0.0
                    sums[Q.coldest_below_9_0_s] += length_s if coldest < SATURATION_MARKS_C[8] else 0.0
                    sums[Q.coldest_below_12_0_s] += length_s if coldest < SATURATION_MARKS_C[9] else 0.0
                    sums[Q.settled_run_s] += length_s
                saturated = saturation_pressure_fast_pa(register + REGISTER_WARMING * (midway - register))
                sums[Q.sweat_s] += length_s if 0.621945 * saturated < midway_w * (pressure_pa - saturated) else 0.0
                # a duct outside the rooms stands in outdoor air's humidity
                around_w = midway_w + (in_attic + in_crawl) * (outdoor_w - midway_w)
                saturated = saturation_pressure_fast_pa(around + DUCT_FILM_PART * (supply - around))
                sums[Q.duct_sweat_s] += length_s if 0.621945 * saturated < around_w * (pressure_pa - saturated) else 0.0
            if call == 2.0:
                sums[Q.strips_or_furnace_j] += length_s * burnt
                sums[Q.pump_heat_j] += length_s * pumped
                sums[Q.pump_input_j] += length_s * pump_w
                sums[Q.missed_heating_s] += length_s if midway < heating_set - 1.0 else 0.0
            if frost > 0.0:
                sums[Q.frost_s] += length_s if frost > SEEN_KG else 0.0
                sums[Q.frost_peak_kg] = max(sums[Q.frost_peak_kg], frost)
                sums[Q.frozen_kg] += length_s * freezing
                sums[Q.air_blocked_run_s] += length_s * cooling * (1.0 - past_frost)
                sums[Q.air_blocked_peak] = max(sums[Q.air_blocked_peak], 1.0 - past_frost)
            from_ducts = delivered * SPECIFIC_HEAT * (register - centre)
            through = (came * SPECIFIC_HEAT + glass) * (outdoor - midway) + through_light + through_heavy
            sums[Q.heat_in_j] += length_s * (from_ducts + through + all_gains + dry_heat - thaw_room)
            sums[Q.heat_absolute_j] += length_s * (abs(from_ducts) + abs(through) + all_gains + dry_heat)
            air += change
            mass += mass_change
            heavy += heavy_change
            humidity += water_change
            buffer_humidity += length_s * (to_buffer - to_deep) * per_buffer
            deep_humidity += length_s * to_deep * per_deep_buffer
            held += length_s
            done += steps
            odd = 0.0 if odd + steps >= longer else odd + steps
            leaks_age += steps
    state[S.air_c], state[S.mass_c], state[S.heavy_c], state[S.attic_c], state[S.humidity], state[S.buffer_humidity] = (
        air, mass, heavy, attic, humidity, buffer_humidity)  # fmt: skip
    state[S.deep_humidity], state[S.held_water_kg], state[S.running], state[S.flow], state[S.call], state[S.held_s] = (
        deep_humidity, held_water, running, flow, call, held)  # fmt: skip
    state[S.wet_bulb_c], state[S.suction_c], state[S.sensor_c], state[S.time_off_s], state[S.frost_kg] = (
        wet_bulb, suction, sensor, time_off, frost)  # fmt: skip
    state[S.frosted_part], state[S.stage], state[S.strips], state[S.humid], state[S.dehumidifying] = (
        frosted, stage, strips, humid, dehumidifying)  # fmt: skip
    state[S.drying_kg_s], state[S.drying_w], state[S.pane_humidity] = drying_kg_s, drying_w, pane_humidity
    state[S.natural_m3_s], state[S.air_trend_k_s], state[S.humidity_trend] = natural_flow, trend, water_trend
    state[S.relative_humidity], state[S.done_steps], state[S.odd_steps] = relative, done, odd
    state[S.leaks_age_steps], state[S.steady] = leaks_age, steady
    state[S.coil_flow_kg_s], state[S.coil_flow_log], state[S.coil_touched] = coil_flow, coil_flow_log, coil_touched
    state[S.sensor_trend_k_s], state[S.suction_trend_k_s] = sensor_trend, suction_trend
    return last - first


@kernel
def advance_day(
    day: int,
    month: int,
    step_s: float,
    pressure_pa: float,
    ground_c: float,
    dry_bulb_c: Array,
    outdoor_humidity: Array,
    wind_m_s: Array,
    ghi_w_m2: Array,
    facade_w_m2: Array,
    lanes: int,
    settings: Array,
    block: Array,
    months: Array,
    watched: Array,
    by_hour: Array,
    hourly: Array,
) -> int:
    """The 24 hours of a day of `lanes` house-years that lie in one `block`; arrays and `month` as in watch.end_hour."""
    per_hour = round(3600.0 / step_s)
    for hour in range(24):
        begin_hour(hour, lanes, settings, block)
        advance_hour(
            day,
            hour,
            0,
            per_hour,
            step_s,
            pressure_pa,
            ground_c,
            dry_bulb_c,
            outdoor_humidity,
            wind_m_s,
            ghi_w_m2,
            facade_w_m2,
            block[:_STATE_AT],
            block[_SURFACES_AT:_LOW_AT],
            block[_LOW_AT : _LOW_AT + SURFACE_SIZE],
            block[_STATE_AT:_SUMS_AT],
            block[_SUMS_AT:_SURFACES_AT],
        )
        end_hour(day, month, hour, lanes, pressure_pa, dry_bulb_c, block, months, watched, by_hour, hourly)
    return 24 * per_hour
