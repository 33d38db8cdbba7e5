"""The fitted surfaces against the balance they stand for, over what a season and an airflow program ask of them."""

import numpy as np
import pytest
from numpy.typing import NDArray

from airtrim.core.errors import InputError, NoSolutionError
from airtrim.physics.air.moist import humidity_ratio_from_wet_bulb
from airtrim.physics.unit.fields import EXPANSION_VALVE, FIXED_ORIFICE
from airtrim.physics.unit.fit import bypass_constants, fit_surfaces
from airtrim.physics.unit.steady import steady_state
from airtrim.physics.unit.surface import SURFACE_SIZE, split_sensible, surface_state
from tests.physics.unit.unit_cases import MIDDLE, faulty_units, many_units

#: The trusted envelope: of rated airflow; 60 to 115 F outdoors; 55 to 75 F wet bulb.
FLOWS, OUTDOORS, WET_BULBS = (0.40, 1.30), (15.56, 46.11), (12.78, 23.89)
#: What a year may ask beyond it.
ALL_OUTDOORS, ALL_WET_BULBS = (11.0, 46.5), (10.0, 26.0)


def _errors(
    units: NDArray[np.float64],
    count: int,
    pressure_pa: float = 101325.0,
    flows: tuple[float, float] = FLOWS,
    outdoors: tuple[float, float] = OUTDOORS,
    wet_bulbs: tuple[float, float] = WET_BULBS,
) -> np.ndarray:
    """Worst parts of total, power, K of suction, part of sensible, K of surface at random points where there is a balance."""
    generator = np.random.default_rng(11)
    surfaces, bypass = fit_surfaces(units, pressure_pa), bypass_constants(units, pressure_pa)
    errors: list[tuple[float, ...]] = []
    tried = 0
    while len(errors) < count:
        k = int(generator.integers(len(units)))
        return_c, outdoor = generator.uniform(18.0, 31.0), generator.uniform(*outdoors)
        wet_bulb = return_c - generator.uniform(0.5, 14.0)
        flow = units[k, 5] * generator.uniform(*flows)
        if not wet_bulbs[0] < wet_bulb < wet_bulbs[1]:
            continue
        tried += 1
        humidity = humidity_ratio_from_wet_bulb(return_c, wet_bulb, pressure_pa)
        total, sensible, power, suction, surface, _ = steady_state(
            return_c, humidity, outdoor, flow, pressure_pa, units[k]
        )
        if np.isnan(total):
            continue
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
    assert tried - count <= 0.02 * count, "too many points without a balance to tell anything"
    return np.abs(np.array(errors))


@pytest.mark.parametrize("pressure_pa", [101325.0, 84000.0])
@pytest.mark.parametrize("device", [EXPANSION_VALVE, FIXED_ORIFICE])
def test_surfaces_over_the_envelope(pressure_pa: float, device: float) -> None:
    """Capacity and power 0.5 %, temperatures 0.2 K anywhere in the envelope (the project's own demand)."""
    units = many_units(16)
    units[:, 6] = device
    worst = _errors(units, 3000, pressure_pa).max(axis=0)
    assert worst[0] < 0.005 and worst[1] < 0.005 and worst[3] < 0.005
    assert worst[2] < 0.2 and worst[4] < 0.2


@pytest.mark.parametrize("device", [EXPANSION_VALVE, FIXED_ORIFICE])
def test_surfaces_of_units_off_nominal(device: float) -> None:
    """Every refrigerant, dirt, wrong charge, uneven circuits: capacity and power 0.5 %, temperatures 0.2 K at all random points
    (the project's own demand)."""
    units = faulty_units(64)
    worst = _errors(units[units[:, 6] == device], 6000).max(axis=0)
    assert worst[0] < 0.005 and worst[1] < 0.005 and worst[3] < 0.005
    assert worst[2] < 0.2 and worst[4] < 0.2


def test_surfaces_beyond_the_envelope() -> None:
    """What a year may ask besides: they must not run away. Down to 11 degC outdoors and up to 26 degC wet bulb 3 % and 0.9 K; down
    to 30 % of rated airflow, below which the year does not read them, 1.5 % and 0.4 K."""
    units = many_units(16)
    worst = _errors(units, 3000, outdoors=ALL_OUTDOORS, wet_bulbs=ALL_WET_BULBS).max(axis=0)
    assert worst[0] < 0.03 and worst[2] < 0.9
    worst = _errors(units, 1000, flows=(0.302, 0.40)).max(axis=0)
    assert worst[0] < 0.015 and worst[2] < 0.4


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
