"""The house over the year: heavy mass, habits by hour, leakage by stack and wind, fans by schedule."""

from dataclasses import replace

import numpy as np
import pytest

from airtrim.core.errors import OutOfRangeError
from airtrim.physics.season.layout import P, Q, S, parameter_rows
from airtrim.physics.season.many import first_state
from airtrim.physics.season.system import AirflowProgram
from airtrim.physics.season.year import run_years
from tests.physics.season.season_cases import changed, days_of, humid_year, invented_systems, steady_weather

OFF = AirflowProgram(cooling_set_point_c=60.0, heating_set_point_c=-20.0)


def free_running(house, days, start=None):
    """State after these days with nothing on, from the row's first state; no sun, no wind changes asked for."""
    row = parameter_rows(house, OFF, house.fan_watts)[0]
    state = first_state(row[:, None], humid_year())[:, 0].copy()
    for name, value in (start or {}).items():
        state[getattr(S, name)] = value
    return days_of(row, house, state, days, 10.0), state, row


def test_heavy_mass_swings_less_and_later_than_light():
    """A heavy node narrows the room's yearly extremes: mean of the hottest month's afternoons falls. Direction only."""
    light = invented_systems(1)
    heavy = changed(light, heavy_capacity_j_k=6e7, heavy_coupling_w_k=900.0, heavy_part=0.5)
    rooms = [
        run_years(h, [OFF], humid_year(), step_s=60.0, hourly=True).details.hourly["temperature_c"][0, 0]
        for h in (light, heavy)
    ]
    swings = [(room.reshape(365, 24).max(axis=1) - room.reshape(365, 24).min(axis=1)).mean() for room in rooms]
    assert swings[1] < 0.8 * swings[0]
    assert abs(rooms[0].mean() - rooms[1].mean()) < 0.5  # no heat is made


def test_two_masses_cool_with_the_time_constants_of_their_matrix():
    """Closed room, no exchange but between air and the two masses: the temperatures follow exp(A t), scipy's matrix exponential,
    within 0.02 K (steps of 10 s)."""
    from scipy.linalg import expm

    house = changed(
        invented_systems(1), envelope_w_k=0.0, leakage_area_cm2=0.0, internal_gain_w=0.0, heavy_capacity_j_k=4e7,
        heavy_coupling_w_k=500.0, attic_gain_k=0.0,
    )  # fmt: skip
    house = replace(house, solar_aperture_m2=0.0 * house.solar_aperture_m2)
    _, state, row = free_running(house, [0], {"air_c": 30.0, "mass_c": 24.0, "heavy_c": 18.0})
    c = np.array([row[P.air_capacity_j_k], row[P.mass_capacity_j_k], row[P.heavy_capacity_j_k]])
    light, heavy = row[P.mass_coupling_w_k], row[P.heavy_coupling_w_k]
    matrix = np.array([[-light - heavy, light, heavy], [light, -light, 0.0], [heavy, 0.0, -heavy]]) / c[:, None]
    expected = expm(matrix * 86400.0) @ np.array([30.0, 24.0, 18.0])
    np.testing.assert_allclose(state[[S.air_c, S.mass_c, S.heavy_c]], expected, atol=0.02)


def test_heavy_capacity_of_nothing_changes_nothing():
    house = invented_systems(1)
    row = parameter_rows(house, OFF, house.fan_watts)[0]
    assert row[P.heavy_floor_w_k] == row[P.heavy_wall_w_k] == row[P.heavy_capacity_j_k] == 0.0
    assert row[P.floor_w_k] > 0.0


def test_habits_move_heat_and_water_within_the_day_and_not_their_sum():
    """Evening moisture makes evenings damper; a day's moisture is the same."""
    house = invented_systems(1)
    evening = np.zeros((1, 24))
    evening[0, 18:22] = 6.0
    even, late = (
        run_years(replace(house, moisture_by_hour=shape), [AirflowProgram()], humid_year(), step_s=60.0, by_hour=True)
        for shape in (np.ones((1, 24)), evening)
    )
    difference = (late.details.by_hour["dew_point_c"] - even.details.by_hour["dew_point_c"])[0, 0].mean(axis=0)
    assert difference[20] > 0.1 and difference[15] < 0.0
    assert abs(late.water_kg[0, 0] / even.water_kg[0, 0] - 1.0) < 0.02


