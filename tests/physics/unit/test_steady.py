"""The unit in balance: its rating, its compressor map, and what slower air does."""

import tomllib
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq

from airtrim.core.errors import NoSolutionError
from airtrim.physics.air.moist import humidity_ratio_from_wet_bulb
from airtrim.physics.unit.balance import LARGER, balance
from airtrim.physics.unit.closure import FLOW_FACTOR, UNITS, rating_closure
from airtrim.physics.unit.compressor import map_mass_flow_kg_s, map_power_w
from airtrim.physics.unit.fields import complete_rows
from airtrim.physics.unit.properties import liquid_enthalpy_j_kg, suction_enthalpy_j_kg
from airtrim.physics.unit.steady import (
    RATED_OUTDOOR_C,
    RATED_PRESSURE_PA,
    RATED_RETURN_C,
    RATED_WET_BULB_C,
    steady_state,
    unit_state,
)
from tests.physics.unit.test_outside import reciprocating_falls
from tests.physics.unit.unit_cases import MIDDLE, MIDDLE_ORIFICE, many_units

FOLDER = Path(__file__).parents[2] / "published" / "unit"
MAP, EXAMPLE, CAPACITY, POWER, CONDITIONS, SUPERHEAT = (
    tomllib.loads((FOLDER / f"{name}.toml").read_text(encoding="utf-8"))
    for name in (
        "compressor_map",
        "closure_example",
        "airflow_capacity",
        "airflow_power",
        "conditions",
        "orifice_superheat",
    )
)
HUMIDITY = humidity_ratio_from_wet_bulb(RATED_RETURN_C, RATED_WET_BULB_C, RATED_PRESSURE_PA)
BTU_H, LB_H = 0.29307107, 0.45359237 / 3600.0


def rated(unit: NDArray[np.float64], fraction: float = 1.0, outdoor_c: float = RATED_OUTDOOR_C) -> tuple[float, ...]:
    return steady_state(RATED_RETURN_C, HUMIDITY, outdoor_c, fraction * unit[5], RATED_PRESSURE_PA, unit)


Errors = list[tuple[str, float, float]]


def kept(errors: Errors) -> None:
    """Each error, told as (what, error, allowed), within what is allowed."""
    assert errors
    for what, error, allowed in errors:
        assert abs(error) <= allowed, (what, error, allowed)


def map_errors(case: dict[str, float]) -> Errors:
    suction, condensing = ((case[name] - 32.0) / 1.8 for name in ("suction_f", "discharge_f"))
    flow = map_mass_flow_kg_s(suction, condensing) / LB_H
    return [
        ("lb/h", flow - case["mass_flow_lb_h"], MAP["tolerance"]["mass_flow_lb_h"]),
        ("W", map_power_w(suction, condensing) - case["power_w"], MAP["tolerance"]["power_w"]),
    ]


@pytest.mark.parametrize(
    "case", MAP["cases"], ids=lambda case: f"{MAP['source']}-{case['suction_f']}-{case['discharge_f']}"
)
def test_compressor_map(case: dict[str, float]) -> None:
    kept(map_errors(case))


def test_map_behaves_where_it_is_used() -> None:
    """No range came with the map: flow rises with suction, power with condensing, capacity falls with condensing."""
    code = int(MIDDLE[7])
    for suction in np.arange(-28.0, 15.0, 2.0):
        for condensing in np.arange(22.0, 65.0, 2.0):
            flow = map_mass_flow_kg_s(suction, condensing)
            assert 0.0 < flow < map_mass_flow_kg_s(suction + 1.0, condensing)
            assert 0.0 < map_power_w(suction, condensing) < map_power_w(suction, condensing + 1.0)
            vapour = suction_enthalpy_j_kg(code, suction, 5.56)
            capacity = flow * (vapour - liquid_enthalpy_j_kg(code, condensing, 5.56))
            hotter = map_mass_flow_kg_s(suction, condensing + 1.0)
            assert hotter * (vapour - liquid_enthalpy_j_kg(code, condensing + 1.0, 5.56)) < capacity


