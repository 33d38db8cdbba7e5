"""A value as it stands in a job file: the text the user wrote, and the same in SI."""

import re
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, WithJsonSchema

from airtrim.core.errors import OutOfRangeError, UnitError

#: Spellings of the trade and what the registry calls them; longest first when replaced.
SPELLINGS = {
    "in. w.c.": "inH2O", "in w.c.": "inH2O", "in wc": "inH2O", "in. wg": "inH2O", "inwc": "inH2O", "sq ft": "ft**2",
    "ft2": "ft**2", "ft3": "ft**3", "m2": "m**2", "m3": "m**3", "cm2": "cm**2", "in2": "in**2", "tons": "ton_cooling",
    "ton": "ton_cooling", "gr/lb": "grain_per_pound", "cfm/ton": "cfm/ton_cooling",
    "fpm": "ft/min", "FPM": "ft/min", "psig": "psi", "Btu/ft3": "Btu/ft**3", "MJ/m3": "MJ/m**3",
    "L/s/kW": "liter/second/kW", "L/s per kW": "liter/second/kW", "Btu/h": "Btu/hour", "kBtu/h": "kBtu/hour", "%": "percent",
}  # fmt: skip
TEMPERATURE_UNITS = {"F": "degF", "°F": "degF", "degF": "degF", "C": "degC", "°C": "degC", "degC": "degC"}
DIFFERENCE_UNITS = {"F": "delta_degF", "°F": "delta_degF", "degF": "delta_degF", "R": "delta_degF", "C": "delta_degC"}
DIFFERENCE_UNITS |= {"°C": "delta_degC", "degC": "delta_degC", "K": "delta_degC"}
_NUMBER = re.compile(r"^\s*([-+]?(?:\d[\d,]*\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*?)\s*$")


class Section(BaseModel):
    """A table of the job file: no other keys, never changed in place."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Measured(BaseModel):
    """The text given and its SI value; temperatures in degC, fractions as fractions."""

    model_config = ConfigDict(frozen=True)
    text: str
    si: float
    unit: str


def as_written(given: Measured, si: float) -> tuple[float, str]:
    """An SI value (degC for temperatures) in the unit that `given` was written in, and that unit as it was spelled.

    In `given.unit` where nothing was written.
    """
    found = _NUMBER.match(given.text)
    if found is None or not found.group(2):  # a program made it
        return si, given.unit
    spelled = found.group(2)
    wide = (given.unit, -float("inf"), float("inf"), given.text, given.text)
    nothing, one = (measured(f"{number} {spelled}", *wide).si for number in (0, 1))
    return (si - nothing) / (one - nothing), spelled


def measured(text: Any, unit: str, low: float, high: float, what: str, example: str) -> Measured:
    """Turn '1650 ft2' into a checked `Measured`; raises `UnitError` or `OutOfRangeError` in the caller's own unit."""
    from airtrim.core.units import Quantity, to_si

    if isinstance(text, Measured):
        return text
    if not isinstance(text, str):
        raise UnitError(
            f'{what} needs its unit written out in quotes, such as "{example}", got {text!r}: add the unit.'
        )
    found = _NUMBER.match(text)
    if not found or not found.group(2):
        raise UnitError(f'{what} needs a number and a unit, such as "{example}", got "{text}": write both.')
    number, name = float(found.group(1).replace(",", "")), found.group(2)
    if unit == "degC":
        name = TEMPERATURE_UNITS.get(name, name)
    elif unit == "delta_degC":
        name = DIFFERENCE_UNITS.get(name, name)
    for spelling in sorted(SPELLINGS, key=len, reverse=True):
        if name == spelling:
            name = SPELLINGS[spelling]
            break
    try:
        quantity = Quantity(number, name)
    except Exception as error:  # pint raises several kinds for an unknown name
        raise UnitError(f'{what} has the unknown unit "{found.group(2)}": use one such as in "{example}".') from error
    try:
        si = float(to_si(quantity, (unit, low, high), what))
    except OutOfRangeError as error:
        raise OutOfRangeError(
            str(error).replace("check the value.", f'you wrote "{text}", check the value.')
        ) from error
    return Measured(text=text, si=si, unit=unit)


def field(unit: str, low: float, high: float, example: str) -> Any:
    """A pydantic field type for a dimensional value; the message is completed with its place by the loader."""

    def check(value: Any) -> Any:
        return measured(value, unit, low, high, "the value", example)

    written = WithJsonSchema(
        {"type": "string", "pattern": "^\\s*[-+]?[0-9.][0-9.,eE+-]*\\s*\\D.*$", "examples": [example]}
    )
    return Annotated[Measured, BeforeValidator(check), written]
