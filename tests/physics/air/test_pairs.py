"""One state of air from every pair; the handbook's example entered each way, and pairs that no air has."""

import numpy as np
import pytest

from airtrim.core.errors import InputError, OutOfRangeError, UnitError
from airtrim.core.units import Quantity
from airtrim.physics.air.pairs import PAIRS, air_state

SEA = Quantity(101325.0, "Pa")
NAMES = ("temperature", "wet_bulb", "dew_point", "relative_humidity", "humidity_ratio", "enthalpy")
#: Handbook example 1 [ashrae2017], read from a chart (worked-example): value, unit, what its reading is good for.
EXAMPLE = {
    "temperature": (40.0, "degC", 1e-6),
    "wet_bulb": (20.0, "degC", 1e-6),
    "dew_point": (7.0, "degC", 0.8),
    "relative_humidity": (14.0, "percent", 1.0),
    "humidity_ratio": (0.0065, "", 1e-4),
    "enthalpy": (56.7, "kJ/kg", 0.4),
    "specific_volume": (0.896, "m**3/kg", 0.009),
}


def test_handbook_example_whole():
    state = air_state(temperature=Quantity(40.0, "degC"), wet_bulb=Quantity(20.0, "degC"), pressure=SEA)
    for name, (value, unit, allowed) in EXAMPLE.items():
        assert getattr(state, name).m_as(unit) == pytest.approx(value, abs=allowed), name


@pytest.mark.parametrize("pair", PAIRS, ids="-".join)
def test_every_pair_leads_to_the_same_air(pair):
    """own-derivation: out by one pair and back by each other, over frost and heat, at three altitudes."""
    generator = np.random.default_rng(4)
    start = air_state(
        temperature=Quantity(generator.uniform(-20.0, 50.0, 300), "degC"),
        relative_humidity=Quantity(generator.uniform(0.05, 0.99, 300), ""),
        altitude=Quantity(generator.choice([0.0, 800.0, 2500.0], 300), "m"),
    )
    back = air_state(**{name: getattr(start, name) for name in pair}, pressure=start.pressure)
    for name in NAMES:
        unit = "degC" if getattr(start, name).check("[temperature]") else getattr(start, name).units
        np.testing.assert_allclose(
            getattr(back, name).m_as(unit), getattr(start, name).m_as(unit), rtol=1e-7, atol=1e-6, err_msg=name
        )


def test_pairs_that_say_too_little_or_what_no_air_can_be_are_refused():
    warm = Quantity(25.0, "degC")
    with pytest.raises(InputError, match="either pressure or altitude"):
        air_state(temperature=warm, wet_bulb=warm)
    with pytest.raises(InputError, match="cannot start from dew_point and humidity_ratio"):
        air_state(dew_point=warm, humidity_ratio=Quantity(0.01, ""), pressure=SEA)
    with pytest.raises(InputError, match="cannot start from nothing"):
        air_state(pressure=SEA)
    with pytest.raises(InputError, match="more than saturated"):
        air_state(temperature=warm, dew_point=Quantity(26.0, "degC"), pressure=SEA)
    with pytest.raises(OutOfRangeError, match="humidity_ratio must lie in"):  # drier than dry
        air_state(temperature=Quantity(45.0, "degC"), wet_bulb=Quantity(5.0, "degC"), pressure=SEA)
    with pytest.raises(UnitError, match="needs a unit"):
        air_state(temperature=25.0, wet_bulb=warm, pressure=SEA)
