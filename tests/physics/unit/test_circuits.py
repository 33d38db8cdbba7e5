"""The coldest circuit of a coil: what drop, glide and uneven circuits make of it."""

import numpy as np
import pytest

from airtrim.physics.refrigerant import saturation
from airtrim.physics.unit.circuits import coldest_below_suction_k
from airtrim.physics.unit.fields import unit_rows
from airtrim.physics.unit.steady import RATED_PRESSURE_PA, working_state
from airtrim.tables import refrigerant

AIR = (23.9, 0.0097, 29.0)


def unit(kind, drop=1.5, uneven=0.1):
    return unit_rows(
        gross_capacity_w=10200.0, compressor_power_w=2650.0, coil_td_k=17.5, sensible_heat_ratio=0.75, air_exponent=0.5,
        rated_flow_kg_s=0.68, metering_device=0.0, refrigerant=kind, circuit_drop_k=drop, uneven_circuits=uneven,
    )  # fmt: skip


def offset(kind, **more):
    return float(coldest_below_suction_k(unit(kind, **more), *AIR, np.array([0.68]), RATED_PRESSURE_PA)[0])


@pytest.mark.parametrize("kind", ["R-22", "R-32", "R-134a"])
def test_a_pure_refrigerant_is_coldest_where_it_has_boiled_dry(kind):
    """Thermodynamics: saturation falls with pressure along the circuit, and suction is its end."""
    assert offset(kind) == 0.0
    state = working_state(*AIR, 0.68, RATED_PRESSURE_PA, unit(kind)[0])
    assert state.coldest_inlet_c > state.suction_c


@pytest.mark.parametrize("kind", ["R-407C", "R-454B"])
def test_a_blend_is_colder_at_the_inlet_by_its_glide_less_the_drop(kind):
    """Without a drop the inlet lies below the dew point by part of the glide at that pressure, the flash gas having taken the rest
    (bubble and dew of the stored tables)."""
    table = refrigerant(kind).table
    state = working_state(*AIR, 0.68, RATED_PRESSURE_PA, unit(kind, drop=0.0)[0])
    pressure = saturation.dew_pressure_pa(table, state.suction_c)
    glide = state.suction_c - saturation.bubble_temperature_c(table, pressure)
    assert 0.6 * glide < offset(kind, drop=0.0) < glide
    assert offset(kind, drop=1.5) < offset(kind, drop=0.0)
    # the worst of uneven circuits has the smaller drop, so its inlet is the colder
    assert offset(kind, drop=1.5, uneven=0.3) >= offset(kind, drop=1.5, uneven=0.0)


def test_no_balance_is_not_a_number():
    assert np.isnan(coldest_below_suction_k(unit("R-22"), 24.0, 0.0097, 80.0, np.array([0.68]), RATED_PRESSURE_PA)[0])
