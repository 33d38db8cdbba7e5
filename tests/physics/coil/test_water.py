"""Water held on the coil: nothing lost, nothing made, and a cycling coil as its closed form says."""

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from airtrim.core.errors import OutOfRangeError
from airtrim.physics.air.moist import humidity_ratio_from_wet_bulb
from airtrim.physics.coil.water import (
    LATENT_HEAT,
    WET_EFFECTIVENESS,
    first_drain_s,
    latent_ratio,
    retained_water_from_size_kg,
    retained_water_kg,
    water_step,
)
from airtrim.physics.unit.steady import unit_state

FOLDER = Path(__file__).parents[2] / "published" / "coil"
PUBLISHED = tomllib.loads((FOLDER / "latent_part_load.toml").read_text(encoding="utf-8"))
DRAIN = tomllib.loads((FOLDER / "first_drain.toml").read_text(encoding="utf-8"))


def ratio_errors(case: dict[str, Any]) -> list[tuple[str, float, float]]:
    parameters = [case[name] for name in ("wet_time_s", "evaporation_ratio", "cycles_per_h", "lag_s", "fan_off_s")]
    pairs = zip(PUBLISHED["run_fractions"], case["ratio"], strict=True)
    allowed = PUBLISHED["tolerance"]["ratio"]
    return [(f"{case['id']} at {run:g}", latent_ratio(run, *parameters) - ratio, allowed) for run, ratio in pairs]


@pytest.mark.parametrize("case", PUBLISHED["cases"], ids=lambda case: f"{PUBLISHED['source']}-{case['id']}")
def test_closed_form(case: dict[str, Any]) -> None:
    for what, error, allowed in ratio_errors(case):
        assert abs(error) <= allowed, what


def _cycled_ratio(
    run_fraction: float,
    wet_time_s: float,
    evaporation_ratio: float,
    cycles_per_h: float,
    lag_s: float,
    fan_off_s: float,
    step_s: float,
) -> float:
    """Drained water of an on/off coil as a fraction of what steady cooling makes in the same time, after it has settled."""
    condensing, greatest = 1e-3, 1e-3 * wet_time_s
    time_on = 3600.0 / (4.0 * cycles_per_h * (1.0 - run_fraction))
    period = time_on + 3600.0 / (4.0 * cycles_per_h * run_fraction)
    held = drained = made = 0.0
    for count in range(int(40 * period / step_s)):
        time = (count + 0.5) * step_s % period
        running = 1.0 - np.exp(-time / lag_s) if time < time_on else 0.0
        blowing = time_on <= time < time_on + fan_off_s
        potential = evaporation_ratio * condensing / WET_EFFECTIVENESS if blowing else 0.0
        held, out, _ = water_step(held, condensing * running, potential, step_s, greatest)
        if count * step_s > 20 * period:
            drained += out
            made += condensing * running
    return float(drained / made)


@pytest.mark.parametrize("case", PUBLISHED["cases"], ids=lambda case: str(case["id"]))
@pytest.mark.parametrize("run_fraction", [0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9])
def test_cycling_coil_against_the_closed_form(case: dict[str, Any], run_fraction: float) -> None:
    """Within 0.05: the closed form assumes a full coil whenever the compressor stops, the stepped coil need not be."""
    parameters = [case[name] for name in ("wet_time_s", "evaporation_ratio", "cycles_per_h", "lag_s", "fan_off_s")]
    assert _cycled_ratio(run_fraction, *parameters, 5.0) == pytest.approx(
        latent_ratio(run_fraction, *parameters), abs=0.05
    )


@pytest.mark.parametrize("step_s", [5.0, 10.0, 60.0])
def test_constant_fan_removes_nothing_at_a_run_fraction_of_four_tenths(step_s: float) -> None:
    """Field houses with the fan on: effective SHR 1.0 below 40 % run time (FSEC-CR-1537-05, second-hand); ratio below 0.05."""
    assert _cycled_ratio(0.4, 1000.0, 1.5, 3.0, 45.0, np.inf, step_s) < 0.05
    assert latent_ratio(0.4, 1000.0, 1.5, 3.0, 45.0, np.inf) < 0.05


