"""What is read at the house, and with what: the sections of the job file that hold readings and instruments.

One `[[readings]]` is one operating point: one tap, cooling, heating or fan only, all taken while it held. Any subset will do.
"""

from datetime import date, datetime
from typing import TYPE_CHECKING, Annotated, Any, Literal, Self, TypeAlias
from uuid import UUID

from pydantic import AfterValidator, BeforeValidator, Field, model_validator

from airtrim.job.measured import Measured, Section, field

if TYPE_CHECKING:
    Temperature: TypeAlias = Measured
    LineTemperature: TypeAlias = Measured
    Difference: TypeAlias = Measured
    Fraction: TypeAlias = Measured
    Power: TypeAlias = Measured
    Flow: TypeAlias = Measured
    RoomFlow: TypeAlias = Measured
    Static: TypeAlias = Measured
    SignedPressure: TypeAlias = Measured
    VelocityPressure: TypeAlias = Measured
    GaugePressure: TypeAlias = Measured
    Velocity: TypeAlias = Measured
    Side: TypeAlias = Measured
    OpenArea: TypeAlias = Measured
    Volume: TypeAlias = Measured
    Duration: TypeAlias = Measured
    Since: TypeAlias = Measured
    Volts: TypeAlias = Measured
    Amps: TypeAlias = Measured
    Frequency: TypeAlias = Measured
    Speed: TypeAlias = Measured
    HeatingValue: TypeAlias = Measured
else:
    Temperature = field("degC", -40.0, 95.0, "75 F")
    LineTemperature = field("degC", -40.0, 120.0, "52 F")
    Difference = field("delta_degC", 0.0, 80.0, "45 F")
    Fraction = field("", 0.0, 1.0, "55 %")
    Power = field("W", 0.0, 60000.0, "545 W")
    Flow = field("m**3/s", 0.01, 2.0, "1200 cfm")
    RoomFlow = field("m**3/s", 0.0005, 2.0, "120 cfm")
    Static = field("Pa", 0.0, 1000.0, "0.62 inH2O")
    SignedPressure = field("Pa", -1000.0, 1000.0, "-0.21 inH2O")
    VelocityPressure = field("Pa", 0.0, 1000.0, "0.03 inH2O")
    GaugePressure = field("Pa", -1.0e5, 6.0e6, "130 psi")
    Velocity = field("m/s", 0.0, 40.0, "700 ft/min")
    Side = field("m", 0.05, 3.0, "20 in")
    OpenArea = field("m**2", 1e-4, 5.0, "2.8 ft2")
    Volume = field("m**3", 1e-5, 5.0, "0.5 gal")
    Duration = field("s", 1.0, 86400.0, "20 min")
    Since = field("s", 0.0, 86400.0, "5 min")
    Volts = field("V", 50.0, 700.0, "238 V")
    Amps = field("A", 0.0, 200.0, "3.9 A")
    Frequency = field("Hz", 5.0, 100.0, "60 Hz")
    Speed = field("rpm", 50.0, 4000.0, "1050 rpm")
    HeatingValue = field("J/m**3", 1.0e7, 2.0e8, "1030 Btu/ft3")


def _identity(text: str) -> str:
    try:
        return str(UUID(text))
    except ValueError as error:
        raise ValueError(
            f'the value needs a UUID such as "3f0c0b52-7d0e-4a55-9f56-0c1d2a8b9e11", got "{text}": leave it out, one is made.'
        ) from error


def _moment(value: Any) -> str:
    """A date and time as text, whether it was written in quotes or as TOML's own."""
    text = value.isoformat(sep=" ", timespec="seconds") if isinstance(value, datetime) else str(value)
    try:
        read = datetime.fromisoformat(text)
    except ValueError as error:
        raise ValueError(
            f'the value needs a date and time such as "2026-07-14 15:20", got "{text}": write year-month-day hour:minute.'
        ) from error
    if read.tzinfo is not None:
        raise ValueError(f'the value needs the clock of the house, got "{text}": leave the time zone out.')
    return text


