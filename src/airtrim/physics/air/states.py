"""Moist air for whole arrays of quantities: the checked face of `moist`. Source: ASHRAE Fundamentals 2017, ch. 1 [ashrae2017].

Every function takes pint quantities (scalars or arrays that broadcast), refuses missing units, wrong dimensions, values outside
the range and NaN, and returns a quantity. Temperature -50 to 90 degC, pressure 50 to 110 kPa, humidity ratio 0 to 0.3 kg/kg.
"""

from typing import Any

import numpy as np

from airtrim.core.kernels import over_arrays
from airtrim.core.units import si_gate
from airtrim.physics.air import moist

__all__ = [
    "dew_point",
    "enthalpy",
    "humidity_ratio_from_dew_point",
    "humidity_ratio_from_enthalpy",
    "humidity_ratio_from_relative_humidity",
    "humidity_ratio_from_wet_bulb",
    "pressure_at_altitude",
    "relative_humidity",
    "saturation_enthalpy",
    "saturation_humidity_ratio",
    "saturation_pressure",
    "specific_volume",
    "temperature_from_enthalpy",
    "temperature_from_wet_bulb",
    "wet_bulb",
]

SOURCE = "ashrae2017, ch. 1"
TEMPERATURE = ("degC", -50.0, 90.0)
PRESSURE = ("Pa", 50000.0, 110000.0)
RATIO = ("", 0.0, 0.3)
FRACTION = ("", 0.0, 1.0)


def _whole(function: Any, *values: Any) -> Any:
    return over_arrays(function)(*(np.asarray(value, dtype=np.float64) for value in values))


@si_gate(temperature=("degC", -100.0, 200.0), returns="Pa", source=SOURCE)
def saturation_pressure(temperature: Any) -> Any:
    """Pressure of vapour over water (over ice below 0.01 degC)."""
    return _whole(moist.saturation_pressure_pa, temperature)


@si_gate(temperature=TEMPERATURE, pressure=PRESSURE, returns="", source=SOURCE)
def saturation_humidity_ratio(temperature: Any, pressure: Any) -> Any:
    """Humidity ratio of saturated air."""
    return _whole(moist.saturation_humidity_ratio, temperature, pressure)


@si_gate(temperature=TEMPERATURE, pressure=PRESSURE, returns="J/kg", source=SOURCE)
def saturation_enthalpy(temperature: Any, pressure: Any) -> Any:
    """Enthalpy of saturated air per kilogram of dry air."""
    return _whole(moist.saturation_enthalpy_j_kg, temperature, pressure)


@si_gate(temperature=TEMPERATURE, relative_humidity=FRACTION, pressure=PRESSURE, returns="", source=SOURCE)
def humidity_ratio_from_relative_humidity(temperature: Any, relative_humidity: Any, pressure: Any) -> Any:
    """Humidity ratio from dry-bulb and relative humidity."""
    return _whole(moist.humidity_ratio_from_relative_humidity, temperature, relative_humidity, pressure)


@si_gate(temperature=TEMPERATURE, enthalpy=("J/kg", -60000.0, 800000.0), returns="", source=SOURCE)
def humidity_ratio_from_enthalpy(temperature: Any, enthalpy: Any) -> Any:
    """Humidity ratio from temperature and enthalpy per kilogram of dry air."""
    return _whole(moist.humidity_ratio_from_enthalpy, temperature, enthalpy)


@si_gate(temperature=TEMPERATURE, wet_bulb=TEMPERATURE, pressure=PRESSURE, returns="", source=SOURCE)
def humidity_ratio_from_wet_bulb(temperature: Any, wet_bulb: Any, pressure: Any) -> Any:
    """Humidity ratio from dry-bulb and wet-bulb."""
    return _whole(moist.humidity_ratio_from_wet_bulb, temperature, wet_bulb, pressure)


@si_gate(dew_point=TEMPERATURE, pressure=PRESSURE, returns="", source=SOURCE)
def humidity_ratio_from_dew_point(dew_point: Any, pressure: Any) -> Any:
    """Humidity ratio from the dew point (frost point below 0.01 degC)."""
    return _whole(moist.humidity_ratio_from_dew_point, dew_point, pressure)


@si_gate(temperature=TEMPERATURE, humidity_ratio=RATIO, pressure=PRESSURE, returns="", source=SOURCE)
def relative_humidity(temperature: Any, humidity_ratio: Any, pressure: Any) -> Any:
    """Relative humidity as a fraction."""
    return _whole(moist.relative_humidity, temperature, humidity_ratio, pressure)


@si_gate(temperature=TEMPERATURE, humidity_ratio=RATIO, pressure=PRESSURE, returns="degC", source=SOURCE)
def wet_bulb(temperature: Any, humidity_ratio: Any, pressure: Any) -> Any:
    """Thermodynamic wet-bulb; see `moist.wet_bulb_c` for the rule at 0 degC."""
    return _whole(moist.wet_bulb_c, temperature, humidity_ratio, pressure)


@si_gate(humidity_ratio=("", 1e-7, 0.3), pressure=PRESSURE, returns="degC", source=SOURCE)
def dew_point(humidity_ratio: Any, pressure: Any) -> Any:
    """Dew point (frost point below 0.01 degC)."""
    return _whole(moist.dew_point_c, humidity_ratio, pressure)


@si_gate(temperature=TEMPERATURE, humidity_ratio=RATIO, returns="J/kg", source=SOURCE)
def enthalpy(temperature: Any, humidity_ratio: Any) -> Any:
    """Enthalpy per kilogram of dry air, from dry air and liquid water at 0 degC."""
    return _whole(moist.enthalpy_j_kg, temperature, humidity_ratio)


@si_gate(enthalpy=("J/kg", -60000.0, 900000.0), humidity_ratio=RATIO, returns="degC", source=SOURCE)
def temperature_from_enthalpy(enthalpy: Any, humidity_ratio: Any) -> Any:
    """Dry-bulb from enthalpy and humidity ratio."""
    return _whole(moist.temperature_from_enthalpy_c, enthalpy, humidity_ratio)


@si_gate(wet_bulb=TEMPERATURE, relative_humidity=FRACTION, pressure=PRESSURE, returns="degC", source=SOURCE)
def temperature_from_wet_bulb(wet_bulb: Any, relative_humidity: Any, pressure: Any) -> Any:
    """Dry-bulb from wet-bulb and relative humidity; NaN where it would lie above 120 degC."""
    return _whole(moist.temperature_from_wet_bulb_c, wet_bulb, relative_humidity, pressure)


@si_gate(temperature=TEMPERATURE, humidity_ratio=RATIO, pressure=PRESSURE, returns="m**3/kg", source=SOURCE)
def specific_volume(temperature: Any, humidity_ratio: Any, pressure: Any) -> Any:
    """Volume per kilogram of dry air."""
    return _whole(moist.specific_volume_m3_kg, temperature, humidity_ratio, pressure)


@si_gate(altitude=("m", -500.0, 11000.0), returns="Pa", source=SOURCE)
def pressure_at_altitude(altitude: Any) -> Any:
    """Standard atmosphere."""
    return _whole(moist.pressure_at_altitude_pa, altitude)