def test_water_is_conserved_and_bounded() -> None:
    generator = np.random.default_rng(7)
    held, balance = 0.3, 0.3
    for condensing, potential in generator.uniform(0.0, 4e-3, (2000, 2)):
        held, drained, evaporated = water_step(held, condensing, potential, 10.0, 0.9)
        balance += 10.0 * (condensing - drained - evaporated)
        assert 0.0 <= held <= 0.9 and drained >= 0.0 and evaporated >= 0.0
        assert evaporated <= WET_EFFECTIVENESS * potential + 1e-15
    assert balance == pytest.approx(held, abs=1e-9)


def test_drying_does_not_depend_on_the_step() -> None:
    """The law is stepped exactly: one step of 200 s leaves what forty of 5 s leave."""
    once = water_step(0.9, 0.0, 1e-3, 200.0, 0.9)[0]
    held = 0.9
    for _ in range(40):
        held = water_step(held, 0.0, 1e-3, 5.0, 0.9)[0]
    assert held == pytest.approx(once, rel=1e-12)
    assert water_step(1e-6, 0.0, 1e-3, 60.0, 0.9) == (0.0, 0.0, pytest.approx(1e-6 / 60.0))


def test_a_coil_that_holds_nothing_drains_at_once() -> None:
    assert water_step(0.0, 2e-3, 1e-3, 10.0, 0.0) == (0.0, 2e-3, 0.0)
    assert water_step(0.1, 2e-3, 1e-3, 10.0, 0.0) == (0.0, pytest.approx(0.012), 0.0)


def test_not_a_number_stays_not_a_number() -> None:
    assert np.isnan(water_step(np.nan, 1e-3, 0.0, 10.0, 0.9)[0])
    assert np.isnan(water_step(0.5, np.nan, 0.0, 10.0, 0.9)[0])
    assert np.isnan(water_step(0.5, 0.0, np.nan, 10.0, 0.9)[2])


def delay_min(case: dict[str, Any]) -> float:
    """Minutes until the first water drains."""
    size = DRAIN["size_w"]
    unit = np.array([size, size / 3.4, 17.0, 0.75, 0.5, 0.2265 * size / 3516.85, 0.0])
    humidity = humidity_ratio_from_wet_bulb(case["return_c"], case["wet_bulb_c"], 101325.0)
    total, sensible = unit_state(case["return_c"], humidity, DRAIN["outdoor_c"], unit[5], 101325.0, unit)[:2]
    return float(first_drain_s(DRAIN["retained_kg"], 0.0, total - sensible, DRAIN["lag_s"]) / 60.0)


@pytest.mark.parametrize("case", DRAIN["cases"], ids=lambda case: f"{DRAIN['source']}-{case['id']}")
def test_start_up_delay_before_condensate_reaches_the_drain(case: dict[str, Any]) -> None:
    assert DRAIN["least_min"] <= delay_min(case) <= DRAIN["greatest_min"]


def published_errors(table: dict[str, Any]) -> list[tuple[str, float, float]]:
    """Every error of a table that this file checks, for the page of outside checks; delays against the middle of their band."""
    if table["locator"] == PUBLISHED["locator"]:
        return [error for case in PUBLISHED["cases"] for error in ratio_errors(case)]
    low, high = DRAIN["least_min"], DRAIN["greatest_min"]
    return [(str(case["id"]), delay_min(case) - 0.5 * (low + high), 0.5 * (high - low)) for case in DRAIN["cases"]]


@pytest.mark.parametrize("held", [0.0, 0.3, 0.8])
def test_delay_is_when_the_stepped_coil_first_drains(held: float) -> None:
    """The same mass balance two ways: in closed form, and stepped by a second."""
    latent, lag, water, time = 2640.0, 45.0, held, 0
    while True:
        running = 1.0 - np.exp(-(time + 0.5) / lag)
        water, drained, _ = water_step(water, running * latent / LATENT_HEAT, 0.0, 1.0, 0.907)
        time += 1
        if drained > 0.0:
            break
    assert time == pytest.approx(first_drain_s(0.907, held, latent, lag), abs=1.0)
    assert first_drain_s(0.907, 0.907, latent, lag) == 0.0
    assert first_drain_s(0.907, 0.0, 0.0, lag) == np.inf


def test_retained_water_refuses_a_face_area() -> None:
    with pytest.raises(OutOfRangeError, match="count both sides of every fin"):
        retained_water_kg(0.4)
    with pytest.raises(OutOfRangeError, match="check the tonnage"):
        retained_water_from_size_kg(3.0)
