"""Airflow from heat: electric strips, a clocked furnace, water at the drain, and what the refrigerant takes up."""

from math import isfinite

from airtrim.physics.air.moist import enthalpy_j_kg, humidity_ratio_from_relative_humidity
from airtrim.physics.blower.airflow_readings import flow_by_heat_kg_s, gas_heat_w
from airtrim.work.readings.point import RECTANGULAR, Point, finite
from airtrim.work.readings.refrigerant_state import RefrigerantState, refrigerant_side_capacity
from airtrim.work.readings.uncertain import Uncertain, carried
from airtrim.work.readings.way import BROKEN, KEPT, Way, state, way_of
from airtrim.work.readings.working import Inputs

#: Blower watts nobody read, W per W of cooling size: 0.5 W/cfm at 350 cfm/ton, and one sigma of it [common-practice].
BLOWER_W_PER_W, BLOWER_SIGMA = 175.0 / 3516.853, 0.3
#: Heat the cabinet loses on the way to the sensor, part of the heat, one sigma [judgement].
CABINET_LOSS_SIGMA = 0.01
#: Below this rise two thermometers leave more than 10 %, K.
LEAST_RISE_K = 10.0
#: Strips and a furnace's exchanger are steady after this long, s [judgement].
HEAT_STEADY_S = 300.0
#: Points of the supply plenum whose mean is taken to be the stream's.
ENOUGH_POINTS = 3
#: Gas nobody asked the utility about, J/m3 (1030 Btu/ft3) and one sigma part; efficiency without a test, and its sigma; and the
#: pressure and temperature of the gas at the meter against the heating value's, one sigma part [from-memory].
HEATING_VALUE, HEATING_VALUE_SIGMA = 1030.0 * 1055.056 / 0.0283168, 0.02
EFFICIENCY, EFFICIENCY_SIGMA, TESTED_SIGMA, GAS_STATE_SIGMA = 0.80, 0.03, 0.015, 0.02
#: Water held back or lost at the drain, one sigma part [judgement]; litres of water per kg.
DRAIN_SIGMA, WATER_KG_M3 = 0.05, 998.5
#: How near to saturation air leaves a wet coil where no humidity was read there, and one sigma [judgement].
LEAVING_HUMIDITY, LEAVING_SIGMA = 0.92, 0.04


def blower_w(point: Point) -> Uncertain:
    """Blower power: by meter, else usual for the size."""
    read = point.of("blower_power")
    if read is not None:
        return read
    usual = BLOWER_W_PER_W * point.job.system.outdoor_size.si
    return Uncertain(usual, {"assumed.blower_watts": BLOWER_SIGMA * usual})


def rise(point: Point) -> tuple[Uncertain, Uncertain] | None:
    """Temperature rise, K, and humidity ratio of the air; None where supply or return was not read."""
    supply, back = point.supply_dry_bulb(), point.of("return_dry_bulb") or point.of("grille_dry_bulb")
    if supply is None or back is None:
        return None
    return carried(lambda out, back: out - back, out=supply, back=back), point.return_air()[1]


def by_electric_strip(point: Point) -> Way | None:
    """Measured volts and amps of every circuit, blower heat where the blower lies between the sensors, and the rise."""
    circuits = point.reading.strip_circuits
    if not circuits:
        return None
    risen = rise(point)
    if risen is None:
        return way_of(point, "electric_strip", None, why="reading.why.no_rise")
    volts = {f"v{n}": point.taken("strip_volts", one.volts, f".{n}") for n, one in enumerate(circuits)}
    amps = {f"a{n}": point.taken("strip_amps", one.amps, f".{n}") for n, one in enumerate(circuits)}
    heat = carried(lambda **x: sum(x[f"v{n}"] * x[f"a{n}"] for n in range(len(circuits))), **volts, **amps)
    shown = " + ".join(f"volts_{n} * amps_{n}" for n in range(1, len(circuits) + 1))
    inputs: dict[str, tuple[float | str, str]] = {}
    for n, one in enumerate(circuits, start=1):
        inputs |= {f"volts_{n}": (one.volts.si, "V"), f"amps_{n}": (one.amps.si, "A")}
    alone = ("compressor_off", state(None if point.job.heat.kind == "heat_pump" else True))
    return _by_rise(
        point, "electric_strip", heat, risen, "title24ra3", (("heat_measured", KEPT), alone), (shown, inputs)
    )


