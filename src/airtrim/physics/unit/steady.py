"""The cooling unit in balance: what it does for entering air, outdoors and airflow; NaN where there is no state.

`unit_state` is what compiled loops use; `full_state` gives everything the loop knows; `working_state` is the checked face: named
fields, whether the range must be wider, and one sentence where physics ends. Parts and equations: closure.py, balance.py.

Air enters the coil at `return_c` and `humidity_ratio`; blower heat is not counted. Negative superheat is wet vapour coming back
to the compressor (1/40 of the mass a kelvin).

Trusted within 40 to 130 % of rated airflow, 60 to 115 F outdoors, 55 to 75 F wet bulb; beyond that a state is given as long as the
compressor stays in its envelope, and flagged.
"""

from math import nan
from typing import Final, NamedTuple

from airtrim.core.errors import NoSolutionError
from airtrim.core.kernels import kernel
from airtrim.physics.air.moist import wet_bulb_c
from airtrim.physics.coil.wet import bypass_factor, split_of_total
from airtrim.physics.unit.balance import (
    CONDENSING_HIGH,
    FINE,
    FLOODED,
    GREATEST_SUPERHEAT_K,
    HIGHEST_CONDENSING_C,
    LARGER,
    LEAST_RATIO,
    LEAST_SUPERHEAT_K,
    LOWEST_SUCTION_C,
    LOWEST_SURFACE_C,
    NO_AIR,
    NO_RATING,
    PRESSURES_CLOSE,
    STARVED,
    SUCTION_LOW,
    SURFACE_LOW,
    balance,
    greatest_valve_flow,
    loop_errors,
)
from airtrim.physics.unit.closure import (
    DROP,
    RATED_OUTDOOR_C,
    RATED_PRESSURE_PA,
    RATED_RETURN_C,
    RATED_WET_BULB_C,
    UNITS,
    Array,
    closure,
    coil_inlet_c,
    rating_closure,
)
from airtrim.physics.unit.fields import (
    AIR_EXPONENT,
    EXPANSION_VALVE,
    FAN_SHARE,
    FIXED_ORIFICE,
    METERING,
    POWER,
    RATED_FLOW,
    REFRIGERANT,
    SENSOR_PLACE,
    UNEVEN,
    UnitRow,
    complete_rows,
    whole_row,
)
from airtrim.physics.unit.properties import (
    dew_c_from_pressure,
    dew_pressure_pa,
    glide_k,
    liquid_enthalpy_j_kg,
    suction_density_kg_m3,
)

__all__ = [
    "EXPANSION_VALVE",
    "FIXED_ORIFICE",
    "RATED_OUTDOOR_C",
    "RATED_PRESSURE_PA",
    "RATED_RETURN_C",
    "RATED_WET_BULB_C",
    "WorkingState",
    "full_state",
    "rating_closure",
    "steady_state",
    "unit_state",
    "working_state",
]

#: Below this part of its greatest flow a valve is held to hunt: superheat swings about the set one, which is taken as its mean
#: [judgement: valves are named for 30 to 100 % of their flow].
HUNTING_PART = 0.30
TRUSTED_AIRFLOW = (0.40, 1.30)
TRUSTED_OUTDOOR_C = ((60.0 - 32.0) / 1.8, (115.0 - 32.0) / 1.8)
TRUSTED_WET_BULB_C = ((55.0 - 32.0) / 1.8, (75.0 - 32.0) / 1.8)


class WorkingState(NamedTuple):
    """A unit running steadily; W, degC, K, kg/s.

    `coil_inlet_c` is where the mean circuit starts to boil, `coldest_inlet_c` and `coldest_surface_c` belong to the circuit with
    the least air, `sensor_c` is what a sensor in the fins shows; `valve_opening` is 1 wide open (NaN for an orifice).
    """

    total_w: float
    sensible_w: float
    power_w: float
    suction_c: float
    surface_c: float
    superheat_k: float
    condensing_c: float
    subcooling_k: float
    coil_inlet_c: float
    coldest_inlet_c: float
    coldest_surface_c: float
    sensor_c: float
    refrigerant_kg_s: float
    valve_opening: float
    wider_range: bool
    hunting: bool

    @property
    def sensible_heat_ratio(self) -> float:
        return self.sensible_w / self.total_w


_HOLES: Final = (nan,) * 14


