"""Kernels of the refrigerant: both ways, thermodynamic identities that no table was told, blends, NaN, plain against compiled.

Printed pressures stand in tests/published/refrigerant, CoolProp's in tests/tables.
"""

from math import isnan, nan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airtrim.physics.refrigerant import saturation as rs
from airtrim.tables import NAMES, refrigerant

PURE = ("R-22", "R-32", "R-134a")
SIDES = ((rs.bubble_pressure_pa, rs.bubble_temperature_c), (rs.dew_pressure_pa, rs.dew_temperature_c))
GAS_CONSTANT = 8.314462618
MOLAR_MASS = {"R-22": 0.086468, "R-32": 0.052024, "R-134a": 0.102032}


@given(name=st.sampled_from(NAMES), temperature=st.floats(-40.0, 65.6), side=st.sampled_from((0, 1)))
def test_pressure_and_temperature_are_each_others_inverse(name, temperature, side):
    """To 1e-4 K: two tables, each rounded to float32."""
    table = refrigerant(name).table
    pressure, back = SIDES[side]
    assert back(table, pressure(table, temperature)) == pytest.approx(temperature, abs=1e-4)


@pytest.mark.parametrize("name", NAMES)
def test_every_column_rises_or_falls_all_along(name):
    table = refrigerant(name).table
    temperatures = np.arange(-40.0, 65.6, 0.05)
    pressures = np.exp(
        np.linspace(np.log(rs.dew_pressure_pa(table, -40.0)), np.log(rs.bubble_pressure_pa(table, 65.6)), 4000)
    )
    for function in (rs.bubble_pressure_pa, rs.dew_pressure_pa, rs.saturated_liquid_enthalpy_j_kg):
        assert np.all(np.diff([function(table, t) for t in temperatures]) > 0.0)
    for function in (rs.bubble_temperature_c, rs.dew_temperature_c):
        assert np.all(np.diff([function(table, p) for p in pressures]) > 0.0)
    assert np.all(np.diff([rs.saturated_liquid_density_kg_m3(table, t) for t in temperatures]) < 0.0)
    assert np.all(np.diff([rs.vapour_density_kg_m3(table, t, 0.0) for t in temperatures]) > 0.0)


@pytest.mark.parametrize("name", PURE)
def test_clausius_and_clapeyron(name):
    """Latent heat = T (1/vapour density - 1/liquid density) dp/dT, an identity that ties four columns; to 1e-4,
    of which the pressure's rounding to float32 makes half."""
    table = refrigerant(name).table
    for t in np.arange(-38.0, 64.0, 3.1):
        ratio = rs.dew_pressure_pa(table, t + 0.5) / rs.dew_pressure_pa(table, t - 0.5)
        slope = rs.dew_pressure_pa(table, t) * np.log(ratio)
        volumes = 1.0 / rs.vapour_density_kg_m3(table, t, 0.0) - 1.0 / rs.saturated_liquid_density_kg_m3(table, t)
        latent = rs.vapour_enthalpy_j_kg(table, t, 0.0) - rs.saturated_liquid_enthalpy_j_kg(table, t)
        assert latent == pytest.approx((t + 273.15) * volumes * slope, rel=1e-4)


@pytest.mark.parametrize("name", PURE)
def test_thin_vapour_is_nearly_an_ideal_gas(name):
    """At -40 degC and 40 K of superheat the density is that of an ideal gas or up to 5 % more."""
    table = refrigerant(name).table
    ideal = rs.dew_pressure_pa(table, -40.0) * MOLAR_MASS[name] / (GAS_CONSTANT * 273.15)
    assert 1.0 < rs.vapour_density_kg_m3(table, -40.0, 40.0) / ideal < 1.05


@pytest.mark.parametrize(("name", "latent_kj_kg"), [("R-22", 199.27), ("R-32", 304.00), ("R-410A", 212.58)])
def test_latent_heat_at_seven_degrees(name, latent_kj_kg):
    """[coolprop], computed apart from the builder; R-410A's is vapour less liquid at one temperature."""
    table = refrigerant(name).table
    latent = rs.vapour_enthalpy_j_kg(table, 7.0, 0.0) - rs.saturated_liquid_enthalpy_j_kg(table, 7.0)
    assert latent / 1000.0 == pytest.approx(latent_kj_kg, abs=0.0051)


