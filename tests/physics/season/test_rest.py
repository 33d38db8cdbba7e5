"""When a house takes longer steps; that the year stays as it is: tests/reference (continuous time) and test_year (finer steps)."""

from dataclasses import replace

import numpy as np
import pytest

from airtrim.physics.season.layout import PARAMETERS, parameter_rows
from airtrim.physics.season.rest import rests
from airtrim.physics.season.system import AirflowProgram
from airtrim.physics.season.year import run_years
from tests.physics.season.season_cases import humid_year, invented_systems

PROGRAM = AirflowProgram(
    cooling_set_point_c=24.0, heating_set_point_c=20.0, humidity_set=0.60, long_call_s=3600.0, overcool_k=0.5
)
IDLE = {
    "resting_s": 60.0, "call": 0.0, "held_s": 1200.0, "air_c": 22.0, "trend_k_s": 0.0, "relative": 0.45, "running": 0.0,
    "flow": 0.0, "steady": 1.0, "held_water_kg": 0.4, "frost_kg": 0.0, "stage": 1.0, "strips": 0.0,
}  # fmt: skip
COOLING = IDLE | {"call": 1.0, "running": 1.0, "flow": 1.0, "air_c": 24.0, "held_s": 600.0}
HEATING = IDLE | {"call": 2.0, "flow": 1.0, "air_c": 20.0, "held_water_kg": 0.0}


def row(program=PROGRAM, **changed):
    house = replace(invented_systems(1), **changed)
    return parameter_rows(house, program, house.fan_watts)[0]


@pytest.mark.parametrize("at", [IDLE, COOLING, HEATING])
def test_even_and_far_from_every_contact_a_house_rests(at):
    assert rests.reference(row(), **at)


@pytest.mark.parametrize(
    ("at", "changed"),
    [
        (IDLE, {"air_c": 23.79}),  # half a kelvin below the contact: overcooling may come
        (IDLE, {"air_c": 19.6}),
        (IDLE, {"air_c": 23.0, "trend_k_s": 0.01}),
        (IDLE, {"held_s": 20.0}),
        (IDLE, {"flow": 0.4}),  # air over a wet coil
        (IDLE, {"frost_kg": 0.01}),
        (IDLE, {"relative": 0.58}),
        (IDLE, {"relative": 0.621}),
        (COOLING, {"running": 0.9}),
        (COOLING, {"steady": 0.0}),
        (COOLING, {"held_s": 3570.0}),  # the long call's airflow is about to come
        (COOLING, {"air_c": 23.71}),
        (COOLING, {"trend_k_s": -0.005}),
        (HEATING, {"held_s": 10.0}),
        (HEATING, {"air_c": 20.29}),
        (HEATING, {"held_water_kg": 0.1}),
    ],
)
def test_a_contact_or_a_change_within_reach_keeps_it_awake(at, changed):
    assert not rests.reference(row(), **at | changed)


def test_a_stage_or_strips_that_may_come_keep_it_awake():
    pump = {"heat_pump_heat_w": np.array([[9000.0, 5500.0]]), "heat_pump_power_w": np.array([[2700.0, 2400.0]])}
    with_pump = row(replace(PROGRAM, strips_after_s=1800.0, strips_below_k=1.0), **pump)
    assert rests.reference(with_pump, **HEATING)
    assert not rests.reference(with_pump, **HEATING | {"held_s": 1790.0})
    assert not rests.reference(with_pump, **HEATING | {"air_c": 18.9})
    assert rests.reference(with_pump, **HEATING | {"held_s": 1790.0, "strips": 1.0})
    staged = row()
    staged[PARAMETERS.index("has_low_stage")] = 1.0
    after = staged[PARAMETERS.index("second_stage_after_s")]
    low = COOLING | {"stage": 0.0}
    assert rests.reference(staged, **COOLING | {"held_s": after}) and not rests.reference(
        staged, **low | {"held_s": after - 10.0}
    )
    assert rests.reference(staged, **low | {"held_s": after - 120.0})


def test_a_day_told_step_by_step_adds_up_to_the_same_day():
    """Within a longer step the trace moves evenly: its parts still sum to what the year counts, and air never jumps."""
    house, day = invented_systems(1), 200
    years = run_years(house, [AirflowProgram()], humid_year(), step_s=10.0, traces=[day], by_hour=True, hourly=True)
    plain = run_years(house, [AirflowProgram()], humid_year(), step_s=10.0)
    np.testing.assert_array_equal(years.compressor_kwh, plain.compressor_kwh)
    trace = {name: np.squeeze(values) for name, values in years.details.traces[day].items()}
    assert trace["air_c"].shape == (8640,)
    hourly = np.squeeze(years.details.hourly["temperature_c"])[24 * day : 24 * day + 24]
    np.testing.assert_allclose(trace["air_temperature_s"].reshape(24, 360).mean(axis=1), hourly, atol=1e-9)
    assert np.abs(np.diff(trace["air_c"])).max() < 0.05
