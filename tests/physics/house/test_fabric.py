"""The fabric against closed forms: steady flow, sinusoids by the exact layer matrices, step by series, balance, bad input."""

from dataclasses import replace
from math import pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airtrim.core.errors import OutOfRangeError
from airtrim.physics.house import conduction
from airtrim.physics.house.fabric import Construction, Room, Window, fabric_of, run_fabric, star_factors, sun_shares
from airtrim.physics.house.films import (
    STEFAN_BOLTZMANN,
    natural_film_w_m2k,
    sky_temperature_c,
    sol_air_c,
    wind_film_w_m2k,
)
from airtrim.physics.house.glass import CLEAR_3_MM, Glazing
from airtrim.physics.house.layers import (
    Layer,
    nodes_of,
    resistive,
    sinusoid_answers_w_m2k,
    steady_u_value_w_m2k,
    surface_resistance_m2k_w,
)
from tests.physics.house.exposures import Exposed

SIDING = Layer("siding", 0.009, 0.14, 530.0, 900.0)
FIBREGLASS = Layer("fibreglass", 0.066, 0.04, 12.0, 840.0)
BOARD = Layer("plasterboard", 0.012, 0.16, 950.0, 840.0)
FOAM = Layer("foam", 0.0615, 0.04, 10.0, 1400.0)
BLOCK = Layer("concrete block", 0.1, 0.51, 1400.0, 1000.0)
WALLS = {
    "light": (SIDING, FIBREGLASS, BOARD),
    "heavy": (SIDING, FOAM, BLOCK),
    "block": (BLOCK,),
    "massless": (resistive("gap", 0.5),),
}
OUT, IN = 15.0, 8.0
#: Next to no air, so that the walls alone answer.
LITTLE = Room(100.0, 0.0, 1.0, air_capacity_j_k=1.0)


def still(count: int, dry_bulb=0.0, hours: int = 8760) -> Exposed:
    """No sun, no wind; outdoors at one temperature or an array."""
    dry = np.zeros(hours) + dry_bulb
    none = np.zeros((hours, count))
    return Exposed(dry, dry, np.zeros(hours), none, none, none, none + 1.0, 101325.0)


def walled(layers, area=30.0, room=LITTLE, outside="outdoor air"):
    """One wall with combined films."""
    wall = Construction(
        "wall", area, layers, outside=outside, outside_film_w_m2k=OUT, inside_film_w_m2k=IN, outside_absorptance=0.0
    )
    return fabric_of((wall,), (), room, radiant_exchange=False)


def harmonic(hourly: np.ndarray, period_h: int, steps: int, trapezoid: bool = False) -> complex:
    """Amplitude as a complex number of hourly means over whole periods, for a swing that is exp(i w t) at the hour's end.

    The mean of an hour is one over its steps' ends, or over its steps' middles where each step counts by its mean.
    """
    turn = 2.0 * pi / period_h
    ends = np.exp(-1j * turn * np.arange(steps) / steps)
    mean_of_hour = np.mean(0.5 * ends * (1.0 + np.exp(-1j * turn / steps))) if trapezoid else np.mean(ends)
    return complex(2.0 * np.mean(hourly * np.exp(-1j * turn * np.arange(len(hourly)))) / mean_of_hour)


@pytest.mark.parametrize("name", list(WALLS))
def test_steady_flow_is_the_u_value(name):
    """1 / (sum of resistances), whatever the nodes; 0.01 W/m2K x 30 m2 x 20 K is 6 W, rounding is what is allowed."""
    run = run_fabric(walled(WALLS[name]), still(1), 20.0, 20.0, hours=24, warm_up_hours=1500)
    expected = steady_u_value_w_m2k(WALLS[name], OUT, IN) * 30.0 * 20.0
    assert run.heating_w == pytest.approx(expected, rel=1e-6)
    _, conductance = nodes_of(WALLS[name])
    assert np.sum(1.0 / conductance) == pytest.approx(surface_resistance_m2k_w(WALLS[name]), rel=1e-12)