@pytest.mark.parametrize("name", NAMES)
def test_superheat_and_subcooling_start_at_saturation_and_add_to_the_effect(name):
    table = refrigerant(name).table
    assert rs.liquid_enthalpy_j_kg(table, 45.0, 0.0) == rs.saturated_liquid_enthalpy_j_kg(table, 45.0)
    effects = [rs.refrigerating_effect_j_kg(table, 7.0, 5.0, 45.0, x) for x in (0.0, 5.0, 15.0, 30.0)]
    assert np.all(np.diff(effects) > 0.0)
    assert np.all(
        np.diff([rs.refrigerating_effect_j_kg(table, 7.0, x, 45.0, 5.0) for x in (0.0, 5.0, 20.0, 40.0)]) > 0.0
    )
    assert np.all(np.diff([rs.vapour_density_kg_m3(table, 7.0, x) for x in np.arange(0.0, 40.0, 0.5)]) < 0.0)


@given(name=st.sampled_from(NAMES), quality=st.floats(0.0, 1.0), temperature=st.floats(-30.0, 25.0))
def test_quality_is_found_back_and_boiling_lies_between_bubble_and_dew(name, quality, temperature):
    table = refrigerant(name).table
    pressure = rs.bubble_pressure_pa(table, temperature)
    found = rs.quality_from_enthalpy(table, pressure, rs.boiling_enthalpy_j_kg(table, pressure, quality))
    # an end may fall outside by rounding of the enthalpy itself
    assert found == pytest.approx(quality, abs=1e-9) or (isnan(found) and quality in (0.0, 1.0))
    boiling = rs.boiling_temperature_c(table, pressure, quality)
    slack = 1e-5
    assert rs.bubble_temperature_c(table, pressure) - slack <= boiling <= rs.dew_temperature_c(table, pressure) + slack


def test_a_blend_enters_its_coil_colder_than_its_dew_point_and_a_pure_fluid_does_not():
    blend, pure = refrigerant("R-454B").table, refrigerant("R-32").table
    for table, least, most in ((blend, 1.0, 1.6), (pure, -1e-4, 1e-4)):
        suction = rs.dew_pressure_pa(table, 5.0)
        inlet = rs.coil_inlet_temperature_c(table, suction, rs.liquid_enthalpy_j_kg(table, 42.0, 5.0))
        assert least < 5.0 - inlet < most


CALLS = (
    (rs.bubble_pressure_pa, (7.0,)),
    (rs.dew_pressure_pa, (7.0,)),
    (rs.bubble_temperature_c, (1.0e6,)),
    (rs.dew_temperature_c, (1.0e6,)),
    (rs.saturated_liquid_enthalpy_j_kg, (7.0,)),
    (rs.saturated_liquid_density_kg_m3, (7.0,)),
    (rs.vapour_enthalpy_j_kg, (7.0, 5.0)),
    (rs.vapour_density_kg_m3, (7.0, 5.0)),
    (rs.liquid_enthalpy_j_kg, (40.0, 5.0)),
    (rs.refrigerating_effect_j_kg, (7.0, 5.0, 40.0, 5.0)),
    (rs.boiling_temperature_c, (8.0e5, 0.2)),
    (rs.boiling_enthalpy_j_kg, (8.0e5, 0.2)),
    (rs.quality_from_enthalpy, (8.0e5, 2.5e5)),
    (rs.coil_inlet_temperature_c, (8.0e5, 2.5e5)),
)


@pytest.mark.parametrize(("function", "values"), CALLS, ids=lambda one: getattr(one, "__name__", ""))
def test_nan_in_nan_out_and_nothing_off_the_table(function, values):
    table = refrigerant("R-454B").table
    assert np.isfinite(function(table, *values))
    for place in range(len(values)):
        for wrong in (nan, -1.0e9, 1.0e9, float("inf")):
            assert isnan(function(table, *values[:place], wrong, *values[place + 1 :]))


@pytest.mark.parametrize(("function", "values"), CALLS, ids=lambda one: getattr(one, "__name__", ""))
def test_plain_python_gives_what_the_machine_code_gives(function, values):
    table = refrigerant("R-407C").table
    assert function.py_func(table, *values) == pytest.approx(function(table, *values), rel=1e-12)


def test_off_the_table_by_a_little_is_off():
    table = refrigerant("R-410A").table
    assert isnan(rs.dew_temperature_c(table, 60.0e3)) and isnan(rs.dew_temperature_c(table, 4.9e6))
    assert isnan(rs.dew_pressure_pa(table, -45.0)) and isnan(rs.dew_pressure_pa(table, 70.0))
    assert isnan(rs.vapour_enthalpy_j_kg(table, 7.0, 40.1)) and isnan(rs.vapour_enthalpy_j_kg(table, 7.0, -0.1))
    assert isnan(rs.liquid_enthalpy_j_kg(table, 40.0, 30.1)) and isnan(rs.liquid_enthalpy_j_kg(table, -30.0, 5.0))
    assert isnan(rs.coil_inlet_temperature_c(table, 8.0e5, rs.saturated_liquid_enthalpy_j_kg(table, -20.0)))
