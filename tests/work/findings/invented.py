"""Invented houses whose truth is known, with things in them that the fit does not know.

The blower's truth is the motor's circuit, the wheel and a path of four parts (physics/blower), of which the fit knows nothing but a
rule of thumb. The cooling unit's truth has another compressor than the fit takes (the AHRI 540 example's map where the fit takes a
scroll, R-410A only), whose flow and power lean away from that map by up to 5 % for 25 F of suction and of condensing (the standard
lets a published map be 5 % off [from-memory]), capacity and power 5 % off, circuits that do not share evenly, heat gained in the
return duct, and every instrument has a bias of its own within its accuracy.
"""

from dataclasses import dataclass, replace

import numpy as np

from airtrim.job import parse_job
from airtrim.job.instruments import accuracy_of
from airtrim.physics.air.moist import (
    humidity_ratio_from_relative_humidity,
    specific_volume_m3_kg,
    wet_bulb_c,
)
from airtrim.physics.blower.fit import fit_blower
from airtrim.physics.blower.path import COIL_EXPONENT, DUCT_EXPONENT, FILTER_EXPONENT, Path
from airtrim.physics.blower.system import operating_point
from airtrim.physics.data.ahri540_example import MASS_FLOW_LB_H, POWER_W
from airtrim.physics.refrigerant import saturation
from airtrim.physics.unit.describe import describe_unit
from airtrim.physics.unit.fields import (
    BY_MAP,
    CHARGE,
    COIL_CLEAN,
    COMPRESSOR,
    CONDENSER_AIR,
    CONDENSER_CLEAN,
    FIXED_ORIFICE,
    MAP_FLOW,
    MAP_POWER,
    METERING,
    METERING_SIZE,
    REFRIGERANT,
    SUPERHEAT,
    UNIT_FIELDS,
    refrigerant_code,
)
from airtrim.physics.unit.steady import working_state
from airtrim.tables import refrigerant
from airtrim.work.readings.point import PLACED_K

CFM, TON, IN_WC, PRESSURE = 0.0004719474432, 3516.8528, 249.0889, 101325.0
#: Severities from just harmful to gross.
SEVERITY = {
    "restricted_filter": (2.6, 8.0),
    "restricted_coil": (2.2, 6.0),
    "restricted_return": (2.6, 8.0),
    "restricted_supply": (2.6, 8.0),
    "slow_tap": (3, 4),
    "fast_tap": (3, 4),
    "weak_capacitor": (0.35, 0.80),
    "dirty_wheel": (0.62, 0.86),
    "backward_wheel": (0.42, 0.58),
    "undercharge": (0.65, 0.89),
    "overcharge": (1.12, 1.35),
    "starving_valve": (0.30, 0.54),
    "overfeeding_valve": (0.1, 1.5),
    "small_orifice": (0.60, 0.86),
    "large_orifice": (1.18, 1.45),
    "dirty_condenser": (0.40, 0.70),
    "return_leak": (0.12, 0.30),
    "nothing_found": (1.0, 1.0),
}
FULL = frozenset(
    {"airflow", "ports", "air", "supply_wet", "gauges", "liquid", "watts", "capacitor", "condensate", "grille", "table"}
)
FEW = frozenset({"airflow", "air"})


@dataclass(frozen=True)
class Invented:
    """A job with the readings somebody took, and the truth by the names of figures.

    `unit` is the row of the unit as it is, `dry_air_kg_s` the air that crosses its coil: what it does in any other air.
    """

    job: object
    fault: str
    truth: dict[str, float]
    unit: np.ndarray
    dry_air_kg_s: float


def invented(seed: int, fault: str, taken: frozenset[str] = FULL) -> Invented:
    """One house; draws again where its unit would not run at all."""
    for attempt in range(40):
        drawn = (seed, attempt, sorted(SEVERITY).index(fault))
        leans = np.random.default_rng([*drawn, 540])  # apart, so that the rest of the house stays as it was
        made = _made(np.random.default_rng(drawn), leans, fault, taken)
        if made is not None:
            return made
    raise AssertionError(f"no running unit with {fault}")


