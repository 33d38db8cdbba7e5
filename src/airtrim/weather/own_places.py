"""Places the user adds from a weather file: the same monthly figures as the table's, kept as one small file each."""

import json
import os
import re
from dataclasses import asdict, fields
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import WeatherError
from airtrim.weather.days import DAYS, MONTH_OF_DAY, by_month, persistence, spread_by_month
from airtrim.weather.monthly import FIGURES, HUMID_DEW_POINT_C, STATION_FIGURES, MonthlyMeans
from airtrim.weather.places import town_and_state
from airtrim.weather.year import Hours

Array = NDArray[np.float64]

FORM = 1


def means_of(hours: Hours, place: str | None = None) -> MonthlyMeans:
    """Monthly figures of one year's hours, defined as the table's; `place` is "Town, ST", the file's own where left out."""
    town, state = _named(place) if place is not None else _place_of(hours.head.place)
    dry, dew, ghi = (values.reshape(365, 24) for values in (hours.dry_bulb_c, hours.dew_point_c, hours.ghi_w_m2))
    day_dry, day_dew, day_ghi = dry.mean(axis=1), dew.mean(axis=1), ghi.sum(axis=1) / 1000.0
    design = float(np.quantile(hours.dry_bulb_c, 0.99))
    near = np.abs(hours.dry_bulb_c - design) <= 1.0
    months = [month == MONTH_OF_DAY for month in range(12)]
    return MonthlyMeans(
        station=f"own:{_file_name(town, state)}",
        name=town,
        state=state,
        origin=f"computed from {hours.source}",
        latitude_deg=hours.head.latitude_deg,
        longitude_deg=hours.head.longitude_deg,
        timezone_h=hours.head.timezone_h,
        altitude_m=hours.head.altitude_m,
        pressure_hpa=float(hours.pressure_pa.mean()) / 100.0,
        design_dry_bulb_c=design,
        design_dew_point_c=float(hours.dew_point_c[near].mean()),
        dry_bulb_c=by_month(day_dry),
        daily_range_k=by_month(dry.max(axis=1) - dry.min(axis=1)),
        dry_bulb_spread_k=spread_by_month(day_dry),
        dry_bulb_persistence=np.array([persistence(day_dry[days]) for days in months]),
        dew_point_c=by_month(day_dew),
        dew_point_spread_k=spread_by_month(day_dew),
        dry_bulb_dew_point_correlation=np.array([_correlation(day_dry[days], day_dew[days]) for days in months]),
        ghi_kwh_m2_day=by_month(day_ghi),
        ghi_spread_kwh_m2_day=spread_by_month(day_ghi),
        wind_m_s=by_month(hours.wind_m_s),
        humid_hours=by_month((hours.dew_point_c > HUMID_DEW_POINT_C).astype(np.float64)) * DAYS * 24,
    )


def _named(place: str) -> tuple[str, str]:
    """Town and state as the user calls them; outside the United States the state is what follows the comma."""
    if place.count(",") == 1 and all(part.strip() for part in place.split(",")):
        try:
            return town_and_state(place)
        except WeatherError:
            return _place_of(place)
    return town_and_state(place)


def _place_of(place: str) -> tuple[str, str]:
    """A file's own place need not lie in the United States; what follows the last comma is its state or province."""
    name, comma, state = place.rpartition(",")
    return (name.strip(), state.strip()) if comma else (place.strip(), "")


def _correlation(one: Array, other: Array) -> float:
    apart, besides = one - one.mean(), other - other.mean()
    whole = float(np.sqrt((apart**2).sum() * (besides**2).sum()))
    return float((apart * besides).sum()) / whole if whole > 0.0 else 0.0


def own_folder() -> Path:
    """Where added places are kept: the user's data folder (XDG_DATA_HOME, else ~/.local/share)."""
    base = os.environ.get("XDG_DATA_HOME")
    return (Path(base) if base else Path.home() / ".local" / "share") / "airtrim" / "places"


def add_place(means: MonthlyMeans, replace: bool = False, folder: Path | None = None) -> Path:
    """Keep a place for later jobs; raises `WeatherError` where one of that name is kept already, or nothing can be written."""
    folder = folder or own_folder()
    path = folder / f"{_file_name(means.name, means.state)}.json"
    if path.exists() and not replace:
        raise WeatherError(
            f"{means.place} was added already ({path.name}): say --replace to take the new figures, or give --name."
        )
    content = {key: value.tolist() if isinstance(value, np.ndarray) else value for key, value in asdict(means).items()}
    half = path.with_suffix(".part")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        half.write_text(json.dumps({"airtrim_place": FORM, **content}, indent=1) + "\n", encoding="utf-8")
        half.replace(path)
    except OSError as error:
        raise WeatherError(
            f"The place cannot be kept in {folder} ({error.strerror}): allow writing there, or set XDG_DATA_HOME to a folder."
        ) from error
    return path


def own_places(folder: Path | None = None) -> tuple[MonthlyMeans, ...]:
    """All added places, by name; raises `WeatherError` naming a file that cannot be used."""
    folder = folder or own_folder()
    return tuple(_read(path) for path in sorted(folder.glob("*.json"))) if folder.is_dir() else ()


def _read(path: Path) -> MonthlyMeans:
    try:
        content = json.loads(path.read_text(encoding="utf-8"))
        if content.pop("airtrim_place") != FORM:
            raise ValueError(f"not form {FORM}")
        return MonthlyMeans(**{field.name: _checked(field.name, content[field.name]) for field in fields(MonthlyMeans)})
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as error:
        raise WeatherError(
            f"The added place {path} cannot be read ({type(error).__name__}: {error}): delete that file, or add the place again "
            "with --replace."
        ) from error


def _checked(name: str, value: Any) -> Any:
    if name in FIGURES:
        values = np.array(value, dtype=np.float64)
        if values.shape != (12,) or not np.isfinite(values).all():
            raise ValueError(f"{name} is not twelve numbers")
        return values
    if name in STATION_FIGURES:
        number = float(value)
        if not np.isfinite(number):
            raise ValueError(f"{name} is not a number")
        return number
    return str(value)


def _file_name(town: str, state: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", f"{town} {state}".lower()).strip("-") or "place"
