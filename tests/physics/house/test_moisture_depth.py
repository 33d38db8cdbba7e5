"""Moisture in materials: limits of the penetration depth, exact sinusoids, and the square wave of the buffer value."""

import cmath
from dataclasses import replace
from math import pi, sqrt

import numpy as np
import pytest

from airtrim.core.errors import OutOfRangeError
from airtrim.physics.air.moist import humidity_ratio_from_relative_humidity, saturation_pressure_pa
from airtrim.physics.house.moisture_depth import (
    CONCRETE,
    DAY_S,
    DEEP_PERIOD_S,
    GYPSUM,
    SOFTWOOD,
    MoistureDepths,
    MoistureMaterial,
    MoistureSurface,
    moisture_depths,
    penetration_depth_m,
    water_for_a_tenth_kg_m2,
)
from tests.published.loader import FOLDER, read_table

TABLE = read_table(FOLDER / "house" / "moisture_buffering_value.toml")
MATERIALS = {one.name: one for one in (GYPSUM, SOFTWOOD, CONCRETE)}
THICK, NO_FILM, PRESSURE = 10.0, 1e3, 101325.0
SATURATED = saturation_pressure_pa(25.0)
HUMIDITY = humidity_ratio_from_relative_humidity(25.0, 0.5, PRESSURE)
PER_HUMIDITY = 0.621945 * PRESSURE / (0.621945 + HUMIDITY) ** 2


def network(depths: MoistureDepths, period_s: float) -> complex:
    """Flow into the stores for a unit swing of humidity ratio in the air, kg/s."""
    turn = 2j * pi / period_s
    deep = turn * depths.deep_buffer_kg
    onward = 1.0 / (1.0 / depths.deep_coupling_kg_s + 1.0 / deep) if depths.deep_buffer_kg > 0.0 else 0.0
    return 1.0 / (1.0 / depths.buffer_coupling_kg_s + 1.0 / (turn * depths.moisture_buffer_kg + onward))


def exact(material: MoistureMaterial, period_s: float, thickness_m: float, outer_m2spa_kg: float = 0.0) -> complex:
    """A slab with a closed back and a resistance in front: kg/s m2 for a unit of humidity ratio (the diffusion equation)."""
    store = 2j * pi / period_s * material.density_kg_m3 * material.sorption_slope / SATURATED
    inside = cmath.sqrt(store * material.permeability_kg_mspa)
    reach = thickness_m * cmath.sqrt(store / material.permeability_kg_mspa)
    answer = inside * (cmath.tanh(reach) if reach.real < 300.0 else 1.0)
    return PER_HUMIDITY / (1.0 / answer + outer_m2spa_kg)


@pytest.mark.parametrize(
    ("material", "millimetres", "grams"), [(GYPSUM, 16.9, 11.8), (SOFTWOOD, 1.1, 8.2), (CONCRETE, 1.9, 13.4)]
)
def test_depth_and_uptake_worked_out_elsewhere(material, millimetres, grams):
    """A table worked out apart from this code from the same properties [own-derivation]; printed to a tenth.

    Gypsum's day reaches through the board of 12.7 mm, but the table's 11.8 g is that of the whole depth.
    """
    assert 1e3 * penetration_depth_m(material, DAY_S) == pytest.approx(millimetres, abs=0.051)
    assert 1e3 * water_for_a_tenth_kg_m2(MoistureSurface(material, 1.0, THICK)) == pytest.approx(grams, abs=0.051)


@pytest.mark.parametrize("material", list(MATERIALS.values()), ids=list(MATERIALS))
def test_one_depth_is_exact_at_its_own_period(material):
    """Half-infinite solid, no film, the day's depth alone: size and phase of the diffusion equation's answer, to rounding."""
    depths = moisture_depths((MoistureSurface(material, 1.0, THICK),), film_kg_m2spa=NO_FILM)
    alone = replace(depths, deep_buffer_kg=0.0)
    assert network(alone, DAY_S) == pytest.approx(exact(material, DAY_S, THICK), rel=1e-4)


@pytest.mark.parametrize("material", list(MATERIALS.values()), ids=list(MATERIALS))
@pytest.mark.parametrize("days", [0.5, 1.0, 2.0, 7.0, 21.0])
def test_both_depths_stay_near_the_exact_answer(material, days):
    """From half a day to three weeks, painted or bare, behind the film: within 25 % in size, 0.35 rad in phase.

    Two lumps stand for the square root of frequency, whose slope and phase they can only straddle.
    """
    surface = MoistureSurface(material, 1.0, THICK)
    film = 1.0 / 1.8e-8
    for coating in (0.0, 2e9):
        got = network(moisture_depths((replace(surface, coating_m2spa_kg=coating),)), days * DAY_S)
        expected = exact(material, days * DAY_S, THICK, film + coating)
        assert abs(got) == pytest.approx(abs(expected), rel=0.25)
        assert abs(cmath.phase(got / expected)) < 0.35


