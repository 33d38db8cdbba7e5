"""The loop: one solution whoever solves it, its faults in the trade's directions, its bounds told apart."""

import numpy as np
import pytest
from scipy.optimize import root

from airtrim.core.errors import InputError, NoSolutionError
from airtrim.physics.air.moist import humidity_ratio_from_wet_bulb
from airtrim.physics.coil.wet import bypass_factor
from airtrim.physics.unit.balance import FINE, LARGER, balance, loop_residuals
from airtrim.physics.unit.closure import UNITS, closure
from airtrim.physics.unit.fields import UNIT_FIELDS, complete_rows, unit_rows
from airtrim.physics.unit.steady import (
    RATED_OUTDOOR_C,
    RATED_PRESSURE_PA,
    RATED_RETURN_C,
    RATED_WET_BULB_C,
    WorkingState,
    working_state,
)
from tests.physics.unit.unit_cases import MIDDLE, MIDDLE_ORIFICE, faulty_units

HUMIDITY = humidity_ratio_from_wet_bulb(RATED_RETURN_C, RATED_WET_BULB_C, RATED_PRESSURE_PA)


def changed(unit: np.ndarray, **columns: float) -> np.ndarray:
    row = unit.copy()
    for name, value in columns.items():
        row[UNIT_FIELDS.index(name)] = value
    return row


def rated(unit: np.ndarray, fraction: float = 1.0, outdoor_c: float = RATED_OUTDOOR_C) -> WorkingState:
    return working_state(RATED_RETURN_C, HUMIDITY, outdoor_c, fraction * unit[5], RATED_PRESSURE_PA, unit)


def test_the_same_answer_as_scipy_on_the_same_residuals() -> None:
    """scipy.optimize.root (MINPACK's hybrid method) from a start one kelvin off: 1e-6 K in every unknown."""
    generator = np.random.default_rng(4)
    compared = 0
    for row in faulty_units(24):
        closed = closure(row)
        for _ in range(6):
            return_c, outdoor = generator.uniform(21.0, 28.0), generator.uniform(18.0, 44.0)
            humidity = humidity_ratio_from_wet_bulb(return_c, return_c - generator.uniform(3.0, 8.0), RATED_PRESSURE_PA)
            flow = row[5] * generator.uniform(0.45, 1.25)
            touched = flow * (1.0 - bypass_factor(flow, row[5], closed[UNITS], row[4]))
            *ours, _, reason = balance(return_c, humidity, outdoor, touched, RATED_PRESSURE_PA, closed, row, LARGER)
            if reason != FINE:
                continue
            air = np.array([return_c, humidity, outdoor, touched, RATED_PRESSURE_PA])
            start = np.array(ours) + np.array([0.5, -0.5, 1.0, 0.5])
            theirs = root(loop_residuals, start, args=(air, closed, row), tol=1e-12)
            assert np.abs(theirs.fun).max() < 1e-9
            assert theirs.x == pytest.approx(ours, abs=1e-6)
            compared += 1
    assert compared > 130


def test_a_balance_is_found_all_over_the_trusted_envelope() -> None:
    """No state may be missing for sound units but where the condensing bound is left."""
    generator = np.random.default_rng(8)
    for row in faulty_units(32):
        closed = closure(row)
        for _ in range(40):
            return_c = generator.uniform(20.0, 29.0)
            wet_bulb = min(max(return_c - generator.uniform(2.0, 10.0), 12.8), 23.9, return_c - 0.5)
            flow = row[5] * generator.uniform(0.4, 1.3)
            touched = flow * (1.0 - bypass_factor(flow, row[5], closed[UNITS], row[4]))
            humidity = humidity_ratio_from_wet_bulb(return_c, wet_bulb, RATED_PRESSURE_PA)
            outdoor = generator.uniform(15.6, 41.0)
            assert balance(return_c, humidity, outdoor, touched, RATED_PRESSURE_PA, closed, row, LARGER)[5] == FINE


def test_wrong_charge() -> None:
    """common-practice: too little charge takes subcooling, then an orifice's capacity and superheat rises; a valve opens. Too much
    charge raises subcooling and condensing pressure and floods an orifice's suction."""
    low, high = (rated(changed(MIDDLE_ORIFICE, charge=value)) for value in (0.85, 1.15))
    fine = rated(MIDDLE_ORIFICE)
    assert low.subcooling_k < 1.0 < fine.subcooling_k < high.subcooling_k
    assert low.superheat_k > fine.superheat_k + 5.0 and high.superheat_k < fine.superheat_k - 5.0
    assert low.total_w < 0.93 * fine.total_w
    assert high.condensing_c > fine.condensing_c > low.condensing_c
    valve = rated(changed(MIDDLE, charge=0.85))
    assert valve.total_w > 0.95 * MIDDLE[0] and valve.valve_opening > rated(MIDDLE).valve_opening
    assert rated(changed(MIDDLE, charge=0.65, valve_reserve=1.2)).valve_opening == pytest.approx(1.0, abs=0.02)


def test_dirt_and_a_larger_coil() -> None:
    """common-practice: a dirty coil is colder and moves less heat, a dirty condenser hotter at more power; a larger coil warmer."""
    fine = rated(MIDDLE)
    coil, condenser = (rated(changed(MIDDLE, **{name: 0.6})) for name in ("coil_clean", "condenser_clean"))
    assert coil.suction_c < fine.suction_c and coil.total_w < fine.total_w
    assert condenser.condensing_c > fine.condensing_c + 2.0 and condenser.power_w > fine.power_w
    large = rated(changed(MIDDLE, coil_scale=1.33))
    assert large.suction_c > fine.suction_c and large.total_w > fine.total_w
    assert large.sensible_heat_ratio > fine.sensible_heat_ratio
    slow = rated(changed(MIDDLE, condenser_air=0.6))
    assert slow.condensing_c > fine.condensing_c + 2.0


