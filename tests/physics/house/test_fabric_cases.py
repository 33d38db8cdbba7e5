"""The thermal fabric cases of ASHRAE 140-2020 section 7: one model, the edition's inputs, nothing fitted.

Table: tests/published/house/fabric_cases.toml. They need the Denver year: AIRTRIM_WEATHER=DIR with CO-Denver_Intl_Ap.tmy3.
"""

import os
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

from airtrim.physics.house.fabric import Construction, Fabric, FabricRun, Room, Window, fabric_of, run_fabric, sun_on
from airtrim.physics.house.films import MEDIUM_ROUGH
from airtrim.physics.house.glass import Glazing, Pane
from airtrim.physics.house.layers import Layer
from tests.physics.house.exposures import Exposed, exposed
from tests.published.loader import FOLDER, read_table

TABLE = read_table(FOLDER / "house" / "fabric_cases.toml")
CASES = {case["id"]: case for case in TABLE["cases"]}
FACING = {"north": 0.0, "east": 90.0, "south": 180.0, "west": 270.0}
STEPS_PER_HOUR = 6


def case_fabric(case, pressure_pa: float) -> Fabric:
    length, depth = TABLE["floor_m"]
    height = TABLE["height_m"]
    pane = Pane(**TABLE["pane"])
    glazing = Glazing((pane, pane), (TABLE["gap_m"],))

    def layers(part):
        return tuple(Layer(*one) for one in TABLE[case["fabric"]][part])

    common = {
        "inside_absorptance": TABLE["inside_absorptance"],
        "outside_absorptance": TABLE["outside_absorptance"],
        "inside_emittance": TABLE["emittance"],
        "outside_emittance": TABLE["emittance"],
        "roughness": MEDIUM_ROUGH,
    }
    walls = []
    for name, azimuth in FACING.items():
        wide = length if name in ("north", "south") else depth
        walls.append(
            Construction(
                name,
                wide * height - case["windows"].get(name, 0.0),
                layers("wall"),
                azimuth_deg=azimuth,
                perimeter_over_area_1_m=2.0 * (wide + height) / (wide * height),
                **common,
            )
        )
    around = 2.0 * (length + depth) / (length * depth)
    roof = Construction(
        "roof", length * depth, layers("roof"), tilt_deg=0.0, height_m=height, perimeter_over_area_1_m=around, **common
    )
    floor = Construction(
        "floor",
        length * depth,
        layers("floor"),
        tilt_deg=180.0,
        outside="ground",
        outside_film_w_m2k=TABLE["floor_outside_film_w_m2k"],
        **common,
    )
    windows = tuple(
        Window(name, area, glazing, FACING[name], perimeter_over_area_1_m=10.0 / 6.0)
        for name, area in case["windows"].items()
    )
    room = Room(
        TABLE["volume_m3"],
        TABLE["air_changes_per_hour"],
        pressure_pa / (287.055 * 293.15),  # the air of the altitude at 20 degC
        TABLE["convective_gain_w"],
        TABLE["radiant_gain_w"],
        TABLE["ground_c"],
    )
    return fabric_of((*walls, roof, floor), windows, room)


def denver() -> Path:
    folder = os.environ.get("AIRTRIM_WEATHER")
    if not folder:
        pytest.skip("AIRTRIM_WEATHER=DIR is not set: no Denver year for the fabric cases")
    path = Path(folder) / "CO-Denver_Intl_Ap.tmy3"
    if not path.is_file():
        pytest.skip("AIRTRIM_WEATHER has no CO-Denver_Intl_Ap.tmy3")
    return path


@lru_cache
def exposure_of(faces: tuple[tuple[float, float], ...]) -> Exposed:
    return exposed(denver(), faces, TABLE["ground_reflectance"])


def prepared(case) -> tuple[Fabric, Exposed]:
    fabric = case_fabric(case, 83000.0)
    exposure = exposure_of(tuple(fabric.tilt_and_azimuth_deg))
    return case_fabric(case, exposure.pressure_pa), exposure


def set_points(case, steps_per_hour: int = STEPS_PER_HOUR):
    if case.get("free"):
        return -np.inf, np.inf
    heating = np.full(24 * steps_per_hour, TABLE["heating_c"])
    if case.get("set_back"):
        heating[TABLE["set_back_from_h"] * steps_per_hour :] = TABLE["set_back_c"]
        heating[: TABLE["set_back_to_h"] * steps_per_hour] = TABLE["set_back_c"]
    return heating, TABLE["cooling_c"]


@lru_cache
def year_of(name: str, steps_per_hour: int = STEPS_PER_HOUR) -> FabricRun:
    case = CASES[name]
    fabric, exposure = prepared(case)
    return run_fabric(fabric, exposure, *set_points(case, steps_per_hour), steps_per_hour=steps_per_hour)


def figures(name: str) -> dict[str, float]:
    run = year_of(name)
    if CASES[name].get("free"):
        return {"least_c": run.air_c.min(), "mean_c": run.air_c.mean(), "greatest_c": run.air_c.max()}
    return {
        "heating_mwh": run.heating_w.sum() / 1e6,
        "cooling_mwh": run.cooling_w.sum() / 1e6,
        "peak_heating_kw": run.heating_w.max() / 1e3,
        "peak_cooling_kw": run.cooling_w.max() / 1e3,
    }
