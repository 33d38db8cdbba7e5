"""Moist air against PsychroLib and CoolProp, and against itself both ways; handbook values stand in tests/published."""

import numpy as np
import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airtrim.core.errors import OutOfRangeError, UnitError
from airtrim.core.units import Quantity
from airtrim.physics.air import moist, states

SEA = 101325.0


def test_cooling_example():
    """Handbook cooling example: 5 m3/s at 30 C, 50 %, to saturated 10 C: 198 +/- 0.7 kW (197 from-memory, 198.2 CoolProp)."""
    inlet_w = moist.humidity_ratio_from_relative_humidity(30.0, 0.5, SEA)
    outlet_w = moist.saturation_humidity_ratio(10.0, SEA)
    flow = 5.0 / moist.specific_volume_m3_kg(30.0, inlet_w, SEA)
    heat = flow * (
        moist.enthalpy_j_kg(30.0, inlet_w) - moist.enthalpy_j_kg(10.0, outlet_w) - (inlet_w - outlet_w) * 42010.0
    )
    assert heat / 1000.0 == pytest.approx(198.0, abs=0.7)


def random_states(count):
    rng = np.random.default_rng(20)
    for _ in range(count):
        yield rng.uniform(-20.0, 60.0), rng.uniform(0.02, 1.0), moist.pressure_at_altitude_pa(rng.uniform(0.0, 3000.0))


def test_psychrolib_over_five_thousand_states():
    """PsychroLib 2.5.0, same handbook equations: 1e-4 relative or 20 J/kg; wet bulb and dew point 0.002 K.

    At a wet bulb within 0.6 K of freezing the two part: where the water and the ice branch overlap PsychroLib's bisection may
    land on either; here water is taken where it has a solution.
    """
    psychrolib.SetUnitSystem(psychrolib.SI)
    near_freezing = 0
    for t, rh, p in random_states(5000):
        ratio = moist.humidity_ratio_from_relative_humidity(t, rh, p)
        assert ratio == pytest.approx(psychrolib.GetHumRatioFromRelHum(t, rh, p), rel=1e-4)
        assert moist.enthalpy_j_kg(t, ratio) == pytest.approx(
            psychrolib.GetMoistAirEnthalpy(t, ratio), rel=1e-4, abs=20.0
        )
        assert moist.dew_point_c(ratio, p) == pytest.approx(psychrolib.GetTDewPointFromHumRatio(t, ratio, p), abs=0.002)
        ours, theirs = moist.wet_bulb_c(t, ratio, p), psychrolib.GetTWetBulbFromHumRatio(t, ratio, p)
        if abs(ours) < 0.6:
            near_freezing += 1
            assert abs(ours - theirs) < 0.7
        else:
            assert ours == pytest.approx(theirs, abs=0.002)
    assert 0 < near_freezing < 200


def test_wet_bulb_solves_its_own_equation_on_both_sides_of_freezing():
    """The branches overlap and leave no gap, so the equation holds everywhere."""
    for t in (0.5, 2.0, 5.0, 8.0):
        for target in np.linspace(-3.0, 3.0, 61):
            ratio = moist.humidity_ratio_from_wet_bulb(t, target, SEA)
            if 0.0 < ratio < moist.saturation_humidity_ratio(t, SEA):
                got = moist.wet_bulb_c(t, ratio, SEA)
                assert moist.humidity_ratio_from_wet_bulb(t, got, SEA) == pytest.approx(ratio, abs=1e-12)


def test_hot_air_at_altitude_has_a_wet_bulb_above_its_boiling_point_too():
    """own-derivation: water boils at 81 C under 50 kPa, yet dry air of 90 C has a wet bulb, far below."""
    for humidity_ratio in (0.0, 0.01, 0.1, 0.3):
        got = moist.wet_bulb_c(90.0, humidity_ratio, 50000.0)
        assert moist.humidity_ratio_from_wet_bulb(90.0, got, 50000.0) == pytest.approx(humidity_ratio, abs=1e-11)


