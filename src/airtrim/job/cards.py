"""Hardware cards: what any product can be set to, within which limits, and what it does on a fault, in a small TOML.

A user writes one from the product's manual. Cards by kind come with airtrim: what is common to the kind, of no product.
"""

import difflib
import re
import tomllib
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final, Literal, Self, TypeAlias, get_args

from pydantic import BeforeValidator, Field, ValidationError, WithJsonSchema, model_validator

from airtrim.core.errors import JobError
from airtrim.job.measured import Measured, Section, field, measured

if TYPE_CHECKING:
    Accuracy: TypeAlias = Measured
    Part: TypeAlias = Measured
    Watts: TypeAlias = Measured
    Volts: TypeAlias = Measured
    Amps: TypeAlias = Measured
    Surroundings: TypeAlias = Measured
    Static: TypeAlias = Measured
    EnergyFactor: TypeAlias = Measured
else:
    Accuracy = field("delta_degC", 0.0, 10.0, "1 F")
    Part = field("", 0.0, 1.0, "92 %")
    Watts = field("W", 0.0, 5000.0, "12 W")
    Volts = field("V", 20.0, 300.0, "240 V")
    Amps = field("A", 0.0, 60.0, "6 A")
    Surroundings = field("degC", -40.0, 100.0, "104 F")
    Static = field("Pa", 0.0, 1000.0, "0.9 inH2O")
    EnergyFactor = field("liter/kWh", 0.8, 4.0, "1.8 L/kWh")

CardKind: TypeAlias = Literal[
    "speed_control_by_frequency",
    "reduced_voltage_control",
    "constant_torque_motor",
    "constant_airflow_motor",
    "thermostat_that_dries",
    "dehumidifier",
    "ducted_dehumidifier",
]
KINDS: Final[tuple[str, ...]] = get_args(CardKind)
Motor: TypeAlias = Literal["psc", "constant_torque", "constant_airflow", "any"]
Event: TypeAlias = Literal["full_airflow", "least_airflow", "last_setting", "stops", "line_voltage", "unknown"]
Sensed: TypeAlias = Literal[
    "coil_temperature", "return_temperature", "supply_temperature", "room_temperature", "room_humidity",
    "return_humidity", "suction_pressure", "airflow",
]  # fmt: skip
#: Settings a card of this kind must have a range of.
NEEDED: Final[dict[str, tuple[str, ...]]] = {
    "speed_control_by_frequency": ("frequency",),
    "reduced_voltage_control": ("volts",),
    "constant_torque_motor": ("torque",),
    "constant_airflow_motor": ("airflow",),
    "thermostat_that_dries": ("humidity", "overcool"),
    "dehumidifier": ("humidity", "water_removal"),
    "ducted_dehumidifier": ("humidity", "water_removal"),
}
#: Kinds whose card must say how much water a kilowatt-hour takes out.
DRIERS: Final = ("dehumidifier", "ducted_dehumidifier")


Written: TypeAlias = Annotated[Measured, WithJsonSchema({"type": "string", "examples": ["60 Hz"]})]


class Range(Section):
    """What a setting can be put to: from low to high, in steps (left out: any value between)."""

    low: Written = Field(description="Least value, with its unit")
    high: Written = Field(description="Greatest value")
    step: Written | None = Field(default=None, description="Distance of two values; any between if left out")

    def allows(self, si: float) -> bool:
        """Whether a value lies within the range."""
        return self.low.si - 1e-9 <= si <= self.high.si + 1e-9

    def nearest(self, si: float) -> float:
        """The value that can be set nearest to one within the range."""
        if self.step is None or self.step.si <= 0.0:
            return min(max(si, self.low.si), self.high.si)
        steps = round((si - self.low.si) / self.step.si)
        last = int((self.high.si - self.low.si) / self.step.si + 1e-9)
        return float(self.low.si + min(max(steps, 0), last) * self.step.si)


