"""Icing in the year: margins, frost that comes and goes, and the feedback of less air."""

import numpy as np
import pytest
from scipy.stats import norm

from airtrim.core.errors import OutOfRangeError
from airtrim.physics.air.moist import humidity_ratio_from_wet_bulb
from airtrim.physics.coil.frost import HEAT_OF_FUSION
from airtrim.physics.season.design import icing_margin_k
from airtrim.physics.season.layout import PARAMETERS, SATURATION_MARKS_C, STATE, SUMS, parameter_rows
from airtrim.physics.season.many import DAYS_OF_MONTH, first_state
from airtrim.physics.season.results import _low_margin
from airtrim.physics.season.system import AirflowProgram
from airtrim.physics.season.year import run_years
from airtrim.physics.unit.steady import unit_state
from tests.physics.season.season_cases import PRESSURE, changed, days_of, humid_year, icy_program, invented_systems

AUTO = AirflowProgram()


def test_a_usual_house_has_no_frost_and_its_margins_agree():
    """Makers' suction of 49 to 53 F at rating leaves a margin [maker-suction]; months and marks tell one story."""
    years = run_years(invented_systems(2), [AUTO, icy_program(0.7, 22.0)], humid_year(), step_s=60.0)
    assert np.all(years.frost_hours[:, 0] == 0.0) and np.all(years.frozen_kg[:, 0] == 0.0)
    assert np.all(years.air_blocked[:, 0] == 0.0) and np.all(years.greatest_air_blocked[:, 0] == 0.0)
    months = years.monthly_least_icing_margin_k
    assert np.array_equal(np.nanmin(months, axis=2), years.least_icing_margin_k)
    assert np.all(years.low_icing_margin_k >= years.least_icing_margin_k)
    assert np.all((years.warn_hours > 0.0) == (years.least_icing_margin_k < 36.0 / 1.8 - 32.0 / 1.8))
    assert np.all((years.stop_hours > 0.0) == (years.least_icing_margin_k < 0.0))
    assert np.all(years.low_icing_margin_k[:, 1] < years.low_icing_margin_k[:, 0])


def test_circuit_offset_is_what_lies_between_suction_and_the_coldest_inlet():
    house = invented_systems(2)
    assert np.all(house.circuit_offset_k == 1.0)
    near, far = (run_years(changed(house, circuit_offset_k=k), [AUTO], humid_year(), step_s=60.0) for k in (0.0, 2.0))
    np.testing.assert_allclose(near.least_icing_margin_k, near.least_saturated_suction_c, rtol=1e-12)
    np.testing.assert_allclose(far.least_icing_margin_k, far.least_saturated_suction_c - 2.0, rtol=1e-12)
    np.testing.assert_array_equal(near.water_kg, far.water_kg)  # an offset alone changes no air and no water


def test_system_that_never_runs_has_no_margin():
    years = run_years(invented_systems(1), [AirflowProgram(cooling_set_point_c=60.0)], humid_year(), step_s=60.0)
    assert np.isnan(years.least_icing_margin_k[0, 0]) and np.isnan(years.low_icing_margin_k[0, 0])
    assert np.all(np.isnan(years.monthly_least_icing_margin_k))


def test_frost_takes_air_and_less_air_makes_frost():
    """Feedback: with frost the suction falls below what the same airflow has bare (circuits 10 K warmer never frost), and colder
    circuits ice more. Direction only."""
    years = [
        run_years(changed(invented_systems(1), circuit_offset_k=k), [icy_program()], humid_year(), step_s=60.0)
        for k in (-10.0, 0.0, 1.0, 2.0)
    ]
    frost, blocked, suction = (
        np.array([getattr(year, name)[0, 0] for year in years])
        for name in ("frost_hours", "air_blocked", "least_saturated_suction_c")
    )
    assert np.all(np.diff(frost) > 0.0) and np.all(np.diff(blocked) > 0.0)
    assert frost[0] == 0.0 and np.all(suction[1:] < suction[0] - 1.0)


@pytest.mark.parametrize(("flow", "set_point"), [(0.55, 21.0), (0.47, 20.0), (0.42, 19.5)])
def test_feedback_is_stable_at_both_steps(flow, set_point):
    """From a thin frost that comes and goes to a coil mostly iced shut: 10 s and 60 s agree on running hours within 1 %, on the
    part of the air taken away within 0.02, and on the coldest inlet within 0.2 K. Own refinement study. Between the two lies a
    tipping point (here near 0.45 and 20 degC), where a coil that runs through ices shut or does not; there both steps agree
    within 0.4 % of the hours, but their coldest inlets lie 3 K apart."""
    house = changed(invented_systems(1), circuit_offset_k=2.0)
    fine, coarse = (run_years(house, [icy_program(flow, set_point)], humid_year(), step_s=s) for s in (10.0, 60.0))
    for year in (fine, coarse):
        assert all(
            np.all(np.isfinite(value))
            for name, value in vars(year).items()
            if "monthly" not in name and name != "details"
        )
        assert year.greatest_air_blocked[0, 0] < 0.5 and year.frost_peak_kg[0, 0] < 6.0
        assert year.frost_hours[0, 0] > 0.0
    np.testing.assert_allclose(coarse.run_hours, fine.run_hours, rtol=0.01)
    np.testing.assert_allclose(coarse.air_blocked, fine.air_blocked, atol=0.02)
    np.testing.assert_allclose(coarse.least_icing_margin_k, fine.least_icing_margin_k, atol=0.2)