def test_every_rating_is_met() -> None:
    """The closure's promise: capacity, power, coil difference and sensible ratio at 80/67/95 F and rated airflow."""
    for unit in (MIDDLE, *many_units(24)):
        total, sensible, power, suction, surface, _ = rated(unit)
        assert total == pytest.approx(unit[0], rel=1e-6)
        assert power == pytest.approx(unit[1], rel=1e-6)
        assert suction == pytest.approx(RATED_RETURN_C - unit[2], abs=1e-5)
        assert sensible / total == pytest.approx(unit[3], abs=1e-5)
        assert surface > suction


@pytest.mark.parametrize(("column", "value"), [(2, 10.0), (3, 0.55), (3, 1.0), (5, 0.3), (0, -1.0)])
def test_a_rating_that_contradicts_itself_is_refused(column: int, value: float) -> None:
    unit = MIDDLE.copy()
    unit[column] = value
    with pytest.raises(NoSolutionError, match="cannot be met by a coil"):
        rating_closure(unit)
    assert np.isnan(rated(unit)[0])


def closure_errors(case: dict[str, float]) -> Errors:
    total = EXAMPLE["rated_total_btu_h"] * BTU_H
    difference = (80.0 - EXAMPLE["rated_suction_f"]) / 1.8
    flow = EXAMPLE["rated_flow_lb_h"] * LB_H
    unit = complete_rows(np.array([total, 2490.0, difference, EXAMPLE["rated_sensible_heat_ratio"], 0.0, flow, 0.0]))[0]
    closed = rating_closure(unit)
    flow *= case["cfm_per_ton"] / 400.0
    touched = flow * (1.0 - np.exp(-closed[UNITS] * unit[5] / flow))

    def at(outdoor_c: float) -> tuple[float, ...]:
        return balance(RATED_RETURN_C, HUMIDITY, outdoor_c, touched, RATED_PRESSURE_PA, closed, unit, LARGER)

    # the example holds condensing at 115 F: outdoors is what gives that
    outdoor = brentq(lambda outdoor_c: at(outdoor_c)[2] - 46.1111, 30.0, 40.0)
    surface, suction = at(outdoor)[:2]
    total, sensible = steady_state(RATED_RETURN_C, HUMIDITY, outdoor, flow, RATED_PRESSURE_PA, unit)[:2]
    limits = EXAMPLE["tolerance"]
    return [
        ("flow factor", closed[FLOW_FACTOR] - 1.0, 2e-3),
        ("suction, F", 1.8 * suction + 32.0 - case["suction_f"], limits["suction_f"]),
        ("surface, F", 1.8 * surface + 32.0 - case["surface_f"], limits["surface_f"]),
        ("total", total / BTU_H / case["total_btu_h"] - 1.0, limits["total"]),
        ("sensible ratio", sensible / total - case["sensible_heat_ratio"], limits["sensible_heat_ratio"]),
    ]


@pytest.mark.parametrize("case", EXAMPLE["cases"], ids=lambda case: f"{EXAMPLE['source']}-{case['cfm_per_ton']}")
def test_closure_example(case: dict[str, float]) -> None:
    kept(closure_errors(case))


def airflow_errors(fraction: float) -> Errors:
    a, b, c = CAPACITY["coefficients"]
    expected = (a + b * fraction + c * fraction**2) / (a + b + c)
    return [
        ("capacity", rated(unit, fraction)[0] / unit[0] - expected, CAPACITY["tolerance"]["capacity"])
        for unit in (MIDDLE, *many_units(12))
    ]


@pytest.mark.parametrize(
    "fraction", CAPACITY["flow_fractions"], ids=lambda fraction: f"{CAPACITY['source']}-{fraction}"
)
def test_capacity_against_airflow(fraction: float) -> None:
    kept(airflow_errors(fraction))


