"""The loop against what others measured or computed; each table names its source and tolerance."""

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from airtrim.physics.air.moist import humidity_ratio_from_wet_bulb
from airtrim.physics.unit.describe import describe_unit
from airtrim.physics.unit.fields import RECIPROCATING, unit_rows
from airtrim.physics.unit.maker_table import fit_unit
from airtrim.physics.unit.properties import dew_c_from_pressure
from airtrim.physics.unit.steady import RATED_PRESSURE_PA, RATED_RETURN_C, unit_state, working_state

FOLDER = Path(__file__).parents[2] / "published" / "unit"
CASES, SUCTION, SURFACE, POWER = (
    tomllib.loads((FOLDER / f"{name}.toml").read_text(encoding="utf-8"))
    for name in ("loop_cases", "maker_suction", "conditions_surface", "airflow_power")
)
HUMIDITY = humidity_ratio_from_wet_bulb(RATED_RETURN_C, (67.0 - 32.0) / 1.8, RATED_PRESSURE_PA)


def case_unit() -> np.ndarray:
    power = CASES["compressor_w"] + CASES["outdoor_fan_w"]
    return unit_rows(
        gross_capacity_w=CASES["gross_capacity_w"],
        compressor_power_w=power,
        coil_td_k=17.5,
        sensible_heat_ratio=CASES["sensible_heat_ratio"],
        air_exponent=0.5,
        rated_flow_kg_s=CASES["flow_kg_s"],
        metering_device=0.0,
        refrigerant="R-22",
        compressor=RECIPROCATING,
        condenser_lift_k=CASES["condenser_lift_f"] / 1.8,
        outdoor_fan_share=CASES["outdoor_fan_w"] / power,
    )[0]


Errors = list[tuple[str, float, float]]


def case_errors(case: dict[str, float]) -> Errors:
    state = working_state(
        case["return_c"],
        case["humidity_ratio"],
        case["outdoor_c"],
        CASES["flow_kg_s"],
        CASES["pressure_pa"],
        case_unit(),
    )
    share, power = CASES["tolerance"]["share"], state.power_w - CASES["outdoor_fan_w"]
    return [
        (f"{case['id']} capacity", state.total_w / (1000.0 * case["total_kw"]) - 1.0, share),
        (f"{case['id']} power", power / (1000.0 * case["compressor_kw"]) - 1.0, share),
    ]


@pytest.mark.parametrize("case", CASES["cases"], ids=lambda case: f"{CASES['source']}-{case['id']}")
def test_loop_cases_scaled_at_one_state(case: dict[str, float]) -> None:
    for what, error, allowed in case_errors(case):
        assert abs(error) <= allowed, (what, error)


def test_a_unit_fitted_to_the_cases_as_a_makers_table() -> None:
    """The eight states read as a maker's table: a fit comes nearer than scaling at one state does."""
    table = [
        (
            CASES["flow_kg_s"],
            case["wet_bulb_c"],
            case["return_c"],
            case["outdoor_c"],
            1000.0 * case["total_kw"],
            1000.0 * case["sensible_kw"],
            1000.0 * case["compressor_kw"] + CASES["outdoor_fan_w"],
        )
        for case in CASES["cases"]
    ]
    fitted = fit_unit(np.array(table), refrigerant="R-22", compressor=RECIPROCATING)
    total, _, power = fitted.worst
    assert total < CASES["tolerance"]["share"] and power < CASES["tolerance"]["share"]
    assert fitted.residuals.shape == (len(table), 3)


def saturated_f() -> list[float]:
    return [1.8 * dew_c_from_pressure(4, gauge * 6894.757 + 101325.0) + 32.0 for gauge in SUCTION["gauge_psi"]]


def suction_errors() -> Errors:
    limit = SUCTION["tolerance"]["saturated_f"]
    pairs = zip(saturated_f(), SUCTION["saturated_f"], strict=True)
    return [(f"saturation of {expected:g} F", got - expected, limit) for got, expected in pairs]


def test_makers_suction_lies_in_the_described_range() -> None:
    """maker_suction: the saturation of the makers' pressures, and that the coil difference assumed reaches both ends."""
    limit = SUCTION["tolerance"]["saturated_f"]
    column = describe_unit(3.0 * 3516.85, 3.0 * 3516.85, SUCTION["refrigerant"])["coil_td_k"]
    for saturated, (what, error, allowed) in zip(saturated_f(), suction_errors(), strict=True):
        assert abs(error) <= allowed, what
        assert 80.0 - 1.8 * column.high - limit <= saturated <= 80.0 - 1.8 * column.low + limit