@pytest.mark.parametrize("period_h", [24, 48])
@pytest.mark.parametrize("name", list(WALLS))
def test_flow_through_a_wall_under_a_sinusoid_outdoors(name, period_h):
    """Exact layer matrices [carslaw1959]; amplitude within 1 % and a hundredth of a radian.

    Outdoors runs straight between hours, which takes (pi/24)^2/3 = 0.6 % off a daily swing; that factor is known and taken out.
    What is left is the cells' and the steps'.
    """
    turn = 2.0 * pi / period_h
    outdoors = np.cos(turn * np.arange(8760))
    straight = (np.sin(turn / 2.0) / (turn / 2.0)) ** 2
    run = run_fabric(walled(WALLS[name]), still(1, outdoors), 0.0, 0.0, 960, 240, steps_per_hour=30, warm_up_hours=480)
    _, through = sinusoid_answers_w_m2k(WALLS[name], 3600.0 * period_h, OUT, IN)
    got = harmonic(run.cooling_w - run.heating_w, period_h, 30) / straight / 30.0
    assert abs(got) == pytest.approx(abs(through), rel=0.01)
    assert abs(np.angle(got / through)) < 0.01


@pytest.mark.parametrize("period_h", [24, 6, 3])
@pytest.mark.parametrize("name", list(WALLS))
def test_admittance_of_a_wall_under_a_swinging_room(name, period_h):
    """The room's own temperature swings and the wall answers: exact layer matrices; 1 % and a hundredth of a radian."""
    steps = 60
    swing = np.cos(2.0 * pi * (np.arange(24 * steps) + 1.0 - steps) / (period_h * steps))
    room = replace(LITTLE, air_capacity_j_k=1e-3)
    run = run_fabric(
        walled(WALLS[name], room=room), still(1), swing, swing, hours=240, warm_up_hours=480, steps_per_hour=steps
    )
    answer, _ = sinusoid_answers_w_m2k(WALLS[name], 3600.0 * period_h, OUT, IN)
    got = harmonic(run.heating_w - run.cooling_w, period_h, steps) / 30.0
    assert abs(got) == pytest.approx(abs(answer), rel=0.01)
    assert abs(np.angle(got / answer)) < 0.01


@pytest.mark.parametrize("name", ["light", "heavy"])
def test_closed_room_floats_under_a_daily_sinusoid(name):
    """Air, leakage and wall together: T = (G + A Y_through) / (i w C + G + A Y_room) T_out, exact; 1 %, 0.02 rad."""
    room = Room(129.6, 0.5, 1.0)
    outdoors = np.cos(2.0 * pi / 24.0 * np.arange(8760))
    run = run_fabric(
        walled(WALLS[name], 120.0, room),
        still(1, outdoors),
        first_hour=960,
        hours=240,
        warm_up_hours=960,
        steps_per_hour=30,
    )
    answer, through = (120.0 * one for one in sinusoid_answers_w_m2k(WALLS[name], 86400.0, OUT, IN))
    turn = 2.0 * pi / 86400.0
    expected = (room.leakage_w_k + through) / (1j * turn * room.capacity_j_k + room.leakage_w_k + answer)
    got = harmonic(run.air_c, 24, 30, trapezoid=True)
    assert abs(got) == pytest.approx(abs(expected), rel=0.01)
    assert abs(np.angle(got / expected)) < 0.02


