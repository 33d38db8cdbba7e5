"""Saturated temperatures, superheat and subcooling of one point, from gauges and clamps, with their uncertainty."""

from dataclasses import dataclass

from airtrim.job.measured import Measured
from airtrim.physics.refrigerant import saturation
from airtrim.physics.refrigerant.table import SUBCOOLING_REACH_K, SUPERHEAT_REACH_K, RefrigerantTable
from airtrim.physics.unit.compressor import map_mass_flow_kg_s
from airtrim.tables import refrigerant
from airtrim.work.readings.point import RECTANGULAR, Point, finite
from airtrim.work.readings.uncertain import Uncertain, carried

#: A saturated temperature or a superheat that was read off without its pressure, K, limit each way: the gauge's 3.5 psi on R-22.
READ_OFF_K = 2.4 / 1.8
#: Where a unit's capacity is rated, and its compressor's state there, degC and K [from-memory]: makers' suction data give 49 to
#: 53 F saturated at 80/67 F indoors, 95 F outdoors.
RATED_SUCTION_C, RATED_CONDENSING_C, RATED_SUPERHEAT_K, RATED_SUBCOOLING_K = 9.5, 46.0, 5.6, 5.6
#: How far a sound compressor of the plate's size may be from that, one sigma [judgement]; part of the suction gas's volume that
#: superheat takes from the flow [dabiri1981].
CAPACITY_SIGMA, VOLUME_PART = 0.10, 0.75


@dataclass(frozen=True)
class RefrigerantState:
    """degC and K; None where it was not read."""

    suction_c: Uncertain | None
    condensing_c: Uncertain | None
    superheat_k: Uncertain | None
    subcooling_k: Uncertain | None


def table_of(point: Point) -> RefrigerantTable | None:
    """The refrigerant's table; None where the plate was not read."""
    name = point.job.system.refrigerant
    return None if name == "unknown" else refrigerant(name).table


def refrigerant_state(point: Point) -> RefrigerantState:
    """What the gauges say; superheat from the dew point, subcooling from the bubble point."""
    reading, table = point.reading, table_of(point)
    air = point.pressure_pa
    low, high = point.of("suction_pressure"), point.of("liquid_pressure") or point.of("discharge_pressure")
    suction = condensing = None
    if table is not None and low is not None:
        suction = carried(lambda p: saturation.dew_temperature_c(table, p + air), p=low)
    elif reading.saturated_suction is not None:
        suction = read_off(point, "saturated_suction", reading.saturated_suction)
    if table is not None and high is not None:
        condensing = carried(lambda p: saturation.bubble_temperature_c(table, p + air), p=high)
    # a pressure off the refrigerant's table has no saturation: plausibility asks about it
    suction, condensing = (one if finite(one) else None for one in (suction, condensing))
    line, liquid = point.of("suction_line"), point.of("liquid_line")
    superheat = None
    if suction is not None and line is not None:
        superheat = carried(lambda line, suction: line - suction, line=line, suction=suction)
    elif reading.superheat is not None:
        superheat = read_off(point, "superheat", reading.superheat)
    subcooling = None
    if condensing is not None and liquid is not None:
        subcooling = carried(lambda line, bubble: bubble - line, line=liquid, bubble=condensing)
    return RefrigerantState(suction, condensing, superheat, subcooling)


def read_off(point: Point, name: str, given: Measured) -> Uncertain:
    return Uncertain(given.si, {f"place.{point.number}.{name}": READ_OFF_K * RECTANGULAR})


def refrigerant_side_capacity(point: Point, state: RefrigerantState) -> Uncertain | None:
    """Heat the refrigerant takes up, W: the plate's size moved from its rating to the pressures read, by a compressor's map.

    Refrigerating effect and suction density are this refrigerant's; the map's shape is a scroll's. None where pressures, lines or
    the refrigerant are not known, or where the refrigerant is not all vapour or not all liquid.
    """
    table, size = table_of(point), point.job.system.outdoor_size.si
    suction, condensing, superheat, subcooling = (
        state.suction_c, state.condensing_c, state.superheat_k, state.subcooling_k,
    )  # fmt: skip
    if table is None or suction is None or condensing is None or superheat is None or subcooling is None:
        return None
    if not (0.0 <= superheat.value <= SUPERHEAT_REACH_K and 0.0 <= subcooling.value <= SUBCOOLING_REACH_K):
        return None

    def taken_up(suction: float, condensing: float, superheat: float, subcooling: float) -> float:
        superheat, subcooling = max(superheat, 0.0), max(subcooling, 0.0)
        effect = saturation.refrigerating_effect_j_kg(table, suction, superheat, condensing, subcooling)
        rated = saturation.vapour_density_kg_m3(table, suction, RATED_SUPERHEAT_K)
        denser = saturation.vapour_density_kg_m3(table, suction, superheat) / rated
        flow = map_mass_flow_kg_s(suction, condensing) * (1.0 + VOLUME_PART * (denser - 1.0))
        return float(flow * effect)

    at_rating = taken_up(RATED_SUCTION_C, RATED_CONDENSING_C, RATED_SUPERHEAT_K, RATED_SUBCOOLING_K)
    found = carried(
        lambda **now: size * taken_up(**now) / at_rating,
        suction=suction,
        condensing=condensing,
        superheat=superheat,
        subcooling=subcooling,
    )
    return found.with_part("assumed.compressor", CAPACITY_SIGMA * found.value)
