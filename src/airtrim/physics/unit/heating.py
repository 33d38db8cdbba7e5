"""Electric strips and furnaces: what their heat does to the air, and the airflow they need.

    rise = heat / (flow x (1006 + 1860 x humidity ratio)),   flow in kg/s of dry air

A volume of air carries less at altitude: the public functions turn a volume at the state given into dry air by the moist-air
equations. Blower heat counts as heat where the motor lies between the thermometers: add it to `heat`.

The trade's 1.08 x cfm x rise (Btu/h) is the same with 0.075 lb/ft3 and 0.24 Btu/(lb F) [common-practice]. What the plate says
governs; the limits named here stand in where nothing was read.
"""

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from airtrim.core.kernels import inline_kernel, kernel, over_arrays
from airtrim.core.units import si_gate
from airtrim.physics.air.moist import specific_volume_m3_kg

Array = NDArray[np.float64]

#: Greatest rise over electric strips where no plate was read, K (50 F) [from-memory].
USUAL_STRIP_RISE_K: Final = 50.0 / 1.8
#: Where the limit switch of electric strips opens, degC (120 to 170 F), and of a furnace (140 to 220 F) [from-memory]; air
#: leaves a heater unevenly, which the width of these ranges is meant to hold.
STRIP_LIMIT_C: Final = ((120.0 - 32.0) / 1.8, (170.0 - 32.0) / 1.8)
FURNACE_LIMIT_C: Final = ((140.0 - 32.0) / 1.8, (220.0 - 32.0) / 1.8)
#: From this efficiency a furnace condenses by design [common-practice].
CONDENSING_EFFICIENCY: Final = 0.90
#: Gas input given up per metre above sea level where the burner was not changed, and from where on: 4 % per 1000 ft, counted
#: from the sea, above 2000 ft [from-memory]; the plate or the local gas authority governs.
DERATING_PER_M: Final = 0.04 / 304.8
DERATING_FROM_M: Final = 609.6

#: Where a rise lies against the plate's band.
TOO_MUCH_AIR, WITHIN_BAND, TOO_LITTLE_AIR = -1.0, 0.0, 1.0

_NAN = float("nan")


@inline_kernel
def air_heat_capacity_j_kg_k(humidity_ratio: float) -> float:
    """Heat capacity of moist air per kilogram of dry air, J/(kg K) [ashrae2017]."""
    return 1006.0 + 1860.0 * humidity_ratio


@inline_kernel
def temperature_rise_k(heat_w: float, flow_kg_s: float, humidity_ratio: float) -> float:
    """Rise of air of `flow_kg_s` that takes up `heat_w`, K; NaN where no air moves."""
    if not flow_kg_s > 0.0:
        return _NAN
    return heat_w / (flow_kg_s * air_heat_capacity_j_kg_k(humidity_ratio))


@inline_kernel
def flow_for_rise_kg_s(heat_w: float, rise_k: float, humidity_ratio: float) -> float:
    """Dry air that takes up `heat_w` in a rise of `rise_k`, kg/s; NaN where nothing rises.

    At the greatest rise allowed this is the least airflow, at the least rise allowed the greatest.
    """
    if not rise_k > 0.0:
        return _NAN
    return heat_w / (rise_k * air_heat_capacity_j_kg_k(humidity_ratio))


@inline_kernel
def element_heat_w(plate_w: float, plate_v: float, volts_v: float) -> float:
    """Heat of a resistance at `volts_v`, W: it goes with the square of voltage (printed instructions disagree)."""
    if not plate_v > 0.0:
        return _NAN
    ratio = volts_v / plate_v
    return plate_w * ratio * ratio


@kernel
def stage_heats_w(elements_w: Array) -> Array:
    """Heat with the first, the first two, ... elements on, W; `[n]` in and out."""
    heats = np.empty_like(elements_w)
    total = 0.0
    for index in range(elements_w.shape[0]):
        total += elements_w[index]
        heats[index] = total
    return heats