def test_step_of_a_slab_by_its_series():
    """A slab with one face adiabatic, warmed through a film: Carslaw and Jaeger's series [carslaw1959]; 1 % from the third hour.

    Heat taken up in each hour after the room jumps from 0 to 20; the first two hours hold the jump itself.
    """
    run = run_fabric(
        walled((BLOCK,), outside="room"),
        still(1),
        20.0,
        20.0,
        hours=48,
        warm_up_hours=0,
        steps_per_hour=60,
        start_c=0.0,
    )
    biot = IN * BLOCK.thickness_m / BLOCK.conductivity_w_mk
    rate = BLOCK.conductivity_w_mk / (BLOCK.density_kg_m3 * BLOCK.specific_heat_j_kg_k) / BLOCK.thickness_m**2
    roots = []
    for index in range(60):  # x tan x = Bi has one root in every (n pi, n pi + pi/2)
        low, high = index * pi + 1e-12, index * pi + pi / 2.0 - 1e-12
        for _ in range(80):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if middle * np.tan(middle) < biot else (low, middle)
        roots.append(low)
    x = np.array(roots)

    def taken_up(seconds):
        part = 2.0 * biot**2 / (x**2 * (biot**2 + biot + x**2)) * np.exp(-(x**2) * rate * seconds)
        return BLOCK.capacity_j_m2k * 30.0 * 20.0 * (1.0 - part.sum())

    hourly = np.array([(taken_up(3600.0 * (h + 1)) - taken_up(3600.0 * h)) / 3600.0 for h in range(48)])
    np.testing.assert_allclose(run.heating_w[2:], hourly[2:], rtol=0.01)
    assert run.heating_w[:2].sum() == pytest.approx(hourly[:2].sum(), rel=0.02)


def test_step_of_a_closed_room_has_its_two_time_constants():
    """Air and one thin, conductive mass: both eigenvalues of the 2x2 (own-derivation); 0.02 K of 20."""
    plate = Layer("plate", 0.001, 50.0, 7800.0, 450.0)
    room = Room(129.6, 1.0, 1.2)
    run = run_fabric(
        walled((plate,), 40.0, room, "room"), still(1), hours=48, warm_up_hours=0, steps_per_hour=120, start_c=20.0
    )
    capacity, coupling = np.array([room.capacity_j_k, 40.0 * plate.capacity_j_m2k]), 40.0 * IN
    matrix = np.array([[-(coupling + room.leakage_w_k), coupling], [coupling, -coupling]]) / capacity[:, None]
    values, vectors = np.linalg.eig(matrix)
    start = np.linalg.solve(vectors, np.full(2, 20.0))
    seconds = (np.arange(48 * 60) + 0.5) * 60.0
    air = (vectors[0] * start) @ np.exp(np.outer(values, seconds))
    np.testing.assert_allclose(run.air_c, air.reshape(48, 60).mean(axis=1), atol=0.02)


def test_large_steps_stay_between_the_extremes():
    """A step of an hour, air of a second's time constant: nothing overshoots by more than the method's 1/8 of a jump."""
    run = run_fabric(walled((BLOCK,)), still(1), hours=200, warm_up_hours=0, steps_per_hour=1, start_c=20.0)
    assert run.air_c.max() <= 20.0 and run.air_c.min() > -2.5
    assert abs(run.air_c[-1]) < 0.5


@given(
    st.lists(st.sampled_from(list(WALLS)), min_size=1, max_size=5),
    st.floats(0.0, 2.0),
    st.floats(0.0, 800.0),
    st.integers(1, 6),
)
@settings(max_examples=15)
def test_heat_closes_over_random_houses(names, changes, sun, steps):
    """Heat in less out is heat stored, with sun, wind, sky, windows, both set-points; 1e-9 of absolute flows (own-derivation)."""
    walls = tuple(
        Construction(f"wall {place}", 10.0 + 7.0 * place, WALLS[name], tilt_deg=45.0 * place)
        for place, name in enumerate(names)
    )
    windows = (
        Window("pane", 4.0, Glazing((CLEAR_3_MM,)), 180.0),
        Window("two", 3.0, Glazing((CLEAR_3_MM,) * 2, (0.012,)), 90.0),
    )
    fabric = fabric_of(walls, windows, Room(200.0, changes, 1.2, 100.0, 150.0))
    count, hours = len(walls) + 2, np.arange(240)
    day = np.maximum(np.sin((hours - 6) * pi / 12.0), 0.0)[:, None] * np.ones(count)
    weather = Exposed(
        15.0 + 10.0 * np.sin(hours / 9.0),
        5.0 + 0.0 * hours,
        3.0 + np.sin(hours / 5.0),
        sun * day,
        0.3 * sun * day,
        day,
        np.ones((240, count)),
        101325.0,
    )
    run = run_fabric(fabric, weather, 20.0, 25.0, hours=240, warm_up_hours=24, steps_per_hour=steps)
    assert run.closure < 1e-9
    assert run.air_c.min() > 19.0 and run.air_c.max() < 25.0 + 1e-9