def surface_errors(wet_bulb_f: float, outdoor_f: float) -> Errors:
    """A unit of SEER 16, the middle of the tables behind the surfaces (13 to 21), with an expansion valve."""

    def ratio(coefficients: list[float]) -> float:
        def at(x: float, y: float) -> float:
            a, b, c, d, e, f = coefficients
            return a + b * x + c * x * x + d * y + e * y * y + f * x * y

        return at(wet_bulb_f, outdoor_f) / at(67.0, 95.0)

    unit = describe_unit(10550.0, 10550.0, "R-410A", "expansion_valve", seer=16.0).row()
    unit[14], unit[15], unit[18] = 1.0, 1.0, 0.0  # makers rate clean units with even circuits
    rated = unit_state(RATED_RETURN_C, HUMIDITY, 35.0, unit[5], RATED_PRESSURE_PA, unit)
    humidity = humidity_ratio_from_wet_bulb(RATED_RETURN_C, (wet_bulb_f - 32.0) / 1.8, RATED_PRESSURE_PA)
    state = unit_state(RATED_RETURN_C, humidity, (outdoor_f - 32.0) / 1.8, unit[5], RATED_PRESSURE_PA, unit)
    capacity, power = state[0] / rated[0], state[2] / rated[2]
    place, limits = f"at {wet_bulb_f:g}/{outdoor_f:g} F", SURFACE["tolerance"]
    return [
        (f"capacity {place}", capacity / ratio(SURFACE["capacity"]) - 1.0, limits["capacity"]),
        (f"energy input {place}", power / capacity / ratio(SURFACE["energy_input"]) - 1.0, limits["energy_input"]),
    ]


@pytest.mark.parametrize("outdoor_f", SURFACE["outdoor_f"])
@pytest.mark.parametrize("wet_bulb_f", SURFACE["wet_bulb_f"])
def test_conditions_surface(wet_bulb_f: float, outdoor_f: float) -> None:
    for what, error, allowed in surface_errors(wet_bulb_f, outdoor_f):
        assert abs(error) <= allowed, (what, error)


@pytest.mark.parametrize("device", [0.0, 1.0])
@pytest.mark.parametrize("kind", ["R-22", "R-32", "R-454B", "R-407C", "R-134a"])
def test_power_at_half_airflow_with_every_refrigerant(kind: str, device: float) -> None:
    """airflow_power (rodriguez1996), scroll; the orifice unit loses more capacity (same source)."""
    rows = [
        unit_rows(
            gross_capacity_w=10200.0, compressor_power_w=2650.0, coil_td_k=17.5, sensible_heat_ratio=0.75, air_exponent=0.5,
            rated_flow_kg_s=0.68, metering_device=one, refrigerant=kind,
        )[0]
        for one in (device, 0.0)
    ]  # fmt: skip
    for outdoor in POWER["outdoor_c"]:
        (full, half), (valve_full, valve_half) = (
            [unit_state(RATED_RETURN_C, HUMIDITY, outdoor, f, RATED_PRESSURE_PA, row) for f in (0.68, 0.34)]
            for row in rows
        )
        assert 1.0 - POWER["power_fall"] < half[2] / full[2] < 1.0
        assert half[0] / full[0] <= valve_half[0] / valve_full[0] + 1e-9


def reciprocating_falls(device: float, outdoor_c: float) -> tuple[str, float, float]:
    """How far power falls at half airflow with R-22 and the compressors of the paper's time."""
    row = unit_rows(
        gross_capacity_w=10200.0, compressor_power_w=2650.0, coil_td_k=17.5, sensible_heat_ratio=0.75, air_exponent=0.5,
        rated_flow_kg_s=0.68, metering_device=device, refrigerant="R-22", compressor=RECIPROCATING,
    )[0]  # fmt: skip
    full, half = (unit_state(RATED_RETURN_C, HUMIDITY, outdoor_c, f, RATED_PRESSURE_PA, row) for f in (0.68, 0.34))
    return f"fall at {outdoor_c:g} degC, reciprocating", 1.0 - half[2] / full[2], POWER["power_fall"]


@pytest.mark.parametrize("outdoor_c", POWER["reciprocating_outdoor_c"])
@pytest.mark.parametrize("device", [0.0, 1.0])
def test_power_at_half_airflow_with_a_reciprocating_compressor(device: float, outdoor_c: float) -> None:
    """airflow_power (rodriguez1996); the compressor's standing losses come from other data (nrel30152)."""
    _, fall, bound = reciprocating_falls(device, outdoor_c)
    assert 0.01 < fall < bound


def published_errors(table: dict[str, Any]) -> Errors:
    """Every error of a table that this file checks, for the page of outside checks."""
    if table["locator"] == SUCTION["locator"]:
        return suction_errors()
    if table["locator"] == SURFACE["locator"]:
        both = [(wet, out) for wet in SURFACE["wet_bulb_f"] for out in SURFACE["outdoor_f"]]
        return [error for wet, out in both for error in surface_errors(wet, out)]
    return [error for case in CASES["cases"] for error in case_errors(case)]