@kernel
def full_state(
    return_c: float,
    humidity_ratio: float,
    outdoor_c: float,
    flow_kg_s: float,
    pressure_pa: float,
    row: UnitRow,
    closed: Array,
) -> tuple[
    tuple[float, float, float, float, float, float, float, float, float, float, float, float, float, float], int, int
]:
    """(the first fourteen fields of `WorkingState`, evaluations, reason of balance.py); `closed` is the row's `closure`."""
    if not flow_kg_s > 0.0:
        return _HOLES, 0, NO_AIR
    touched = flow_kg_s * (1.0 - bypass_factor(flow_kg_s, row[RATED_FLOW], closed[UNITS], row[AIR_EXPONENT]))
    surface, suction, condensing, superheat, evaluations, reason = balance(
        return_c, humidity_ratio, outdoor_c, touched, pressure_pa, closed, row, LARGER
    )
    if reason != FINE:
        return _HOLES, evaluations, reason
    _, _, _, _, total, power, flow, subcooling, inlet = loop_errors(
        surface, suction, condensing, superheat, return_c, humidity_ratio, outdoor_c, touched, pressure_pa, closed, row, LARGER
    )  # fmt: skip
    sensible, _ = split_of_total(total, return_c, humidity_ratio, touched, pressure_pa)
    code = int(row[REFRIGERANT])
    least = 1.0 - row[UNEVEN]
    low = dew_pressure_pa(code, suction)
    drop = closed[DROP] * flow**1.8 / suction_density_kg_m3(code, suction, 0.0)
    bubble = condensing - glide_k(code, condensing)
    coldest = coil_inlet_c(
        code,
        dew_c_from_pressure(code, low + drop * least**1.8) if drop > 0.0 else suction,
        liquid_enthalpy_j_kg(code, bubble, subcooling),
    )
    opening = nan
    if row[METERING] == EXPANSION_VALVE:
        opening = flow / greatest_valve_flow(subcooling, suction, condensing, closed, row)
    return (
        (
            total,
            sensible,
            power + row[FAN_SHARE] * row[POWER],
            suction,
            surface,
            superheat,
            condensing,
            subcooling,
            inlet,
            coldest,
            coldest + least * (surface - 0.5 * (inlet + suction)),
            suction + row[SENSOR_PLACE] * (surface - suction),
            flow,
            opening,
        ),
        evaluations,
        reason,
    )


@kernel
def unit_state(
    return_c: float, humidity_ratio: float, outdoor_c: float, flow_kg_s: float, pressure_pa: float, unit_row: UnitRow
) -> tuple[float, float, float, float, float, float, int]:
    """(total W, sensible W, compressor and outdoor fan W, saturated suction degC, mean surface degC, superheat K, evaluations).

    `unit_row` is a row of UNIT_FIELDS, whole or its first columns; those left out are neutral.
    """
    row = whole_row(unit_row)
    found, evaluations, _ = full_state(return_c, humidity_ratio, outdoor_c, flow_kg_s, pressure_pa, row, closure(row))
    return found[0], found[1], found[2], found[3], found[4], found[5], evaluations


@kernel
def steady_state(
    return_c: float, humidity_ratio: float, outdoor_c: float, flow_kg_s: float, pressure_pa: float, unit_row: UnitRow
) -> tuple[float, float, float, float, float, int]:
    """As `unit_state` without the superheat."""
    total, sensible, power, suction, surface, _, steps = unit_state(
        return_c, humidity_ratio, outdoor_c, flow_kg_s, pressure_pa, unit_row
    )
    return total, sensible, power, suction, surface, steps


def working_state(
    return_c: float, humidity_ratio: float, outdoor_c: float, flow_kg_s: float, pressure_pa: float, unit_row: UnitRow
) -> WorkingState:
    """The unit's state with every field; raises NoSolutionError with the bound that is left where there is none.

    `wider_range` is true outside the trusted envelope (module head), `hunting` where a valve works below 30 % of its flow.
    """
    row = complete_rows(unit_row)[0]
    closed = rating_closure(row)
    found, _, reason = full_state(return_c, humidity_ratio, outdoor_c, flow_kg_s, pressure_pa, row, closed)
    if reason != FINE:
        raise NoSolutionError(_sentence(reason, return_c, humidity_ratio, outdoor_c, flow_kg_s))
    flow = flow_kg_s / row[RATED_FLOW]
    wet_bulb = wet_bulb_c(return_c, humidity_ratio, pressure_pa)
    trusted = all(
        low - 1e-9 <= value <= high + 1e-9
        for value, (low, high) in (
            (flow, TRUSTED_AIRFLOW),
            (outdoor_c, TRUSTED_OUTDOOR_C),
            (wet_bulb, TRUSTED_WET_BULB_C),
        )
    )
    return WorkingState(*found, not trusted, bool(found[13] < HUNTING_PART))


def _sentence(reason: int, return_c: float, humidity_ratio: float, outdoor_c: float, flow_kg_s: float) -> str:
    place = (
        f"The cooling unit has no steady state at {return_c:.1f} C and {1000.0 * humidity_ratio:.1f} g/kg return air, "
        f"{outdoor_c:.1f} C outdoors and {flow_kg_s:.3f} kg/s of air: "
    )
    why = {
        NO_AIR: "airflow must be above zero and every value a number; give the air that crosses the coil.",
        NO_RATING: "its rating contradicts itself; check capacity, coil difference and airflow.",
        SUCTION_LOW: f"saturated suction leaves the compressor's envelope at {LOWEST_SUCTION_C:.0f} C; give it more or "
        "warmer air.",
        CONDENSING_HIGH: f"condensing leaves the compressor's envelope at {HIGHEST_CONDENSING_C:.1f} C; it is too hot "
        "outdoors or the condenser too dirty.",
        SURFACE_LOW: f"the coil's mean surface falls below {LOWEST_SURFACE_C:.0f} C; give it more or warmer air.",
        STARVED: f"superheat passes {GREATEST_SUPERHEAT_K:.0f} K; the metering device feeds too little, check charge and "
        "device.",
        FLOODED: f"superheat falls below {LEAST_SUPERHEAT_K:.0f} K, liquid floods the compressor; the metering device "
        "feeds too much for so little load.",
        PRESSURES_CLOSE: f"condensing pressure is less than {LEAST_RATIO:.1f} times suction pressure; it is too cool "
        "outdoors for this load.",
    }
    return place + why.get(reason, "the loop's equations have no common solution; check airflow, charge and dirt.")
