"""Water held on the coil: nothing lost, nothing made, and a cycling coil as its closed form says."""

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from airtrim.physics.coil.water import WET_EFFECTIVENESS, latent_ratio, water_step

PUBLISHED = tomllib.loads(
    (Path(__file__).parents[2] / "published" / "coil" / "latent_part_load.toml").read_text(encoding="utf-8")
)


@pytest.mark.parametrize("case", PUBLISHED["cases"], ids=lambda case: f"{PUBLISHED['source']}-{case['id']}")
def test_closed_form(case: dict[str, Any]) -> None:
    parameters = [case[name] for name in ("wet_time_s", "evaporation_ratio", "cycles_per_h", "lag_s", "fan_off_s")]
    found = [latent_ratio(fraction, *parameters) for fraction in PUBLISHED["run_fractions"]]
    assert found == pytest.approx(case["ratio"], abs=PUBLISHED["tolerance"]["ratio"])


def _cycled_ratio(
    run_fraction: float, wet_time_s: float, evaporation_ratio: float, lag_s: float, step_s: float
) -> float:
    """Drained water of an on/off coil under a constant fan as a fraction of steady, after it has settled."""
    condensing, greatest = 1e-3, 1e-3 * wet_time_s
    time_on = 3600.0 / (12.0 * (1.0 - run_fraction))
    period = time_on + 3600.0 / (12.0 * run_fraction)
    held = drained = made = 0.0
    for count in range(int(40 * period / step_s)):
        time = (count + 0.5) * step_s % period
        running = 1.0 - np.exp(-time / lag_s) if time < time_on else 0.0
        potential = 0.0 if time < time_on else evaporation_ratio * condensing / WET_EFFECTIVENESS
        held, out, _ = water_step(held, condensing * running, potential, step_s, greatest)
        if count * step_s > 20 * period:
            drained += out
            made += condensing * running
    return float(drained / made)


@pytest.mark.parametrize("run_fraction", [0.4, 0.5, 0.6, 0.7, 0.8, 0.9])
def test_cycling_coil_against_the_closed_form(run_fraction: float) -> None:
    """Held to 0.05; at a run fraction of 0.4 or less under a constant fan nothing is removed (FSEC-CR-1537-05, second-
    hand)."""
    found = _cycled_ratio(run_fraction, 1000.0, 1.5, 45.0, 5.0)
    assert found == pytest.approx(latent_ratio(run_fraction, 1000.0, 1.5, 3.0, 45.0, np.inf), abs=0.05)
    assert run_fraction > 0.45 or found < 0.05


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
