"""The working of each figure of one reading: formula, inputs and source, beside the code that computes it.

Tests compute every formula again from its inputs and compare it with the figure, so that the two cannot part.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from airtrim.job.instruments import KIND_OF
from airtrim.physics.unit.charging import SENSIBLE_EXPONENT
from airtrim.work.figure import Figure
from airtrim.work.readings.air_side import AirSide
from airtrim.work.readings.electrical import POWER_FACTOR
from airtrim.work.readings.point import Point
from airtrim.work.readings.pressures import ALLOWED_PA, EXPONENTS, NOMINAL_M3_S_PER_W, coil_before_blower
from airtrim.work.readings.refrigerant_state import table_of
from airtrim.work.readings.sweat import worst_surface
from airtrim.work.readings.uncertain import Uncertain
from airtrim.work.readings.ways_by_heat import WATER_KG_M3, blower_w, leaving_humidity
from airtrim.work.readings.working import by_method, working


@dataclass
class _Sheet:
    """Collects the workings of one point; `value` finds a figure already shown, to go in elsewhere."""

    point: Point
    figures: Mapping[str, Figure]
    made: list[dict[str, Any]] = field(default_factory=list)

    def put(self, identity: str, formula: str, source: str, **inputs: tuple[float | str, str]) -> None:
        figure = self.figures.get(identity)
        if figure is not None and "mid" in figure:
            self.made.append(working(f"reading.{self.point.number}.{identity}", figure, formula, source, inputs))

    def read(self, name: str) -> tuple[float, str]:
        given = getattr(self.point.reading, name)
        return given.si, unit_of(name, given.unit)

    def value(self, identity: str) -> tuple[float, str]:
        return self.figures[identity]["mid"], self.figures[identity]["unit"]

    def has(self, *names: str) -> bool:
        return all(
            getattr(self.point.reading, name, None) is not None or "mid" in self.figures.get(name, {}) for name in names
        )


#: Units of the job file as figures have them; refrigerant's pressures are shown on another scale than air's.
UNIT_OF = {"delta_degC": "K", "": "fraction", "m**3/s": "m3/s", "m**3": "m3_small", "degC": "degC"}


def unit_of(name: str, unit: str) -> str:
    """The figure's unit of a reading called `name`, given in the job file's `unit`."""
    return "Pa_high" if KIND_OF.get(name) == "refrigerant_gauge" else UNIT_OF.get(unit, unit)


def workings_of_point(
    point: Point, figures: list[Figure], airflow_m3_s: Uncertain | None, air_kg_s: Uncertain | None, air: AirSide
) -> list[dict[str, Any]]:
    """Workings of all figures of a point, in the figures' order; `air_kg_s` is the airflow the air side was counted with."""
    sheet = _Sheet(point, {one["id"]: one for one in figures})
    steps: tuple[Callable[[], None], ...] = (
        lambda: _pressures(sheet, airflow_m3_s),
        lambda: _states(sheet),
        lambda: _heat(sheet, air_kg_s, air),
        lambda: _refrigerant(sheet, airflow_m3_s),
        lambda: _electrical(sheet, airflow_m3_s),
        lambda: _sweat(sheet),
    )
    for step in steps:
        step()
    for one in figures:
        if one["id"].startswith("settles_at."):
            sheet.made.append(by_method(f"reading.{point.number}.{one['id']}", one, "settling", "own-derivation", {}))
    order = {f"reading.{point.number}.{one['id']}": place for place, one in enumerate(figures)}
    return sorted(sheet.made, key=lambda one: order[one["id"]])