def _day(value: Any) -> str:
    text = value.isoformat() if isinstance(value, date) else str(value)
    try:
        date.fromisoformat(text)
    except ValueError as error:
        raise ValueError(
            f'the value needs a day such as "2026-04-17", got "{text}": write year, month and day.'
        ) from error
    return text


Identity: TypeAlias = Annotated[str, AfterValidator(_identity)]
Moment: TypeAlias = Annotated[str, BeforeValidator(_moment)]
Day: TypeAlias = Annotated[str, BeforeValidator(_day)]
InstrumentKind: TypeAlias = Literal[
    "thermometer", "line_thermometer", "humidity_probe", "manometer", "refrigerant_gauge", "voltmeter", "clamp_meter",
    "wattmeter", "anemometer", "powered_hood", "hood", "flow_plate", "calibrated_fan", "tachometer", "bucket", "gas_meter",
    "capacitance_meter",
]  # fmt: skip


class Instrument(Section):
    """An instrument of the contractor's; what is left out is taken from its class."""

    id: str = Field(min_length=1, description="What you call it")
    kind: InstrumentKind = Field(description="Its class, which decides the accuracy where none is given")
    part_of_reading: Fraction | None = Field(default=None, description="Accuracy, part of the reading, each way")
    least: str | None = Field(default=None, description='Accuracy, fixed part each way with its unit, such as "0.9 F"')
    last_checked: Day | None = Field(default=None, description="Day it was last checked")
    used_for: list[str] = Field(
        default_factory=list, description="Readings taken with it, such as supply_dry_bulb; all of its kind if left out"
    )


class StripCircuit(Section):
    volts: Volts = Field(description="At the strip, running")
    amps: Amps = Field(description="Through the strip, running")


class Gas(Section):
    volume: Volume = Field(description="Gas that went through the meter, such as one turn of a 2 ft3 dial")
    time: Duration = Field(description="How long it took, all other gas appliances off")
    heating_value: HeatingValue | None = Field(default=None, description="From the utility; 1030 Btu/ft3 if left out")
    efficiency: Fraction | None = Field(default=None, description="Steady efficiency; by test, else 80 %")


class KnownPoint(Section):
    """An airflow of this blower that is known, at another speed or pressure on the same path."""

    airflow: Flow = Field(description="Airflow known there")
    airflow_uncertainty: Fraction | None = Field(default=None, description="90 % range, each way; 10 % if left out")
    speed: Speed | None = Field(default=None, description="Blower speed there; blower_speed is the present one")
    static: Static | None = Field(default=None, description="Total external static there")


class Traverse(Section):
    shape: Literal["rectangular", "round"] = Field(description="Section of the duct")
    rule: Literal["log_tchebycheff", "log_linear"] = Field(
        default="log_tchebycheff", description="Where the points lie"
    )
    place: Literal["supply", "return"] = Field(default="return", description="Which duct")
    width: Side | None = Field(default=None, description="Inside, of a rectangular duct")
    height: Side | None = Field(default=None, description="Inside, of a rectangular duct")
    diameter: Side | None = Field(default=None, description="Inside, of a round duct")
    velocity_pressures: list[list[VelocityPressure]] = Field(default_factory=list, description="One list a line")
    velocities: list[list[Velocity]] = Field(default_factory=list, description="One list a line, instead of pressures")
    diameters_before: float | None = Field(default=None, ge=0.0, description="Straight duct before, in diameters")
    diameters_after: float | None = Field(default=None, ge=0.0, description="Straight duct after, in diameters")


class Grille(Section):
    name: str = Field(min_length=1, description="Where it is")
    side: Literal["supply", "return"] = Field(description="Supply register or return grille")
    airflow: RoomFlow | None = Field(default=None, description="By hood, or by the grille's maker's factor")
    velocity: Velocity | None = Field(default=None, description="Mean velocity at the free area, by anemometer")
    free_area: OpenArea | None = Field(default=None, description="Free area, with the velocity")