def test_leakage_of_the_year_is_the_published_model_hour_by_hour():
    """House empty of fans, 21 K warmer than outdoors: the flow that the engine holds is the ASHRAE enhanced model's by hand with
    the table's coefficients of one storey on a slab (0.054, 0.156)."""
    house = changed(invented_systems(1), leakage_area_cm2=700.0)
    before, now = humid_year().dry_bulb_c[[8759, 0]]
    outdoor = float(before + 2.5 / 60.0 * (now - before))  # the middle of the five minutes for which it is held
    row = parameter_rows(house, OFF, house.fan_watts)[0]
    state = first_state(row[:, None], humid_year())[:, 0].copy()
    state[S.air_c] = outdoor + 21.0
    from airtrim.physics.season.day import advance_hour
    from airtrim.physics.season.layout import SUMS
    from airtrim.physics.season.many import weather_arguments

    surfaces, sums = house.surfaces[0], np.zeros(len(SUMS))
    advance_hour(0, 0, 0, 1, 10.0, *weather_arguments(humid_year()), row, surfaces, surfaces, state, sums)
    c = 0.07 * (8.0 / 1.2) ** 0.5 / 4.0**0.65
    by_hand = np.hypot(c * 0.054 * 21.0**0.65, c * 0.156 * (0.7 * 2.5) ** 1.3)
    assert state[S.natural_m3_s] == pytest.approx(by_hand, rel=1e-9)


def test_exhaust_by_hour_draws_air_in_only_when_it_runs():
    house = changed(invented_systems(1), exhaust_kg_s=0.06, leakage_area_cm2=0.0, return_leak=0.0, supply_leak=0.0)
    night = np.zeros((1, 24))
    night[0, :8] = 3.0
    row = parameter_rows(replace(house, exhaust_by_hour=night), OFF, house.fan_watts)[0]
    assert row[P.exhaust_kg_s] == pytest.approx(0.18)
    always, nightly = (
        run_years(replace(house, exhaust_by_hour=shape), [OFF], humid_year(), step_s=60.0)
        for shape in (np.ones((1, 24)), night)
    )
    assert nightly.mean_temperature_c[0, 0] < always.mean_temperature_c[0, 0]  # nights are cooler


def test_blown_in_air_and_exhaust_of_the_same_size_keep_the_house_in_balance():
    """Balanced ventilation draws nothing through the envelope: without leaks water in is air blown in and moisture."""
    house = changed(
        invented_systems(1),
        exhaust_kg_s=0.03,
        supply_air_kg_s=0.03,
        leakage_area_cm2=0.0,
        return_leak=0.0,
        supply_leak=0.0,
    )
    sums, _, row = free_running(house, [200])
    hours = humid_year().humidity_ratio[200 * 24 - 1 : 201 * 24]
    brought = 0.03 * 86400.0 * (0.5 * (hours[1:] + hours[:-1])).mean()
    assert sums["water_in_kg"] == pytest.approx(brought + row[P.moisture_gain_kg_s] * 86400.0, rel=1e-9)
    assert Q.water_in_kg >= 0


def test_a_reduced_fabric_runs_in_the_year_with_its_own_steady_conductance():
    """A usual house of 1985 on a slab, reduced to two masses: with nothing but a steady gain and steady weather the room settles
    gain / conductance above outdoors, less what of the gain leaves from the light mass (own balance of the nodes), to 0.5 %."""
    from airtrim.physics.house.reduction import reduced_fabric
    from airtrim.physics.house.typical import typical_house
    from airtrim.physics.house.vintage import vintage_of
    from airtrim.physics.season.masses import with_fabric

    reduced = reduced_fabric(typical_house(150.0, vintage_of(1985)))
    house = changed(
        with_fabric(invented_systems(1), reduced), leakage_area_cm2=0.0, return_leak=0.0, supply_leak=0.0, internal_gain_w=500.0,
        duct_w_k=0.0, ducts_in_attic=0.0,
    )  # fmt: skip
    house = replace(house, gain_by_hour=np.ones((1, 24)))
    assert house.heavy_capacity_j_k[0] > house.mass_capacity_j_k[0]
    light = reduced.masses[0]
    reaching = 500.0 * (0.6 + 0.4 * light.coupling_w_k / (light.coupling_w_k + light.outside_w_k + light.ground_w_k))
    year = run_years(house, [OFF], steady_weather(20.0, 5.0), step_s=60.0)
    assert year.monthly_temperature_c[0, 0, 11] - 20.0 == pytest.approx(reaching / reduced.envelope_w_k, rel=0.005)


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        (
            {"heavy_capacity_j_k": 1e4, "heavy_coupling_w_k": 500.0},
            "heavy_coupling_w_k empties the mass within two minutes",
        ),
        ({"heavy_coupling_w_k": 500.0}, "without heavy_capacity_j_k"),
    ],
)
def test_impossible_masses_are_refused(fields, sentence):
    with pytest.raises(OutOfRangeError, match=sentence):
        changed(invented_systems(1), **fields)


def test_shapes_of_other_lengths_and_signs_are_refused():
    with pytest.raises(OutOfRangeError, match="gain_by_hour must hold 24 values"):
        replace(invented_systems(1), gain_by_hour=np.ones((1, 23)))
    with pytest.raises(OutOfRangeError, match="exhaust_by_hour holds a negative value"):
        replace(invented_systems(1), exhaust_by_hour=-np.ones((1, 24)))
