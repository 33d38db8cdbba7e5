"""The working of the airflow: each way's, and how the ways were joined."""

from typing import Any

from airtrim.work.readings.join import WET_AGAINST_DRY, Joined
from airtrim.work.readings.point import Point
from airtrim.work.readings.way import Way
from airtrim.work.readings.ways_by_air import STANDARD_DENSITY
from airtrim.work.readings.working import Inputs, working


def working_of_way(way: Way, figure: dict[str, Any], volume_m3_kg: float) -> dict[str, Any]:
    """The airflow by one way, m3/s of the air that enters the coil at the point the answer is given for."""
    inputs = {**way.inputs, "volume_at_coil": (volume_m3_kg, "m3/kg")}
    return working(f"airflow_by.{way.point}.{way.id}", figure, f"({way.formula}) * volume_at_coil", way.source, inputs)


def workings_of_joined(
    joined: Joined, figures: list[dict[str, Any]], point: Point, volume_m3_kg: float, wet: dict[int, bool]
) -> list[dict[str, Any]]:
    """Airflow, airflow per ton and in standard air: the weighted mean of the ways' logarithms."""
    terms: list[str] = []
    inputs: dict[str, tuple[float | str, str]] = {}
    for number, (way, weight) in enumerate(zip(joined.ways, joined.weights, strict=True), start=1):
        if weight == 0.0 or way.flow_kg_s is None:
            continue
        name = f"by_{way.id}_{number}"
        dry = "" if wet.get(way.point, True) else " * wet_against_dry"
        terms.append(f"weight_{number} * ln({name}{dry})")
        inputs |= {f"weight_{number}": (weight, "1"), name: (way.flow_kg_s.value, "kg/s")}
        if dry:
            inputs["wet_against_dry"] = (WET_AGAINST_DRY, "1")
    mean = f"exp({' + '.join(terms)})"
    whole: Inputs = {**inputs, "volume_at_coil": (volume_m3_kg, "m3/kg")}
    flow, per_ton, standard = figures
    return [
        working("airflow", flow, f"{mean} * volume_at_coil", "aitken1935", whole),
        working("airflow_per_ton", per_ton, "airflow / outdoor_size", "common-practice",
                {"airflow": (flow["mid"], "m3/s"), "outdoor_size": (point.job.system.outdoor_size.si, "W_heat")}),
        working("standard_airflow", standard, "airflow / volume_at_coil / standard_density", "ashrae2017",
                {"airflow": (flow["mid"], "m3/s"), "volume_at_coil": (volume_m3_kg, "m3/kg"),
                 "standard_density": (STANDARD_DENSITY, "kg/m3")}),
    ]  # fmt: skip
