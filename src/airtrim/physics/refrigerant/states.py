"""Refrigerant as a contractor reads it, for whole arrays of quantities: the checked face of `saturation`.

`refrigerant` comes from `airtrim.tables.refrigerant("R-410A")`. A pressure named `gauge_pressure` or `..._gauge_pressure` is
what a gauge shows at `altitude`, zero in open air there; one named `pressure` is absolute. Superheat is taken from the dew point,
subcooling from the bubble point; both may be negative, which means a wrong reading or refrigerant not all vapour, not all liquid.
Values off the refrigerant's table are refused in the caller's own unit. Air pressure is the standard atmosphere's [ashrae2017].
"""

from collections.abc import Mapping
from typing import Any

import numpy as np

from airtrim.core.errors import InputError
from airtrim.core.units import si_gate
from airtrim.physics.air.moist import pressure_at_altitude_pa
from airtrim.physics.refrigerant import saturation
from airtrim.physics.refrigerant.table import SUBCOOLING_REACH_K, Array, Refrigerant, RefrigerantTable

__all__ = [
    "absolute_pressure",
    "boiling_temperature",
    "bubble_gauge_pressure",
    "bubble_pressure",
    "bubble_temperature",
    "coil_inlet_temperature",
    "dew_gauge_pressure",
    "dew_pressure",
    "dew_temperature",
    "gauge_pressure",
    "glide",
    "saturated_condensing_temperature",
    "saturated_suction_temperature",
    "subcooling",
    "superheat",
]

SOURCE = "coolprop"
ALTITUDE = ("m", -500.0, 5000.0)
PRESSURE = ("Pa", 1000.0, 10.0e6)
LINE = ("degC", -60.0, 150.0)
#: Liquid must be this much warmer than the coil's inlet boils, or there is nothing to flash, K.
_FLASHING_K = 0.5


def _each(function: Any, refrigerant: Refrigerant, *values: Any) -> Any:
    """The kernel for every element of arrays that broadcast."""
    whole = np.broadcast_arrays(*values)
    found = np.empty(whole[0].shape)
    for index in np.ndindex(found.shape):
        found[index] = function(refrigerant.table, *(float(one[index]) for one in whole))
    return found[()]


def _air_pa(altitude: Any) -> Any:
    return np.vectorize(pressure_at_altitude_pa, otypes=[np.float64])(altitude)[()]


def _table(given: Mapping[str, Any]) -> RefrigerantTable:
    refrigerant = given["refrigerant"]
    if not isinstance(refrigerant, Refrigerant):
        raise InputError(
            f'The argument refrigerant must carry a table, got {refrigerant!r}: give airtrim.tables.refrigerant("R-410A").'
        )
    return refrigerant.table


def _temperatures(given: Mapping[str, Any]) -> tuple[str, float, float]:
    """Where the table has a bubble and a dew pressure."""
    table = _table(given)
    return (
        "degC",
        table.temperature_low_c,
        _end(table.temperature_low_c, table.temperature_step_k, table.by_temperature),
    )


def _pressures(given: Mapping[str, Any]) -> tuple[str, float, float]:
    """Where the table has a bubble and a dew temperature, absolute."""
    table = _table(given)
    high = _end(table.log_pressure_low, table.log_pressure_step, table.by_log_pressure)
    return "Pa", float(np.exp(table.log_pressure_low)), float(np.exp(high))


def _gauge_pressures(given: Mapping[str, Any]) -> tuple[str, Any, Any]:
    """The same as a gauge shows it at the altitude of the call."""
    unit, low, high = _pressures(given)
    air = _air_pa(given.get("altitude", 0.0))
    return unit, low - air, high - air


def _boiling_pressures(given: Mapping[str, Any]) -> tuple[str, float, float]:
    """Where the table has states between bubble and dew, absolute; less a rounding at the upper end."""
    unit, low, _ = _pressures(given)
    table = _table(given)
    warmest_c = _end(table.temperature_low_c, table.temperature_step_k, table.glide_share)
    return unit, low, saturation.bubble_pressure_pa(table, warmest_c) * (1.0 - 1e-5)


