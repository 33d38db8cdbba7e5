"""Frost: where it starts, what it weighs, where it stops, what air it takes, how it thaws."""

from dataclasses import replace
from math import inf, isnan, nan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airtrim.physics.air.moist import humidity_ratio_from_relative_humidity
from airtrim.physics.blower.fit import fit_blower
from airtrim.physics.blower.system import operating_point
from airtrim.physics.coil import frost
from airtrim.physics.coil.frost import (
    air_left,
    coil_drop_ratio,
    frost_step,
    frost_surface_c,
    frost_thickness_m,
    frosting_part,
    ice_humidity_ratio,
    inlet_surface_c,
)

PRESSURE = 101325.0
#: Rated dry air of a 3-ton coil, kg/s, and its rated transfer units.
RATED, UNITS = 0.68, 1.45


def step(
    kg: float = 0.0, part: float = 0.0, coldest: float = -6.0, surface: float = 0.0, entering: float = 22.0,
    humidity: float = 0.0082, moved: float = 0.4, running: float = 1.0, around: float = 22.0, step_s: float = 10.0,
) -> tuple[float, float, float, float, float]:  # fmt: skip
    return frost_step(
        kg, part, coldest, surface, entering, humidity, moved, running, around, RATED, UNITS, PRESSURE, step_s
    )


def test_frost_needs_a_surface_below_freezing_and_below_the_dew_point() -> None:
    """Reindl and Jekel, ASHRAE Journal, February 2009: both are needed."""
    assert step()[2] > 0.0
    assert step(coldest=-1.0, surface=4.0)[2] == 0.0  # the fins there are at 0.5 degC
    assert step(humidity=0.9 * ice_humidity_ratio(inlet_surface_c(-6.0, 0.0), PRESSURE))[2] == 0.0
    assert step(humidity=1.1 * ice_humidity_ratio(inlet_surface_c(-6.0, 0.0), PRESSURE))[2] > 0.0
    assert step(running=0.0)[2] == 0.0 and step(moved=0.0)[2] == 0.0


def test_starved_coils_of_the_trade_press_are_iced() -> None:
    """Two cases of the trade press, low airflow at 26 F of saturated suction (common-practice): within an hour's run frost takes
    air away; at the 36 F of a coil that is only warned of nothing freezes. Mean surface 10 F above suction (ADP less suction
    [airtrim-closure-example])."""
    for suction_f, iced in ((26.0, True), (36.0, False)):
        suction = (suction_f - 32.0) / 1.8
        kg = part = 0.0
        for _ in range(360):
            kg, part, *_ = step(kg, part, suction - frost.CIRCUIT_OFFSET_K[1], suction + 10.0 / 1.8, 26.7, 0.0112, 0.3)
        assert (kg > frost.SEEN_KG and air_left(kg, part, RATED) < 1.0) == iced


@settings(max_examples=200, deadline=None)
@given(
    kg=st.floats(0.0, 6.0), part=st.floats(0.02, 1.0), coldest=st.floats(-20.0, 10.0), above=st.floats(0.0, 10.0),
    entering=st.floats(5.0, 35.0), wet=st.floats(0.05, 1.0), moved=st.sampled_from([0.0, 0.05, 0.4, 0.9]),
    running=st.floats(0.0, 1.0), step_s=st.sampled_from([1.0, 10.0, 60.0]),
)  # fmt: skip
def test_mass_is_conserved_and_bounded_by_what_the_air_brings(
    kg: float, part: float, coldest: float, above: float, entering: float, wet: float, moved: float, running: float, step_s: float
) -> None:  # fmt: skip
    """Own derivation: frozen less melted is what stays; no more freezes than the vapour above saturation over ice at the coldest
    surface; no more melts than there is."""
    humidity = humidity_ratio_from_relative_humidity(entering, wet, PRESSURE)
    after, part_after, freezing, by_air, still = step(
        kg, part, coldest, coldest + above, entering, humidity, moved, running, 20.0, step_s
    )
    assert after == pytest.approx(kg + step_s * (freezing - by_air - still), abs=1e-12)
    assert after >= 0.0 and freezing >= 0.0 and by_air >= 0.0 and still >= 0.0
    inlet = inlet_surface_c(coldest, coldest + above)
    brought = moved * max(humidity - ice_humidity_ratio(min(inlet, 0.0), PRESSURE), 0.0)
    assert freezing <= brought * (1.0 + 1e-12)
    assert step_s * (by_air + still) <= kg * (1.0 + 1e-12) + 1e-15  # denormal kilograms round
    assert 0.0 <= part_after <= 1.0 and (after > 0.0) == (part_after > 0.0)


def test_thin_frost_stops_where_its_face_comes_up_to_freezing() -> None:
    """Own derivation: film, frost and inner resistance in series, written out anew; the thickness at which the face is at 0 degC is
    never passed, and nearly reached in a day."""
    coldest, surface, entering = -4.0, 2.0, 22.0
    inlet = inlet_surface_c(coldest, surface)
    film = frost.WET_FACTOR * UNITS * frost.SPECIFIC_HEAT / frost.FIN_AREA_M2_S_KG
    inner = (inlet - coldest) / (film * (entering - inlet))
    flux = film * entering
    limit = frost.CONDUCTIVITY_W_M_K * ((entering - coldest) / flux - 1.0 / film - inner)
    kg = part = 0.0
    for _ in range(1440):
        kg, part, *_ = step(kg, part, coldest, surface, entering, 0.0082, 0.4, step_s=60.0)
    thickness = frost_thickness_m(kg, part, RATED)
    assert 0.8 * limit < thickness <= limit * (1.0 + 1e-9)
    assert frost_surface_c(inlet, coldest, entering, limit, UNITS) == pytest.approx(0.0, abs=1e-9)
    assert frost_surface_c(inlet, coldest, entering, 0.0, UNITS) == pytest.approx(inlet, abs=1e-12)


