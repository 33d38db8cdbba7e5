"""The year's house in continuous time: the same physics stated apart from the stepping kernel, integrated with exact switching.

Slow and honest: scipy's DOP853 at a relative tolerance of 1e-8 from switch to switch, the right-hand side compiled. Shared with the
kernel are leaf formulas only (moist air, surfaces of the unit, split of a total, leakage), so what is held against it is the
stepping: thermostat, timers, ramps, lag, water on the coil, heat and moisture. Left out, and not to be asked of it: heavy mass,
frost, two stages, heat pump, dehumidifier, humidity terminals, long call.
"""

from dataclasses import dataclass
from math import exp, inf, log, sqrt
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp

from airtrim.core.kernels import kernel
from airtrim.physics.air.moist import saturation_pressure_fast_pa, wet_bulb_step_c
from airtrim.physics.coil.water import WET_EFFECTIVENESS
from airtrim.physics.coil.wet import split_of_total
from airtrim.physics.control.thermostat import FEEDBACK_GAIN
from airtrim.physics.house.leakage import enhanced_leakage_m3_s, envelope_flows_kg_s
from airtrim.physics.season.layout import P, S
from airtrim.physics.unit.surface import surface_state

#: The constants of the model, stated again (season/day.py says where they come from).
CP, LATENT = 1006.0 + 1860.0 * 0.0095, 2.466e6
GAIN_TO_AIR, ATTIC_LAG_S, START_LAG_S, LEAST_READ, DEEP_PART = 0.6, 5400.0, 45.0, -1.2, 0.15
PANE_PART, PANE_KG_J_K = 3.0 / 8.3, 1.0 / 1006.0
SETTLED = 0.9

AIR, MASS, ATTIC, ROOM_W, BUFFER_W, DEEP_W, WATER, RUNNING, FLOW, COMPRESSOR, BLOWER, SENSIBLE, DRYING, DAMPNESS, HEAT = (
    range(15)
)  # fmt: skip
#: How the blower moves: at rest where it is, on a ramp up or down, following the coil.
STILL, RAMP, FOLLOWING = 0, 1, 2
#: Cooling weaker than this part of steady is none, as in the kernel.
FAINT = 0.001


@kernel
def coil_reading(y: Any, p: Any, surfaces: Any, pressure: float, outdoor: float, outdoor_w: float) -> tuple[Any, ...]:
    """(entering degC, entering humidity, moved kg/s, total W, sensible W, suction degC, sensor degC, input W, wet bulb degC)."""
    moved = y[FLOW] * p[P.full_flow_kg_s]
    around = (
        y[AIR]
        + p[P.ducts_in_attic] * (y[ATTIC] - y[AIR])
        + p[P.ducts_in_crawl_space] * (0.5 * (outdoor + p[-1]) - y[AIR])
    )
    leak, fresh = p[P.return_leak], p[P.outdoor_air_part]
    entering = y[AIR] + leak * (around - y[AIR]) + fresh * (outdoor - y[AIR])
    entering_w = y[ROOM_W] + (leak + fresh) * (outdoor_w - y[ROOM_W])
    wet_bulb = entering - 3.0
    for _ in range(6):
        wet_bulb = wet_bulb_step_c(wet_bulb, entering, entering_w, pressure)
    total = 0.0
    sensible = 0.0
    suction = 0.0
    sensor = 0.0
    power = 0.0
    if y[RUNNING] > FAINT and moved > 0.0:
        z = log(moved / p[P.rated_flow_kg_s])
        total, power, suction = surface_state(surfaces, entering, wet_bulb, outdoor, max(z, LEAST_READ))
        if z < LEAST_READ:
            total *= exp(z - LEAST_READ)
        total *= y[RUNNING]
        touched = moved * (1.0 - exp(-p[P.bypass] * exp((p[P.air_exponent] - 1.0) * z)))
        sensible, surface = split_of_total(total, entering, entering_w, touched, pressure)
        sensor = suction + p[P.sensor_place] * (surface - suction)
    return entering, entering_w, moved, total, sensible, suction, sensor, power, wet_bulb


