"""The refrigerant's checked face: units, altitude, arrays, and one sentence in the caller's own unit."""

import numpy as np
import pytest

from airtrim.core.errors import InputError, OutOfRangeError, UnitError
from airtrim.core.units import Quantity
from airtrim.physics.refrigerant import saturation, states
from airtrim.tables import refrigerant
from tests.published.loader import FOLDER, read_table

R410A, R454B, R22 = (refrigerant(name) for name in ("R-410A", "R-454B", "R-22"))
GAUGE = Quantity(118.4, "psi")


def test_a_gauge_reads_the_air_it_stands_in():
    """One gauge reading is a lower absolute pressure on a mountain: at 5000 ft R-410A is 4 F colder at 118.4 psig."""
    sea = states.saturated_suction_temperature(R410A, GAUGE)
    high = states.saturated_suction_temperature(R410A, GAUGE, altitude=Quantity(5000.0, "ft"))
    absolute = states.absolute_pressure(GAUGE, altitude=Quantity(5000.0, "ft"))
    assert high.m_as("degC") == pytest.approx(states.dew_temperature(R410A, absolute).m_as("degC"), abs=1e-9)
    assert 1.0 < sea.m_as("degF") - high.m_as("degF") < 2.0
    back = states.gauge_pressure(absolute, altitude=Quantity(5000.0, "ft"))
    assert back.m_as("psi") == pytest.approx(118.4)


def test_superheat_is_from_the_dew_point_and_subcooling_from_the_bubble_point():
    line = Quantity(60.0, "degF")
    dew = states.saturated_suction_temperature(R454B, GAUGE)
    bubble = states.saturated_condensing_temperature(R454B, GAUGE)
    assert dew.m_as("degC") - bubble.m_as("degC") == pytest.approx(1.5, abs=0.05)
    assert states.superheat(R454B, GAUGE, line).m_as("delta_degF") == pytest.approx(60.0 - dew.m_as("degF"))
    assert states.subcooling(R454B, GAUGE, line).m_as("delta_degF") == pytest.approx(bubble.m_as("degF") - 60.0)


def test_whole_arrays_broadcast():
    gauges, lines = Quantity(np.array([[100.0], [120.0]]), "psi"), Quantity(np.array([50.0, 60.0, 70.0]), "degF")
    found = states.superheat(R410A, gauges, lines, altitude=Quantity(np.array([0.0, 500.0, 1000.0]), "ft"))
    assert found.m.shape == (2, 3)
    one = states.superheat(R410A, gauges[1, 0], lines[2], altitude=Quantity(1000.0, "ft"))
    assert found[1, 2].m == pytest.approx(one.m)


def test_coil_inlet_is_the_flash_of_the_kernels():
    suction, liquid, line = Quantity(100.0, "psi"), Quantity(350.0, "psi"), Quantity(100.0, "degF")
    drop = Quantity(5.0, "psi")
    inlet = states.coil_inlet_temperature(R454B, suction, liquid, line, drop, altitude=Quantity(0.0, "ft"))
    table, liquid_pa = R454B.table, (350.0 * 6894.757293168) + 101325.0
    bubble = saturation.bubble_temperature_c(table, liquid_pa)
    enthalpy = saturation.liquid_enthalpy_j_kg(table, bubble, bubble - (100.0 - 32.0) / 1.8)
    flashed = saturation.coil_inlet_temperature_c(table, 105.0 * 6894.757293168 + 101325.0, enthalpy)
    assert inlet.m_as("degC") == pytest.approx(flashed, abs=1e-6)
    dew = states.saturated_suction_temperature(R454B, suction)
    without = states.coil_inlet_temperature(R454B, suction, liquid, line)
    assert without.m_as("degF") < dew.m_as("degF") - 1.8
    assert inlet.m_as("degF") > without.m_as("degF") + 2.0


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (
            lambda: states.dew_temperature(R410A, Quantity(5.0, "psi")),
            r"pressure must lie in 24\.79 to 634\.6 psi, got 5 psi",
        ),
        (
            lambda: states.dew_pressure(R410A, Quantity(200.0, "degF")),
            r"temperature must lie in -41\.\d+ to 15\d\.?\d* °F",
        ),
        (
            lambda: states.superheat(R410A, Quantity([100.0, 900.0], "psi"), Quantity(55.0, "degF")),
            r"gauge_pressure must lie in .* psi, got 2 values from 100 to 900",
        ),
        (
            lambda: states.coil_inlet_temperature(
                R410A, Quantity(100.0, "psi"), Quantity(350.0, "psi"), Quantity(120.0, "degF")
            ),
            r"liquid_temperature must lie in 52\.\d+ to 106\.\d+ °F, got 120 °F",
        ),
        (
            lambda: states.coil_inlet_temperature(
                R410A, Quantity(300.0, "psi"), Quantity(350.0, "psi"), Quantity(100.0, "degF")
            ),
            r"suction_gauge_pressure must lie in",
        ),
        (lambda: states.absolute_pressure(Quantity(-16.0, "psi")), r"gauge_pressure must lie in -14\.55 to"),
    ],
)
def test_off_the_table_is_one_sentence_in_the_callers_unit(call, sentence):
    with pytest.raises(OutOfRangeError, match=sentence):
        call()


def test_a_liquid_too_cold_to_flash_is_refused():
    """Liquid at 10 degC and a coil at 12 degC: nothing boils behind the metering device."""
    suction = states.dew_gauge_pressure(R22, Quantity(12.0, "degC"))
    liquid = states.bubble_gauge_pressure(R22, Quantity(25.0, "degC"))
    with pytest.raises(OutOfRangeError, match=r"liquid_temperature must lie in 12\.5 to 25"):
        states.coil_inlet_temperature(R22, suction, liquid, Quantity(10.0, "degC"))
    assert states.coil_inlet_temperature(R22, suction, liquid, Quantity(12.6, "degC")).m == pytest.approx(
        12.0, abs=1e-4
    )


def test_nan_and_plain_numbers_and_names_are_refused():
    with pytest.raises(OutOfRangeError):
        states.dew_temperature(R410A, Quantity(float("nan"), "psi"))
    with pytest.raises(UnitError, match="needs a unit"):
        states.dew_temperature(R410A, 118.4)
    with pytest.raises(InputError, match=r"refrigerant must carry a table, got 'R-410A'"):
        states.dew_temperature("R-410A", Quantity(118.4, "psi"))


def test_both_ends_of_the_range_are_inside():
    """The bounds a message tells are themselves accepted."""
    for one in (R410A, R454B):
        for kernel, low, high in ((states.dew_temperature, -40.0, 65.6), (states.bubble_temperature, -40.0, 65.6)):
            unit, least, most = states._pressures({"refrigerant": one})
            assert np.isfinite(kernel(one, Quantity([least, most], unit)).m).all()
            inverse = states.dew_pressure if kernel is states.dew_temperature else states.bubble_pressure
            assert np.isfinite(kernel(one, inverse(one, Quantity([low, high], "degC"))).m).all()
        unit, least, most = states._boiling_pressures({"refrigerant": one})
        assert np.isfinite(states.boiling_temperature(one, Quantity([least, most], unit), Quantity(0.5, "")).m).all()


def test_every_public_function_has_a_printed_value():
    """Superheat and subcooling: a chart's saturation and a line temperature of our own, so their kind is own-derivation."""
    tables = [read_table(path) for path in (FOLDER / "refrigerant").glob("*.toml")]
    assert {table["function"].rpartition(".")[2] for table in tables} == set(states.__all__)
