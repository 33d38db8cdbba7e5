"""Values with a unit as the job file has them: what each is checked for and how it is written."""

from typing import TYPE_CHECKING, TypeAlias

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
    Shift: TypeAlias = Measured
    Fraction: TypeAlias = Measured
    Time: TypeAlias = Measured
    Water: TypeAlias = Measured
    Amps: TypeAlias = Measured
    Volts: TypeAlias = Measured
    Capacitance: TypeAlias = Measured
    Leak: TypeAlias = Measured
    AirflowPerTon: TypeAlias = Measured
    Frequency: TypeAlias = Measured
    HotTemperature: TypeAlias = Measured
    Altitude: TypeAlias = Measured
    Rate: TypeAlias = Measured
    Speed: TypeAlias = Measured
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
    Shift = field("delta_degC", -15.0, 15.0, "3 F")
    Fraction = field("", 0.0, 1.0, "55 %")
    Time = field("s", 0.0, 3600.0, "60 s")
    Water = field("kg/s", 0.0, 0.01, "6 kg/day")
    Amps = field("A", 0.0, 60.0, "3.9 A")
    Volts = field("V", 80.0, 300.0, "238 V")
    Capacitance = field("F", 1e-7, 1e-4, "7.5 uF")
    Leak = field("m**3/s", 0.05, 10.0, "2400 cfm")
    AirflowPerTon = field("m**3/s/W", 1e-5, 1e-3, "350 cfm/ton")
    Frequency = field("Hz", 5.0, 60.0, "30 Hz")
    HotTemperature = field("degC", 30.0, 150.0, "150 F")
    Altitude = field("m", -100.0, 4000.0, "890 ft")
    Rate = field("", 0.0, 0.2, "3 %")
    Speed = field("rpm", 600.0, 3590.0, "1075 rpm")