@pytest.mark.parametrize("coldest", [-3.0, -6.0, -10.0])
def test_growth_hardly_depends_on_the_step(coldest: float) -> None:
    """An hour in steps of 10 and of 60 s, within 2 % of each other: the season's two steps."""
    ends = []
    for seconds in (10.0, 60.0):
        kg = part = 0.0
        for _ in range(int(3600 / seconds)):
            kg, part, *_ = step(kg, part, coldest, coldest + 5.5, step_s=seconds)
        ends.append(kg)
    assert ends[1] == pytest.approx(ends[0], rel=0.02)


def test_frosting_part_spreads_with_the_cold() -> None:
    parts = [frosting_part(inlet, inlet + 4.0) for inlet in (1.0, 0.0, -1.0, -4.0, -8.0, -20.0)]
    assert parts == pytest.approx([0.0, 0.0, 0.125, 0.5, 1.0, 1.0])


@pytest.mark.parametrize(("gap", "part"), [(1.0, 0.5), (0.7, 1.0), (0.5, 0.3), (0.2, 0.8)])
def test_coil_drop_is_that_of_two_slits_side_by_side(gap: float, part: float) -> None:
    """Own derivation, solved another way: the drop of each slit is length / width x velocity^2 x (velocity x width)^-1/2; the flow
    is shared until both drops agree."""

    def drop(flow: float, face: float, width: float) -> float:
        velocity = flow / (face * width)
        return velocity**2 / width * (velocity * width) ** -0.5

    low, high = 0.0, 1.0
    for _ in range(200):
        through = 0.5 * (low + high)  # flow through the free part
        if drop(through, 1.0 - part + 1e-12, 1.0) > drop(1.0 - through, part, gap):
            high = through
        else:
            low = through
    found = drop(1.0 - 0.5 * (low + high), part, gap)
    assert coil_drop_ratio(gap, part) == pytest.approx(found, rel=1e-6)


def test_air_left() -> None:
    assert air_left(0.0, 0.0, RATED) == 1.0
    left = [air_left(kg, 0.5, RATED) for kg in (0.0, 0.5, 1.0, 2.0, 20.0)]
    assert np.all(np.diff(left) < 0.0)
    assert air_left(100.0, 1.0, RATED) == air_left(1000.0, 1.0, RATED) > 0.4  # iced shut: what gets past the ice


@pytest.mark.parametrize("kg", [0.5, 1.0, 2.0])
def test_air_left_against_the_blower_in_full(kg: float) -> None:
    """The short curve holds the motor's speed and a path as airflow^2; the full blower (motor, exponents of its own) differs from
    it by less than 0.06 of the airflow, the motor speeding up when it is choked."""
    blower = fit_blower(0.5, 125.0, 450.0, 0.5)
    part = 0.6
    gap = max(1.0 - 2.0 * frost_thickness_m(kg, part, RATED) / frost.FIN_GAP_M, 0.0)
    clean = operating_point(blower)
    iced = blower.path._replace(coil=blower.path.coil * coil_drop_ratio(gap, part))
    frosted = operating_point(replace(blower, path=iced))
    assert air_left(kg, part, RATED) == pytest.approx(frosted.airflow_m3_s / clean.airflow_m3_s, abs=0.06)


def test_thaw_takes_the_heat_of_fusion_from_the_air() -> None:
    """Own derivation: a thin layer melts in mass x heat of fusion over the heat that the touching air can give."""
    _, _, freezing, by_air, still = step(0.5, 0.4, running=0.0, entering=24.0)
    heat = frost.WET_EFFECTIVENESS * 0.4 * 0.4 * frost.SPECIFIC_HEAT * 24.0
    gap = 1.0 - 2.0 * frost_thickness_m(0.5, 0.4, RATED) / frost.FIN_GAP_M
    assert by_air * frost.HEAT_OF_FUSION == pytest.approx(heat * gap * gap, rel=1e-9)
    assert freezing == 0.0 and still == 0.0


def test_iced_coil_thaws_in_hours_alone_and_much_sooner_with_the_fan() -> None:
    """Common practice: system off and fan ON until the coil is bare, half an hour to hours; alone it takes hours."""

    def hours(moved: float) -> float:
        kg, part, time = 4.5, 1.0, 0
        while kg > 0.0:
            kg, part, *_ = step(kg, part, running=0.0, moved=moved * air_left(kg, part, RATED), step_s=60.0)
            time += 1
        return time / 60.0

    assert 2.0 < hours(0.0) < 24.0
    assert hours(0.6) < 0.2 * hours(0.0)


def test_cold_surroundings_thaw_nothing() -> None:
    assert step(0.3, 0.3, running=0.0, moved=0.0, around=-5.0) == (0.3, 0.3, 0.0, 0.0, 0.0)


def test_not_a_number_stays_not_a_number() -> None:
    assert isnan(step(kg=nan, part=0.3)[0])
    assert isnan(step(kg=0.2, part=0.3, entering=nan)[0])
    assert isnan(step(kg=0.2, part=0.3, humidity=nan)[0])
    assert isnan(step(kg=0.2, part=0.3, coldest=nan)[0])
    assert isnan(ice_humidity_ratio(nan, PRESSURE)) and isnan(air_left(nan, 0.3, RATED))
    assert not isnan(coil_drop_ratio(0.0, 1.0)) and coil_drop_ratio(0.0, 1.0) < inf
