"""A heat pump in heating: its condensing pressure, heat and power as indoor airflow moves.

    indoor coil   heat = flow x cp x (1 - exp(-UA / (flow cp))) x (condensing - entering),  UA = rated UA x (flow/rated)^x
    compressor    mass flow = displacement x volumetric efficiency x suction density; work of a polytropic compression over an
                  efficiency; nine tenths and more of the power goes into the gas
    outdoor coil  heat taken = conductance x (outdoor - evaporating)

Closed on the rating at 47 F outdoors and 70 F indoors: displacement, efficiency and both conductances are those that give the
rated heat, power, condensing and evaporating temperature there. Frost on the outdoor coil is not in the balance; it makes the
evaporating temperature fall, so that the pressures here are the high ones. Own derivation on refrigerant tables; condensing is
the bubble point, evaporating the dew point.

Range: evaporating -35 to 25 degC, condensing to 64 degC; NaN where the balance lies outside.
"""

from math import exp, log, nan
from typing import Any, Final, NamedTuple

from airtrim.core.errors import InputError, NoSolutionError
from airtrim.core.kernels import kernel
from airtrim.core.units import Quantity, to_si
from airtrim.physics.air.moist import pressure_at_altitude_pa
from airtrim.physics.refrigerant.saturation import (
    bubble_pressure_pa,
    dew_pressure_pa,
    liquid_enthalpy_j_kg,
    vapour_density_kg_m3,
    vapour_enthalpy_j_kg,
)
from airtrim.physics.refrigerant.table import Refrigerant, RefrigerantTable
from airtrim.physics.unit.heating import air_heat_capacity_j_kg_k

RATED_ENTERING_C: Final = (70.0 - 32.0) / 1.8
RATED_OUTDOOR_C: Final = (47.0 - 32.0) / 1.8
#: Superheat and subcooling held in heating, K (10 F each) [common-practice].
_SUPERHEAT_K, _SUBCOOLING_K = 10.0 / 1.8, 10.0 / 1.8
#: Exponent of the compression, clearance of the cylinder, and the part of the power lost from the shell [from-memory]; the
#: efficiency is closed on the rating, so that only how it moves with the pressures rests on them.
_POLYTROPIC, _CLEARANCE, _SHELL_LOSS = 1.15, 0.04, 0.07
_COLDEST_C, _WARMEST_SUCTION_C, _HOTTEST_C = -35.0, 25.0, 64.0
_STEPS = 44

#: Where the high-pressure switch opens, Pa gauge, least and greatest met [from-memory]: 610 to 650 psi for R-410A and R-32,
#: 550 to 620 psi for R-454B, 375 to 430 psi for R-22, 400 to 450 psi for R-407C, 260 to 300 psi for R-134a. The label governs.
_PSI = 6894.757
HIGH_PRESSURE_SWITCH_PA: Final = {
    "R-410A": (610.0 * _PSI, 650.0 * _PSI),
    "R-32": (610.0 * _PSI, 650.0 * _PSI),
    "R-454B": (550.0 * _PSI, 620.0 * _PSI),
    "R-22": (375.0 * _PSI, 430.0 * _PSI),
    "R-407C": (400.0 * _PSI, 450.0 * _PSI),
    "R-134a": (260.0 * _PSI, 300.0 * _PSI),
}


class HeatPump(NamedTuple):
    """A heat pump at its heating rating (70 F entering, 47 F outdoors, rated airflow).

    heat_w            heat to the air, W, blower apart; 1500 to 25,000
    power_w           compressor, W, both fans apart; heat / power 1.5 to 7
    rated_flow_kg_s   dry air over the indoor coil, kg/s
    condensing_td_k   condensing less entering air, K; more than the air's own rise; 15 to 35 (judgement)
    evaporating_td_k  outdoor less evaporating, K; 4 to 15 (judgement)
    air_exponent      x of the indoor conductance; 0.2 to 0.6
    """

    heat_w: float
    power_w: float
    rated_flow_kg_s: float
    condensing_td_k: float
    evaporating_td_k: float
    air_exponent: float


class HeatPumpClosure(NamedTuple):
    """Displacement m3/s, efficiency of compression, conductances W/K indoors (rated airflow) and outdoors."""

    displacement_m3_s: float
    efficiency: float
    indoor_w_k: float
    outdoor_w_k: float