def by_furnace(point: Point) -> Way | None:
    """Gas clocked at the meter, times efficiency; a cross-check rather than a measurement."""
    gas = point.reading.gas
    if gas is None:
        return None
    risen = rise(point)
    if risen is None:
        return way_of(point, "furnace", None, why="reading.why.no_rise")
    value = gas.heating_value.si if gas.heating_value is not None else HEATING_VALUE
    efficiency = gas.efficiency.si if gas.efficiency is not None else EFFICIENCY
    sigma = TESTED_SIGMA if gas.efficiency is not None else EFFICIENCY_SIGMA
    heat = carried(
        gas_heat_w,
        volume_m3=point.taken("gas", gas.volume),
        time_s=Uncertain(gas.time.si, {f"place.{point.number}.watch": 0.5 * RECTANGULAR}),
        heating_value_j_m3=Uncertain(value, {"assumed.heating_value": HEATING_VALUE_SIGMA * value}),
        efficiency=Uncertain(efficiency, {"assumed.efficiency": sigma}),
        pressure_ratio=Uncertain(1.0, {"assumed.gas_state": GAS_STATE_SIGMA}),
    )
    tested = ("efficiency_tested", state(None if gas.efficiency is None else True))
    shown = "gas_volume / gas_time * heating_value * efficiency"
    inputs: Inputs = {
        "gas_volume": (gas.volume.si, "m3_small"),
        "gas_time": (gas.time.si, "s"),
        "heating_value": (value, "J/m3"),
        "efficiency": (efficiency, "fraction"),
    }
    of_heat = (tested, ("other_gas_off", state(None)))
    return _by_rise(point, "furnace", heat, risen, "common-practice", of_heat, (shown, inputs))


def _by_rise(
    point: Point,
    identity: str,
    heat: Uncertain,
    risen: tuple[Uncertain, Uncertain],
    source: str,
    of_heat: tuple[tuple[str, str], ...],
    shown: tuple[str, Inputs],
) -> Way:
    warmer, ratio = risen
    between = point.reading.blower_place != "after_supply_reading"
    watts = blower_w(point) if between else Uncertain(0.0)
    flow = carried(
        lambda heat, watts, warmer, ratio: flow_by_heat_kg_s(heat + watts, warmer, ratio),
        heat=heat.with_part(f"place.{point.number}.cabinet", CABINET_LOSS_SIGMA * heat.value),
        watts=watts,
        warmer=warmer,
        ratio=ratio,
    )
    known = finite(flow)
    points, running = point.reading.supply_dry_bulbs, point.reading.running_for
    assumptions = (
        ("heat_only", state(point.reading.operation == "heating")),
        *of_heat,
        ("rise_large", state(True if warmer.value >= LEAST_RISE_K else None)),
        ("several_points", state(True if len(points) >= ENOUGH_POINTS else None)),
        ("heat_steady", state(None if running is None else running.si >= HEAT_STEADY_S)),
        ("blower_watts_read", state(True if point.reading.blower_power is not None or not between else None)),
    )
    return way_of(
        point,
        identity,
        flow if known else None,
        assumptions=assumptions,
        why="" if known else "reading.why.no_warming",
        formula=f"({shown[0]} + blower) / ((1006 + 1860 * moisture) * rise)",
        source=source,
        inputs={
            **shown[1],
            "blower": (watts.value, "W"),
            "moisture": (ratio.value, "kg/kg"),
            "rise": (warmer.value, "K"),
        },
    )


def leaving_humidity(point: Point) -> tuple[Uncertain, bool] | None:
    """Humidity ratio of the supply air and whether it was read; a wet coil's leaving humidity where only the dry-bulb was."""
    read = point.humidity("supply")
    if read is not None:
        return read, True
    supply = point.supply_dry_bulb()
    if supply is None or point.reading.coil not in ("wet", "unknown"):
        return None
    # the blower warms what leaves the coil by about 0.8 K, so at the sensor it is a little drier than LEAVING_HUMIDITY
    guess = carried(
        lambda t, rh: humidity_ratio_from_relative_humidity(t - 0.8, min(rh, 1.0), point.pressure_pa),
        t=supply,
        rh=Uncertain(LEAVING_HUMIDITY, {"assumed.leaving_humidity": LEAVING_SIGMA}),
    )
    back = point.return_air()[1]
    return (guess, False) if guess.value < back.value else (back, False)


