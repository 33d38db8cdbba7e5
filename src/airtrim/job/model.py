"""One house, one system, one complaint: the job file's sections as checked models."""

from typing import Annotated, Literal, Self, TypeAlias, get_args

from pydantic import AfterValidator, Field, model_validator

from airtrim.job.cards import CardEntry
from airtrim.job.equipment import Blower, Heat, System
from airtrim.job.fields import (
    AirflowPerTon,
    Altitude,
    Amps,
    Area,
    Difference,
    Flow,
    Fraction,
    Frequency,
    Leak,
    Length,
    Rate,
    Shift,
    Temperature,
    Time,
    Volts,
    Water,
)
from airtrim.job.measured import Measured, Section
from airtrim.job.readings import Day, Instrument
from airtrim.job.readings import Readings as Readings
from airtrim.job.tariff import ClockTime, Tariff


def _usual_rate() -> Measured:
    return Measured(text="3 %", si=0.03, unit="")


def _filter_size(text: str) -> str:
    parts = [part.strip() for part in text.lower().replace("×", "x").split("x")]
    if not (2 <= len(parts) <= 3 and all(part.replace(".", "", 1).isdigit() and float(part) > 0 for part in parts)):
        raise ValueError(
            f'the value needs width x height x depth in inches such as "20x25x1", got "{text}": read it off the filter.'
        )
    return text


FilterSize: TypeAlias = Annotated[str, AfterValidator(_filter_size)]
#: What can be weighed, the cheapest to do first by the trade's order; among equals the one named first is kept.
OptionId: TypeAlias = Literal[
    "leave_as_is",
    "fan_auto",
    "shorter_off_delay",
    "registers_open",
    "set_point_higher",
    "exhausts_by_need",
    "less_outdoor_air",
    "freer_filter",
    "larger_filter",
    "clean_coil",
    "lower_tap",
    "second_lower_tap",
    "thermostat_that_dries",
    "reduced_voltage",
    "drive_coil_feedback",
    "free_standing_dehumidifier",
    "constant_torque_motor",
    "constant_airflow_motor",
    "constant_airflow_feedback",
    "seal_ducts",
    "return_duct",
    "supply_duct",
    "ducted_dehumidifier",
    "right_sized_unit",
    "staged_unit",
    "combination",
]
#: What is seen or heard at a house and tells where to look, before or beside any reading.
Sign: TypeAlias = Literal[
    "whistle_at_grille",
    "hum_at_low_speed",
    "control_fails_again",
    "blower_hums_not_turning",
    "limit_switch_trips",
    "rooms_uneven_doors_shut",
    "registers_drip",
    "static_shocks",
]
Aim: TypeAlias = Literal["dry", "quiet", "cheap_to_run", "cheap_to_buy", "even_temperatures"]


class House(Section):
    place: str = Field(min_length=1, description="Town and state; chooses the weather where weather gives nothing")
    floor_area: Area = Field(description="Cooled floor area")
    year_built: int = Field(ge=1700, le=2100, description="Sets shell, glass and leakage where nothing was measured")
    storeys: float | None = Field(default=None, ge=1.0, le=3.0, description="1, 1.5, 2, 2.5 or 3")
    ceiling_height: Length | None = Field(default=None, description="Mean height of the rooms")
    bedrooms: int | None = Field(default=None, ge=0, le=15, description="Sets the heat of habits")
    people: int | None = Field(default=None, ge=0, le=30, description="Sets the water given off")
    blower_door_at_50_pa: Leak | None = Field(default=None, description="Air moved by a blower door at 50 Pa")
    altitude: Altitude | None = Field(default=None, description="Above the sea; the weather file's air if left out")
    combustion_appliances: list[str] = Field(
        default_factory=list, description="What burns fuel inside the house, such as a water heater"
    )
    dangers: list[Literal["carbon_monoxide", "backdraft", "bare_conductor"]] = Field(
        default_factory=list,
        description="Seen or measured at the visit: carbon monoxide indoors, flue gas coming back, a bare live conductor",
    )


class Ducts(Section):
    place: Literal["attic", "crawl_space", "inside", "unknown"] = Field(
        default="unknown", description="Where most of the ducts run; unknown counts as attic"
    )
    return_leak: Fraction | None = Field(default=None, description="Part of the airflow drawn in by return leaks")
    supply_leak: Fraction | None = Field(default=None, description="Part of the airflow lost by supply leaks")
    cabinet_leakage: Fraction | None = Field(default=None, description="Part of the airflow drawn in by the cabinet")
    filter_size: FilterSize | None = Field(default=None, description="Width x height x depth, inches")
    filters: int = Field(default=1, ge=1, le=6, description="How many filters of this size")
    registers: int | None = Field(default=None, ge=1, le=60, description="Supply registers in the house")
    closed_registers: int | None = Field(default=None, ge=0, le=60, description="How many of them are shut")
    zones: int = Field(default=1, ge=1, le=8, description="Zones with their own dampers")
    bypass_damper: bool | None = Field(default=None, description="Whether a bypass joins supply and return")
    outdoor_air_duct: Flow | None = Field(
        default=None, description="Outdoor air drawn by a duct into the return while the blower runs"
    )

    @model_validator(mode="after")
    def _some_are_open(self) -> Self:
        if self.closed_registers and (self.registers is None or self.closed_registers >= self.registers):
            raise ValueError(
                f"closed_registers {self.closed_registers} needs registers, more of them than are shut: count all supply registers."
            )
        return self