class HeatPumpState(NamedTuple):
    """Heat W, compressor power W, condensing degC, condensing Pa absolute, evaporating degC, supply air degC, steps used."""

    heat_w: float
    power_w: float
    condensing_c: float
    condensing_pa: float
    evaporating_c: float
    supply_c: float
    steps: float


@kernel
def _per_displacement(table: RefrigerantTable, evaporating_c: float, condensing_c: float) -> tuple[float, float, float]:
    """(heat taken, heat to the gas per unit of power times power, work) for 1 m3/s of displacement and efficiency 1, W."""
    low, high = dew_pressure_pa(table, evaporating_c), bubble_pressure_pa(table, condensing_c)
    density = vapour_density_kg_m3(table, evaporating_c, _SUPERHEAT_K)
    ratio = high / low
    flow = density * (1.0 - _CLEARANCE * (ratio ** (1.0 / _POLYTROPIC) - 1.0))
    part = (_POLYTROPIC - 1.0) / _POLYTROPIC
    work = low / density / part * (ratio**part - 1.0)
    taken = vapour_enthalpy_j_kg(table, evaporating_c, _SUPERHEAT_K) - liquid_enthalpy_j_kg(
        table, condensing_c, _SUBCOOLING_K
    )
    return flow * taken, flow * work * (1.0 - _SHELL_LOSS), flow * work


@kernel
def heat_pump_closure(
    table: RefrigerantTable,
    heat_w: float,
    power_w: float,
    rated_flow_kg_s: float,
    condensing_td_k: float,
    evaporating_td_k: float,
) -> tuple[float, float, float, float]:
    """The fields of `HeatPumpClosure`; all NaN where the rating contradicts itself.

    It does where the air would leave warmer than the refrigerant condenses, or the compressor would beat a perfect one.
    """
    condensing, evaporating = RATED_ENTERING_C + condensing_td_k, RATED_OUTDOOR_C - evaporating_td_k
    if not (condensing <= _HOTTEST_C and evaporating >= _COLDEST_C and evaporating < condensing):
        return nan, nan, nan, nan
    taken, _, work = _per_displacement(table, evaporating, condensing)
    from_outdoors = heat_w - power_w * (1.0 - _SHELL_LOSS)
    displacement = from_outdoors / taken
    efficiency = displacement * work / power_w
    capacity = rated_flow_kg_s * air_heat_capacity_j_kg_k(0.0)
    left = 1.0 - heat_w / (capacity * condensing_td_k)
    if not (left > 0.0 and 0.0 < efficiency < 1.0 and from_outdoors > 0.0):
        return nan, nan, nan, nan
    return displacement, efficiency, -capacity * log(left), from_outdoors / evaporating_td_k


@kernel
def _evaporating_c(
    table: RefrigerantTable, closed: tuple[float, float, float, float], condensing_c: float, outdoor_c: float
) -> float:
    """Where the compressor takes what the outdoor coil gives, degC; NaN outside the range."""
    low, high = _COLDEST_C, min(outdoor_c, _WARMEST_SUCTION_C)
    if not high < condensing_c:
        high = condensing_c - 0.5
    if not low < high:
        return nan
    at_low = closed[0] * _per_displacement(table, low, condensing_c)[0] - closed[3] * (outdoor_c - low)
    at_high = closed[0] * _per_displacement(table, high, condensing_c)[0] - closed[3] * (outdoor_c - high)
    if not (at_low < 0.0 < at_high):
        return nan
    for _ in range(_STEPS):
        middle = 0.5 * (low + high)
        if closed[0] * _per_displacement(table, middle, condensing_c)[0] > closed[3] * (outdoor_c - middle):
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)