def _pressures(sheet: _Sheet, airflow: Uncertain | None) -> None:
    point, reading = sheet.point, sheet.point.reading
    draws = coil_before_blower(point)
    back = next((name for name in ("static_after_filter", "static_before_filter") if sheet.has(name)), "")
    pushes = ("static_supply",) if draws else ("static_before_coil", "static_supply")
    push = next((name for name in pushes if sheet.has(name)), "")
    if reading.total_external_static is not None:
        sheet.put("external_static", "total_external_static", "common-practice",
                  total_external_static=sheet.read("total_external_static"))  # fmt: skip
    elif back and push:
        sheet.put("external_static", f"abs({back}) + abs({push})", "common-practice",
                  **{back: sheet.read(back), push: sheet.read(push)})  # fmt: skip
    before = "static_before_coil" if sheet.has("static_before_coil") else "static_after_filter"
    leaving = "static_after_coil" if sheet.has("static_after_coil") else "static_supply"
    between = {
        "return_duct": ("static_before_filter",),
        "filter": ("static_after_filter", "static_before_filter"),
        "coil": ("static_after_coil", before) if draws else ("static_before_coil", leaving),
        "supply_duct": ("static_supply",) if draws else (leaving,),
    }
    for part, ports in between.items():
        if f"{part}_drop" not in sheet.figures:
            continue
        formula = " - ".join(f"abs({port})" for port in ports)
        sheet.put(f"{part}_drop", formula, "common-practice", **{port: sheet.read(port) for port in ports})
        rule = "coil_wet" if part == "coil" and reading.coil != "dry" else part
        nominal = NOMINAL_M3_S_PER_W * point.job.system.outdoor_size.si
        sheet.put(
            f"{part}_excess",
            "drop - allowance * max(airflow / nominal_airflow, 0.05) ** power",
            "common-practice",
            drop=sheet.value(f"{part}_drop"),
            allowance=(ALLOWED_PA[rule], "Pa"),
            airflow=(airflow.value if airflow is not None else nominal, "m3/s"),
            nominal_airflow=(nominal, "m3/s"),
            power=(EXPONENTS[rule], "1"),
        )
    if sheet.has("closed_doors_static", "external_static"):
        sheet.put("closed_doors_step", "closed_doors_static - external_static", "common-practice",
                  closed_doors_static=sheet.read("closed_doors_static"),
                  external_static=sheet.value("external_static"))  # fmt: skip


def _sweat(sheet: _Sheet) -> None:
    if "sweat_margin" in sheet.figures:
        surface, dew_point = worst_surface(sheet.point)
        sheet.put("sweat_margin", "surface - dew_point", "common-practice",
                  surface=(surface, "degC"), dew_point=(dew_point, "degC"))  # fmt: skip


def _states(sheet: _Sheet) -> None:
    point = sheet.point
    pressure = (point.pressure_pa, "Pa_high")
    for where in ("return", "supply"):
        dry = point.supply_dry_bulb() if where == "supply" else point.of("return_dry_bulb")
        if dry is None or f"{where}_moisture" not in sheet.figures:
            continue
        given = {"dry_bulb": (dry.value, "degC")}
        if sheet.has(f"{where}_wet_bulb"):
            sheet.put(f"{where}_moisture", "moisture_by_wet_bulb(dry_bulb, wet_bulb, air_pressure)", "ashrae2017",
                      **given, wet_bulb=sheet.read(f"{where}_wet_bulb"), air_pressure=pressure)  # fmt: skip
        else:
            sheet.put(f"{where}_moisture", "moisture_by_humidity(dry_bulb, relative_humidity, air_pressure)", "ashrae2017",
                      **given, relative_humidity=sheet.read(f"{where}_relative_humidity"),
                      air_pressure=pressure)  # fmt: skip
        moisture = sheet.value(f"{where}_moisture")
        sheet.put(f"{where}_dew_point", "dew_point_of(moisture, air_pressure)", "ashrae2017",
                  moisture=moisture, air_pressure=pressure)  # fmt: skip
        sheet.put(f"{where}_enthalpy", "1006 * dry_bulb + moisture * (2501000 + 1860 * dry_bulb)", "ashrae2017",
                  **given, moisture=moisture)  # fmt: skip
    if sheet.has("return_dry_bulb", "grille_dry_bulb"):
        sheet.put("return_duct_gain", "return_dry_bulb - grille_dry_bulb", "common-practice",
                  return_dry_bulb=sheet.read("return_dry_bulb"),
                  grille_dry_bulb=sheet.read("grille_dry_bulb"))  # fmt: skip