def by_condensate(point: Point) -> Way | None:
    """Water at the drain over what each kilogram of air lost: needs wet-bulbs on both sides."""
    water = drain_kg_s(point)
    if water is None:
        return None
    back, supply = point.humidity("return"), point.humidity("supply")
    if back is None or supply is None:
        return way_of(point, "condensate", None, why="reading.why.no_wet_bulbs")
    flow = carried(
        lambda water, back, supply: water / (back - supply) if back > supply else float("nan"),
        water=water,
        back=back,
        supply=supply,
    )
    known = finite(flow)
    return way_of(
        point,
        "condensate",
        flow if known else None,
        assumptions=(
            ("coil_wet", state({"wet": True, "unknown": None}.get(point.reading.coil, False))),
            ("settled", state(point.settled_enough())),
            ("drain_steady", state(None)),
        ),
        why="" if known else "reading.why.no_drying",
        formula="water / (return_moisture - supply_moisture)",
        source="own-derivation",
        inputs={
            "water": (water.value, "kg/s"),
            "return_moisture": (back.value, "kg/kg"),
            "supply_moisture": (supply.value, "kg/kg"),
        },
    )


def drain_kg_s(point: Point) -> Uncertain | None:
    """Water at the drain by bucket and watch."""
    caught = point.reading.condensate
    if caught is None:
        return None
    seconds = Uncertain(caught.time.si, {f"place.{point.number}.watch": 1.0})
    flow = carried(lambda v, t: WATER_KG_M3 * v / t, v=point.taken("condensate", caught.volume), t=seconds)
    return flow.with_part(f"place.{point.number}.drain", DRAIN_SIGMA * flow.value)


def by_refrigerant_side(point: Point, refrigerant: RefrigerantState) -> Way | None:
    """Heat taken up by the refrigerant over what each kilogram of air gave: good to about 10 to 15 %."""
    if point.reading.operation != "cooling" or point.reading.suction_pressure is None:
        return None
    capacity = refrigerant_side_capacity(point, refrigerant)
    if capacity is None:
        return way_of(point, "refrigerant_side", None, why="reading.why.no_refrigerant_state")
    supply, leaving = point.supply_dry_bulb(), leaving_humidity(point)
    back, ratio, read = point.return_air()
    if supply is None or leaving is None or not read:
        return way_of(point, "refrigerant_side", None, why="reading.why.no_supply_air")
    between = point.reading.blower_place != "after_supply_reading"

    def needed(capacity: float, watts: float, back: float, ratio: float, out: float, leaving: float) -> float:
        # capacity = flow x (drop of enthalpy - water's own) + the blower's heat, which the supply reading holds
        dried = max(ratio - leaving, 0.0)
        drop = enthalpy_j_kg(back, ratio) - enthalpy_j_kg(out, leaving) - dried * 4186.0 * out
        return (capacity - (watts if between else 0.0)) / drop if drop > 0.0 else float("nan")

    flow = carried(
        needed, capacity=capacity, watts=blower_w(point), back=back, ratio=ratio, out=supply, leaving=leaving[0]
    )
    known = finite(flow) and flow.value > 0.0 and isfinite(flow.sigma)
    superheat, subcooling = refrigerant.superheat_k, refrigerant.subcooling_k
    assert superheat is not None and subcooling is not None
    return way_of(
        point,
        "refrigerant_side",
        flow if known else None,
        assumptions=(
            ("compressor_sound", state(None)),
            ("all_vapour", KEPT if superheat.lowest > 0.0 else "not_known" if superheat.value > 0.0 else BROKEN),
            ("all_liquid", KEPT if subcooling.lowest > 0.0 else "not_known" if subcooling.value > 0.0 else BROKEN),
            ("settled", state(point.settled_enough())),
            ("supply_humidity_read", state(True if leaving[1] else None)),
        ),
        why="" if known else "reading.why.no_drop",
        formula="(taken_up - blower) / (return_enthalpy - supply_enthalpy - max(return_moisture - leaving_moisture, 0)"
        " * 4186 * supply_dry_bulb)",
        source="ahri540",
        inputs={
            "taken_up": (capacity.value, "W_heat"),
            "blower": (blower_w(point).value if between else 0.0, "W"),
            "return_enthalpy": (enthalpy_j_kg(back.value, ratio.value), "J/kg"),
            "supply_enthalpy": (enthalpy_j_kg(supply.value, leaving[0].value), "J/kg"),
            "return_moisture": (ratio.value, "kg/kg"),
            "leaving_moisture": (leaving[0].value, "kg/kg"),
            "supply_dry_bulb": (supply.value, "degC"),
        },
    )