def _ranged(unit: str, low: float, high: float, example: str) -> Any:
    """A field for a range, each value with its unit written out."""

    def check(value: Any) -> Any:
        if isinstance(value, Range):
            return value
        if not isinstance(value, dict):
            raise ValueError(f'the setting needs low and high, such as {{low = "{example}", high = "{example}"}}.')
        for key in value:
            if key not in ("low", "high", "step"):
                raise ValueError(f"{key} is not known in a setting; known here: low, high, step.")
        for key in ("low", "high"):
            if key not in value:
                raise ValueError(f"the setting's {key} is missing: read the range in the manual.")
        # a step of a temperature is a difference
        ends = {key: measured(value[key], unit, low, high, key, example) for key in ("low", "high")}
        step_unit = "delta_degC" if unit == "degC" else unit
        if "step" in value:
            ends["step"] = measured(value["step"], step_unit, 0.0, high - min(low, 0.0), "step", example)
        if ends["low"].si >= ends["high"].si:
            raise ValueError(f'low "{ends["low"].text}" is not below high "{ends["high"].text}": exchange the two.')
        return Range(**ends)

    return Annotated[Range, BeforeValidator(check)]


if TYPE_CHECKING:
    Frequency: TypeAlias = Range
    LinePart: TypeAlias = Range
    Airflow: TypeAlias = Range
    Drop: TypeAlias = Range
    Duration: TypeAlias = Range
    Humidity: TypeAlias = Range
    WaterRemoval: TypeAlias = Range
else:
    Frequency = _ranged("Hz", 1.0, 120.0, "60 Hz")
    LinePart = _ranged("", 0.05, 1.2, "100 %")
    Airflow = _ranged("m**3/s", 0.01, 2.0, "1400 cfm")
    Drop = _ranged("delta_degC", 0.0, 30.0, "25 F")
    Duration = _ranged("s", 0.0, 7200.0, "60 s")
    Humidity = _ranged("", 0.05, 0.95, "55 %")
    WaterRemoval = _ranged("kg/s", 0.0, 0.01, "30 kg/day")


class Settings(Section):
    frequency: Frequency | None = Field(default=None, description="Frequency given to the motor")
    volts: LinePart | None = Field(default=None, description="Voltage given to the motor, part of the line's")
    torque: LinePart | None = Field(default=None, description="Torque, part of the rated one")
    airflow: Airflow | None = Field(default=None, description="Airflow it holds")
    coil_sensor_drop: Drop | None = Field(default=None, description="Return air less coil sensor that it holds")
    ramp_time: Duration | None = Field(default=None, description="Ramp time")
    off_delay: Duration | None = Field(default=None, description="Off-delay")
    long_call: Duration | None = Field(default=None, description="Length of a call after which full airflow comes")
    humidity: Humidity | None = Field(default=None, description="Relative humidity it dries to")
    overcool: Drop | None = Field(default=None, description="How far it may overcool to dry")
    water_removal: WaterRemoval | None = Field(default=None, description="Water it takes out, 80 F and 60 %")


class Sensor(Section):
    kind: Sensed = Field(description="What it senses")
    accuracy: Accuracy | None = Field(default=None, description="Accuracy of a temperature sensor")


class Limits(Section):
    motors: list[Motor] = Field(default_factory=list, description="Motors its maker allows; empty: not stated")
    volts: Volts | None = Field(default=None, description="Rated volts")
    amps: Amps | None = Field(default=None, description="Greatest amps")
    horsepower: float | None = Field(default=None, gt=0.0, le=5.0, description="Rated output, or greatest motor")
    hottest_surroundings: Surroundings | None = Field(default=None, description="Hottest air around it")
    greatest_static: Static | None = Field(default=None, description="External static up to which it holds its setting")


class Efficiency(Section):
    load: Part = Field(description="Part of rated output")
    efficiency: Part = Field(description="Output over input there")


