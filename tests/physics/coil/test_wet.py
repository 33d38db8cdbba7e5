"""The coil's split of a total, its surface, and air that is dry, damp or nearly saturated."""

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from airtrim.physics.air.moist import (
    enthalpy_j_kg,
    humidity_ratio_from_relative_humidity,
    saturation_enthalpy_j_kg,
    temperature_from_saturation_enthalpy_c,
)
from airtrim.physics.coil.wet import (
    bypass_factor,
    coil_total_w,
    dry_total_w,
    leaving_air,
    saturation_enthalpy_fast_j_kg,
    split_of_total,
    surface_from_enthalpy_fast_c,
    wet_total_w,
)

PUBLISHED = tomllib.loads(
    (Path(__file__).parents[2] / "published" / "coil" / "bypass_cooling_cases.toml").read_text(encoding="utf-8")
)


def split_of(case: dict[str, Any]) -> tuple[float, float]:
    """Sensible heat ratio and surface of a case."""
    touched = PUBLISHED["flow_kg_s"] * (1.0 - PUBLISHED["bypass_factor"])
    total = 1000.0 * case["total_kw"]
    sensible, surface = split_of_total(
        total, case["return_c"], case["humidity_ratio"], touched, PUBLISHED["pressure_pa"]
    )
    return sensible / total, surface


def published_errors(table: dict[str, Any]) -> list[tuple[str, float, float]]:
    """Sensible heat ratio of every case against the published, for the test and the page of outside checks."""
    allowed = table["tolerance"]["sensible_heat_ratio"]
    return [(str(case["id"]), split_of(case)[0] - case["sensible_heat_ratio"], allowed) for case in table["cases"]]


@pytest.mark.parametrize("place", range(len(PUBLISHED["cases"])), ids=lambda place: PUBLISHED["cases"][place]["id"])
def test_split_of_the_cooling_cases(place: int) -> None:
    """E190 (94 % relative humidity) has no apparatus dew point on the chart; in enthalpy it has."""
    what, error, allowed = published_errors(PUBLISHED)[place]
    assert abs(error) <= allowed, what
    case = PUBLISHED["cases"][place]
    assert split_of(case)[1] < case["return_c"]


@pytest.mark.parametrize("pressure_pa", [78000.0, 90000.0, 101325.0])
def test_surface_from_enthalpy_against_the_safeguarded_inverse(pressure_pa: float) -> None:
    """own-derivation: two roads to one number, above freezing where both take saturation over water."""
    for temperature in np.linspace(0.5, 32.0, 64):
        enthalpy = saturation_enthalpy_j_kg(temperature, pressure_pa)
        fast = surface_from_enthalpy_fast_c(enthalpy, pressure_pa)
        assert fast == pytest.approx(temperature_from_saturation_enthalpy_c(enthalpy, pressure_pa), abs=3e-4)
    for temperature in np.linspace(-15.0, 0.0, 16):
        enthalpy = saturation_enthalpy_fast_j_kg(temperature, pressure_pa)
        assert surface_from_enthalpy_fast_c(enthalpy, pressure_pa) == pytest.approx(temperature, abs=3e-4)


def test_wet_and_dry_meet_at_the_dew_point_and_wet_wins_below() -> None:
    """own-derivation: with surface at the entering dew point nothing condenses, so both totals are the same."""
    humidity = humidity_ratio_from_relative_humidity(14.0, 1.0, 101325.0)
    for surface, wetter in ((14.0, 0), (8.0, 1), (20.0, -1)):
        wet = wet_total_w(surface, 25.0, humidity, 0.5, 101325.0)
        dry = dry_total_w(surface, 25.0, humidity, 0.5)
        assert coil_total_w(surface, 25.0, humidity, 0.5, 101325.0) == max(wet, dry)
        assert np.sign(round(wet - dry, 1)) == wetter


def test_split_is_continuous_and_latent_never_negative() -> None:
    for relative_humidity in (0.05, 0.2, 0.35, 0.5, 0.8, 0.98):
        humidity = humidity_ratio_from_relative_humidity(24.0, relative_humidity, 101325.0)
        totals = np.linspace(0.0, 14000.0, 1401)
        split = np.array([split_of_total(total, 24.0, humidity, 0.45, 101325.0) for total in totals])
        assert np.all(split[:, 0] <= totals + 1e-6)
        assert np.max(np.abs(np.diff(split[:, 0]))) < 10.5
        assert np.all(np.diff(split[:, 1]) < 0.0)


def test_leaving_air_keeps_the_energy() -> None:
    """Total = flow x enthalpy drop less the condensate's enthalpy, which is booked as latent (own-derivation)."""
    humidity = humidity_ratio_from_relative_humidity(26.0, 0.55, 101325.0)
    sensible, _ = split_of_total(9000.0, 26.0, humidity, 0.5, 101325.0)
    leaving, leaving_w = leaving_air(9000.0, sensible, 26.0, humidity, 0.5)
    assert 0.5 * (enthalpy_j_kg(26.0, humidity) - enthalpy_j_kg(leaving, leaving_w)) == pytest.approx(9000.0, rel=1e-9)
    assert humidity > leaving_w > 0.0


def test_bypass_factor_falls_when_the_air_slows() -> None:
    factors = [bypass_factor(flow, 0.6, 1.5, 0.5) for flow in (0.2, 0.4, 0.6, 0.8)]
    assert factors[2] == pytest.approx(np.exp(-1.5))
    assert factors == sorted(factors)


def test_not_a_number_stays_not_a_number() -> None:
    assert np.isnan(split_of_total(np.nan, 25.0, 0.01, 0.5, 101325.0)).all()
    assert np.isnan(split_of_total(8000.0, 25.0, np.nan, 0.5, 101325.0)).all()
