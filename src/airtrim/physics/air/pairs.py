"""One state of moist air from any usual pair of its properties and the pressure or the altitude."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from airtrim.core.errors import InputError
from airtrim.physics.air import states


@dataclass(frozen=True)
class AirState:
    """Every property of a state as a quantity; enthalpy and volume per kilogram of dry air, frost point below 0.01 degC."""

    temperature: Any
    wet_bulb: Any
    dew_point: Any
    relative_humidity: Any
    humidity_ratio: Any
    enthalpy: Any
    specific_volume: Any
    pressure: Any


def _hot_and(ratio: Callable[[Any, Any, Any], Any]) -> Callable[[Any, Any, Any], tuple[Any, Any]]:
    return lambda temperature, other, pressure: (temperature, ratio(temperature, other, pressure))


def _from_wet_bulb_and_humidity(wet_bulb: Any, relative_humidity: Any, pressure: Any) -> tuple[Any, Any]:
    temperature = states.temperature_from_wet_bulb(wet_bulb, relative_humidity, pressure)
    return temperature, states.humidity_ratio_from_wet_bulb(temperature, wet_bulb, pressure)


#: (first, second) -> how temperature and humidity ratio follow from them and the pressure.
PAIRS: Final[dict[tuple[str, str], Callable[[Any, Any, Any], tuple[Any, Any]]]] = {
    ("temperature", "wet_bulb"): _hot_and(states.humidity_ratio_from_wet_bulb),
    ("temperature", "relative_humidity"): _hot_and(states.humidity_ratio_from_relative_humidity),
    ("temperature", "dew_point"): _hot_and(
        lambda _, dew, pressure: states.humidity_ratio_from_dew_point(dew, pressure)
    ),
    ("temperature", "humidity_ratio"): _hot_and(lambda _, ratio, pressure: ratio),
    ("temperature", "enthalpy"): _hot_and(
        lambda t, enthalpy, pressure: states.humidity_ratio_from_enthalpy(t, enthalpy)
    ),
    ("enthalpy", "humidity_ratio"): lambda h, ratio, pressure: (states.temperature_from_enthalpy(h, ratio), ratio),
    ("wet_bulb", "relative_humidity"): _from_wet_bulb_and_humidity,
}


def air_state(*, pressure: Any = None, altitude: Any = None, **pair: Any) -> AirState:
    """The state that has both given properties, at a pressure or at an altitude's standard pressure.

    The pair is one of `PAIRS`; quantities may be arrays that broadcast. Raises InputError for any other pair, when not exactly one
    of pressure and altitude is given, and where no air has both properties; OutOfRangeError and UnitError as in `states`.
    """
    if (pressure is None) == (altitude is None):
        raise InputError("air_state needs either pressure or altitude, not both and not neither: give one of them.")
    given = next((names for names in PAIRS if set(names) == set(pair)), None)
    if given is None:
        known = "; ".join(" and ".join(names) for names in PAIRS)
        raise InputError(f"air_state cannot start from {' and '.join(sorted(pair)) or 'nothing'}: give one of {known}.")
    if pressure is None:
        pressure = states.pressure_at_altitude(altitude)
    temperature, ratio = PAIRS[given](pair[given[0]], pair[given[1]], pressure)
    wet_bulb = states.wet_bulb(temperature, ratio, pressure)
    if not (wet_bulb.m == wet_bulb.m).all():  # NaN: wetter than saturated
        raise InputError(
            f"air_state: no air has this {given[0]} and this {given[1]}, it would be more than saturated: check both values."
        )
    return AirState(
        temperature,
        wet_bulb,
        states.dew_point(ratio, pressure),
        states.relative_humidity(temperature, ratio, pressure),
        ratio,
        states.enthalpy(temperature, ratio),
        states.specific_volume(temperature, ratio, pressure),
        pressure,
    )
