"""The fitted surfaces against the balance they stand for, over what a season and an airflow program ask of them."""

import numpy as np
import pytest

from airtrim.core.errors import InputError, NoSolutionError
from airtrim.physics.air.moist import humidity_ratio_from_wet_bulb
from airtrim.physics.unit.steady import EXPANSION_VALVE, FIXED_ORIFICE, steady_state
from airtrim.physics.unit.surface import SURFACE_SIZE, bypass_constants, fit_surfaces, split_sensible, surface_state
from tests.physics.unit.unit_cases import MIDDLE, many_units

#: Of rated airflow: what a program may ask for.
LEAST_FLOW, GREATEST_FLOW = 0.40, 1.30


def _errors(
    pressure_pa: float, least: float, greatest: float, count: int, device: float = EXPANSION_VALVE
) -> np.ndarray:
    generator = np.random.default_rng(11)
    units = many_units(16)
    units[:, 6] = device
    surfaces, bypass = fit_surfaces(units, pressure_pa), bypass_constants(units, pressure_pa)
    errors = []
    while len(errors) < count:
        k = int(generator.integers(len(units)))
        return_c, outdoor = generator.uniform(18.0, 30.0), generator.uniform(12.0, 46.0)
        wet_bulb = return_c - generator.uniform(0.5, 12.0)
        flow = units[k, 5] * generator.uniform(least, greatest)
        if not 10.0 < wet_bulb < 26.0:
            continue
        humidity = humidity_ratio_from_wet_bulb(return_c, wet_bulb, pressure_pa)
        total, sensible, power, suction, surface, _ = steady_state(
            return_c, humidity, outdoor, flow, pressure_pa, units[k]
        )
        fast = surface_state(surfaces[k], return_c, wet_bulb, outdoor, np.log(flow / units[k, 5]))
        split = split_sensible(fast[0], return_c, humidity, flow, bypass[k], units[k, 4], units[k, 5], pressure_pa)
        errors.append(
            (
                fast[0] / total - 1.0,
                fast[1] / power - 1.0,
                fast[2] - suction,
                (split[0] - sensible) / total,
                split[1] - surface,
            )
        )
    return np.abs(np.array(errors))


@pytest.mark.parametrize("pressure_pa", [101325.0, 84000.0])
def test_surfaces_over_the_envelope(pressure_pa: float) -> None:
    """Capacity and power 0.5 %, suction and surface 0.2 K between 40 and 130 % of rated airflow (the project's own
    demand)."""
    errors = _errors(pressure_pa, LEAST_FLOW, GREATEST_FLOW, 3000)
    assert np.isfinite(errors).all()
    worst = errors.max(axis=0)
    assert worst[0] < 0.005 and worst[1] < 0.005 and worst[3] < 0.005
    assert worst[2] < 0.2 and worst[4] < 0.2


def test_surfaces_of_orifice_units_over_the_envelope() -> None:
    """Where superheat meets flooding the state has a bend: 1 % and 0.3 K in nine points of ten, 4 % and 0.8 K anywhere."""
    errors = _errors(101325.0, LEAST_FLOW, GREATEST_FLOW, 3000, FIXED_ORIFICE)
    assert np.isfinite(errors).all()
    usual, worst = np.quantile(errors, 0.9, axis=0), errors.max(axis=0)
    assert usual[0] < 0.010 and usual[1] < 0.005 and usual[2] < 0.3
    assert worst[0] < 0.04 and worst[1] < 0.02 and worst[2] < 0.8


def test_surfaces_below_the_envelope() -> None:
    """Down to 20 % of rated airflow they must not run away: 3 % of capacity and 0.4 K."""
    worst = _errors(101325.0, 0.21, 0.40, 1000).max(axis=0)
    assert worst[0] < 0.03 and worst[2] < 0.4


def test_fitting_is_alike_for_one_or_many() -> None:
    units = many_units(32)
    fit_surfaces(units[:1], 101325.0)
    surfaces = fit_surfaces(units, 101325.0)
    assert surfaces.shape == (32, SURFACE_SIZE)
    assert np.array_equal(surfaces[7], fit_surfaces(units[7], 101325.0)[0])


def test_impossible_units_are_refused() -> None:
    with pytest.raises(InputError, match="UNIT_FIELDS"):
        fit_surfaces(np.ones((3, 5)), 101325.0)
    with pytest.raises(NoSolutionError):
        fit_surfaces(np.array([10200.0, 2650.0, 17.5, 0.5, 0.5, 0.68, 0.0]), 101325.0)


def test_state_and_split_are_continuous_where_the_coil_dries() -> None:
    surfaces, bypass = fit_surfaces(MIDDLE, 101325.0)[0], bypass_constants(MIDDLE, 101325.0)[0]
    steps = []
    for humidity in np.linspace(0.003, 0.014, 1101):
        wet_bulb = 10.0 + (humidity - 0.003) * 900.0  # any smooth path will do
        total, _, suction = surface_state(surfaces, 25.0, wet_bulb, 33.0, -0.2)
        sensible, surface = split_sensible(total, 25.0, humidity, 0.55, bypass, 0.5, 0.68, 101325.0)
        assert sensible <= total
        steps.append((total, sensible, suction, surface))
    jumps = np.abs(np.diff(np.array(steps), axis=0)).max(axis=0)
    assert jumps[0] < 20.0 and jumps[1] < 60.0 and jumps[2] < 0.1 and jumps[3] < 0.1


def test_not_a_number_stays_not_a_number() -> None:
    surfaces = fit_surfaces(MIDDLE, 101325.0)[0]
    for hole in range(4):
        arguments = [25.0, 18.0, 33.0, -0.2]
        arguments[hole] = np.nan
        assert np.isnan(surface_state(surfaces, *arguments)[0])