@inline_kernel
def least_strip_flow_kg_s(heat_w: float, greatest_rise_k: float, listed_kg_s: float, humidity_ratio: float) -> float:
    """Least airflow over electric strips, kg/s: the maker's, or that of the greatest rise where it is the larger.

    `listed_kg_s` is 0 where no plate lists one.
    """
    by_rise = flow_for_rise_kg_s(heat_w, greatest_rise_k, humidity_ratio)
    return listed_kg_s if listed_kg_s > by_rise else by_rise + 0.0 * listed_kg_s


@inline_kernel
def limit_trip_share(outlet_c: float, opens_low_c: float, opens_high_c: float) -> float:
    """Chance that a limit switch opens at this outlet, 0 to 1, its opening being even anywhere between low and high."""
    if outlet_c <= opens_low_c:
        return 0.0
    if outlet_c >= opens_high_c:
        return 1.0
    return (outlet_c - opens_low_c) / (opens_high_c - opens_low_c)


@inline_kernel
def heat_held_by_limit_w(flow_kg_s: float, entering_c: float, opens_c: float, humidity_ratio: float) -> float:
    """Mean heat that a limit switch lets through when it cycles at `opens_c`, W: more than this cannot be delivered."""
    return flow_kg_s * air_heat_capacity_j_kg_k(humidity_ratio) * (opens_c - entering_c)


@inline_kernel
def furnace_output_w(input_w: float, efficiency: float, stage_part: float) -> float:
    """Heat to the air of a furnace burning `stage_part` of `input_w`, W."""
    return input_w * stage_part * efficiency


@inline_kernel
def altitude_input_part(altitude_m: float) -> float:
    """Part of its sea-level input that an unchanged gas burner may burn: 1 up to 2000 ft, then 4 % less per 1000 ft."""
    if altitude_m <= DERATING_FROM_M:
        return 1.0
    return 1.0 - DERATING_PER_M * altitude_m


@inline_kernel
def rise_place(rise_k: float, least_rise_k: float, greatest_rise_k: float) -> float:
    """Where a rise lies: `TOO_MUCH_AIR` (a furnace that is not made to condense may), `WITHIN_BAND`, `TOO_LITTLE_AIR` (trips)."""
    if rise_k < least_rise_k:
        return TOO_MUCH_AIR
    if rise_k > greatest_rise_k:
        return TOO_LITTLE_AIR
    return WITHIN_BAND + 0.0 * (rise_k + least_rise_k + greatest_rise_k)


@inline_kernel
def defrost_supply_c(
    entering_c: float, flow_kg_s: float, strip_w: float, taken_w: float, humidity_ratio: float
) -> float:
    """Supply air while a heat pump defrosts, degC: reversed it takes `taken_w` from the air, and strips give `strip_w`."""
    return entering_c + temperature_rise_k(strip_w - taken_w, flow_kg_s, humidity_ratio)


@inline_kernel
def _dry_air_kg_s(airflow_m3_s: float, temperature_c: float, humidity_ratio: float, pressure_pa: float) -> float:
    return airflow_m3_s / specific_volume_m3_kg(temperature_c, humidity_ratio, pressure_pa)


@inline_kernel
def _rise_of_volume_k(
    heat_w: float, airflow_m3_s: float, temperature_c: float, humidity_ratio: float, pressure_pa: float
) -> float:
    flow = _dry_air_kg_s(airflow_m3_s, temperature_c, humidity_ratio, pressure_pa)
    return temperature_rise_k(heat_w, flow, humidity_ratio)


@inline_kernel
def _volume_for_rise_m3_s(
    heat_w: float, rise_k: float, temperature_c: float, humidity_ratio: float, pressure_pa: float
) -> float:
    volume = specific_volume_m3_kg(temperature_c, humidity_ratio, pressure_pa)
    return flow_for_rise_kg_s(heat_w, rise_k, humidity_ratio) * volume


@inline_kernel
def _heat_of_rise_w(
    airflow_m3_s: float, rise_k: float, temperature_c: float, humidity_ratio: float, pressure_pa: float
) -> float:
    flow = _dry_air_kg_s(airflow_m3_s, temperature_c, humidity_ratio, pressure_pa)
    return flow * rise_k * air_heat_capacity_j_kg_k(humidity_ratio)