def test_a_coil_floor_keeps_nearly_all_frost_away():
    """The coil floor is held at the coldest inlet: it adds air until saturation there is back at 36 F. What is left comes at the
    starts, before the coil has settled. Direction only."""
    cold = {"cooling_set_point_c": 19.5, "heating_set_point_c": 16.5}
    watched = AirflowProgram(cooling_flow=0.45, least_flow=0.45, greatest_flow=1.0, coil_sensor_drop_k=25.0, **cold)
    house = changed(invented_systems(1), circuit_offset_k=2.0)
    years = run_years(house, [icy_program(), watched], humid_year(), step_s=10.0)
    assert years.frost_hours[0, 0] > 100.0 and years.frost_hours[0, 1] < 0.1 * years.frost_hours[0, 0]


def test_what_froze_thaws_and_drains():
    """Iced by three hot days; then the thermostat is turned up: all frost leaves by the drain or stays on the fins as water."""
    house, frost, water = (
        changed(invented_systems(1), circuit_offset_k=2.0),
        STATE.index("frost_kg"),
        STATE.index("held_water_kg"),
    )
    row = parameter_rows(house, icy_program(0.4, 18.0), house.fan_watts)[0]
    state = first_state(row[:, None], humid_year())[:, 0].copy()
    days_of(row, house, state, range(180, 183))
    assert state[frost] > 1.0
    row[PARAMETERS.index("cooling_set_c")] = 60.0
    row[PARAMETERS.index("off_delay_s")] = 0.0
    state[STATE.index("call")] = state[STATE.index("running")] = state[STATE.index("flow")] = 0.0
    held = state[frost] + state[water]
    after = days_of(row, house, state, range(183, 186))
    assert state[frost] == 0.0 and state[STATE.index("frosted_part")] == 0.0
    assert after["drained_kg"] > 0.5
    assert after["drained_kg"] == pytest.approx(held - state[water], abs=1e-9)


def test_the_fan_takes_the_heat_of_fusion_out_of_the_air():
    """Nothing runs but the fan, over 2 kg of frost: sensible less what evaporation turns into latent is 2 kg x heat of fusion."""
    house = invented_systems(1)
    row = parameter_rows(house, AirflowProgram(cooling_set_point_c=60.0, circulation_flow=0.5), house.fan_watts)[0]
    state = first_state(row[:, None], humid_year())[:, 0].copy()
    state[STATE.index("frost_kg")], state[STATE.index("frosted_part")] = 2.0, 0.5
    sums = days_of(row, house, state, [180])
    assert state[STATE.index("frost_kg")] == 0.0
    assert sums["sensible_j"] + sums["latent_j"] == pytest.approx(2.0 * HEAT_OF_FUSION, rel=1e-9)


@pytest.mark.parametrize(("middle", "spread"), [(5.0, 2.0), (3.0, 1.0), (-1.0, 2.5), (8.0, 1.5)])
def test_low_percentile_is_read_between_the_marks(middle, spread):
    """Against the normal distribution's own percentile: within half the distance of the marks around it."""
    exact = norm.ppf(0.05, middle, spread)
    below = 3600.0 * norm.cdf(np.array(SATURATION_MARKS_C), middle, spread)
    found = _low_margin(np.array([[norm.ppf(1e-4, middle, spread)]]), below[None, None, :], np.array([[3600.0]]))[0, 0]
    marks = np.array([-20.0, *SATURATION_MARKS_C])
    place = int(np.searchsorted(marks, exact))
    assert abs(found - exact) <= 0.5 * (marks[place] - max(marks[place - 1], norm.ppf(1e-4, middle, spread)))


def test_margin_at_a_stated_state():
    """Closure example [airtrim-closure-example], computed: Te of 36 F at 148 cfm/ton (80/67) and at 368 (75/61, mild night): the
    margin falls with airflow, wet bulb and outdoor temperature. Direction only, since rated suction differs."""
    house = invented_systems(3)
    full = house.units[:, 5]
    base = icing_margin_k(house, 23.9, 16.1, 29.4, full)
    assert base.shape == (3,)
    for colder in (
        icing_margin_k(house, 23.9, 16.1, 29.4, 0.6 * full),
        icing_margin_k(house, 23.9, 14.5, 29.4, full),
        icing_margin_k(house, 23.9, 16.1, 21.0, full),
        icing_margin_k(house, 21.0, 16.1, 21.0, full),
    ):
        assert np.all(colder < base)
    humidity = humidity_ratio_from_wet_bulb(23.9, 16.1, PRESSURE)
    suction = [unit_state(23.9, humidity, 29.4, f, PRESSURE, u)[3] for f, u in zip(full, house.units, strict=True)]
    np.testing.assert_allclose(base, np.array(suction) - house.circuit_offset_k)


@pytest.mark.parametrize(
    ("state", "sentence"),
    [
        ((50.0, 16.0, 29.0, 0.6), "return temperature must lie in 5 to 45 C for the icing margin, got 50 C"),
        ((24.0, 25.0, 29.0, 0.6), "return wet bulb 25.0 C is above the return's 24.0 C"),
        ((40.0, 5.0, 29.0, 0.6), "below that of bone-dry air"),
        ((24.0, 16.0, 29.0, 0.0), "least airflow must lie in 0.02 to 2 kg/s"),
        ((24.0, float("nan"), 29.0, 0.6), "return wet bulb must lie in"),
    ],
)
def test_impossible_state_is_refused_in_one_sentence(state, sentence):
    with pytest.raises(OutOfRangeError, match=sentence):
        icing_margin_k(invented_systems(1), *state[:3], np.array([state[3]]))


def test_months_add_up():
    assert sum(DAYS_OF_MONTH) == 365 and len({*SUMS}) == len(SUMS) and len({*PARAMETERS}) == len(PARAMETERS)