#: Saturated suction and condensing the example map is used for, F, and the middle it is rated near.
MAP_SUCTION_F, MAP_CONDENSING_F, MAP_MIDDLE_F = (0.0, 60.0), (70.0, 150.0), (45.0, 110.0)
LEAN, LEAN_OVER_F = 0.05, 25.0


def _leaning(coefficients: tuple[float, ...], rng: np.random.Generator) -> np.ndarray:
    """Ten coefficients nearest, over the map's range, to the map times 1 + a (S - 45 F) / 25 F + b (D - 110 F) / 25 F."""
    s, d = (one.ravel() for one in np.meshgrid(np.linspace(*MAP_SUCTION_F, 25), np.linspace(*MAP_CONDENSING_F, 25)))
    terms = np.stack([np.ones_like(s), s, d, s * s, s * d, d * d, s**3, d * s**2, s * d**2, d**3], axis=1)
    sound = terms @ np.array(coefficients)
    by_suction, by_condensing = rng.uniform(-LEAN, LEAN, 2) / LEAN_OVER_F
    leaning = 1.0 + by_suction * (s - MAP_MIDDLE_F[0]) + by_condensing * (d - MAP_MIDDLE_F[1])
    return np.linalg.lstsq(terms / sound[:, None], leaning, rcond=None)[0]