class SetBack(Section):
    start: ClockTime = Field(description="Time of day it begins")
    end: ClockTime = Field(description="Time of day it ends")
    set_point: Temperature = Field(description="Cooling set-point meanwhile")


class Thermostat(Section):
    set_point: Temperature = Field(description="Cooling set-point")
    fan: Literal["auto", "on"] = Field(description="The fan switch")
    coldest_set_point: Temperature | None = Field(default=None, description="The coldest anyone in the house sets")
    heating_set_point: Temperature | None = Field(default=None, description="Heating set-point")
    off_delay: Time | None = Field(default=None, description="How long the blower goes on after the compressor")
    humidity_terminals: bool | None = Field(default=None, description="Whether it has terminals to dry on demand")
    overcool_limit: Difference | None = Field(default=None, description="How far it may overcool to dry")
    set_backs: list[SetBack] = Field(default_factory=list, description="Times of day with another set-point")


class Exhaust(Section):
    kind: Literal["bath", "kitchen", "dryer", "whole_house", "other"] = Field(description="What it is")
    airflow: Flow = Field(description="Air it takes out")
    hours_a_day: float = Field(ge=0.0, le=24.0, description="How long it runs on a usual day")


class Habits(Section):
    moisture: Water | None = Field(default=None, description="Water given off indoors, all sources")
    exhausts: list[Exhaust] = Field(default_factory=list, description="Fans that take air out of the house")


class Complaint(Section):
    kinds: list[Literal["damp", "noise", "uneven", "cost", "icing", "too_dry", "stops"]] = Field(
        min_length=1, description="The first one decides the choice"
    )
    signs: list[Sign] = Field(
        default_factory=list, description="What was seen or heard of it; each brings its own steps at the house"
    )
    season: Literal["spring", "summer", "autumn", "winter", "all_year", "unknown"] = Field(
        default="unknown", description="When it is worst"
    )
    relative_humidity: Fraction | None = Field(default=None, description="Indoor relative humidity then")
    words: str | None = Field(default=None, description="In the customer's words")


class WeatherChoice(Section):
    """A file, else a year made up from the monthly means of a station that stands for the place."""

    file: str | None = Field(
        default=None, min_length=1, description="greensboro-nc, miami-fl, or an EPW, TMY3 or TMY2 file"
    )
    station: str | None = Field(default=None, min_length=1, description="Station of the table, by number or name")
    latitude: float | None = Field(
        default=None, ge=-90.0, le=90.0, description="Degrees north; the nearest station is used"
    )
    longitude: float | None = Field(default=None, ge=-180.0, le=180.0, description="Degrees east, west is negative")
    made_up_year: int = Field(default=1, ge=0, le=1_000_000, description="Which of the years that chance can make")
    dry_bulb_shift: Shift | None = Field(default=None, description="How much hotter the year is")
    dry_bulb_scale: float = Field(default=1.0, ge=0.2, le=3.0, description="Swings of dry-bulb times this")
    dew_point_shift: Shift | None = Field(default=None, description="How much wetter the year is")
    dew_point_scale: float = Field(default=1.0, ge=0.2, le=3.0, description="Swings of dew point times this")

    @model_validator(mode="after")
    def _one_choice(self) -> Self:
        if (self.latitude is None) != (self.longitude is None):
            raise ValueError("latitude and longitude go together: give both, in degrees, or neither.")
        given = [name for name in ("file", "station", "latitude") if getattr(self, name) is not None]
        if len(given) > 1:
            raise ValueError(f"{given[0]} and {given[1]} each choose the weather: leave one of them out.")
        return self


class OptionPrice(Section):
    option: OptionId = Field(description="Which option")
    price: float = Field(gt=0.0, description="What it costs the customer, all in")


class ToConsider(Section):
    consider: list[OptionId] = Field(
        default_factory=lambda: list(get_args(OptionId)),
        description="Options to weigh; all if left out, leaving it alone is always among them",
    )
    aim: Aim | None = Field(default=None, description="What the owner wants most; by the complaint if left out")
    cards: list[CardEntry] = Field(
        default_factory=list, description="Hardware cards: a file beside this one, a kind, or the card itself"
    )
    prices: list[OptionPrice] = Field(default_factory=list, description="What options cost the customer; no default")
    rate: Rate = Field(
        default_factory=_usual_rate, description="Real interest a year in present values, 3 % if left out"
    )
    years: int = Field(default=10, ge=1, le=40, description="Years counted in present values")

    @model_validator(mode="after")
    def _priced_once(self) -> Self:
        named = [one.option for one in self.prices]
        twice = next((name for name in named if named.count(name) > 1), None)
        if twice is not None:
            raise ValueError(f"prices name {twice} more than once: keep one.")
        return self