# The checked face: quantities in and out, whole arrays.

SOURCE = "common-practice"
HEAT = ("W", 0.0, 100000.0)
AIRFLOW = ("m**3/s", 0.01, 3.0)
RISE = ("delta_degC", 0.5, 100.0)
TEMPERATURE = ("degC", -20.0, 60.0)
RATIO = ("", 0.0, 0.05)
PRESSURE = ("Pa", 50000.0, 110000.0)
VOLTS = ("V", 80.0, 300.0)


def _whole(function: Any, *values: Any) -> Any:
    return over_arrays(function)(*(np.asarray(value, dtype=np.float64) for value in values))


@si_gate(
    heat=HEAT,
    airflow=AIRFLOW,
    temperature=TEMPERATURE,
    humidity_ratio=RATIO,
    pressure=PRESSURE,
    returns="delta_degC",
    source=SOURCE,
)
def temperature_rise(heat: Any, airflow: Any, temperature: Any, humidity_ratio: Any, pressure: Any) -> Any:
    """Rise of air over a heater; `airflow` is the volume at `temperature`, `humidity_ratio` and `pressure`."""
    return _whole(_rise_of_volume_k, heat, airflow, temperature, humidity_ratio, pressure)


@si_gate(
    heat=HEAT,
    rise=RISE,
    temperature=TEMPERATURE,
    humidity_ratio=RATIO,
    pressure=PRESSURE,
    returns="m**3/s",
    source=SOURCE,
)
def airflow_for_rise(heat: Any, rise: Any, temperature: Any, humidity_ratio: Any, pressure: Any) -> Any:
    """Airflow over a heater by its rise: the least at the greatest rise allowed, the greatest at the least, or as read."""
    return _whole(_volume_for_rise_m3_s, heat, rise, temperature, humidity_ratio, pressure)


@si_gate(
    airflow=AIRFLOW,
    rise=RISE,
    temperature=TEMPERATURE,
    humidity_ratio=RATIO,
    pressure=PRESSURE,
    returns="W",
    source=SOURCE,
)
def heat_of_rise(airflow: Any, rise: Any, temperature: Any, humidity_ratio: Any, pressure: Any) -> Any:
    """Heat given to the air, from airflow and rise."""
    return _whole(_heat_of_rise_w, airflow, rise, temperature, humidity_ratio, pressure)


@si_gate(plate_heat=HEAT, plate_volts=VOLTS, volts=VOLTS, returns="W", source=SOURCE)
def element_heat(plate_heat: Any, plate_volts: Any, volts: Any) -> Any:
    """Heat of an electric element at the volts it gets."""
    return _whole(element_heat_w, plate_heat, plate_volts, volts)


@si_gate(input=HEAT, efficiency=("", 0.5, 1.0), stage_part=("", 0.1, 1.0), returns="W", source=SOURCE)
def furnace_output(input: Any, efficiency: Any, stage_part: Any) -> Any:
    """Heat to the air of a furnace; `input` is at the burner, as clocked at the meter, of full fire."""
    return _whole(furnace_output_w, input, efficiency, stage_part)


@si_gate(altitude=("m", -500.0, 3500.0), returns="", source="from-memory")
def furnace_input_at_altitude(altitude: Any) -> Any:
    """Part of the sea-level input an unchanged gas burner may burn."""
    return _whole(altitude_input_part, altitude)


@si_gate(
    outlet=("degC", -20.0, 200.0),
    opens_low=("degC", 30.0, 150.0),
    opens_high=lambda given: ("degC", given["opens_low"], 150.0),
    returns="",
    source="own-derivation",
)
def chance_of_limit_trip(outlet: Any, opens_low: Any, opens_high: Any) -> Any:
    """Chance that the limit switch opens at this outlet air, from the range in which such switches open."""
    return _whole(limit_trip_share, outlet, opens_low, opens_high)