def _heat(sheet: _Sheet, flow: Uncertain | None, air: AirSide) -> None:
    point = sheet.point
    back, supply = point.of("return_dry_bulb") or point.of("grille_dry_bulb"), point.supply_dry_bulb()
    if back is None or supply is None or point.reading.operation != "cooling":
        return
    entering, leaving = (back.value, "degC"), (supply.value, "degC")
    sheet.put("temperature_split", "return_dry_bulb - supply_dry_bulb", "common-practice",
              return_dry_bulb=entering, supply_dry_bulb=leaving)  # fmt: skip
    if flow is None or "mid" not in sheet.figures.get("coil_leaving_air", {}):
        return
    between = point.reading.blower_place != "after_supply_reading"
    blower, dry_air = (blower_w(point).value if between else 0.0, "W"), (flow.value, "kg/s")
    moisture = (point.return_air()[1].value, "kg/kg")
    found = leaving_humidity(point)
    out = (found[0].value if found is not None else moisture[0], "kg/kg")
    coil = sheet.value("coil_leaving_air")
    sheet.put(
        "coil_leaving_air",
        "supply_dry_bulb - duct_gain - blower / (dry_air * (1006 + 1860 * return_moisture))",
        "own-derivation",
        supply_dry_bulb=leaving,
        duct_gain=(air.duct_gain_k, "K"),
        blower=blower,
        dry_air=dry_air,
        return_moisture=moisture,
    )
    sheet.put("blower_heat_rise", "supply_dry_bulb - coil_leaving_air", "own-derivation",
              supply_dry_bulb=leaving, coil_leaving_air=coil)  # fmt: skip
    sheet.put(
        "sensible_capacity",
        "dry_air * (1006 + 1860 * leaving_moisture) * (return_dry_bulb - coil_leaving_air)",
        "ashrae2017",
        dry_air=dry_air,
        leaving_moisture=out,
        return_dry_bulb=entering,
        coil_leaving_air=coil,
    )
    sensible = sheet.value("sensible_capacity")
    sheet.put("sensible_delivered", "sensible_capacity - blower", "common-practice",
              sensible_capacity=sensible, blower=blower)  # fmt: skip
    caught = point.reading.condensate
    if caught is not None:
        sheet.put("drain_water", f"{WATER_KG_M3} * volume / time", "common-practice",
                  volume=(caught.volume.si, "m3_small"), time=(caught.time.si, "s"))  # fmt: skip
        sheet.put("latent_by_drain", "drain_water * (2501000 + 1860 * return_dry_bulb - 4186 * coil_leaving_air)",
                  "ashrae2017", drain_water=sheet.value("drain_water"), return_dry_bulb=entering,
                  coil_leaving_air=coil)  # fmt: skip
    by_air = {"dry_air": dry_air, "return_moisture": moisture, "leaving_moisture": out,
              "return_dry_bulb": entering, "coil_leaving_air": coil}  # fmt: skip
    by_air_formula = (
        "dry_air * (return_moisture - leaving_moisture) * (2501000 + 1860 * return_dry_bulb - 4186 * coil_leaving_air)"
    )
    sheet.put("latent_by_air", by_air_formula, "ashrae2017", **by_air)
    ways = [name for name in ("latent_by_air", "latent_by_drain") if name in sheet.figures]
    if ways:
        weighed = {f"weight_{n}": (weight, "1") for n, weight in enumerate(air.latent_weights, start=1)}
        formula = " + ".join(f"weight_{n} * {name}" for n, name in enumerate(ways, start=1))
        sheet.put("latent_capacity", formula if len(ways) > 1 else ways[0], "aitken1935",
                  **(weighed if len(ways) > 1 else {}), **{name: sheet.value(name) for name in ways})  # fmt: skip
    else:
        sheet.put("latent_capacity", by_air_formula, "ashrae2017", **by_air)
    if "latent_capacity" in sheet.figures:
        both = {"sensible_capacity": sensible, "latent_capacity": sheet.value("latent_capacity")}
        sheet.put("total_capacity", "sensible_capacity + latent_capacity", "common-practice", **both)
        sheet.put("sensible_heat_ratio", "sensible_capacity / (sensible_capacity + latent_capacity)",
                  "common-practice", **both)  # fmt: skip