class Plate(Section):
    """A plate or grid in the filter's place; its maker's coefficient or its open area."""

    drop: Static = Field(description="Pressure across it")
    airflow_at_1_pa: RoomFlow | None = Field(default=None, description="Its coefficient: airflow at 1 Pa, standard air")
    open_area: OpenArea | None = Field(default=None, description="Open area, where no coefficient is given")
    discharge: float | None = Field(default=None, ge=0.3, le=1.2, description="Discharge coefficient; 0.6 if left out")
    supply_static_with: Static | None = Field(default=None, description="Supply plenum with the plate in")
    supply_static_without: Static | None = Field(default=None, description="Supply plenum as it always is, filter in")


class Matching(Section):
    """A calibrated fan blows into the system until the supply plenum has its usual pressure."""

    fan_airflow: Flow = Field(description="Airflow of the fan, as it shows it")
    air_at_fan: Temperature | None = Field(default=None, description="Air through the fan; as the return if left out")
    reached: Static = Field(description="Supply plenum pressure reached")
    wanted: Static = Field(description="Supply plenum pressure in usual operation")


class Condensate(Section):
    volume: Volume = Field(description="Water caught at the drain")
    time: Duration = Field(description="In how long, once the drain runs steadily")


class Room(Section):
    """A room whose door is shut: pressure across it, or what its registers bring, or both."""

    name: str = Field(min_length=1, description="Which room")
    pressure: SignedPressure | None = Field(
        default=None, description="Across its closed door, blower on; plus: the room is pushed out"
    )
    supply: RoomFlow | None = Field(default=None, description="Air its registers bring, to size the way back")
    way_back: OpenArea | None = Field(
        default=None, description="Open area of its way back with the door shut: gap under the door, transfer grille"
    )

    @model_validator(mode="after")
    def _something_read(self) -> Self:
        if self.pressure is None and self.supply is None:
            raise ValueError(
                f"room {self.name} needs pressure (across its closed door) or supply (air of its registers): add one of the two."
            )
        return self


class Surface(Section):
    """A surface that may sweat, and the air that touches it where that is not the return air."""

    name: str = Field(min_length=1, description="Which surface, such as a register's face or a duct's jacket")
    temperature: Temperature = Field(description="Of the surface itself, the system settled")
    air_dry_bulb: Temperature | None = Field(
        default=None, description="Air touching it; the return air's dew point counts if left out"
    )
    air_relative_humidity: Fraction | None = Field(default=None, description="Of that air, by probe")

    @model_validator(mode="after")
    def _air_whole(self) -> Self:
        if (self.air_dry_bulb is None) != (self.air_relative_humidity is None):
            raise ValueError(
                f"surface {self.name}: air_dry_bulb and air_relative_humidity go together; add the other, or leave both out."
            )
        return self


class LogRow(Section):
    at: Since = Field(description="Time since the system started, or since the first row")
    supply_dry_bulb: Temperature | None = Field(default=None, description="Supply plenum")
    return_dry_bulb: Temperature | None = Field(default=None, description="Air entering the coil")
    saturated_suction: Temperature | None = Field(default=None, description="From the suction gauge")
    superheat: Difference | None = Field(default=None, description="At the suction service port")


