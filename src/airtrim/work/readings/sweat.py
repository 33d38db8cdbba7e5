"""Whether a surface sweats: its temperature against the dew point of the air that touches it; nothing else is needed for it."""

from dataclasses import dataclass
from typing import Any

from airtrim.job.readings import Surface
from airtrim.physics.air.moist import (
    dew_point_c,
    humidity_ratio_from_relative_humidity,
    relative_humidity,
    saturation_humidity_ratio,
)
from airtrim.work.figure import Figure
from airtrim.work.readings.point import Point, amount, message
from airtrim.work.readings.uncertain import Uncertain, carried


@dataclass(frozen=True)
class Sweat:
    """The least sweat margin of all surfaces as a figure, and a message for each."""

    figures: list[Figure]
    messages: list[dict[str, Any]]


@dataclass(frozen=True)
class _Judged:
    surface: Surface
    temperature: Uncertain
    dew_point: Uncertain
    margin: Uncertain
    dry_bulb_c: float


def sweat(point: Point) -> Sweat:
    """Judge every surface read, each beyond its own uncertainty."""
    judged = _judged(point)
    told = []
    for one in judged:
        values = {
            "surface": one.surface.name,
            "read": amount(one.temperature.value, "degC"),
            "dew_point": amount(one.dew_point.value, "degC"),
            "margin": amount(abs(one.margin.value), "K"),
        }
        if one.margin.lowest > 0.0:
            told.append(message("surface_stays_dry", **values))
            continue
        # the humidity at which the same surface stops sweating, in air as warm as now
        most = saturation_humidity_ratio(one.temperature.value, point.pressure_pa)
        values["humidity"] = amount(relative_humidity(one.dry_bulb_c, most, point.pressure_pa), "fraction")
        told.append(message("surface_sweats" if one.margin.highest < 0.0 else "surface_may_sweat", **values))
    if point.reading.surfaces and len(judged) < len(point.reading.surfaces):
        told.append(message("surface_needs_air"))
    if not judged:
        return Sweat([], told)
    return Sweat([_worst(judged).margin.figure("sweat_margin", "K")], told)


def worst_surface(point: Point) -> tuple[float, float]:
    """Temperature and dew point, degC, of the surface with the least margin; NaN where none could be judged."""
    judged = _judged(point)
    if not judged:
        return float("nan"), float("nan")
    worst = _worst(judged)
    return worst.temperature.value, worst.dew_point.value


def _worst(judged: list[_Judged]) -> _Judged:
    return min(judged, key=lambda one: one.margin.value)


def _judged(point: Point) -> list[_Judged]:
    found = []
    for one in point.reading.surfaces:
        air = _air_at(point, one)
        if air is None:
            continue
        dry, ratio = air
        temperature = point.taken("surface", one.temperature, f".{one.name}")
        dew_point = carried(lambda w: dew_point_c(max(w, 1e-5), point.pressure_pa), w=ratio)
        margin = carried(lambda t, d: t - d, t=temperature, d=dew_point)
        found.append(_Judged(one, temperature, dew_point, margin, dry))
    return found


def _air_at(point: Point, surface: Surface) -> tuple[float, Uncertain] | None:
    """Dry-bulb degC and humidity ratio of the air touching a surface; that of the rooms where none was read there."""
    if surface.air_dry_bulb is not None and surface.air_relative_humidity is not None:
        dry = point.taken("surface_air", surface.air_dry_bulb, f".{surface.name}")
        humid = point.taken("surface_humidity", surface.air_relative_humidity, f".{surface.name}")
        ratio = carried(
            lambda t, rh: humidity_ratio_from_relative_humidity(t, min(max(rh, 0.0), 1.0), point.pressure_pa),
            t=dry,
            rh=humid,
        )
        return dry.value, ratio
    for where in ("grille", "return"):
        ratio_there, dry_there = point.humidity(where), point.of(f"{where}_dry_bulb")
        if ratio_there is not None and dry_there is not None:
            return dry_there.value, ratio_there
    return None
