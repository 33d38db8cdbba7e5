"""One house, one system, one complaint: the job file's sections as checked models."""

from typing import TYPE_CHECKING, Literal, TypeAlias

from pydantic import BaseModel, ConfigDict, Field

from airtrim.job.measured import Measured, field

if TYPE_CHECKING:
    Area: TypeAlias = Measured
    Length: TypeAlias = Measured
    Size: TypeAlias = Measured
    Power: TypeAlias = Measured
    Flow: TypeAlias = Measured
    Pressure: TypeAlias = Measured
    HighPressure: TypeAlias = Measured
    Temperature: TypeAlias = Measured
    Difference: TypeAlias = Measured
    Fraction: TypeAlias = Measured
    Time: TypeAlias = Measured
    Water: TypeAlias = Measured
    Amps: TypeAlias = Measured
    Volts: TypeAlias = Measured
    Capacitance: TypeAlias = Measured
    Leak: TypeAlias = Measured
else:
    Area = field("m**2", 10.0, 2000.0, "1650 ft2")
    Length = field("m", 1.5, 6.0, "8 ft")
    Size = field("W", 1500.0, 25000.0, "3 tons")
    Power = field("W", 0.0, 60000.0, "10 kW")
    Flow = field("m**3/s", 0.01, 2.0, "1200 cfm")
    Pressure = field("Pa", 0.0, 1000.0, "0.62 inH2O")
    HighPressure = field("Pa", 0.0, 6.0e6, "130 psi")
    Temperature = field("degC", -40.0, 80.0, "75 F")
    Difference = field("delta_degC", 0.0, 80.0, "45 F")
    Fraction = field("", 0.0, 1.0, "55 %")
    Time = field("s", 0.0, 3600.0, "60 s")
    Water = field("kg/s", 0.0, 0.01, "6 kg/day")
    Amps = field("A", 0.0, 60.0, "3.9 A")
    Volts = field("V", 80.0, 300.0, "238 V")
    Capacitance = field("F", 1e-7, 1e-4, "7.5 uF")
    Leak = field("m**3/s", 0.05, 10.0, "2400 cfm")


class Section(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class House(Section):
    place: str = Field(description="Town and state, for the papers")
    floor_area: Area
    year_built: int = Field(ge=1700, le=2100)
    storeys: float = Field(default=1.0, ge=1.0, le=3.0)
    ceiling_height: Length | None = None
    bedrooms: int | None = Field(default=None, ge=0, le=15)
    people: int | None = Field(default=None, ge=0, le=30)
    blower_door_at_50_pa: Leak | None = None
    combustion_appliances: str | None = None


class System(Section):
    outdoor_size: Size
    coil_size: Size
    refrigerant: Literal["R-22", "R-410A", "R-32", "R-454B", "R-407C", "R-134a", "unknown"] = "unknown"
    metering_device: Literal["fixed_orifice", "expansion_valve", "unknown"] = "unknown"
    year: int | None = Field(default=None, ge=1950, le=2100)
    least_listed_airflow: Flow | None = None
    drain_trap: bool | None = None
    float_switch: bool | None = None


class Heat(Section):
    kind: Literal["electric_strip", "furnace", "heat_pump", "none", "unknown"]
    strip_power: Power | None = None
    stages: list[Power] = Field(default_factory=list)
    least_airflow: Flow | None = None
    furnace_output: Power | None = None
    greatest_rise: Difference | None = None
    least_rise: Difference | None = None
    defrost: str | None = None


class FanRow(Section):
    tap: int = Field(ge=1, le=8)
    static: Pressure
    airflow: Flow


class Blower(Section):
    motor: Literal["psc", "unknown"] = "psc"
    taps: int = Field(default=3, ge=1, le=8)
    tap_in_use: int = Field(default=1, ge=1, le=8, description="1 is the fastest")
    horsepower: float | None = Field(default=None, ge=0.05, le=2.0)
    nameplate_amps: Amps | None = None
    run_capacitor: Capacitance | None = None
    fan_table: list[FanRow] = Field(default_factory=list)


class Ducts(Section):
    place: Literal["attic", "crawl_space", "inside", "unknown"] = "attic"
    return_leak: Fraction | None = None
    supply_leak: Fraction | None = None
    filter_size: str | None = None
    cabinet_leakage: str | None = None
    zones: str | None = None
    bypass_damper: bool | None = None


class Thermostat(Section):
    set_point: Temperature
    fan: Literal["auto", "on"]
    coldest_set_point: Temperature | None = None
    heating_set_point: Temperature | None = None
    off_delay: Time | None = None
    humidity_terminals: bool | None = None
    overcool_limit: Difference | None = None
    set_backs: str | None = None


class Habits(Section):
    moisture: Water | None = None
    outdoor_air: Flow | None = None
    exhausts: str | None = None


class Complaint(Section):
    kinds: list[Literal["damp", "noise", "uneven", "cost", "icing"]] = Field(min_length=1)
    season: Literal["spring", "summer", "autumn", "winter", "all_year", "unknown"] = "unknown"
    relative_humidity: Fraction | None = None
    words: str | None = None


class Tariff(Section):
    price_per_kwh: float | None = Field(default=None, gt=0.0, le=5.0)
    currency: str = "USD"


class WeatherChoice(Section):
    file: str = Field(default="greensboro-nc", description="greensboro-nc, miami-fl, or an EPW, TMY3 or TMY2 file")


class Readings(Section):
    """What was read with the system settled, on the present tap."""

    id: str | None = None
    airflow: Flow | None = None
    airflow_uncertainty: Fraction | None = None
    total_external_static: Pressure | None = None
    return_dry_bulb: Temperature | None = None
    return_wet_bulb: Temperature | None = None
    supply_dry_bulb: Temperature | None = None
    supply_wet_bulb: Temperature | None = None
    outdoor_dry_bulb: Temperature | None = None
    saturated_suction: Temperature | None = None
    blower_power: Power | None = None
    suction_pressure: HighPressure | None = None
    superheat: Difference | None = None
    return_place: Literal["coil", "grille", "unknown"] = "unknown"


class SafeLimits(Section):
    coil_floor: Temperature | None = None
    least_airflow_per_ton: Flow | None = None


class Job(Section):
    """The whole job file."""

    airtrim_job: Literal[1]
    name: str = Field(min_length=1)
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
    safe_limits: SafeLimits = SafeLimits()

    @property
    def tons(self) -> float:
        """Nominal tonnage of the outdoor unit."""
        return float(self.system.outdoor_size.si) / 3516.853
