"""Show SI figures in the units of the trade, rounded so that no false precision is printed.

The kind of a figure is its SI unit name as carried in a result. Factors are exact definitions or follow from them
(international foot, pound and inch; 1 Btu(IT) = 1055.05585262 J; inch of water conventional 249.08891 Pa).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from airtrim.core.errors import InputError


@dataclass(frozen=True)
class Display:
    """How one SI unit is shown: shown = SI * factor + offset, rounded to `step`."""

    unit: str
    factor: float
    offset: float
    step: float


_SAME = 1.0
_INCH_POUND: dict[str, Display] = {
    "m3/s": Display("cfm", 1.0 / 0.0004719474432, 0.0, 10.0),
    "m3/s_room": Display("cfm", 1.0 / 0.0004719474432, 0.0, 1.0),
    "Pa": Display("in w.c.", 1.0 / 249.08891, 0.0, 0.01),
    "Pa_high": Display("psi", 1.0 / 6894.757293168, 0.0, 0.1),
    "degC": Display("°F", 1.8, 32.0, 0.1),
    "K": Display("°F", 1.8, 0.0, 0.1),
    "W": Display("W", 1.0, 0.0, 5.0),
    "W_heat": Display("Btu/h", 1.0 / 0.29307107017, 0.0, 100.0),
    "kg/s": Display("lb/h", 3600.0 / 0.45359237, 0.0, 0.1),
    "kg": Display("lb", 1.0 / 0.45359237, 0.0, 0.1),
    "m2": Display("ft²", 1.0 / 0.09290304, 0.0, 10.0),
    "m3": Display("ft³", 1.0 / 0.028316846592, 0.0, 100.0),
    "m2_small": Display("ft²", 1.0 / 0.09290304, 0.0, 0.01),
    "m3_small": Display("ft³", 1.0 / 0.028316846592, 0.0, 0.001),
    "m3/kg": Display("ft³/lb", 0.45359237 / 0.028316846592, 0.0, 0.01),
    "kg/m3": Display("lb/ft³", 0.028316846592 / 0.45359237, 0.0, 0.0001),
    "J/m3": Display("Btu/ft³", 0.028316846592 / 1055.05585262, 0.0, 1.0),
    "m": Display("ft", 1.0 / 0.3048, 0.0, 0.1),
    "m/s": Display("ft/min", 60.0 / 0.3048, 0.0, 5.0),
    "cm2": Display("in²", 1.0 / 6.4516, 0.0, 1.0),
    "W/K": Display("Btu/h per °F", 1.0 / (0.29307107017 * 1.8), 0.0, 5.0),
    "J/m2K": Display("Btu/ft² per °F", 0.09290304 / (1055.05585262 * 1.8), 0.0, 0.1),
    "m3/s/W": Display("cfm/ton", 3516.8528 / 0.0004719474432, 0.0, 5.0),
    "kg/kg": Display("gr/lb", 7000.0, 0.0, 0.5),
    "J/kg": Display("Btu/lb", 1.0 / 2326.0, 7.68, 0.1),  # counted from 0 °F, ours from 0 °C
    "W/(m3/s)": Display("W/cfm", 0.0004719474432, 0.0, 0.01),
}
_METRIC: dict[str, Display] = {
    "m3/s": Display("L/s", 1000.0, 0.0, 5.0),
    "m3/s_room": Display("L/s", 1000.0, 0.0, 0.5),
    "Pa": Display("Pa", 1.0, 0.0, 1.0),
    "Pa_high": Display("kPa", 0.001, 0.0, 0.1),
    "degC": Display("°C", 1.0, 0.0, 0.1),
    "K": Display("K", 1.0, 0.0, 0.1),
    "W": Display("W", 1.0, 0.0, 5.0),
    "W_heat": Display("kW", 0.001, 0.0, 0.1),
    "kg/s": Display("kg/h", 3600.0, 0.0, 0.1),
    "kg": Display("kg", 1.0, 0.0, 0.1),
    "m2": Display("m²", 1.0, 0.0, 1.0),
    "m3": Display("m³", 1.0, 0.0, 1.0),
    "m2_small": Display("m²", 1.0, 0.0, 0.001),
    "m3_small": Display("L", 1000.0, 0.0, 0.01),
    "m3/kg": Display("m³/kg", 1.0, 0.0, 0.001),
    "kg/m3": Display("kg/m³", 1.0, 0.0, 0.001),
    "J/m3": Display("MJ/m³", 1e-6, 0.0, 0.1),
    "m": Display("m", 1.0, 0.0, 0.01),
    "m/s": Display("m/s", 1.0, 0.0, 0.05),
    "cm2": Display("cm²", 1.0, 0.0, 5.0),
    "W/K": Display("W/K", 1.0, 0.0, 5.0),
    "J/m2K": Display("kJ/m²K", 0.001, 0.0, 1.0),
    "m3/s/W": Display("L/s per kW", 1.0e6, 0.0, 1.0),
    "kg/kg": Display("g/kg", 1000.0, 0.0, 0.1),
    "J/kg": Display("kJ/kg", 0.001, 0.0, 0.1),
    "W/(m3/s)": Display("W per L/s", 0.001, 0.0, 0.01),
}
_EITHER: dict[str, Display] = {
    "fraction": Display("%", 100.0, 0.0, 1.0),
    "points": Display("points", 100.0, 0.0, 0.1),
    "%": Display("%", 1.0, 0.0, 1.0),
    "h": Display("h", 1.0, 0.0, 1.0),
    "h/yr": Display("h a year", 1.0, 0.0, 1.0),
    "kWh": Display("kWh", 1.0, 0.0, 1.0),
    "kWh/yr": Display("kWh a year", 1.0, 0.0, 1.0),
    "s": Display("s", 1.0, 0.0, 1.0),
    "min": Display("min", 1.0, 0.0, 0.5),
    "Hz": Display("Hz", 1.0, 0.0, 0.5),
    "A": Display("A", 1.0, 0.0, 0.1),
    "V": Display("V", 1.0, 0.0, 1.0),
    "VA": Display("VA", 1.0, 0.0, 5.0),
    "uF": Display("uF", 1.0, 0.0, 0.1),
    "dB": Display("dB", 1.0, 0.0, 0.5),
    "years": Display("years", 1.0, 0.0, 0.5),
    "count": Display("", 1.0, 0.0, 1.0),
    "tap": Display("", 1.0, 0.0, 1.0),
    "1": Display("", 1.0, 0.0, 0.01),
    "": Display("", 1.0, 0.0, 0.01),
}


def display(si_unit: str, system: str = "inch_pound") -> Display:
    """The way `si_unit` is shown in `system` ("inch_pound" or "si"); a unit without a rule is shown as it came."""
    if system not in ("inch_pound", "si"):
        raise InputError(f"Unit system '{system}' is not known; use 'inch_pound' or 'si'.")
    table = _INCH_POUND if system == "inch_pound" else _METRIC
    found = table.get(si_unit) or _EITHER.get(si_unit)
    if found is not None:
        return found
    money = si_unit.removesuffix(" a year").isupper()  # a currency such as USD, whole
    return Display(si_unit, _SAME, 0.0, 1.0 if money else 0.0)


def shown_number(value_si: float, si_unit: str, system: str = "inch_pound") -> float:
    """The value in the displayed unit, not rounded."""
    how = display(si_unit, system)
    return value_si * how.factor + how.offset


#: A limit this near to a step, in steps, stands on it: what is left of changing units there and back.
_ON_STEP = 1e-6


def number_text(shown: float, step: float, side: str = "nearest") -> str:
    """`shown` rounded to `step` (0 = three significant figures), to no more than four figures; a word when it is no number.

    `side` is "nearest", or for limits "least" (rounded up) and "greatest" (rounded down): who keeps to what he reads keeps the
    limit.
    """
    if not math.isfinite(shown):
        return "not known"
    if step <= 0.0:
        if side == "nearest" or shown == 0.0:
            return f"{shown:.3g}"
        step = 10.0 ** (math.floor(math.log10(abs(shown))) - 2)
        return f"{_rounded(shown / step, side) * step:.3g}"
    if shown != 0.0:
        step = max(step, 10.0 ** (math.floor(math.log10(abs(shown))) - 3))
    rounded = _rounded(shown / step, side) * step
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    return f"{rounded + 0.0:,.{decimals}f}" if rounded != 0.0 else f"{0.0:.{decimals}f}"


def _rounded(steps: float, side: str) -> int:
    if side == "least":
        return math.ceil(steps - _ON_STEP)
    return math.floor(steps + _ON_STEP) if side == "greatest" else round(steps)


def value_text(value_si: float, si_unit: str, system: str = "inch_pound") -> str:
    """One value with its unit, such as "690 cfm"."""
    how = display(si_unit, system)
    return f"{number_text(value_si * how.factor + how.offset, how.step)} {how.unit}".rstrip()


def limit_text(value_si: float, si_unit: str, at_least: bool, system: str = "inch_pound") -> str:
    """A limit with its unit, rounded to its safe side: a least one up, a greatest one down."""
    how = display(si_unit, system)
    shown = value_si * how.factor + how.offset
    return f"{number_text(shown, how.step, 'least' if at_least else 'greatest')} {how.unit}".rstrip()


#: Settings that are the edge of what is safe, and to which side of it lies safety; others are shown to the nearest step.
_AT_LEAST: dict[str, bool] = {
    "least_airflow": True,
    "least_hertz": True,
    "coil_floor": True,
    "greatest_hertz": False,
    "coil_sensor_drop": False,
    "off_delay": False,
}


def setting_text(identity: str, value_si: float, si_unit: str, system: str = "inch_pound") -> str:
    """A setting by its id: one that is itself a limit rounded to its safe side, any other to the nearest."""
    at_least = _AT_LEAST.get(identity)
    return (
        value_text(value_si, si_unit, system) if at_least is None else limit_text(value_si, si_unit, at_least, system)
    )


def allowed_text(low_si: float, high_si: float, si_unit: str, system: str = "inch_pound") -> str:
    """An allowed band with its unit, both ends rounded inwards; "" where no step lies between them."""
    how = display(si_unit, system)
    low, high = (value * how.factor + how.offset for value in (low_si, high_si))
    ends = [number_text(low, how.step, "least"), number_text(high, how.step, "greatest")]
    if float(ends[0].replace(",", "")) > float(ends[1].replace(",", "")):
        return ""
    return f"{ends[0]} to {ends[1]} {how.unit}".rstrip()


def range_texts(figure: Mapping[str, Any], system: str = "inch_pound") -> tuple[str, str]:
    """A figure without its unit as (value, "low to high"); the reason and "" when it has no value."""
    if figure.get("mid") is None:
        return str(figure.get("why") or figure.get("status") or "not known"), ""
    how = display(str(figure.get("unit", "")), system)
    low, mid, high = (
        number_text(float(figure[end]) * how.factor + how.offset, how.step) for end in ("low", "mid", "high")
    )
    return mid, f"{low} to {high}"


def figure_text(figure: Mapping[str, Any], system: str = "inch_pound") -> str:
    """A figure of a result as "value unit (low to high)", or its reason when it has no value."""
    if figure.get("mid") is None:
        return str(figure.get("why") or figure.get("status") or "not known")
    unit = str(figure.get("unit", ""))
    how = display(unit, system)
    text = value_text(float(figure["mid"]), unit, system)
    low, high = figure.get("low"), figure.get("high")
    if low is None or high is None:
        return text
    ends = [number_text(float(end) * how.factor + how.offset, how.step) for end in (low, high)]
    return f"{text} ({ends[0]} to {ends[1]})"