def condition_errors(case: dict[str, float]) -> Errors:
    wet_bulb, outdoor = (case["wet_bulb_f"] - 32.0) / 1.8, (case["outdoor_f"] - 32.0) / 1.8
    humidity = humidity_ratio_from_wet_bulb(RATED_RETURN_C, wet_bulb, RATED_PRESSURE_PA)
    total, _, power, *_ = steady_state(RATED_RETURN_C, humidity, outdoor, MIDDLE[5], RATED_PRESSURE_PA, MIDDLE)
    return [
        ("capacity", total / MIDDLE[0] - case["capacity_ratio"], CONDITIONS["tolerance"]["capacity"]),
        ("power", power / MIDDLE[1] - case["power_ratio"], CONDITIONS["tolerance"]["power"]),
    ]


@pytest.mark.parametrize("case", CONDITIONS["cases"], ids=lambda case: f"{CONDITIONS['source']}-{case['id']}")
def test_capacity_and_power_against_conditions(case: dict[str, float]) -> None:
    kept(condition_errors(case))


def fall_errors(outdoor_c: float) -> Errors:
    """How far power falls at half airflow; the bound itself is excluded, as the source has it."""
    units = (MIDDLE, *many_units(12))
    falls = [1.0 - rated(u, POWER["flow_fraction"], outdoor_c)[2] / rated(u, 1.0, outdoor_c)[2] for u in units]
    return [(f"fall at {outdoor_c:g} degC", fall, POWER["power_fall"]) for fall in falls]


def all_fall_errors(outdoor_c: float) -> Errors:
    """The same with the reciprocating compressor beside."""
    scrolls = fall_errors(outdoor_c) if outdoor_c in POWER["outdoor_c"] else []
    return [*scrolls, *(reciprocating_falls(device, outdoor_c) for device in (0.0, 1.0))]


@pytest.mark.parametrize("outdoor_c", POWER["outdoor_c"], ids=lambda outdoor: f"{POWER['source']}-{outdoor}")
def test_power_hardly_falls_at_half_airflow(outdoor_c: float) -> None:
    for _, fall, bound in fall_errors(outdoor_c):
        assert 0.0 <= fall < bound


def test_slower_air_dries_more_and_runs_colder() -> None:
    """common-practice: sensible ratio, capacity, suction and surface fall with airflow; latent rises down to about
    half."""
    states = np.array([rated(MIDDLE, fraction)[:5] for fraction in (1.3, 1.15, 1.0, 0.85, 0.7, 0.55)])
    total, sensible, _, suction, surface = states.T
    assert np.all(np.diff(total) < 0.0)
    assert np.all(np.diff(sensible / total) < 0.0)
    assert np.all(np.diff(total - sensible) > 0.0)
    assert np.all(np.diff(suction) < 0.0) and np.all(np.diff(surface) < 0.0)


def test_dry_air_makes_a_dry_coil_and_hot_outdoors_costs() -> None:
    total, sensible, *_ = steady_state(26.0, 0.004, 35.0, 0.6, RATED_PRESSURE_PA, MIDDLE)
    assert sensible == total
    mild, hot = rated(MIDDLE, 1.0, 25.0), rated(MIDDLE, 1.0, 45.0)
    assert mild[0] > hot[0] and mild[2] < hot[2]


def test_no_state_is_not_a_number() -> None:
    for arguments in (
        (np.nan, 0.01, 35.0, 0.6),
        (26.0, 0.01, np.nan, 0.6),
        (26.0, 0.01, 35.0, 0.0),
        (26.0, 0.01, 75.0, 0.6),
    ):
        assert np.isnan(steady_state(*arguments, RATED_PRESSURE_PA, MIDDLE)[0])