def _made(rng: np.random.Generator, leans: np.random.Generator, fault: str, taken: frozenset[str]) -> Invented | None:
    tons = float(rng.choice([2.0, 2.5, 3.0, 3.5, 4.0]))
    size, year = tons * TON, int(rng.integers(2008, 2022))
    orifice = fault.endswith("orifice") or (not fault.endswith("valve") and rng.random() < 0.4)
    severity = float(rng.uniform(*SEVERITY[fault]))
    # blower and path
    flow0 = tons * rng.uniform(350.0, 430.0) * CFM
    spread = lambda low, high: float(rng.uniform(low, high)) * IN_WC  # noqa: E731
    parts = {
        "return_duct": spread(0.06, 0.14),
        "filter": spread(0.06, 0.14),
        "coil": spread(0.20, 0.36),
        "supply_duct": spread(0.06, 0.14),
    }
    exponents = {
        "return_duct": DUCT_EXPONENT, "supply_duct": DUCT_EXPONENT, "filter": FILTER_EXPONENT, "coil": COIL_EXPONENT,
    }  # fmt: skip
    tap = int(severity) if fault == "fast_tap" else 1
    path = Path(0.0, parts["filter"] / flow0**FILTER_EXPONENT, parts["coil"] / flow0**COIL_EXPONENT)
    power = 1 / 3 if tons < 2.4 else 0.5 if tons < 3.4 else 0.75
    watts = flow0 / CFM * rng.uniform(0.42, 0.58)
    try:
        base = fit_blower(flow0, parts["return_duct"] + parts["supply_duct"], watts, power, tap, path=path)
    except Exception:
        return None
    coefficients = {name: drop / flow0 ** exponents[name] for name, drop in parts.items()}
    if fault.startswith("restricted_"):
        name = {"filter": "filter", "coil": "coil", "return": "return_duct", "supply": "supply_duct"}[fault[11:]]
        coefficients[name] *= severity
    motor = base.motor
    if fault == "weak_capacitor":
        motor = replace(motor, capacitor_f=motor.capacitor_f * severity)
    wheel = base.wheel
    if fault in ("dirty_wheel", "backward_wheel"):  # a wheel that moves less and lifts less at the same speed
        wheel = wheel._replace(airflow=wheel.airflow * severity, pressure=wheel.pressure * severity**2)
    changed = replace(
        base,
        motor=motor,
        wheel=wheel,
        path=Path(
            coefficients["return_duct"] + coefficients["supply_duct"], coefficients["filter"], coefficients["coil"]
        ),
    )
    tap_now = {"slow_tap": int(severity), "fast_tap": 1}.get(fault, tap)
    try:
        point = operating_point(changed, tap=tap_now)
    except Exception:
        return None
    flow = point.airflow_m3_s
    drops = {name: coefficients[name] * flow ** exponents[name] for name in parts}
    # the cooling unit
    described = describe_unit(size, size, "R-410A", "fixed_orifice" if orifice else "expansion_valve", year=year)
    row = described.row().copy()
    for name in (
        "coil_td_k",
        "sensible_heat_ratio",
        "air_exponent",
        "condenser_lift_k",
        "condenser_units",
        "valve_reserve",
    ):
        column = described[name]
        row[UNIT_FIELDS.index(name)] = rng.uniform(column.low, column.high)
    row[0] *= 1.0 + 0.05 * rng.standard_normal()
    row[1] *= 1.0 + 0.05 * rng.standard_normal()
    row[COMPRESSOR], row[REFRIGERANT] = BY_MAP, refrigerant_code("R-410A")
    row[MAP_FLOW:MAP_POWER], row[MAP_POWER:] = (_leaning(of, leans) for of in (MASS_FLOW_LB_H, POWER_W))
    row[UNIT_FIELDS.index("uneven_circuits")] = rng.uniform(0.0, 0.3)
    row[UNIT_FIELDS.index("circuit_drop_k")] = rng.uniform(0.6, 3.0)
    row[COIL_CLEAN], row[CONDENSER_CLEAN], row[CHARGE] = (
        rng.uniform(0.9, 1.0),
        rng.uniform(0.88, 1.0),
        rng.uniform(0.96, 1.04),
    )
    row[SUPERHEAT] = rng.uniform(4.5, 7.5)
    row[METERING] = FIXED_ORIFICE if orifice else 0.0
    if fault == "restricted_coil":
        row[COIL_CLEAN] = rng.uniform(0.55, 0.85)
    elif fault in ("undercharge", "overcharge"):
        row[CHARGE] = severity
    elif fault in ("starving_valve", "small_orifice", "large_orifice"):
        row[METERING_SIZE] = severity
        if fault == "starving_valve":  # whatever reserve it had
            row[METERING_SIZE] *= 1.7 / row[UNIT_FIELDS.index("valve_reserve")]
    elif fault == "overfeeding_valve":
        row[SUPERHEAT] = severity
    elif fault == "dirty_condenser":
        row[CONDENSER_CLEAN], row[CONDENSER_AIR] = severity, min(severity + 0.12, 0.9)
    # air
    grille, outdoor = rng.uniform(23.0, 26.0), rng.uniform(29.0, 36.0)
    grille_w = humidity_ratio_from_relative_humidity(grille, rng.uniform(0.48, 0.60), PRESSURE)
    leak = severity if fault == "return_leak" else rng.uniform(0.01, 0.07)
    attic = outdoor + rng.uniform(8.0, 20.0)
    back = (1.0 - leak) * grille + leak * attic + rng.uniform(0.1, 1.0)
    back_w = (1.0 - leak) * grille_w + leak * humidity_ratio_from_relative_humidity(
        outdoor, rng.uniform(0.45, 0.6), PRESSURE
    )
    dry_air = flow / specific_volume_m3_kg(back, back_w, PRESSURE)
    try:
        state = working_state(back, back_w, outdoor, dry_air, PRESSURE, row)
    except Exception:
        return None
    if state.suction_c < -12.0 or back_w > 0.016:
        return None  # a block of ice: nobody takes a full set of readings there
    supply = back - (state.sensible_w - point.watts) / (dry_air * (1006.0 + 1860.0 * back_w))
    water = (state.total_w - state.sensible_w) / 2.466e6
    supply_w = back_w - water / dry_air
    read = {
        "return_dry_bulb": back,
        "return_wet_bulb": wet_bulb_c(back, back_w, PRESSURE),
        "outdoor_dry_bulb": outdoor,
        "supply_dry_bulb": supply,
    }
    if "supply_wet" in taken:
        read["supply_wet_bulb"] = wet_bulb_c(supply, supply_w, PRESSURE)
    if "grille" in taken:
        read["grille_dry_bulb"] = grille
    table = refrigerant("R-410A").table
    if "gauges" in taken:
        read["suction_pressure"] = saturation.dew_pressure_pa(table, state.suction_c) - PRESSURE
        read["suction_line"] = state.suction_c + max(state.superheat_k, 0.0)
    if "liquid" in taken:
        read["liquid_pressure"] = saturation.dew_pressure_pa(table, state.condensing_c) - PRESSURE
        read["liquid_line"] = (
            saturation.bubble_temperature_c(table, read["liquid_pressure"] + PRESSURE) - state.subcooling_k
        )
    if "ports" in taken:
        read["static_before_filter"] = drops["return_duct"]
        read["static_after_filter"] = drops["return_duct"] + drops["filter"]
        read["static_after_coil"] = drops["return_duct"] + drops["filter"] + drops["coil"]
        read["static_supply"] = drops["supply_duct"]
    if "watts" in taken:
        read["blower_power"] = point.watts
    if "capacitor" in taken:
        read["capacitor_volts"] = 370.0 * 0.9
        read["capacitor_amps"] = (
            read["capacitor_volts"]
            * 2
            * np.pi
            * 60.0
            * 7.5e-6
            * (severity if fault == "weak_capacitor" else rng.uniform(0.97, 1.03))
        )
    rows = ""
    if "table" in taken:  # the maker's table is the sound blower on a duct anyone may have
        for factor in (0.15, 0.4, 1.0, 2.2, 5.0):
            sound = replace(base, path=base.path._replace(ducts=base.path.ducts * factor))
            at = operating_point(sound, tap=tap)
            static = at.external_static_pa + base.path.filter * at.airflow_m3_s**FILTER_EXPONENT
            rows += (
                f'[[blower.fan_table]]\ntap = 1\nstatic = "{static:.2f} Pa"\nairflow = "{at.airflow_m3_s:.5f} m^3/s"\n'
            )
    lines = []
    units = {"static": "Pa", "blower_power": "W", "capacitor_volts": "V", "capacitor_amps": "A"}
    shape = _text(tons, year, orifice, rows, rng, "")
    bare = parse_job(shape, "invented")
    bias: dict[str, float] = {}
    for name, value in read.items():
        who = accuracy_of(bare, name, value)
        seen = value + bias.setdefault(who.who, float(rng.uniform(-1.0, 1.0))) * who.limit
        seen += PLACED_K.get(name, 0.0) * float(rng.standard_normal())
        if name.startswith("static"):
            seen = max(seen + 0.03 * value * float(rng.standard_normal()) + float(rng.standard_normal()), 0.1)
        unit = "Pa" if "pressure" in name else units.get(name.split("_")[0], units.get(name, "degC"))
        lines.append(f'{name} = "{seen:.4f} {unit}"')
    if "airflow" in taken:
        error = float(np.exp(0.05 * rng.standard_normal()))
        lines.append(f'airflow = "{flow * error:.5f} m^3/s"\nairflow_uncertainty = "8.2 %"')
    if "condensate" in taken:
        caught = water * 1200.0 * float(np.exp(0.03 * rng.standard_normal())) / 998.0
        if caught > 2e-5:
            lines.append(f'[readings.condensate]\nvolume = "{caught * 1000:.4f} L"\ntime = "1200 s"')
    job = parse_job(_text(tons, year, orifice, rows, rng, "\n".join(lines)), "invented")
    truth = {
        "airflow": flow,
        "total_w": state.total_w,
        "sensible_w": state.sensible_w,
        "suction": state.suction_c,
        "blower_watts": point.watts,
        "charge": row[CHARGE],
        "return_leak": leak,
    }
    return Invented(job, fault, truth, row, dry_air)


def _text(tons: float, year: int, orifice: bool, rows: str, rng: np.random.Generator, readings: str) -> str:
    kind = "damp"
    return f"""airtrim_job = 1
name = "invented"
[house]
place = "Greensboro, NC"
floor_area = "{tons * 560:.0f} ft2"
year_built = 1995
[system]
outdoor_size = "{tons} tons"
coil_size = "{tons} tons"
refrigerant = "R-410A"
metering_device = "{"fixed_orifice" if orifice else "expansion_valve"}"
year = {year}
[heat]
kind = "electric_strip"
strip_power = "8 kW"
[blower]
run_capacitor = "7.5 uF"
tap_in_use = 1
{rows}
[thermostat]
set_point = "75 F"
fan = "auto"
[complaint]
kinds = ["{kind}"]
[[readings]]
running_for = "25 min"
{readings}
"""