class OnFault(Section):
    sensor_lost: Event = Field(default="unknown", description="A sensor is cut or shorted")
    own_fault: Event = Field(default="unknown", description="It trips or fails")
    power_returns: Event = Field(default="unknown", description="After a power cut")


class Card(Section):
    """One product, or one kind of product."""

    airtrim_card: Literal[1] = Field(description="Version of this form")
    kind: CardKind = Field(description="What it is")
    name: str = Field(min_length=1, description="What the papers call it")
    settings: Settings = Field(default=Settings(), description="Range and step of each setting")
    sensors: list[Sensor] = Field(default_factory=list, description="What it senses")
    limits: Limits = Field(default=Limits(), description="What its maker allows")
    efficiency: list[Efficiency] = Field(default_factory=list, description="Rising loads; standby left out")
    standby: Watts | None = Field(default=None, description="What it takes standing still")
    energy_factor: EnergyFactor | None = Field(default=None, description="Water for each kWh, 80 F and 60 %")
    on_fault: OnFault = Field(default=OnFault(), description="What it does when something fails")
    price: float | None = Field(default=None, gt=0.0, description="What it costs the customer, installed; no default")

    @model_validator(mode="after")
    def _is_whole(self) -> Self:
        missing = [name for name in NEEDED[self.kind] if getattr(self.settings, name) is None]
        if missing:
            raise ValueError(
                f"a card of the kind {self.kind} needs settings.{missing[0]} with low and high: read its range in the manual."
            )
        if self.kind in DRIERS and self.energy_factor is None:
            raise ValueError(
                f'a card of the kind {self.kind} needs energy_factor, such as "1.8 L/kWh": read it on the label.'
            )
        if self.kind in DRIERS and not self._takes_out_what_can_be():
            raise ValueError(
                f"a card of the kind {self.kind} needs settings.water_removal within 3 to 150 kg/day: a pint is 0.473 kg."
            )
        loads = [point.load.si for point in self.efficiency]
        if sorted(set(loads)) != loads or any(not 0.1 <= point.efficiency.si <= 1.0 for point in self.efficiency):
            raise ValueError("efficiency needs rising loads, each with an efficiency of 10 to 100 %: check the points.")
        return self

    def _takes_out_what_can_be(self) -> bool:
        water = self.settings.water_removal
        return water is not None and 86400.0 * water.low.si >= 3.0 and 86400.0 * water.high.si <= 150.0

    @property
    def holds_the_coil(self) -> bool:
        """Whether it can move the airflow by how far the coil lies below the return air."""
        sensed = {sensor.kind for sensor in self.sensors}
        return self.settings.coil_sensor_drop is not None and {"coil_temperature", "return_temperature"} <= sensed

    def refuses(self, motor: str) -> bool:
        """Whether its maker rules this kind of motor out."""
        return bool(self.limits.motors) and not {motor, "any"} & set(self.limits.motors)


def read_card(text: str, where: str) -> Card:
    """A card from TOML text; `where` names it in messages. Raises `JobError` in one sentence."""
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise JobError(f"{where} is not readable TOML: {error}; check quotes and brackets there.") from error
    try:
        return Card.model_validate(table)
    except ValidationError as error:
        raise JobError(f"{where}, {card_sentence(error)}") from error


def load_card(path: Path) -> Card:
    """A card from its file; raises `JobError`."""
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise JobError(
            f"options.cards: {path.name} cannot be read ({type(error).__name__}): put it beside the job file, a TOML file in UTF-8."
        ) from error
    return read_card(text, path.name)


@lru_cache(maxsize=len(KINDS))
def generic_card(kind: str) -> Card:
    """The card of a kind: what is common to it, without a price."""
    return load_card(Path(__file__).with_name("generic_cards") / f"{kind}.toml")