def test_temperature_from_wet_bulb_is_the_way_back():
    for t, rh, p in random_states(2000):
        wet = moist.wet_bulb_c(t, moist.humidity_ratio_from_relative_humidity(t, rh, p), p)
        assert moist.temperature_from_wet_bulb_c(wet, rh, p) == pytest.approx(t, abs=1e-8)
    assert moist.temperature_from_wet_bulb_c(20.0, 1.0, SEA) == pytest.approx(20.0, abs=1e-9)
    for impossible in ((20.0, 1.2), (20.0, -0.1), (np.nan, 0.5), (20.0, np.nan), (85.0, 0.1)):
        assert np.isnan(moist.temperature_from_wet_bulb_c(*impossible, SEA))


def test_coolprop():
    """CoolProp 8.0.0 HAPropsSI (real gas): 0.6 % in humidity ratio, 0.5 % or 0.3 kJ/kg in enthalpy, to 45 C and 1,800 m."""
    from CoolProp.HumidAirProp import HAPropsSI

    rng = np.random.default_rng(3)
    for _ in range(150):
        t, rh = rng.uniform(0.0, 45.0), rng.uniform(0.1, 1.0)
        p = moist.pressure_at_altitude_pa(rng.uniform(0.0, 1800.0))
        real = HAPropsSI("W", "T", t + 273.15, "P", p, "R", rh)
        ratio = moist.humidity_ratio_from_relative_humidity(t, rh, p)
        assert ratio == pytest.approx(real, rel=0.006)
        enthalpy = HAPropsSI("H", "T", t + 273.15, "P", p, "R", rh)
        assert moist.enthalpy_j_kg(t, ratio) == pytest.approx(enthalpy, rel=0.005, abs=300.0)


@given(t=st.floats(-15.0, 55.0), rh=st.floats(0.05, 0.99), z=st.floats(0.0, 3000.0))
def test_there_and_back(t, rh, z):
    p = moist.pressure_at_altitude_pa(z)
    ratio = moist.humidity_ratio_from_relative_humidity(t, rh, p)
    assert moist.relative_humidity(t, ratio, p) == pytest.approx(rh, rel=1e-9)
    assert moist.humidity_ratio_from_dew_point(moist.dew_point_c(ratio, p), p) == pytest.approx(ratio, rel=1e-8)
    assert moist.temperature_from_enthalpy_c(moist.enthalpy_j_kg(t, ratio), ratio) == pytest.approx(t, abs=1e-8)
    assert moist.temperature_from_saturation_enthalpy_c(moist.saturation_enthalpy_j_kg(t, p), p) == pytest.approx(
        t, abs=1e-6
    )


def test_fast_saturation_pressure_and_wet_bulb_step():
    for t in np.linspace(0.02, 60.0, 200):
        assert moist.saturation_pressure_fast_pa(t) == pytest.approx(moist.saturation_pressure_pa(t), rel=1e-7)
        slope = (moist.saturation_pressure_pa(t + 0.001) - moist.saturation_pressure_pa(t)) / 0.001
        assert moist.saturation_pressure_slope_fast_pa_k(t) == pytest.approx(slope, rel=1e-4)
    ratio = moist.humidity_ratio_from_relative_humidity(25.0, 0.55, SEA)
    exact = moist.wet_bulb_c(25.0, ratio, SEA)
    assert moist.wet_bulb_step_c(exact + 0.3, 25.0, ratio, SEA) == pytest.approx(exact, abs=0.002)


def test_nan_and_impossible_air():
    assert np.isnan(moist.wet_bulb_c(20.0, 0.05, SEA))  # above saturation
    assert np.isnan(moist.saturation_pressure_pa(np.nan))
    with pytest.raises(UnitError, match="needs a unit such as °C"):
        states.saturation_pressure(25.0)
    with pytest.raises(OutOfRangeError, match="must lie in 0 to 100 %, got 140 %"):
        states.humidity_ratio_from_relative_humidity(
            Quantity(20, "degC"), Quantity(140, "percent"), Quantity(SEA, "Pa")
        )
    with pytest.raises(OutOfRangeError, match="2 values from"):
        states.saturation_pressure(Quantity(np.array([20.0, np.nan]), "degC"))


def test_compiled_equals_plain_python():
    for t in np.linspace(-20.0, 60.0, 41):
        assert moist.saturation_pressure_pa(t) == pytest.approx(moist.saturation_pressure_pa.reference(t), rel=1e-14)


def test_arrays_broadcast():
    got = states.humidity_ratio_from_relative_humidity(
        Quantity([68.0, 75.0], "degF"), Quantity(50, "percent"), Quantity(SEA, "Pa")
    )
    assert got.m.shape == (2,)