@kernel
def heat_pump_state(
    table: RefrigerantTable,
    closed: tuple[float, float, float, float],
    rated_flow_kg_s: float,
    air_exponent: float,
    flow_kg_s: float,
    entering_c: float,
    outdoor_c: float,
) -> tuple[float, float, float, float, float, float, float]:
    """The fields of `HeatPumpState` in balance, outdoor coil clear of frost; NaN outside the range."""
    if not flow_kg_s > 0.0:
        return nan, nan, nan, nan, nan, nan, 0.0
    capacity = flow_kg_s * air_heat_capacity_j_kg_k(0.0)
    conductance = closed[2] * (flow_kg_s / rated_flow_kg_s) ** air_exponent
    given = capacity * (1.0 - exp(-conductance / capacity))
    low, high = entering_c, _HOTTEST_C
    steps = 0.0
    for _ in range(_STEPS):
        condensing = 0.5 * (low + high)
        steps += 1.0
        evaporating = _evaporating_c(table, closed, condensing, outdoor_c)
        taken, warmed, _ = _per_displacement(table, evaporating, condensing)
        heat = closed[0] * (taken + warmed / closed[1])
        # without a balance outdoors the condensing pressure is too low, or there is none at all
        if evaporating != evaporating or heat > given * (condensing - entering_c):
            low = condensing
        else:
            high = condensing
    condensing = 0.5 * (low + high)
    evaporating = _evaporating_c(table, closed, condensing, outdoor_c)
    taken, warmed, work = _per_displacement(table, evaporating, condensing)
    heat = closed[0] * (taken + warmed / closed[1])
    if not condensing < _HOTTEST_C - 1e-6 or not abs(heat - given * (condensing - entering_c)) < 1e-6 * heat:
        return nan, nan, nan, nan, nan, nan, steps
    return (
        heat,
        closed[0] * work / closed[1],
        condensing,
        bubble_pressure_pa(table, condensing),
        evaporating,
        entering_c + heat / capacity,
        steps,
    )


def heating_closure(refrigerant: Refrigerant, unit: HeatPump) -> HeatPumpClosure:
    """The closure of a rating; raises `NoSolutionError` where it contradicts itself."""
    _needs_table(refrigerant)
    closed = HeatPumpClosure(*heat_pump_closure(refrigerant.table, *unit[:5]))
    if not closed.displacement_m3_s == closed.displacement_m3_s:
        raise NoSolutionError(
            f"A heat pump of {unit.heat_w:.0f} W with {unit.power_w:.0f} W at {unit.rated_flow_kg_s:.3f} kg/s cannot condense "
            f"{unit.condensing_td_k:.1f} K above the air it heats: check heat, power and rated airflow."
        )
    return closed


def heating_balance(refrigerant: Refrigerant, unit: HeatPump, flow: Any, entering: Any, outdoor: Any) -> HeatPumpState:
    """A heat pump's state in heating: `flow` a mass of dry air in time, both temperatures quantities; scalars.

    Flow 0.2 to 2 times the rated one, entering 10 to 30 degC, outdoor -25 to 24 degC. Raises `UnitError`, `OutOfRangeError`,
    and `NoSolutionError` where no balance lies below 64 degC of condensing.
    """
    closed: tuple[float, float, float, float] = heating_closure(refrigerant, unit)
    rated = unit.rated_flow_kg_s
    moved = float(to_si(flow, ("kg/s", 0.2 * rated, 2.0 * rated), "heating_balance: flow"))
    indoors = float(to_si(entering, ("degC", 10.0, 30.0), "heating_balance: entering"))
    outdoors = float(to_si(outdoor, ("degC", -25.0, 24.0), "heating_balance: outdoor"))
    state = HeatPumpState(
        *heat_pump_state(refrigerant.table, closed, rated, unit.air_exponent, moved, indoors, outdoors)
    )
    if not state.heat_w == state.heat_w:
        raise NoSolutionError(
            f"At {moved:.3f} kg/s this heat pump has no balance below {_HOTTEST_C:.0f} C of condensing: raise the airflow."
        )
    return state


def high_pressure_margin(refrigerant: Refrigerant, condensing: Any, switch: Any, altitude: Any) -> Any:
    """Gauge pressure left before the high-pressure switch opens (negative: it is open), as a quantity in Pa; scalars.

    `condensing` is the bubble temperature (to 64 degC), `switch` the gauge pressure on its label.
    """
    _needs_table(refrigerant)
    warm = float(to_si(condensing, ("degC", -20.0, _HOTTEST_C), "high_pressure_margin: condensing"))
    opens = float(to_si(switch, ("Pa", 0.5e6, 6.0e6), "high_pressure_margin: switch"))
    height = float(to_si(altitude, ("m", -500.0, 5000.0), "high_pressure_margin: altitude"))
    gauge = bubble_pressure_pa(refrigerant.table, warm) - pressure_at_altitude_pa(height)
    return Quantity(opens - gauge, "Pa")


def _needs_table(refrigerant: Refrigerant) -> None:
    if not isinstance(refrigerant, Refrigerant):
        raise InputError(
            f'The argument refrigerant must carry a table, got {refrigerant!r}: give airtrim.tables.refrigerant("R-410A").'
        )
