"""One day of one house, step by step: room, materials, attic, ducts, coil, blower and thermostat joined."""

from airtrim.core.elementary import log
from airtrim.core.kernels import inline_kernel, kernel
from airtrim.physics.air.moist import saturation_pressure_fast_pa, wet_bulb_step_c
from airtrim.physics.coil.frost import HEAT_OF_FUSION, SEEN_KG, air_left, frost_step, inlet_surface_c
from airtrim.physics.coil.water import water_step
from airtrim.physics.control.thermostat import call_after, cooling_flow_after
from airtrim.physics.house.leakage import envelope_flows_kg_s, natural_leakage_m3_s
from airtrim.physics.season.layout import SATURATION_MARKS_C
from airtrim.physics.season.system import Array
from airtrim.physics.unit.surface import split_sensible, surface_state

#: Moist air's specific heat at 9.5 g/kg, and water's latent heat at coil temperatures, J/kg K and J/kg.
SPECIFIC_HEAT = 1006.0 + 1860.0 * 0.0095
LATENT_HEAT = 2.466e6
#: Which part of the envelope's conductance joins outdoors to the air (glass, doors), outdoors to the mass (walls), attic to the
#: mass (ceiling), ground to the mass (floor); the ground stays at the year's mean dry-bulb [from-memory].
TO_AIR, TO_MASS, FROM_ATTIC, FROM_GROUND = 0.40, 0.25, 0.25, 0.10
#: The part of sun through glass, and of internal gains, that warms the air at once.
SUN_TO_AIR, GAIN_TO_AIR = 0.3, 0.6
#: Attic storage delay of 1 to 2 h (FSEC-PF measurements, house.md); attic gain is stated at this irradiance.
ATTIC_LAG_S, ATTIC_SUN_W_M2 = 5400.0, 900.0
#: The roof's loss to a humid sky 8 K below air: films of 5 (radiation) and 12 W/m2K leave the deck 2.4 K and the attic about 2 K
#: below what sun and outdoor air alone would give [own-derivation].
ATTIC_SKY_K = 2.0
#: The coil's cooling comes and goes with the refrigerant's migration.
START_LAG_S = 45.0
#: Where in the fins a coil sensor sits: half-way from saturated suction to the mean surface.
SENSOR_PLACE = 0.5
#: Materials' deep layer is reached through this part of the surface layer's coupling.
DEEP_PART = 0.15
#: Part of the room-to-supply difference by which a register's face is warmer than the supply air.
REGISTER_WARMING = 0.2
DAMP, VERY_DAMP = 0.60, 0.65


@inline_kernel
def room_air_kg(volume_m3: float, pressure_pa: float) -> float:
    """Dry air in the rooms, kg, at 24 C: held constant so that the water balance closes whatever the temperature."""
    return volume_m3 * pressure_pa / (287.055 * 297.15)