def test_star_of_a_cube_is_exact():
    """Six equal black faces see a fifth of each other: the star's factor is 6/5 (own-derivation)."""
    assert star_factors(np.ones(6), np.ones(6)) == pytest.approx(1.2, rel=1e-9)
    grey = star_factors(np.ones(6), np.full(6, 0.9))
    assert grey == pytest.approx(1.0 / (1.0 / 1.2 + 0.1 / 0.9), rel=1e-9)


def test_sun_let_in_is_all_kept_where_there_is_no_glass():
    area, absorbed = np.array([48.0, 48.0, 21.6, 16.2]), np.array([0.6, 0.6, 0.3, 0.9])
    shares = sun_shares(area, absorbed, 1.0 - absorbed, np.array([0.0, 1.0, 0.0, 0.0]))
    assert shares.sum() == pytest.approx(1.0, rel=1e-12)
    assert shares[1] > 0.6 - 1e-12
    lost = sun_shares(area, absorbed, 0.8 * (1.0 - absorbed), np.array([0.0, 1.0, 0.0, 0.0]))
    assert lost.sum() < 1.0


def test_natural_films_follow_the_report():
    """Walton 1983 [walton1983], from memory: vertical 1.31, warm facing up 1.51, layered 0.76 W/m2K at 1 K."""
    assert natural_film_w_m2k(1.0, 0.0) == pytest.approx(1.31)
    assert natural_film_w_m2k(1.0, 1.0) == pytest.approx(1.51, abs=0.005)
    assert natural_film_w_m2k(-1.0, 1.0) == pytest.approx(0.76, abs=0.005)
    assert natural_film_w_m2k(8.0, -1.0) == pytest.approx(2.0 * 0.76, abs=0.01)
    assert natural_film_w_m2k(-8.0, -1.0) == pytest.approx(2.0 * 1.51, abs=0.01)
    assert np.isnan(natural_film_w_m2k(float("nan"), 0.0))


@pytest.mark.parametrize(("dry", "dew"), [(30.0, 24.0), (25.0, 18.0), (20.0, 10.0)])
def test_clear_sky_is_as_cold_as_a_second_formula_says(dry, dew):
    """Berdahl and Martin 1984, from memory: emissivity 0.711 + 0.56 (dew/100) + 0.73 (dew/100)^2.

    In summer the two lie within 5 K; with a dew point of -10 degC ours is 9 K warmer, which docs/decisions/fabric.md says.
    """
    other = (dry + 273.15) * (0.711 + 0.0056 * dew + 0.000073 * dew * dew) ** 0.25 - 273.15
    assert sky_temperature_c(dry, dew, 0.0) == pytest.approx(other, abs=5.0)
    assert sky_temperature_c(dry, dew, 0.0) < sky_temperature_c(dry, dew, 10.0) < dry