@pytest.mark.parametrize("outdoor_c", [35.0, 40.0])
def test_the_orifice_unit_loses_more_capacity_than_the_valve_unit(outdoor_c: float) -> None:
    """Rodriguez et al. 1996 [rodriguez1996]: at 35 C outdoors and half the airflow. Direction only; the size is not printed."""
    valve, orifice = (
        rated(unit, 0.5, outdoor_c)[0] / rated(unit, 1.0, outdoor_c)[0] for unit in (MIDDLE, MIDDLE_ORIFICE)
    )
    assert orifice < valve - 0.005


def superheat(unit: NDArray[np.float64], fraction: float = 1.0, outdoor_c: float = RATED_OUTDOOR_C) -> float:
    return unit_state(RATED_RETURN_C, HUMIDITY, outdoor_c, fraction * unit[5], RATED_PRESSURE_PA, unit)[5]


def test_low_airflow_lowers_the_orifices_superheat_and_not_the_valves() -> None:
    """common-practice: with a fixed orifice lost load becomes lost superheat, then floodback; a valve holds it."""
    assert superheat(MIDDLE_ORIFICE) == pytest.approx(12.0 / 1.8, abs=1e-5)  # the rating's own
    falling = [superheat(MIDDLE_ORIFICE, fraction) for fraction in (1.2, 1.0, 0.8, 0.6)]
    assert all(later < earlier - 0.5 for earlier, later in pairwise(falling))
    # the valve's opening is rounded off over a kelvin
    assert superheat(MIDDLE, 0.6) == pytest.approx(superheat(MIDDLE, 1.2), abs=0.05)


def superheat_errors(outdoor_f: float) -> Errors:
    """The charging table for fixed orifices: what superheat a rightly charged unit shows [see the table's own source]."""
    row = SUPERHEAT["rows"][f"{outdoor_f:g}"]
    errors = []
    for wet_bulb_f, target_f in zip(SUPERHEAT["wet_bulb_f"], row, strict=True):
        if target_f <= 0.0:
            continue  # the table gives no target there
        return_c = (SUPERHEAT["return_dry_bulb_f"] - 32.0) / 1.8
        humidity = humidity_ratio_from_wet_bulb(return_c, (wet_bulb_f - 32.0) / 1.8, RATED_PRESSURE_PA)
        state = unit_state(
            return_c, humidity, (outdoor_f - 32.0) / 1.8, MIDDLE_ORIFICE[5], RATED_PRESSURE_PA, MIDDLE_ORIFICE
        )
        errors.append(1.8 * state[5] - target_f)
    each = [(f"superheat at {outdoor_f:g} F, F", error, SUPERHEAT["tolerance"]["each_f"]) for error in errors]
    return [*each, (f"mean at {outdoor_f:g} F, F", float(np.mean(errors)), SUPERHEAT["tolerance"]["mean_f"])]


@pytest.mark.parametrize("outdoor_f", [float(row) for row in SUPERHEAT["rows"]])
def test_the_orifices_superheat_is_the_trades_target(outdoor_f: float) -> None:
    kept(superheat_errors(outdoor_f))


def published_errors(table: dict[str, Any]) -> Errors:
    """Every error of a table that this file checks, for the page of outside checks."""
    by_table: list[tuple[Any, Callable[[Any], Errors], list[Any]]] = [
        (MAP, map_errors, MAP["cases"]),
        (EXAMPLE, closure_errors, EXAMPLE["cases"]),
        (CAPACITY, airflow_errors, CAPACITY["flow_fractions"]),
        (POWER, all_fall_errors, sorted({*POWER["outdoor_c"], *POWER["reciprocating_outdoor_c"]})),
        (CONDITIONS, condition_errors, CONDITIONS["cases"]),
        (SUPERHEAT, superheat_errors, [float(row) for row in SUPERHEAT["rows"]]),
    ]
    errors, given = next((make, cases) for known, make, cases in by_table if known["locator"] == table["locator"])
    return [error for one in given for error in errors(one)]