@kernel
def advance_day(
    day: int,
    step_s: float,
    pressure_pa: float,
    dry_bulb_c: Array,
    outdoor_humidity: Array,
    wind_m_s: Array,
    ghi_w_m2: Array,
    facade_w_m2: Array,
    parameters: Array,
    surfaces: Array,
    state: Array,
    sums: Array,
) -> int:
    """Advance `state` by one day and add to `sums` (layout.py); returns the steps taken.

    Weather arrays hold 8,760 hours, each value the hour's end; sun is the hour's mean. `step_s` divides 3,600.
    """
    (volume, envelope, air_capacity, mass_capacity, coupling, north, east, south, west, leakage_area, storeys, gain, moisture,
     buffer, deep_buffer, buffer_coupling, return_leak, supply_leak, duct, attic_gain, water_max, heating_capacity, full_flow,
     watts_0, watts_1, watts_2, watts_3, bypass, air_exponent, rated_flow, cooling_flow, least_flow, greatest_flow, sensor_drop,
     coil_floor, circulation, off_delay, ramp, cooling_set, heating_set, deadband, least_on, least_off, outdoor_part, exhaust,
     ducts_in_attic, ducts_in_crawl, circuit_offset) = (
        parameters[0], parameters[1], parameters[2], parameters[3], parameters[4], parameters[5], parameters[6], parameters[7],
        parameters[8], parameters[9], parameters[10], parameters[11], parameters[12], parameters[13], parameters[14],
        parameters[15], parameters[16], parameters[17], parameters[18], parameters[19], parameters[20], parameters[21],
        parameters[22], parameters[23], parameters[24], parameters[25], parameters[26], parameters[27], parameters[28],
        parameters[29], parameters[30], parameters[31], parameters[32], parameters[33], parameters[34], parameters[35],
        parameters[36], parameters[37], parameters[38], parameters[39], parameters[40], parameters[41], parameters[42],
        parameters[43], parameters[44], parameters[45], parameters[46], parameters[47])  # fmt: skip
    (air, mass, attic, humidity, buffer_humidity, deep_humidity, held_water, running, flow, call, held, wet_bulb, suction, sensor,
     time_off, frost, frosted) = (
        state[0], state[1], state[2], state[3], state[4], state[5], state[6], state[7], state[8], state[9], state[10], state[11],
        state[12], state[13], state[14], state[15], state[16])  # fmt: skip
    hours = dry_bulb_c.shape[0]
    per_hour = round(3600.0 / step_s)
    lag = 1.0 / (START_LAG_S + 0.5 * step_s)
    if lag * step_s > 1.0:
        lag = 1.0 / step_s
    deep_coupling = DEEP_PART * buffer_coupling
    room_air = room_air_kg(volume, pressure_pa)
    ground = dry_bulb_c.mean()
    # divisions are the dearest operations of a step: what does not change within the day is divided once
    per_mass, per_buffer, per_deep_buffer = 1.0 / mass_capacity, 1.0 / buffer, 1.0 / deep_buffer
    attic_part = step_s / (ATTIC_LAG_S + 0.5 * step_s)
    for hour in range(24):
        now = (day * 24 + hour) % hours
        before = (now - 1 + hours) % hours
        sun = (
            north * facade_w_m2[now, 0]
            + east * facade_w_m2[now, 1]
            + south * facade_w_m2[now, 2]
            + west * facade_w_m2[now, 3]
        )
        attic_sun = attic_gain * ghi_w_m2[now] / ATTIC_SUN_W_M2 - ATTIC_SKY_K
        for index in range(per_hour):
            part = (index + 0.5) / per_hour
            outdoor = dry_bulb_c[before] + part * (dry_bulb_c[now] - dry_bulb_c[before])
            outdoor_w = outdoor_humidity[before] + part * (outdoor_humidity[now] - outdoor_humidity[before])
            wind = wind_m_s[before] + part * (wind_m_s[now] - wind_m_s[before])

            next_call = call_after(call, held, air, cooling_set, heating_set, deadband, least_on, least_off)
            if next_call != call:
                if next_call == 1.0:
                    sums[12] += 1.0
                    time_off = 0.0
                held = 0.0
                call = next_call
            cooling = 1.0 if call == 1.0 else 0.0
            heating = 1.0 if call == 2.0 else 0.0

            # the blower
            if call == 1.0:
                settled = 1.0 if running > 0.9 else 0.0
                flow = cooling_flow_after(
                    flow,
                    step_s,
                    cooling_flow,
                    least_flow,
                    greatest_flow,
                    ramp,
                    sensor_drop,
                    air,
                    sensor,
                    suction - circuit_offset,
                    coil_floor,
                    settled,
                )
            elif call == 2.0:
                flow = 1.0
            elif time_off < off_delay:
                flow = max(min(flow, cooling_flow), circulation)
            else:
                flow = circulation
            if call != 1.0:
                time_off += step_s
            running += (cooling - running) * step_s * lag

            sensible = 0.0
            latent = 0.0
            evaporated = 0.0
            condensing = 0.0
            drained = 0.0
            watts = 0.0
            power = 0.0
            freezing = 0.0
            thawed = 0.0
            thaw_around = 0.0
            register = air
            supply_w = humidity
            past_frost = 1.0
            if frost > 0.0:
                past_frost = air_left(frost, frosted, rated_flow)
            moved = flow * full_flow * past_frost
            around = air + ducts_in_attic * (attic - air) + ducts_in_crawl * (0.5 * (outdoor + ground) - air)
            if flow > 0.0:
                watts = watts_0 + flow * (watts_1 + flow * (watts_2 + flow * watts_3))
                entering = air + return_leak * (around - air) + outdoor_part * (outdoor - air)
                entering_w = humidity + (return_leak + outdoor_part) * (outdoor_w - humidity)
                wet_bulb = wet_bulb_step_c(wet_bulb, entering, entering_w, pressure_pa)
                leaving = entering
                surface = entering
                if running > 0.001:
                    total, power, suction = surface_state(
                        surfaces, entering, wet_bulb, outdoor, log(moved / rated_flow)
                    )
                    total *= running
                    sensible, surface = split_sensible(
                        total, entering, entering_w, moved, bypass, air_exponent, rated_flow, pressure_pa
                    )  # fmt: skip
                    latent = total - sensible
                    condensing = latent / LATENT_HEAT
                    sensor = suction + SENSOR_PLACE * (surface - suction)
                    power *= cooling
                coldest = suction - circuit_offset
                if frost > 0.0 or (running > 0.001 and inlet_surface_c(coldest, surface) < 0.0):
                    frost, frosted, freezing, thawed, thaw_around = frost_step(
                        frost,
                        frosted,
                        coldest,
                        surface,
                        entering,
                        entering_w,
                        moved,
                        running,
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
                    potential = moved * max(saturated_w - entering_w, 0.0) * (1.0 - running)
                held_water, drained, evaporated = water_step(
                    held_water, condensing - freezing + thawed, potential, step_s, water_max
                )
                per_moved = 1.0 / moved
                per_watt = per_moved * (1.0 / SPECIFIC_HEAT)
                leaving = entering - (sensible + evaporated * LATENT_HEAT) * per_watt
                supply = leaving + (watts + heating * heating_capacity) * per_watt
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
            thaw_room = thaw_around * HEAT_OF_FUSION * (1.0 - ducts_in_attic - ducts_in_crawl)

            # air through the envelope
            density = pressure_pa / (287.055 * (outdoor + 273.15))
            natural = natural_leakage_m3_s(leakage_area, storeys, air - outdoor, wind) * density
            drawn_in = return_leak + outdoor_part
            came, went = envelope_flows_kg_s(natural, (supply_leak - drawn_in) * moved + exhaust)
            went += exhaust
            delivered = (1.0 - supply_leak) * moved

            # heat: room air by the implicit midpoint, then mass and attic
            at_once = SUN_TO_AIR * sun + GAIN_TO_AIR * gain - thaw_room
            losses = coupling + TO_AIR * envelope + came * SPECIFIC_HEAT
            rate = (
                delivered * SPECIFIC_HEAT * (register - air)
                + came * SPECIFIC_HEAT * (outdoor - air)
                + coupling * (mass - air)
                + TO_AIR * envelope * (outdoor - air)
                + at_once
            )
            change = step_s * rate / (air_capacity + 0.5 * step_s * losses)
            midway = air + 0.5 * change
            to_mass = coupling * (midway - mass)
            mass_rate = (
                to_mass
                + envelope * (TO_MASS * (outdoor - mass) + FROM_ATTIC * (attic - mass) + FROM_GROUND * (ground - mass))
                + (1.0 - SUN_TO_AIR) * sun
                + (1.0 - GAIN_TO_AIR) * gain
            )
            mass_change = step_s * mass_rate * per_mass
            attic_before = attic
            attic += (outdoor + attic_sun - attic) * attic_part

            # water: room air by the implicit midpoint, then the two layers of materials
            water_rate = (
                came * outdoor_w
                - went * humidity
                + delivered * supply_w
                - (1.0 - drawn_in) * moved * humidity
                + buffer_coupling * (buffer_humidity - humidity)
                + moisture
            )
            water_losses = went + buffer_coupling
            water_change = step_s * water_rate / (room_air + 0.5 * step_s * water_losses)
            midway_w = humidity + 0.5 * water_change
            to_buffer = buffer_coupling * (midway_w - buffer_humidity)
            to_deep = deep_coupling * (buffer_humidity - deep_humidity)

            relative = humidity * pressure_pa / ((0.621945 + humidity) * saturation_pressure_fast_pa(air))
            sums[0] += step_s * relative
            sums[1] += step_s if relative > DAMP else 0.0
            sums[2] += step_s if relative > VERY_DAMP else 0.0
            sums[3] += step_s * (sensible + evaporated * LATENT_HEAT)
            sums[4] += step_s * (latent - evaporated * LATENT_HEAT)
            entered = came * outdoor_w + drawn_in * moved * outdoor_w + moisture
            left = went * midway_w + supply_leak * moved * supply_w + drained
            sums[5] += step_s * entered
            sums[6] += step_s * left
            sums[7] += step_s * (entered + left)
            sums[8] += step_s * drained
            sums[9] += step_s * power
            sums[10] += step_s * watts
            if cooling > 0.5:
                sums[11] += step_s
                sums[18] += step_s * flow * past_frost
                if running > 0.9:
                    sums[13] = min(sums[13], suction)
                    sums[16] = min(sums[16], register)
                    coldest = suction - circuit_offset
                    sums[27] += step_s if coldest < SATURATION_MARKS_C[0] else 0.0
                    sums[28] += step_s if coldest < SATURATION_MARKS_C[1] else 0.0
                    sums[29] += step_s if coldest < SATURATION_MARKS_C[2] else 0.0
                    sums[30] += step_s if coldest < SATURATION_MARKS_C[3] else 0.0
                    sums[31] += step_s if coldest < SATURATION_MARKS_C[4] else 0.0
                    sums[32] += step_s if coldest < SATURATION_MARKS_C[5] else 0.0
                    sums[33] += step_s if coldest < SATURATION_MARKS_C[6] else 0.0
                    sums[34] += step_s if coldest < SATURATION_MARKS_C[7] else 0.0
                    sums[35] += step_s if coldest < SATURATION_MARKS_C[8] else 0.0
                    sums[36] += step_s if coldest < SATURATION_MARKS_C[9] else 0.0
                    sums[37] += step_s
                face = register + REGISTER_WARMING * (air - register)
                saturated = saturation_pressure_fast_pa(face)
                sums[17] += step_s if 0.621945 * saturated / (pressure_pa - saturated) < humidity else 0.0
                sums[15] += step_s if air > cooling_set + 1.0 else 0.0
            if frost > 0.0:
                sums[14] += step_s if frost > SEEN_KG else 0.0
                sums[23] = max(sums[23], frost)
                sums[24] += step_s * freezing
                sums[25] += step_s * cooling * (1.0 - past_frost)
                sums[26] = max(sums[26], 1.0 - past_frost)
            from_ducts = delivered * SPECIFIC_HEAT * (register - air)
            through = came * SPECIFIC_HEAT * (outdoor - midway) + envelope * (
                TO_AIR * (outdoor - midway)
                + TO_MASS * (outdoor - mass)
                + FROM_ATTIC * (attic_before - mass)
                + FROM_GROUND * (ground - mass)
            )
            sums[19] += step_s * (from_ducts + through + sun + gain - thaw_room)
            sums[20] += step_s * (abs(from_ducts) + abs(through) + sun + gain)
            sums[21] += step_s * air
            sums[22] += step_s * heating * heating_capacity
            air += change
            mass += mass_change
            humidity += water_change
            buffer_humidity += step_s * (to_buffer - to_deep) * per_buffer
            deep_humidity += step_s * to_deep * per_deep_buffer
            held += step_s
    state[0], state[1], state[2], state[3], state[4], state[5], state[6], state[7] = (
        air, mass, attic, humidity, buffer_humidity, deep_humidity, held_water, running)  # fmt: skip
    state[8], state[9], state[10], state[11], state[12], state[13], state[14] = (
        flow, call, held, wet_bulb, suction, sensor, time_off)  # fmt: skip
    state[15], state[16] = frost, frosted
    return 24 * per_hour