def _evaporating(given: Mapping[str, Any]) -> tuple[str, Any, Any]:
    """The same as the suction gauge shows it, the drop through the circuit below the pressure of the inlet."""
    unit, low, high = _boiling_pressures(given)
    less = _air_pa(given.get("altitude", 0.0)) + given.get("circuit_pressure_drop", 0.0)
    return unit, low - less, high - less


def _liquid_lines(given: Mapping[str, Any]) -> tuple[str, Any, Any]:
    """Line temperatures of liquid at its pressure: up to the bubble point, down to what the table reaches and what flashes."""
    refrigerant, table = given["refrigerant"], _table(given)
    air = _air_pa(given.get("altitude", 0.0))
    inlet = given["suction_gauge_pressure"] + given.get("circuit_pressure_drop", 0.0) + air
    flashing = _each(saturation.bubble_temperature_c, refrigerant, inlet) + _FLASHING_K
    bubble = _each(saturation.bubble_temperature_c, refrigerant, given["liquid_gauge_pressure"] + air)
    coldest = np.maximum(np.maximum(bubble - SUBCOOLING_REACH_K, flashing), table.temperature_low_c)
    return "degC", coldest, bubble


def _end(low: float, step: float, values: Array) -> float:
    return float(low + step * (values.shape[0] - 1))


def _gauge(given: Mapping[str, Any]) -> tuple[str, Any, Any]:
    """Any refrigerant's gauge pressures: no lower than a vacuum at the altitude of the call."""
    unit, low, high = PRESSURE
    air = _air_pa(given.get("altitude", 0.0))
    return unit, low - air, high - air


@si_gate(altitude=ALTITUDE, gauge_pressure=_gauge, returns="Pa", source="ashrae2017, ch. 1")
def absolute_pressure(gauge_pressure: Any, altitude: Any = 0.0) -> Any:
    """Absolute pressure from a gauge's reading at an altitude."""
    return gauge_pressure + _air_pa(altitude)


@si_gate(altitude=ALTITUDE, pressure=PRESSURE, returns="Pa", source="ashrae2017, ch. 1")
def gauge_pressure(pressure: Any, altitude: Any = 0.0) -> Any:
    """What a gauge shows of an absolute pressure at an altitude."""
    return pressure - _air_pa(altitude)


@si_gate(pressure=_pressures, returns="degC", source=SOURCE)
def bubble_temperature(refrigerant: Refrigerant, pressure: Any) -> Any:
    """Temperature at which liquid starts to boil at an absolute pressure."""
    return _each(saturation.bubble_temperature_c, refrigerant, pressure)


@si_gate(pressure=_pressures, returns="degC", source=SOURCE)
def dew_temperature(refrigerant: Refrigerant, pressure: Any) -> Any:
    """Temperature at which vapour starts to condense at an absolute pressure."""
    return _each(saturation.dew_temperature_c, refrigerant, pressure)


@si_gate(temperature=_temperatures, returns="Pa", source=SOURCE)
def bubble_pressure(refrigerant: Refrigerant, temperature: Any) -> Any:
    """Absolute pressure at which liquid of a temperature starts to boil."""
    return _each(saturation.bubble_pressure_pa, refrigerant, temperature)


@si_gate(temperature=_temperatures, returns="Pa", source=SOURCE)
def dew_pressure(refrigerant: Refrigerant, temperature: Any) -> Any:
    """Absolute pressure at which vapour of a temperature starts to condense."""
    return _each(saturation.dew_pressure_pa, refrigerant, temperature)


@si_gate(pressure=_pressures, returns="delta_degC", source=SOURCE)
def glide(refrigerant: Refrigerant, pressure: Any) -> Any:
    """Dew point less bubble point at an absolute pressure: nought for a pure fluid."""
    return _each(saturation.dew_temperature_c, refrigerant, pressure) - _each(
        saturation.bubble_temperature_c, refrigerant, pressure
    )


@si_gate(pressure=_boiling_pressures, quality=("", 0.0, 1.0), returns="degC", source=SOURCE)
def boiling_temperature(refrigerant: Refrigerant, pressure: Any, quality: Any) -> Any:
    """Temperature at an absolute pressure where the share `quality` of the mass is vapour."""
    return _each(saturation.boiling_temperature_c, refrigerant, pressure, quality)