@kernel
def rates(
    part: float, y: Any, p: Any, surfaces: Any, pressure: float, hour: Any, call: float, blower: float, toward: float
) -> Any:
    """dy/dt at a `part` (0 to 1) of an hour. `hour`: outdoor degC, humidity and wind at its ends, sun W, sun on the attic K.

    `p` is a row of parameters with the ground's temperature after it; `toward` the sign of a ramp."""
    d = np.zeros(15)
    outdoor = hour[0] + part * (hour[1] - hour[0])
    outdoor_w = hour[2] + part * (hour[3] - hour[2])
    wind = hour[4] + part * (hour[5] - hour[4])
    ground = p[-1]
    cooling = p[P.works] if call == 1.0 else 0.0
    entering, entering_w, moved, total, sensible, suction, sensor, power, wet_bulb = coil_reading(
        y, p, surfaces, pressure, outdoor, outdoor_w
    )
    around = (
        y[AIR]
        + p[P.ducts_in_attic] * (y[ATTIC] - y[AIR])
        + p[P.ducts_in_crawl_space] * (0.5 * (outdoor + ground) - y[AIR])
    )
    d[RUNNING] = (cooling - y[RUNNING]) / START_LAG_S

    if blower == RAMP:
        d[FLOW] = toward * p[P.ramp_per_s]
    elif blower == FOLLOWING:
        error = sensor + p[P.sensor_error_k] - (y[AIR] - p[P.coil_sensor_drop_k])
        if p[P.holding] > 1.5:
            error = suction - p[P.held_suction_c]
        above_floor = suction - p[P.circuit_offset_k] - p[P.coil_floor_c]
        wish = -FEEDBACK_GAIN * min(error, above_floor)
        wish = min(max(wish, -p[P.ramp_per_s]), p[P.ramp_per_s])
        if (y[FLOW] <= p[P.least_flow] and wish < 0.0) or (y[FLOW] >= p[P.greatest_flow] and wish > 0.0):
            wish = 0.0
        d[FLOW] = wish

    # coil, blower, ducts
    watts = 0.0
    latent = 0.0
    evaporated = 0.0
    register = y[AIR]
    supply_w = y[ROOM_W]
    burnt = 0.0
    if moved > 0.0:
        flow = y[FLOW]
        watts = p[P.watts_0] + flow * (p[P.watts_1] + flow * (p[P.watts_2] + flow * p[P.watts_3]))
        if call == 2.0:
            burnt = p[P.heating_capacity_w]
        latent = total - sensible
        if call != 1.0 and y[WATER] > 0.0:
            saturated = saturation_pressure_fast_pa(wet_bulb)
            room_for = max(0.621945 * saturated / (pressure - saturated) - entering_w, 0.0)
            potential = moved * room_for * (1.0 - y[RUNNING])
            evaporated = WET_EFFECTIVENESS * potential * sqrt(y[WATER] / p[P.coil_water_max_kg])
        leaving = entering - (sensible + evaporated * LATENT) / (moved * CP)
        supply = leaving + (watts + burnt) / (moved * CP)
        x = p[P.duct_w_k] / (moved * CP)
        register = around + (supply - around) / (1.0 + x * (1.0 + 0.5 * x))
        supply_w = entering_w + (evaporated - latent / LATENT) / moved
        d[WATER] = latent / LATENT - evaporated
        if y[WATER] >= p[P.coil_water_max_kg] and d[WATER] > 0.0:
            d[WATER] = 0.0

    # air through the envelope
    natural = enhanced_leakage_m3_s(
        p[P.leakage_coefficient], p[P.leakage_exponent], p[P.stack_coefficient], p[P.wind_coefficient], p[P.shelter],
        y[AIR] - outdoor, wind,
    )  # fmt: skip
    density = pressure / (287.055 * (outdoor + 273.15))
    drawn = p[P.return_leak] + p[P.outdoor_air_part]
    came, went = envelope_flows_kg_s(
        natural * density, (p[P.supply_leak] - drawn) * moved + p[P.exhaust_kg_s] - p[P.supply_air_kg_s]
    )
    came += p[P.supply_air_kg_s]
    went += p[P.exhaust_kg_s]
    delivered = (1.0 - p[P.supply_leak]) * moved

    # heat
    gain, sun = p[P.internal_gain_w], hour[6]
    d[AIR] = (
        delivered * CP * (register - y[AIR])
        + (came * CP + p[P.glass_w_k]) * (outdoor - y[AIR])
        + p[P.mass_coupling_w_k] * (y[MASS] - y[AIR])
        + p[P.sun_air_part] * sun
        + GAIN_TO_AIR * gain
    ) / p[P.air_capacity_j_k]
    d[MASS] = (
        p[P.mass_coupling_w_k] * (y[AIR] - y[MASS])
        + p[P.wall_w_k] * (outdoor - y[MASS])
        + p[P.ceiling_w_k] * (y[ATTIC] - y[MASS])
        + p[P.floor_w_k] * (ground - y[MASS])
        + p[P.sun_mass_part] * sun
        + (1.0 - GAIN_TO_AIR) * gain
    ) / p[P.mass_capacity_j_k]
    d[ATTIC] = (outdoor + hour[7] - y[ATTIC]) / ATTIC_LAG_S

    # water
    room_kg = p[P.volume_m3] * pressure / (287.055 * 297.15)
    colder = max(y[AIR] - outdoor, 0.0)
    at_pane = saturation_pressure_fast_pa(y[AIR] - PANE_PART * colder)
    pane_w = 0.621945 * at_pane / (pressure - at_pane)
    to_panes = PANE_KG_J_K * p[P.glass_w_k] * max(y[ROOM_W] - pane_w, 0.0)
    d[ROOM_W] = (
        came * outdoor_w
        - went * y[ROOM_W]
        + delivered * supply_w
        - (1.0 - drawn) * moved * y[ROOM_W]
        + p[P.buffer_coupling_kg_s] * (y[BUFFER_W] - y[ROOM_W])
        + p[P.moisture_gain_kg_s]
        - to_panes
    ) / room_kg
    to_deep = DEEP_PART * p[P.buffer_coupling_kg_s] * (y[BUFFER_W] - y[DEEP_W])
    d[BUFFER_W] = (p[P.buffer_coupling_kg_s] * (y[ROOM_W] - y[BUFFER_W]) - to_deep) / p[P.moisture_buffer_kg]
    d[DEEP_W] = to_deep / p[P.deep_buffer_kg]

    d[COMPRESSOR] = power * cooling
    d[BLOWER] = watts
    d[SENSIBLE] = sensible + evaporated * LATENT
    d[DRYING] = latent - evaporated * LATENT
    saturated = saturation_pressure_fast_pa(y[AIR])
    d[DAMPNESS] = y[ROOM_W] * pressure / ((0.621945 + y[ROOM_W]) * saturated)
    d[HEAT] = burnt
    return d