def _refrigerant(sheet: _Sheet, airflow: Uncertain | None) -> None:
    point, name = sheet.point, sheet.point.job.system.refrigerant
    pressure = (point.pressure_pa, "Pa_high")
    high = "liquid_pressure" if sheet.has("liquid_pressure") else "discharge_pressure"
    by_gauge = table_of(point) is not None
    for identity, gauge, function in (
        ("saturated_suction", "suction_pressure", "dew_temperature"),
        ("saturated_condensing", high, "bubble_temperature"),
    ):
        if by_gauge and sheet.has(gauge):
            sheet.put(identity, f"{function}(refrigerant, {gauge} + air_pressure)", "coolprop",
                      refrigerant=(name, ""), air_pressure=pressure, **{gauge: sheet.read(gauge)})  # fmt: skip
        elif sheet.has(identity) and getattr(point.reading, identity, None) is not None:
            sheet.put(identity, identity, "common-practice", **{identity: sheet.read(identity)})
    for identity, warm, cold in (
        ("superheat", "suction_line", "saturated_suction"),
        ("subcooling", "saturated_condensing", "liquid_line"),
        ("coil_td", "return_dry_bulb", "saturated_suction"),
    ):
        if sheet.has(warm, cold) and "mid" in sheet.figures.get(identity, {}):
            both = {one: sheet.value(one) if one in sheet.figures else sheet.read(one) for one in (warm, cold)}
            sheet.put(identity, f"{warm} - {cold}", "common-practice", **both)
        elif identity == "superheat" and point.reading.superheat is not None:
            sheet.put(identity, identity, "common-practice", superheat=sheet.read("superheat"))
    wet, outdoor = point.wet_bulb("return") or point.wet_bulb("grille"), point.of("outdoor_dry_bulb")
    if wet is not None and outdoor is not None:
        sheet.put("target_superheat", "charging_chart(return_wet_bulb, outdoor_dry_bulb)", "charging-chart",
                  return_wet_bulb=(wet.value, "degC"), outdoor_dry_bulb=(outdoor.value, "degC"))  # fmt: skip
    if point.job.system.plate_subcooling is not None:
        sheet.put("target_subcooling", "plate_subcooling", "common-practice",
                  plate_subcooling=(point.job.system.plate_subcooling.si, "K"))  # fmt: skip
    dry, wet = point.of("return_dry_bulb"), point.wet_bulb("return")
    if dry is not None and wet is not None:
        given = {"return_dry_bulb": (dry.value, "degC"), "return_wet_bulb": (wet.value, "degC")}
        table = "split_table(return_dry_bulb, return_wet_bulb)"
        if airflow is None:
            sheet.put("expected_split", table, "title24ra3", **given)
        else:
            nominal = NOMINAL_M3_S_PER_W * point.job.system.outdoor_size.si
            sheet.put(
                "expected_split",
                f"{table} * (airflow / nominal_airflow) ** (exponent - 1)",
                "title24ra3",
                **given,
                airflow=(airflow.value, "m3/s"),
                nominal_airflow=(nominal, "m3/s"),
                exponent=(SENSIBLE_EXPONENT, "1"),
            )


def _electrical(sheet: _Sheet, airflow: Uncertain | None) -> None:
    reading = sheet.point.reading
    if reading.blower_power is not None:
        sheet.put("blower_watts", "blower_power", "common-practice", blower_power=sheet.read("blower_power"))
    elif sheet.has("blower_volts", "blower_amps"):
        factor = reading.power_factor
        middle = factor.si if factor is not None else POWER_FACTOR[sheet.point.job.blower.motor][0]
        sheet.put("blower_watts", "blower_volts * blower_amps * power_factor", "common-practice",
                  blower_volts=sheet.read("blower_volts"), blower_amps=sheet.read("blower_amps"),
                  power_factor=(middle, "1"))  # fmt: skip
    if airflow is not None and "blower_watts" in sheet.figures:
        sheet.put("watts_per_airflow", "blower_watts / airflow", "common-practice",
                  blower_watts=sheet.value("blower_watts"), airflow=(airflow.value, "m3/s"))  # fmt: skip
    if reading.blower_amps is not None:
        sheet.put("blower_amps", "blower_amps", "common-practice", blower_amps=sheet.read("blower_amps"))
    if reading.capacitor_volts is not None and reading.capacitor_amps is not None:
        hertz = reading.line_frequency.si if reading.line_frequency is not None else 60.0
        sheet.put("capacitance", "1000000 * amps / (6.283185307179586 * frequency * volts)", "common-practice",
                  amps=sheet.read("capacitor_amps"), volts=sheet.read("capacitor_volts"),
                  frequency=(hertz, "Hz"))  # fmt: skip
    metered = sheet.point.job.blower.capacitor_read
    if metered is not None:
        sheet.put("capacitance_by_meter", "1000000 * capacitance", "common-practice", capacitance=(metered.si, "F"))