def plain_cause(one: Any) -> str | None:
    """What is wrong with a price or a name from a list, and how to mend it; None for other errors."""
    place, given = tuple(one["loc"]), one["input"]
    if one["type"] == "greater_than" and place and str(place[-1]).startswith("price"):
        return f"a price must be above 0, got {given!r}: write what it costs, or leave the line out where nobody knows."
    if one["type"] == "literal_error":
        listed = re.findall(r"'([^']*)'", str(one["ctx"]["expected"]))
        if not listed:
            return None
        near = difflib.get_close_matches(str(given), listed, n=1, cutoff=0.5)
        hint = f'did you mean "{near[0]}"?' if near else f"known here: {', '.join(listed)}."
        return f"{given!r} is not known; {hint}"
    return None


def card_sentence(error: ValidationError) -> str:
    """Place and cause of the first thing wrong with a card."""
    first = sorted(error.errors(), key=lambda one: one["type"] != "extra_forbidden")[0]
    place = tuple(first["loc"])
    dotted = ".".join(str(part + 1) if isinstance(part, int) else str(part) for part in place)
    at = f"{dotted}: " if dotted else ""
    if first["type"] == "extra_forbidden":
        names = _names(place[:-1])
        near = difflib.get_close_matches(str(place[-1]), names, n=1, cutoff=0.5)
        hint = f'did you mean "{near[0]}"?' if near else f"known here: {', '.join(names)}."
        return f"{at}this key is not known; {hint}"
    if first["type"] == "missing":
        return f"{at}this value is missing; write it there."
    if first["type"] == "literal_error" and place[-1:] == ("kind",) and len(place) == 1:
        near = difflib.get_close_matches(str(first["input"]), KINDS, n=1, cutoff=0.4)
        hint = f'did you mean "{near[0]}"?' if near else f"known kinds: {', '.join(KINDS)}."
        return f"{at}the kind {first['input']!r} is not known; {hint}"
    plain = plain_cause(first)
    if plain is not None:
        return f"{at}{plain}"
    cause = first.get("ctx", {}).get("error")
    return f"{at}{cause}" if isinstance(cause, Exception) else f"{at}{first['msg']}, got {first['input']!r}"


def _names(place: tuple[Any, ...]) -> list[str]:
    owners: dict[str, type[Section]] = {
        "settings": Settings, "limits": Limits, "on_fault": OnFault, "sensors": Sensor, "efficiency": Efficiency,
    }  # fmt: skip
    owner = owners[place[0]] if place else Card
    return list(owner.model_fields)


def _entry(value: Any) -> Any:
    """A card written inside the job, or the name of a file or of a kind."""
    if isinstance(value, dict):
        try:
            return Card.model_validate(value)
        except ValidationError as error:
            raise ValueError(card_sentence(error)) from error
    if isinstance(value, str) and not value.endswith(".toml") and value not in KINDS:
        near = difflib.get_close_matches(value, KINDS, n=1, cutoff=0.5)
        hint = f'did you mean "{near[0]}"?' if near else f"kinds: {', '.join(KINDS)}."
        raise ValueError(f'"{value}" is neither a card\'s file (.toml) nor a kind of card; {hint}')
    return value


CardEntry: TypeAlias = Annotated[
    Card | str,
    BeforeValidator(_entry),
    WithJsonSchema({"anyOf": [{"type": "string"}, {"type": "object"}]}),
]


def entered_cards(entries: list[Card | str], folder: Path | None = None) -> list[Card]:
    """The cards meant by a job's entries; files are looked up in `folder`. Raises `JobError`."""
    cards = []
    for entry in entries:
        if isinstance(entry, Card):
            cards.append(entry)
        elif entry in KINDS:
            cards.append(generic_card(entry))
        elif folder is None:
            raise JobError(
                f"options.cards: {entry} was not read with the job: open the job from its file, or write the card into it under "
                "[[options.cards]]."
            )
        else:
            cards.append(load_card(folder / entry))
    kinds = [card.kind for card in cards]
    twice = next((kind for kind in kinds if kinds.count(kind) > 1), None)
    if twice is not None:
        raise JobError(f"options.cards holds two cards of the kind {twice}: keep the one that would be fitted.")
    return cards