@si_gate(altitude=ALTITUDE, temperature=_temperatures, returns="Pa", source=SOURCE)
def bubble_gauge_pressure(refrigerant: Refrigerant, temperature: Any, altitude: Any = 0.0) -> Any:
    """What a gauge shows over liquid at its bubble point."""
    return _each(saturation.bubble_pressure_pa, refrigerant, temperature) - _air_pa(altitude)


@si_gate(altitude=ALTITUDE, temperature=_temperatures, returns="Pa", source=SOURCE)
def dew_gauge_pressure(refrigerant: Refrigerant, temperature: Any, altitude: Any = 0.0) -> Any:
    """What a gauge shows in vapour at its dew point."""
    return _each(saturation.dew_pressure_pa, refrigerant, temperature) - _air_pa(altitude)


@si_gate(altitude=ALTITUDE, gauge_pressure=_gauge_pressures, returns="degC", source=SOURCE)
def saturated_suction_temperature(refrigerant: Refrigerant, gauge_pressure: Any, altitude: Any = 0.0) -> Any:
    """Dew point at the suction gauge's reading."""
    return _each(saturation.dew_temperature_c, refrigerant, gauge_pressure + _air_pa(altitude))


@si_gate(altitude=ALTITUDE, gauge_pressure=_gauge_pressures, returns="degC", source=SOURCE)
def saturated_condensing_temperature(refrigerant: Refrigerant, gauge_pressure: Any, altitude: Any = 0.0) -> Any:
    """Bubble point at the liquid-line gauge's reading."""
    return _each(saturation.bubble_temperature_c, refrigerant, gauge_pressure + _air_pa(altitude))


@si_gate(altitude=ALTITUDE, gauge_pressure=_gauge_pressures, line_temperature=LINE, returns="delta_degC", source=SOURCE)
def superheat(refrigerant: Refrigerant, gauge_pressure: Any, line_temperature: Any, altitude: Any = 0.0) -> Any:
    """Suction line's temperature less the dew point at the suction gauge's reading."""
    return line_temperature - _each(saturation.dew_temperature_c, refrigerant, gauge_pressure + _air_pa(altitude))


@si_gate(altitude=ALTITUDE, gauge_pressure=_gauge_pressures, line_temperature=LINE, returns="delta_degC", source=SOURCE)
def subcooling(refrigerant: Refrigerant, gauge_pressure: Any, line_temperature: Any, altitude: Any = 0.0) -> Any:
    """Bubble point at the liquid-line gauge's reading less the liquid line's temperature."""
    return _each(saturation.bubble_temperature_c, refrigerant, gauge_pressure + _air_pa(altitude)) - line_temperature


@si_gate(
    altitude=ALTITUDE,
    circuit_pressure_drop=("Pa", 0.0, 200.0e3),
    suction_gauge_pressure=_evaporating,
    liquid_gauge_pressure=_gauge_pressures,
    liquid_temperature=_liquid_lines,
    returns="degC",
    source=SOURCE,
)
def coil_inlet_temperature(
    refrigerant: Refrigerant,
    suction_gauge_pressure: Any,
    liquid_gauge_pressure: Any,
    liquid_temperature: Any,
    circuit_pressure_drop: Any = 0.0,
    altitude: Any = 0.0,
) -> Any:
    """Coldest place of a coil: liquid of this pressure and temperature flashed at the suction pressure and the circuit's drop.

    For a blend with glide it lies below the saturated suction temperature, for a pure fluid the pressure drop lifts it above.
    """
    return _each(
        _coil_inlet_c,
        refrigerant,
        suction_gauge_pressure + circuit_pressure_drop + _air_pa(altitude),
        liquid_gauge_pressure + _air_pa(altitude),
        liquid_temperature,
    )


def _coil_inlet_c(table: Any, inlet_pa: float, liquid_pa: float, liquid_c: float) -> float:
    bubble_c = saturation.bubble_temperature_c(table, liquid_pa)
    enthalpy = saturation.liquid_enthalpy_j_kg(table, bubble_c, max(bubble_c - liquid_c, 0.0))
    return float(saturation.coil_inlet_temperature_c(table, inlet_pa, enthalpy))