def test_circuits() -> None:
    """The inlet of a circuit is warmer than its end by the drop, at any flow less by flow^1.8 (own derivation); the circuit with
    less air is colder; a blend with glide is colder at the inlet than at the end."""
    drop = rated(changed(MIDDLE, circuit_drop_k=2.0))
    assert drop.coil_inlet_c - drop.suction_c == pytest.approx(2.0, abs=0.15)  # R-410A's glide is 0.1 K
    slow = rated(changed(MIDDLE, circuit_drop_k=2.0), 0.5)
    ratio = (slow.coil_inlet_c - slow.suction_c + 0.08) / (drop.coil_inlet_c - drop.suction_c + 0.08)
    flows = slow.refrigerant_kg_s / drop.refrigerant_kg_s
    assert ratio == pytest.approx(flows**1.8 * np.exp(-0.031 * (slow.suction_c - drop.suction_c)) ** 2, rel=0.05)
    uneven = rated(changed(MIDDLE, circuit_drop_k=2.0, uneven_circuits=0.3))
    assert uneven.coldest_inlet_c < uneven.coil_inlet_c - 0.5
    assert uneven.coldest_surface_c < uneven.surface_c - 0.5
    assert uneven.total_w < drop.total_w
    blend = rated(changed(MIDDLE, refrigerant=3.0, compressor=0.0))  # R-407C
    assert blend.suction_c - blend.coil_inlet_c > 3.0


@pytest.mark.parametrize("name", ["R-22", "R-32", "R-134a", "R-407C", "R-410A", "R-454B"])
def test_every_refrigerant_meets_its_rating(name: str) -> None:
    row = unit_rows(
        gross_capacity_w=10200.0, compressor_power_w=2650.0, coil_td_k=17.5, sensible_heat_ratio=0.75, air_exponent=0.5,
        rated_flow_kg_s=0.68, metering_device=0.0, refrigerant=name, circuit_drop_k=1.5,
    )[0]  # fmt: skip
    state = rated(row)
    assert state.total_w == pytest.approx(10200.0, rel=1e-7) and state.power_w == pytest.approx(2650.0, rel=1e-7)
    assert state.suction_c == pytest.approx(RATED_RETURN_C - 17.5, abs=1e-6)
    assert state.superheat_k == pytest.approx(10.0 / 1.8, abs=1e-6)
    assert state.subcooling_k == pytest.approx(10.0 / 1.8, abs=1e-6)
    assert state.condensing_c == pytest.approx(35.0 + 20.0 / 1.8, abs=1e-6)
    assert state.sensible_heat_ratio == pytest.approx(0.75, abs=1e-5)


def test_the_sensor_lies_between_saturation_and_surface() -> None:
    ends = [rated(changed(MIDDLE, sensor_place=place)).sensor_c for place in (0.0, 0.5, 1.0)]
    fine = rated(MIDDLE)
    assert ends[0] == pytest.approx(fine.suction_c) and ends[2] == pytest.approx(fine.surface_c)
    assert ends[1] == pytest.approx(0.5 * (ends[0] + ends[2]))


def test_outside_the_trusted_envelope_is_flagged() -> None:
    assert not rated(MIDDLE).wider_range
    assert rated(MIDDLE, 0.35).wider_range and rated(MIDDLE, 1.0, 12.0).wider_range
    assert rated(changed(MIDDLE, valve_reserve=4.0), 0.5).hunting and not rated(MIDDLE).hunting


@pytest.mark.parametrize(
    ("columns", "state", "sentence"),
    [
        ({}, (26.0, 0.010, 64.0, 0.68), "condensing leaves the compressor's envelope at 65.5 C"),
        ({"condenser_air": 0.15}, (26.0, 0.010, 44.0, 0.68), "condensing leaves the compressor's envelope"),
        (
            {},
            (16.0, 0.004, 30.0, 0.02),
            "saturated suction leaves the compressor's envelope at -28 C|mean surface falls",
        ),
        ({}, (26.0, 0.010, 35.0, 0.0), "airflow must be above zero"),
        ({"metering_device": 1.0, "charge": 0.6}, (28.0, 0.015, 15.0, 0.68), "superheat passes 30 K"),
        ({"metering_device": 1.0}, (14.0, 0.002, 55.0, 0.01), "superheat falls below -20 K"),
        ({"valve_reserve": 8.0}, (24.0, 0.015, -5.0, 1.0), "pressure is less than 1.1 times suction pressure"),
    ],
)
def test_no_state_says_which_bound(columns: dict[str, float], state: tuple[float, ...], sentence: str) -> None:
    return_c, humidity, outdoor, flow = state
    with pytest.raises(NoSolutionError, match=sentence):
        working_state(return_c, humidity, outdoor, flow, RATED_PRESSURE_PA, changed(MIDDLE, **columns))


def test_rows_that_cannot_be_are_refused() -> None:
    with pytest.raises(InputError, match="no column is called tonnage"):
        unit_rows(tonnage=3.0)
    with pytest.raises(InputError, match="the column gross_capacity_w is missing"):
        unit_rows(coil_td_k=17.0)
    with pytest.raises(InputError, match="Refrigerant 'R-12' is not known"):
        unit_rows(**dict.fromkeys(UNIT_FIELDS[:7], 1.0), refrigerant="R-12")
    with pytest.raises(InputError, match="UNIT_FIELDS"):
        complete_rows(np.ones((2, 3)))