class SafeLimits(Section):
    coil_floor: Temperature | None = Field(
        default=None, description="Least saturated suction allowed; 36 F if left out"
    )
    least_airflow_per_ton: AirflowPerTon | None = Field(
        default=None, description="Least airflow of a fixed tap; 300 cfm/ton if left out"
    )
    least_frequency: Frequency | None = Field(
        default=None, description="Least drive frequency the motor's maker allows; 30 Hz if left out"
    )


DriveMode: TypeAlias = Literal["drive_fault", "sensor_loss", "heat_call", "defrost", "leak_signal"]


class ProvenMode(Section):
    """What was seen on site when this happened, or was made to happen."""

    mode: DriveMode = Field(description="What was brought about")
    date: Day = Field(description="Day it was seen")
    airflow: Flow | None = Field(default=None, description="Airflow read in that mode")
    locked_out: bool | None = Field(default=None, description="Whether compressor and heat were seen locked out")

    @model_validator(mode="after")
    def _was_seen(self) -> Self:
        if self.airflow is None and self.locked_out is None:
            raise ValueError(
                f"mode {self.mode} needs airflow, or locked_out: write what was seen on {self.date}, or leave the mode out."
            )
        return self


class Drive(Section):
    """A drive on the existing motor: its card, how it was wired, and what was proven on site."""

    model: str | None = Field(default=None, description="What the papers call it")
    maker_approves: bool | None = Field(
        default=None,
        description="Whether its maker lists it for a single-phase PSC motor with the run capacitor in circuit",
    )
    rated_volts: Volts | None = Field(default=None, description="Volts on the drive's card")
    rated_amps: Amps | None = Field(default=None, description="Amps on the drive's card, single-phase motor")
    rated_ambient: Temperature | None = Field(
        default=None, description="Hottest surroundings at full amps, on its card"
    )
    derated_ambient: Temperature | None = Field(
        default=None, description="Hottest surroundings at the derated amps, on its card"
    )
    derated_amps: Amps | None = Field(default=None, description="Amps allowed at the derated surroundings")
    mounting: Literal["attic", "crawl_space", "inside", "outdoors", "unknown"] = Field(
        default="unknown", description="Where the drive hangs"
    )
    mounting_ambient: Temperature | None = Field(
        default=None, description="Hottest air there; by the place if left out (attic 140 F)"
    )
    protector_in_circuit: bool | None = Field(
        default=None, description="Whether the motor's thermal protector stays in circuit"
    )
    lead: str | None = Field(default=None, min_length=1, description="The one speed lead used, by colour or number")
    lead_approved: bool | None = Field(default=None, description="Whether the makers approve that lead for the drive")
    other_leads_capped: bool | None = Field(default=None, description="Whether every other lead is capped singly")
    modes: list[ProvenMode] = Field(default_factory=list, description="Modes proven on site")

    @model_validator(mode="after")
    def _agrees(self) -> Self:
        if (self.derated_ambient is None) != (self.derated_amps is None):
            raise ValueError("derated_ambient and derated_amps belong together: write both from the drive's card.")
        seen = [one.mode for one in self.modes]
        twice = next((mode for mode in seen if seen.count(mode) > 1), None)
        if twice is not None:
            raise ValueError(f"modes name {twice} more than once: keep the last test of it.")
        return self


class Job(Section):
    """The whole job file."""

    airtrim_job: Literal[1] = Field(description="Version of this form")
    name: str = Field(min_length=1, description="What the papers call the job")
    house: House
    system: System
    heat: Heat
    blower: Blower = Blower()
    ducts: Ducts = Ducts()
    thermostat: Thermostat
    habits: Habits = Habits()
    complaint: Complaint
    tariff: Tariff = Tariff()
    weather: WeatherChoice = WeatherChoice()
    readings: list[Readings] = Field(default_factory=list)
    instruments: list[Instrument] = Field(default_factory=list)
    options: ToConsider = ToConsider()
    safe_limits: SafeLimits = SafeLimits()
    drive: Drive = Drive()

    @model_validator(mode="after")
    def _taps_agree(self) -> Self:
        heat, blower = self.heat, self.blower
        taps = [heat.tap, *(stage.tap for stage in heat.stages)]
        known = [tap for tap in taps if tap is not None]
        if blower.taps is not None and any(tap > blower.taps for tap in known):
            raise ValueError(
                f"heat runs on tap {max(known)} but blower.taps is {blower.taps}: count the motor's speed leads again."
            )
        if heat.own_lead is False and any(tap != blower.tap_in_use for tap in known):
            raise ValueError(
                f"heat.own_lead is false, yet heat runs on tap {known[0]} and cooling on tap {blower.tap_in_use} "
                "(blower.tap_in_use): two taps need two leads, look at the wiring."
            )
        return self

    @property
    def tons(self) -> float:
        """Nominal tonnage of the outdoor unit."""
        return float(self.system.outdoor_size.si) / 3516.853