def test_limits_of_the_penetration_depth():
    """No resistance: all capacity at once (the multiplier's limit). A thin board: the whole board, and nothing deep."""
    thin = MoistureSurface(GYPSUM, 100.0, 0.0127)
    depths = moisture_depths((thin,), film_kg_m2spa=NO_FILM)
    whole = 100.0 * 0.0127 * 700.0 * 0.010 * PER_HUMIDITY / SATURATED
    assert depths.moisture_buffer_kg == pytest.approx(whole, rel=1e-12)
    assert (depths.deep_buffer_kg, depths.deep_coupling_kg_s) == (0.0, 0.0)
    open_board = replace(GYPSUM, permeability_kg_mspa=1e-3)
    free = moisture_depths((replace(thin, material=open_board),), film_kg_m2spa=NO_FILM)
    as_capacity = 2j * pi / DAY_S * free.moisture_buffer_kg
    assert network(free, DAY_S) == pytest.approx(as_capacity, rel=1e-4)
    assert abs(network(free, 1e3 * DEEP_PERIOD_S)) < 1e-3 * abs(as_capacity)  # a slow air is followed without a flow


def test_surfaces_add_and_paint_slows():
    bare = (MoistureSurface(GYPSUM, 300.0, 0.0127), MoistureSurface(SOFTWOOD, 80.0, 0.01))
    both, one, other = moisture_depths(bare), moisture_depths(bare[:1]), moisture_depths(bare[1:])
    for name in ("moisture_buffer_kg", "deep_buffer_kg", "buffer_coupling_kg_s", "deep_coupling_kg_s"):
        assert getattr(both, name) == pytest.approx(getattr(one, name) + getattr(other, name))
    painted = moisture_depths((replace(bare[0], coating_m2spa_kg=2e9), bare[1]))
    assert painted.moisture_buffer_kg == both.moisture_buffer_kg
    assert painted.buffer_coupling_kg_s < 0.5 * both.buffer_coupling_kg_s


def square_wave_g_m2(depths: MoistureDepths) -> float:
    """Water gained in 8 h at 75 % after 16 h at 33 %, g/m2 and % RH, once days repeat; step of a minute, own integration."""
    per_unit = PER_HUMIDITY / SATURATED
    day, deep, low, high = 0.5 / per_unit, 0.5 / per_unit, 0.33 / per_unit, 0.75 / per_unit
    gained = np.zeros(60)
    for turn in range(60):
        for minute in range(1440):
            air = high if minute < 480 else low
            into = depths.buffer_coupling_kg_s * (air - day)
            on = depths.deep_coupling_kg_s * (day - deep)
            day += 60.0 * (into - on) / depths.moisture_buffer_kg
            deep += 60.0 * on / depths.deep_buffer_kg if depths.deep_buffer_kg > 0.0 else 0.0
            gained[turn] += 60.0 * into if minute < 480 else 0.0
    return 1e3 * float(gained[-1]) / 42.0


@pytest.mark.parametrize("case", TABLE["cases"], ids=lambda case: case["id"])
def test_ideal_moisture_buffer_value(case):
    """Table moisture_buffering_value: half-infinite and without a film, 0.00568 psat b sqrt(t), b = sqrt(delta rho xi / psat)."""
    material = MATERIALS[case["id"]]
    effusivity = sqrt(material.permeability_kg_mspa * material.density_kg_m3 * material.sorption_slope / SATURATED)
    ideal = 1e3 * 0.00568 * SATURATED * effusivity * sqrt(DAY_S)
    depths = moisture_depths((MoistureSurface(material, 1.0, THICK),), film_kg_m2spa=NO_FILM)
    assert square_wave_g_m2(depths) == pytest.approx(ideal, rel=TABLE["tolerance"]["relative"])


def test_what_cannot_be_is_one_sentence():
    with pytest.raises(OutOfRangeError, match="density_kg_m3 must be a finite number above 0"):
        MoistureMaterial("foam", 0.0, 0.01, 1e-11)
    with pytest.raises(OutOfRangeError, match="area and thickness must be above 0"):
        MoistureSurface(GYPSUM, -1.0, 0.01)
    with pytest.raises(OutOfRangeError, match="give at least one"):
        moisture_depths(())
    with pytest.raises(OutOfRangeError, match="lies outside"):
        moisture_depths((MoistureSurface(GYPSUM, 1.0, 0.01),), relative_humidity=55.0)