def test_sol_air_temperature_balances_its_face():
    """Nothing behind the face: sun kept = film (T - air) + long waves by the fourth powers (own-derivation); 0.2 W/m2 of 800."""
    air, sky, sun = np.array([30.0, 0.0, 10.0]), np.array([15.0, -20.0, 5.0]), np.array([800.0, 0.0, 300.0])
    one = np.ones(3)
    for cos_tilt, share, film in ((1.0, 1.0, 0.0), (0.0, 0.35, 0.0), (0.0, 0.35, 12.0)):
        face = sol_air_c(air, sky, 3.0 * one, one, sun, cos_tilt, 1.52, 1.0, 0.9, share, film)
        convection = np.array(
            [
                film or natural_film_w_m2k(t - a, cos_tilt) + wind_film_w_m2k(3.0, 1.52, 1.0, 1.0)
                for t, a in zip(face, air, strict=True)
            ]
        )
        t, a, s = face + 273.15, air + 273.15, sky + 273.15
        waves = 0.9 * STEFAN_BOLTZMANN * (share * (t**4 - s**4) + (1.0 - share) * (t**4 - a**4))
        np.testing.assert_allclose(convection * (face - air) + waves, sun, atol=0.2)
    assert np.isnan(sol_air_c(air * np.nan, sky, one, one, sun, 1.0, 1.52, 1.0, 0.9, 1.0, 0.0)).all()


@pytest.mark.nojit
def test_compiled_and_plain_kernel_agree():
    """One source: two hours of the compiled kernel and of its plain form, to rounding."""
    fabric = fabric_of(
        (Construction("wall", 20.0, WALLS["light"]),), (Window("pane", 2.0, Glazing((CLEAR_3_MM,)), 180.0),), LITTLE
    )
    found = []
    for form in (conduction.run_hours, conduction.run_hours.reference):
        state = np.full(len(fabric.capacity) + 1, 20.0)
        before, result, sums = state.copy(), np.empty((2, 4)), np.zeros(8)
        weather = np.tile([5.0, -5.0, 3.0, 300.0, 50.0], (3, 1))
        sun, lee, day = np.full((3, 2), 40.0), np.ones((3, 2)), np.full(48, 20.0)
        room = np.array([1e5, 20.0, 100.0, 100.0, 10.0])
        form(0, 2, 2, True, weather, sun, sun, lee, fabric.starts, fabric.outside, fabric.capacity, fabric.conductance,
             fabric.faces, room, day, day + 5.0, state, before, result, sums)  # fmt: skip
        found.append(np.concatenate((state, result.ravel(), sums)))
    np.testing.assert_allclose(found[0], found[1], rtol=1e-11)


def test_a_gap_in_the_weather_shows():
    weather = still(1)
    weather.dry_bulb_c[5] = np.nan
    run = run_fabric(walled(WALLS["light"]), weather, 20.0, 25.0, hours=10, warm_up_hours=0)
    assert np.isnan(run.heating_w[-1]) and np.isnan(run.air_c[-1])


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"area_m2": 0.0}, "area must be above 0"),
        ({"outside": "moon"}, "is not one of"),
        ({"outside": "ground", "outside_film_w_m2k": 0.0}, "outside film in W/m2K is needed"),
        ({"layers": ()}, "has no layers"),
    ],
)
def test_a_fabric_that_cannot_be_is_one_sentence(change, sentence):
    wall = replace(Construction("north wall", 10.0, WALLS["light"]), **change)
    with pytest.raises(OutOfRangeError, match=sentence):
        fabric_of((wall,), (), LITTLE)


def test_layers_and_rooms_that_cannot_be_are_one_sentence():
    with pytest.raises(OutOfRangeError, match="conductivity_w_mk must be a finite number"):
        Layer("foam", 0.1, 0.0, 10.0, 1000.0)
    with pytest.raises(OutOfRangeError, match="at least one wall"):
        fabric_of((), (), LITTLE)
    with pytest.raises(OutOfRangeError, match="volume and an air density above 0"):
        fabric_of((Construction("wall", 1.0, WALLS["light"]),), (), replace(LITTLE, volume_m3=0.0))
    with pytest.raises(OutOfRangeError, match="steps_per_hour must lie"):
        run_fabric(walled(WALLS["light"]), still(1), steps_per_hour=0)
