"""What stands in the house: cooling system, heat and blower, by their plates, labels and makers' tables."""

from typing import Literal, Self

from pydantic import Field, field_validator, model_validator

from airtrim.job.fields import (
    Amps,
    Capacitance,
    Difference,
    Flow,
    Fraction,
    HighPressure,
    HotTemperature,
    Power,
    Pressure,
    Size,
    Speed,
    Volts,
)
from airtrim.job.measured import Section
from airtrim.job.performance import performance_row


class System(Section):
    outdoor_size: Size = Field(description="Tonnage on the outdoor unit's plate")
    coil_size: Size = Field(description="Tonnage on the coil's plate")
    replaced_size: Size | None = Field(
        default=None, description="Tonnage of the unit before this one, where it was another size"
    )
    refrigerant: Literal["R-22", "R-410A", "R-32", "R-454B", "R-407C", "R-134a", "unknown"] = Field(
        default="unknown", description="On the outdoor unit's plate"
    )
    metering_device: Literal["fixed_orifice", "expansion_valve", "unknown"] = Field(
        default="unknown", description="At the coil; unknown: both are considered"
    )
    stages: int = Field(default=1, ge=1, le=2, description="Cooling stages of the outdoor unit")
    year: int | None = Field(default=None, ge=1950, le=2100, description="Year made; sets the efficiency assumed")
    least_listed_airflow: Flow | None = Field(
        default=None, description="Least airflow the maker lists for this match, leak mitigation included"
    )
    seer: float | None = Field(default=None, ge=6.0, le=26.0, description="SEER on the label, Btu/Wh")
    eer: float | None = Field(default=None, ge=5.0, le=15.0, description="EER on the label, Btu/Wh")
    performance: list[str] = Field(
        default_factory=list,
        description="Rows of the maker's extended table for this match of coil and outdoor unit, 5 or more, each one text: "
        "airflow, entering wet-bulb, entering dry-bulb, outdoor, total, sensible, power of compressor and outdoor fan, such as "
        '"1200 cfm, 67 F, 80 F, 95 F, 36.2 kBtu/h, 27.1 kBtu/h, 2.9 kW"; capacities before blower heat',
    )
    plate_subcooling: Difference | None = Field(default=None, description="Subcooling on the outdoor unit's plate")
    drain_trap: bool | None = Field(default=None, description="Whether the drain has a trap that holds water")
    float_switch: bool | None = Field(default=None, description="Whether a float switch stops an overflow")

    @field_validator("performance")
    @classmethod
    def _rows_are_rows(cls, rows: list[str]) -> list[str]:
        for number, text in enumerate(rows, start=1):
            performance_row(text, number)
        return rows

    @model_validator(mode="after")
    def _label_agrees(self) -> Self:
        if self.seer is not None and self.eer is not None and self.eer > self.seer:
            raise ValueError(
                f"eer {self.eer:g} above seer {self.seer:g} cannot be: read the label again, they may be swapped."
            )
        return self


class HeatStage(Section):
    kind: Literal["electric_strip", "furnace", "heat_pump"] = Field(description="What this stage is")
    power: Power = Field(description="Heat given to the air by this stage")
    tap: int | None = Field(default=None, ge=1, le=8, description="Blower tap while it runs; 1 is the fastest")


class Heat(Section):
    kind: Literal["electric_strip", "furnace", "heat_pump", "none", "unknown"] = Field(
        description="Unknown: findings and options, but no setting"
    )
    strip_power: Power | None = Field(default=None, description="All electric strips together")
    stages: list[HeatStage] = Field(default_factory=list, description="Every heating stage, in the order they come on")
    least_airflow: Flow | None = Field(default=None, description="Least airflow on the heater's plate")
    furnace_output: Power | None = Field(default=None, description="Output on the furnace's plate, high fire")
    greatest_rise: Difference | None = Field(default=None, description="Greatest temperature rise on the plate")
    least_rise: Difference | None = Field(default=None, description="Least temperature rise on the plate")
    defrost: Literal["none", "by_time", "on_demand", "unknown"] = Field(
        default="unknown", description="How a heat pump defrosts"
    )
    strip_in_defrost: bool | None = Field(default=None, description="Whether strips come on while it defrosts")
    tap: int | None = Field(default=None, ge=1, le=8, description="Blower tap in heat; 1 is the fastest")
    own_lead: bool | None = Field(
        default=None, description="Whether heat has a speed lead of its own, left alone when the cooling lead is moved"
    )
    rise_read: Difference | None = Field(
        default=None, description="Temperature rise read in heat as it now runs, all stages on"
    )
    furnace_input: Power | None = Field(default=None, description="Input on the furnace's plate, high fire")
    efficiency: Fraction | None = Field(default=None, description="Steady efficiency of the furnace")
    condensing: bool | None = Field(default=None, description="Whether the furnace is made to condense")
    limit_temperature: HotTemperature | None = Field(
        default=None, description="Where the limit switch opens, on its label"
    )
    heat_pump_output: Power | None = Field(default=None, description="Heat of the heat pump alone at 47 F outdoors")
    high_pressure_switch: HighPressure | None = Field(
        default=None, description="Gauge pressure at which the high-pressure switch opens, on its label"
    )

    @model_validator(mode="after")
    def _agrees(self) -> Self:
        least, greatest = self.least_rise, self.greatest_rise
        if least is not None and greatest is not None and least.si >= greatest.si:
            raise ValueError(
                f'least_rise "{least.text}" is not below greatest_rise "{greatest.text}": read the plate again, the two may be '
                "swapped."
            )
        given, burned = self.furnace_output, self.furnace_input
        if given is not None and burned is not None and given.si > burned.si:
            raise ValueError(
                f'furnace_output "{given.text}" is above furnace_input "{burned.text}", which cannot be: read the plate again.'
            )
        if self.efficiency is not None and self.efficiency.si < 0.5:
            raise ValueError(
                f'efficiency "{self.efficiency.text}" is below 50 %, which no furnace has: write it like "80 %".'
            )
        return self


class FanRow(Section):
    tap: int = Field(ge=1, le=8, description="1 is the fastest")
    static: Pressure = Field(description="External static pressure of the row")
    airflow: Flow = Field(description="Airflow in the row")


class Blower(Section):
    motor: Literal[
        "psc", "constant_torque", "constant_airflow", "capacitor_start", "split_phase", "shaded_pole", "unknown"
    ] = Field(default="psc", description="Kind of motor; unknown counts as PSC until somebody looks")
    taps: int | None = Field(default=None, ge=1, le=8, description="How many speed taps the motor has")
    tap_in_use: int = Field(default=1, ge=1, le=8, description="1 is the fastest")
    horsepower: float | None = Field(default=None, ge=0.05, le=2.0, description="On the motor's plate, hp")
    nameplate_amps: Amps | None = Field(default=None, description="Full-load amps on the plate")
    nameplate_volts: Volts | None = Field(default=None, description="Volts on the plate")
    nameplate_rpm: Speed | None = Field(default=None, description="Full-load speed on the plate; 1075 rpm if left out")
    run_capacitor: Capacitance | None = Field(default=None, description="On the capacitor's label")
    capacitor_read: Capacitance | None = Field(
        default=None, description="The same capacitor by a meter: power off, discharged, leads off"
    )
    speed_control: Literal["none", "reduced_voltage", "frequency"] = Field(
        default="none", description="A control that slows the motor already, ahead of its tap"
    )
    bearing: Literal["sleeve", "ball", "unknown"] = Field(default="unknown", description="Unknown counts as sleeve")
    fan_table: list[FanRow] = Field(default_factory=list, description="Rows of the maker's fan table")