@dataclass
class Told:
    """Over the time: kWh, a mean relative humidity, calls for cooling begun."""

    compressor_kwh: float
    blower_kwh: float
    sensible_kwh: float
    latent_kwh: float
    heating_kwh: float
    mean_relative_humidity: float
    starts: int


class House:
    """One house under one program, from a state of the kernel on."""

    def __init__(
        self, row: Any, settings: Any, surfaces: Any, weather: tuple[Any, ...], state: Any, method: str = "DOP853"
    ) -> None:
        """`row` of parameters, its `settings` by hour, the unit's surfaces, `weather_arguments`, and the kernel's state."""
        self.method = method
        pressure, ground, dry, ratio, wind, ghi, facade = weather
        self.p, self.settings, self.surfaces, self.pressure = np.append(row, ground), settings, surfaces, pressure
        self.weather = dry, ratio, wind, ghi, facade
        self.y = np.zeros(15)
        kept = {
            AIR: S.air_c, MASS: S.mass_c, ATTIC: S.attic_c, ROOM_W: S.humidity, BUFFER_W: S.buffer_humidity,
            DEEP_W: S.deep_humidity, WATER: S.held_water_kg, RUNNING: S.running, FLOW: S.flow,
        }  # fmt: skip
        for place, there in kept.items():
            self.y[place] = state[there]
        self.call, self.held, self.off = state[S.call], state[S.held_s], state[S.time_off_s]
        self.starts = 0

    def run(self, first_day: int, days: int) -> Told:
        began = self.y.copy()
        for hour in range(24 * first_day, 24 * (first_day + days)):
            self._hour(hour)
        kwh = (self.y - began) / 3.6e6
        return Told(
            kwh[COMPRESSOR], kwh[BLOWER], kwh[SENSIBLE], kwh[DRYING], kwh[HEAT],
            (self.y[DAMPNESS] - began[DAMPNESS]) / (86400.0 * days), self.starts,
        )  # fmt: skip

    def _hour(self, hour: int) -> None:
        dry, ratio, wind, ghi, facade = self.weather
        p = self.p
        p[: self.settings.shape[1]] = self.settings[hour % 24]
        before, now = (hour - 1) % 8760, hour % 8760
        apertures = [p[getattr(P, f"aperture_{side}_m2")] for side in ("north", "east", "south", "west")]
        seen = np.array([dry[before], dry[now], ratio[before], ratio[now], wind[before], wind[now],
                         float(np.dot(apertures, facade[now])), p[P.attic_gain_k] * ghi[now] / 900.0 - 2.0])  # fmt: skip
        time = 0.0
        while time < 3600.0 - 1e-9:
            time = self._segment(time, seen)

    def _segment(self, time: float, seen: Any) -> float:
        """To the next switch, timer or the hour's end; returns when."""
        p = self.p
        half = 0.5 * p[P.deadband_k]
        self._switch(half)
        blower, toward, target = self._blower()
        until = 3600.0
        least = p[P.least_on_s] if self.call else p[P.least_off_s]
        if self.held < least:
            until = min(until, time + least - self.held)
        if self.call != 1.0 and self.off < p[P.off_delay_s]:
            until = min(until, time + p[P.off_delay_s] - self.off)
        ends = []
        if self.held >= least:
            ends += self._thermostat(half)
        if blower == RAMP:
            ends.append(lambda t, y: y[FLOW] - target)
        if self.call == 1.0 and p[P.holding] > 0.5 and self.y[RUNNING] < SETTLED:
            ends.append(lambda t, y: y[RUNNING] - SETTLED)
        if self.y[WATER] < p[P.coil_water_max_kg]:
            ends.append(lambda t, y: y[WATER] - p[P.coil_water_max_kg])
        if self.y[WATER] > 0.0 and self.call != 1.0:
            ends.append(lambda t, y: y[WATER] - 1e-7 * p[P.coil_water_max_kg])
        for one in ends:
            one.terminal = True  # type: ignore[attr-defined]

        def right(t: float, y: Any) -> Any:
            return rates(t / 3600.0, y, p, self.surfaces, self.pressure, seen, self.call, blower, toward)

        scale = np.array([20.0, 20.0, 20.0, 0.01, 0.01, 0.01, 0.1, 1.0, 1.0, 1e6, 1e5, 1e6, 1e6, 1e3, 1e6])
        found = solve_ivp(right, (time, until), self.y, self.method, rtol=1e-8, atol=1e-9 * scale, events=ends or None)
        assert found.success, found.message
        passed = found.t[-1] - time
        self.y = found.y[:, -1].copy()
        self.held += passed
        if self.call != 1.0:
            self.off += passed
        self._tidy(blower, target)
        return float(found.t[-1])

    def _tidy(self, blower: int, target: float) -> None:
        """Put what an event ended exactly where it ended."""
        p, y = self.p, self.y
        if blower == RAMP and abs(y[FLOW] - target) < 1e-6:
            y[FLOW] = target
        if abs(y[RUNNING] - SETTLED) < 1e-7:
            y[RUNNING] = SETTLED
        if abs(y[WATER] - p[P.coil_water_max_kg]) < 1e-9:
            y[WATER] = p[P.coil_water_max_kg]
        if y[WATER] < 2e-7 * p[P.coil_water_max_kg] and self.call != 1.0:
            y[WATER] = 0.0
        for timer in ("held", "off"):
            value = getattr(self, timer)
            if abs(value - round(value)) < 1e-6:
                setattr(self, timer, float(round(value)))

    def _switch(self, half: float) -> None:
        p, air = self.p, self.y[AIR]
        cold, warm = p[P.heating_set_c], p[P.cooling_set_c]
        near = 1e-9
        new = self.call
        if self.call == 0.0 and self.held >= p[P.least_off_s]:
            new = 1.0 if air >= warm + half - near else 2.0 if air <= cold - half + near else 0.0
        elif self.call and self.held >= p[P.least_on_s]:
            done = air <= warm - half + near if self.call == 1.0 else air >= cold + half - near
            new = 0.0 if done else self.call
        if new != self.call:
            if new == 1.0:
                self.starts += 1
                self.off = 0.0
            self.call, self.held = new, 0.0

    def _thermostat(self, half: float) -> list[Any]:
        p = self.p
        warm, cold = p[P.cooling_set_c], p[P.heating_set_c]
        marks = {0.0: (warm + half, cold - half), 1.0: (warm - half,), 2.0: (cold + half,)}[self.call]

        def crossing(mark: float) -> Any:
            return lambda t, y: y[AIR] - mark

        return [crossing(mark) for mark in marks]

    def _blower(self) -> tuple[int, float, float]:
        """(how it moves, which way, to where); sets the airflow where it jumps."""
        p, y = self.p, self.y
        if self.call == 2.0:
            y[FLOW] = p[P.heating_flow]
            return STILL, 0.0, inf
        if self.call == 0.0:
            rest = p[P.circulation_flow]
            y[FLOW] = max(min(y[FLOW], p[P.cooling_flow]), rest) if self.off < p[P.off_delay_s] else rest
            return STILL, 0.0, inf
        target = p[P.cooling_flow] if p[P.holding] < 0.5 else p[P.least_flow]
        if p[P.holding] > 0.5 and y[RUNNING] >= SETTLED and y[FLOW] >= p[P.least_flow]:
            return FOLLOWING, 0.0, inf
        if y[FLOW] == target:
            return STILL, 0.0, inf
        return RAMP, 1.0 if target > y[FLOW] else -1.0, target