class Readings(Section):
    """What was read at one operating point."""

    id: Identity | None = Field(default=None, description="UUID of the reading; made when left out")
    time: Moment | None = Field(default=None, description='When, such as "2026-07-14 15:20"')
    operation: Literal["cooling", "heating", "fan_only"] = Field(default="cooling", description="What ran")
    tap: int | None = Field(default=None, ge=1, le=8, description="Blower tap; blower.tap_in_use if left out")
    running_for: Duration | None = Field(default=None, description="How long it had run without a stop")
    coil: Literal["wet", "dry", "frosted", "unknown"] = Field(default="unknown", description="State of the coil")

    airflow: Flow | None = Field(default=None, description="Airflow through the coil")
    airflow_uncertainty: Fraction | None = Field(default=None, description="90 % range of that airflow, each way")
    airflow_is: Literal["actual", "standard"] = Field(
        default="actual", description="Actual: of the air as it enters the coil; standard: at 0.075 lb/ft3"
    )
    strip_circuits: list[StripCircuit] = Field(default_factory=list, description="Electric strips, each circuit")
    gas: Gas | None = Field(default=None, description="Furnace's gas, clocked at the meter")
    known_point: KnownPoint | None = Field(default=None, description="Another airflow of this blower that is known")
    blower_speed: Speed | None = Field(default=None, description="By tachometer; it tells the motor's slip")
    traverses: list[Traverse] = Field(default_factory=list, description="Duct traverses that together hold all the air")
    grilles: list[Grille] = Field(default_factory=list, description="All registers, or all return grilles")
    plate: Plate | None = Field(default=None, description="Plate or grid at the filter slot")
    matching: Matching | None = Field(default=None, description="Calibrated fan matched to the supply pressure")
    condensate: Condensate | None = Field(default=None, description="Bucket and watch at the drain")

    total_external_static: Static | None = Field(default=None, description="Supply plus return, magnitudes")
    closed_doors_static: Static | None = Field(default=None, description="The same with inside doors closed")
    static_before_filter: SignedPressure | None = Field(default=None, description="Return duct side of the filter")
    static_after_filter: SignedPressure | None = Field(default=None, description="Blower side of the filter")
    static_before_coil: SignedPressure | None = Field(default=None, description="Air entering the coil")
    static_after_coil: SignedPressure | None = Field(default=None, description="Air leaving the coil")
    static_supply: SignedPressure | None = Field(default=None, description="Supply plenum, after blower and coil")
    rooms: list[Room] = Field(default_factory=list, description="Closed-door pressures")
    surfaces: list[Surface] = Field(default_factory=list, description="Surfaces that may sweat")

    return_dry_bulb: Temperature | None = Field(default=None, description="Air entering the coil")
    return_wet_bulb: Temperature | None = Field(default=None, description="Air entering the coil")
    return_relative_humidity: Fraction | None = Field(default=None, description="Air entering the coil, by probe")
    grille_dry_bulb: Temperature | None = Field(default=None, description="Air entering the return grille")
    grille_wet_bulb: Temperature | None = Field(default=None, description="Air entering the return grille")
    supply_dry_bulb: Temperature | None = Field(default=None, description="Supply plenum, out of sight of the coil")
    supply_dry_bulbs: list[Temperature] = Field(default_factory=list, description="Several points instead of one")
    supply_wet_bulb: Temperature | None = Field(default=None, description="Supply plenum")
    supply_relative_humidity: Fraction | None = Field(default=None, description="Supply plenum, by probe")
    supply_place: Literal["plenum", "register"] = Field(default="plenum", description="Where the supply was read")
    blower_place: Literal["before_supply_reading", "after_supply_reading", "unknown"] = Field(
        default="unknown", description="Whether its heat is in the supply reading; unknown: before"
    )
    outdoor_dry_bulb: Temperature | None = Field(default=None, description="Air entering the outdoor unit")

    saturated_suction: Temperature | None = Field(default=None, description="From the suction gauge")
    superheat: Difference | None = Field(default=None, description="At the suction service port")
    suction_pressure: GaugePressure | None = Field(default=None, description="By gauge")
    liquid_pressure: GaugePressure | None = Field(default=None, description="By gauge, liquid line")
    discharge_pressure: GaugePressure | None = Field(default=None, description="By gauge, compressor discharge")
    suction_line: LineTemperature | None = Field(default=None, description="Suction line at the service port")
    liquid_line: LineTemperature | None = Field(default=None, description="Liquid line at the service port")

    blower_power: Power | None = Field(default=None, description="By wattmeter, this tap, wet coil")
    blower_volts: Volts | None = Field(
        default=None, description="At the blower, running; the motor is fitted at these volts"
    )
    blower_amps: Amps | None = Field(default=None, description="Line amps of the blower")
    power_factor: Fraction | None = Field(default=None, description="Of the blower, by a meter that shows it")
    capacitor_volts: Volts | None = Field(default=None, description="Across the run capacitor, running")
    capacitor_amps: Amps | None = Field(default=None, description="In the run capacitor's lead, running")
    line_frequency: Frequency | None = Field(default=None, description="60 Hz if left out")

    log: list[LogRow] = Field(default_factory=list, description="A short log, to see whether it has settled")
