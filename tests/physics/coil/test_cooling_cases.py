"""A zone held by a unit that cycles, solved end to end, against the cooling cases of tests/published/coil/cooling_cases.toml.

Further series: `./run test --published DIR` with tables of the same shape (`checked_by` naming this file).
"""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from scipy.optimize import brentq

from airtrim.physics.air.moist import wet_bulb_c
from airtrim.physics.coil.wet import split_of_total
from tests.published.loader import FOLDER, TableError, read_table, tables

HERE = "tests/physics/coil/test_cooling_cases.py"
EMBEDDED = FOLDER / "coil" / "cooling_cases.toml"


def series_in(folders: list[Path]) -> list[tuple[dict[str, Any], dict[str, Any]]]:
    """(table, case) of every table below the folders that this file is to check."""
    found = []
    for path in tables(folders):
        table = read_table(path)
        if table.get("checked_by") == HERE:
            for key in ("pressure_pa", "hours", "unit"):
                if key not in table:
                    raise TableError(f"{path.name} lacks {key}: write it as {EMBEDDED.name} does.")
            found += [(table, case) for case in table["cases"]]
    return found


def pytest_generate_tests(metafunc):
    if "cooling_case" in metafunc.fixturenames:
        folders = [FOLDER, *(Path(one) for one in metafunc.config.getoption("--published"))]
        try:
            found = series_in(folders)
        except TableError as error:
            raise pytest.UsageError(str(error)) from error
        metafunc.parametrize("cooling_case", found, ids=[f"{table['source']}-{case['id']}" for table, case in found])


@dataclass(frozen=True)
class Answer:
    """Energies over the series' hours, kWh, and the zone's humidity ratio."""

    total_kwh: float
    coil_sensible_kwh: float
    coil_latent_kwh: float
    cop: float
    humidity_ratio: float


def surface(coefficients: list[float], wet_bulb: float, outdoor: float) -> float:
    a, b, c, d = coefficients
    return a + b * wet_bulb + c * outdoor + d * wet_bulb * outdoor


def solve(table: dict[str, Any], case: dict[str, Any]) -> Answer:
    """The humidity at which the coil takes out the zone's water while it runs just long enough for the heat."""
    unit, pressure = table["unit"], table["pressure_pa"]
    zone, outdoor = case["zone_c"], case["outdoor_c"]
    touched = unit["flow_kg_s"] * (1.0 - unit["bypass_factor"])

    def capacities(humidity: float) -> tuple[float, float]:
        total = surface(unit["gross_total_w"], wet_bulb_c(zone, humidity, pressure), outdoor)
        sensible, _ = split_of_total(total, zone, humidity, touched, pressure)
        return total, total - sensible

    def run_fraction(humidity: float) -> float:
        """Of the compressor; the fan's heat is part of the load, so it is found by repetition."""
        total = capacities(humidity)[0]
        running = 0.5
        for _ in range(200):
            load = case["zone_sensible_w"] + case["zone_latent_w"] + unit["indoor_fan_w"] * running
            part = load / total
            running = part / (1.0 - unit["part_load_loss"] * (1.0 - part))
        return running

    def water_left(humidity: float) -> float:
        total, latent = capacities(humidity)
        load = case["zone_sensible_w"] + case["zone_latent_w"] + unit["indoor_fan_w"] * run_fraction(humidity)
        return latent / total - case["zone_latent_w"] / load

    if case["zone_latent_w"] > 0.0:
        humidity = brentq(water_left, 0.004, 0.0165, xtol=1e-10)
    else:  # nothing brings water: it is taken out until the coil is just dry
        low, high = 0.004, 0.0165
        for _ in range(60):
            middle = 0.5 * (low + high)
            low, high = (low, middle) if capacities(middle)[1] > 0.0 else (middle, high)
        humidity = low
    running = run_fraction(humidity)
    compressor = surface(unit["compressor_w"], wet_bulb_c(zone, humidity, pressure), outdoor)
    total = running * (compressor + unit["indoor_fan_w"] + unit["outdoor_fan_w"])
    zone_load = case["zone_sensible_w"] + case["zone_latent_w"]
    kilowatt_hours = table["hours"] / 1000.0
    return Answer(
        total * kilowatt_hours,
        (case["zone_sensible_w"] + running * unit["indoor_fan_w"]) * kilowatt_hours,
        case["zone_latent_w"] * kilowatt_hours,
        zone_load / total,
        humidity,
    )


def errors(table: dict[str, Any], case: dict[str, Any]) -> list[tuple[str, float, float]]:
    """What is scored of one case: (quantity, error, allowed), all relative."""
    allowed = table["tolerance"]
    got = solve(table, case)
    energy = case.get("energy_tolerance", allowed["energy"])
    humidity = allowed["humidity_wet"] if case["zone_latent_w"] > 0.0 else allowed["humidity_dry"]
    scored = [
        ("energy", got.total_kwh / case["total_kwh"] - 1.0, energy),
        ("efficiency", got.cop / case["cop"] - 1.0, energy),
        ("humidity ratio", got.humidity_ratio / case["zone_humidity_ratio"] - 1.0, humidity),
        # the zone's load is met: what the coil takes is the zone's load and the fan's heat, to the digits of the loads
        ("coil sensible", got.coil_sensible_kwh / case["coil_sensible_kwh"] - 1.0, 0.002),
    ]
    if case["coil_latent_kwh"] > 0.0:
        scored.append(("coil latent", got.coil_latent_kwh / case["coil_latent_kwh"] - 1.0, 0.001))
    return scored


def published_errors(table: dict[str, Any]) -> list[tuple[str, float, float]]:
    """(case and quantity, error, allowed) of a whole table, for the page of outside checks."""
    return [
        (f"{case['id']} {name}", error, allowed)
        for case in table["cases"]
        for name, error, allowed in errors(table, case)
    ]


def test_energy_efficiency_and_humidity_of_a_cooling_case(cooling_case):
    for name, error, allowed in errors(*cooling_case):
        assert abs(error) <= allowed, name


def test_a_further_series_is_taken_and_an_ill_one_is_one_sentence(tmp_path):
    text = EMBEDDED.read_text(encoding="utf-8")
    (tmp_path / "mine.toml").write_text(text, encoding="utf-8")
    assert len(series_in([tmp_path])) == 10
    (tmp_path / "mine.toml").write_text(text.replace("hours = 672.0", ""), encoding="utf-8")
    with pytest.raises(TableError, match=r"mine.toml lacks hours"):
        series_in([tmp_path])


def test_the_cases_react_to_the_model():
    """own-derivation: with the split of another bypass factor and another part-load loss the answers leave their tolerance."""
    table = read_table(EMBEDDED)
    case = next(one for one in table["cases"] if one["id"] == "E170")
    wrong = table | {"unit": table["unit"] | {"part_load_loss": 0.0}}
    assert solve(wrong, case).total_kwh < 0.95 * case["total_kwh"]
    wrong = table | {"unit": table["unit"] | {"bypass_factor": 0.3}}
    assert abs(solve(wrong, case).humidity_ratio / case["zone_humidity_ratio"] - 1.0) > 0.02
