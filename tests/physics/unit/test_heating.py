"""Strips and furnaces. The trade's formula and a maker's table are in tests/published/heating."""

import math

import numpy as np
import pytest

from airtrim.core.errors import OutOfRangeError, UnitError
from airtrim.core.units import Quantity
from airtrim.physics.unit import heating

STATE = {
    "temperature": Quantity(70.0, "degF"),
    "humidity_ratio": Quantity(0.0, ""),
    "pressure": Quantity(101325.0, "Pa"),
}
KERNELS = {
    heating.temperature_rise_k: (10000.0, 0.5, 0.005),
    heating.flow_for_rise_kg_s: (10000.0, 20.0, 0.005),
    heating.element_heat_w: (10000.0, 240.0, 230.0),
    heating.least_strip_flow_kg_s: (10000.0, 27.0, 0.3, 0.005),
    heating.limit_trip_share: (60.0, 49.0, 77.0),
    heating.heat_held_by_limit_w: (0.5, 20.0, 60.0, 0.005),
    heating.furnace_output_w: (20000.0, 0.8, 1.0),
    heating.altitude_input_part: (1500.0,),
    heating.rise_place: (25.0, 20.0, 35.0),
    heating.defrost_supply_c: (20.0, 0.5, 10000.0, 8000.0, 0.005),
}


@pytest.mark.parametrize("function", KERNELS, ids=lambda one: one.__name__)
@pytest.mark.nojit
def test_nan_in_nan_out(function):
    given = KERNELS[function]
    assert math.isfinite(function(*given))
    for place in range(len(given)):
        assert math.isnan(function(*given[:place], math.nan, *given[place + 1 :]))
        assert math.isnan(function.reference(*given[:place], math.nan, *given[place + 1 :]))


def test_no_air_no_rise_and_no_volts_no_heat_are_nan_not_an_error():
    for function, given in (
        (heating.temperature_rise_k, (1000.0, 0.0, 0.0)),
        (heating.flow_for_rise_kg_s, (1000.0, 0.0, 0.0)),
        (heating.element_heat_w, (1000.0, 0.0, 240.0)),
    ):
        assert math.isnan(function(*given)) and math.isnan(function.reference(*given))


def test_thin_air_rises_more_by_the_ratio_of_densities():
    """own-derivation: at 5,000 ft the standard atmosphere has 0.832 of the sea's pressure [ashrae2017, eq. 3]."""
    at_sea = heating.temperature_rise(Quantity(10.0, "kW"), Quantity(1000.0, "cfm"), **STATE)
    high = heating.temperature_rise(
        Quantity(10.0, "kW"), Quantity(1000.0, "cfm"), **STATE | {"pressure": Quantity(84.31, "kPa")}
    )
    assert float(at_sea / high) == pytest.approx(84.31 / 101.325, rel=1e-12)


def test_moist_air_gives_its_heat_by_the_enthalpy_of_moist_air():
    """[ashrae2017, eq. 30] h = 1.006 t + W (2501 + 1.86 t): the heat taken up is the difference of enthalpies."""
    from airtrim.physics.air.moist import enthalpy_j_kg

    heat = 0.6 * (enthalpy_j_kg(45.0, 0.008) - enthalpy_j_kg(20.0, 0.008))
    assert heating.temperature_rise_k(heat, 0.6, 0.008) == pytest.approx(25.0, rel=1e-12)


def test_stages_add_up_and_each_needs_its_air():
    heats = heating.stage_heats_w(np.array([5000.0, 5000.0, 10000.0]))
    np.testing.assert_array_equal(heats, [5000.0, 10000.0, 20000.0])
    needed = [heating.least_strip_flow_kg_s(one, heating.USUAL_STRIP_RISE_K, 0.0, 0.0) for one in heats]
    assert needed[2] == pytest.approx(2.0 * needed[1]) and needed[1] == pytest.approx(2.0 * needed[0])
    assert heating.least_strip_flow_kg_s(5000.0, heating.USUAL_STRIP_RISE_K, 0.9, 0.0) == 0.9


def test_limit_switch_trips_by_its_range_and_holds_the_heat_down():
    """own-derivation: an even chance between two openings; a cycling switch lets through what the air carries off at it."""
    assert heating.limit_trip_share(40.0, 49.0, 77.0) == 0.0
    assert heating.limit_trip_share(63.0, 49.0, 77.0) == pytest.approx(0.5)
    assert heating.limit_trip_share(80.0, 49.0, 77.0) == 1.0
    held = heating.heat_held_by_limit_w(0.2, 20.0, 60.0, 0.0)
    assert heating.temperature_rise_k(held, 0.2, 0.0) == pytest.approx(40.0)


def test_a_furnace_short_of_air_trips_and_with_the_air_it_needs_does_not():
    """common-practice: 80,000 Btu/h in a house needs about 1,000 cfm; with 700 cfm the limit trips, plate 40 to 70 F."""
    output = heating.furnace_output_w(80000.0 * 0.29307107, 0.80, 1.0)
    density = 1.0 / heating.specific_volume_m3_kg(21.1, 0.005, 101325.0)
    places = [
        heating.rise_place(
            heating.temperature_rise_k(output, cfm * 0.0004719474432 * density, 0.005), 40.0 / 1.8, 70.0 / 1.8
        )
        for cfm in (700.0, 1000.0, 1700.0)
    ]
    assert places == [heating.TOO_LITTLE_AIR, heating.WITHIN_BAND, heating.TOO_MUCH_AIR]


def test_defrost_blows_cold_without_strips_and_not_with_enough():
    assert heating.defrost_supply_c(20.0, 0.5, 0.0, 8000.0, 0.0) < 20.0
    assert heating.defrost_supply_c(20.0, 0.5, 8000.0, 8000.0, 0.0) == pytest.approx(20.0)


@pytest.mark.parametrize(
    ("call", "error", "sentence"),
    [
        (
            lambda: heating.temperature_rise(10.0, Quantity(1000.0, "cfm"), **STATE),
            UnitError,
            r"temperature_rise: heat needs a unit such as W, got the plain number 10\.0",
        ),
        (
            lambda: heating.temperature_rise(Quantity(10.0, "kW"), Quantity(0.0, "cfm"), **STATE),
            OutOfRangeError,
            r"temperature_rise: airflow must lie in 21\.19 to 6357 CFM, got 0 CFM",
        ),
        (
            lambda: heating.airflow_for_rise(Quantity(10.0, "kW"), Quantity(20.0, "degF"), **STATE),
            UnitError,
            r"airflow_for_rise: rise must be convertible to .*, got 20\.0 °F: check the unit",
        ),
        (
            lambda: heating.chance_of_limit_trip(
                Quantity(60.0, "degC"), Quantity(70.0, "degC"), Quantity(50.0, "degC")
            ),
            OutOfRangeError,
            r"chance_of_limit_trip: opens_high must lie in 70 to 150",
        ),
    ],
)
def test_bad_input_is_one_clear_sentence(call, error, sentence):
    with pytest.raises(error, match=sentence) as raised:
        call()
    assert "\n" not in str(raised.value)
