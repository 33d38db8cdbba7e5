"""Weather files (EPW, TMY3, TMY2) read through pvlib, checked, and turned into a `WeatherYear`."""

import warnings
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import WeatherError
from airtrim.weather.year import WeatherYear

Array = NDArray[np.float64]

#: The years that come with the pvlib wheel: NREL TMY3 and TMY2.
EMBEDDED = {"greensboro-nc": "723170TYA.CSV", "miami-fl": "12839.tm2"}
GROUND_REFLECTANCE = 0.2
HOURS = 8760
LONGEST_GAP_H = 3
#: Column, lowest and highest believable value (degC, degC, Pa, m/s, W/m2).
BELIEVABLE = {
    "dry-bulb": (-60.0, 60.0),
    "dew point": (-70.0, 40.0),
    "pressure": (50000.0, 110000.0),
    "wind": (0.0, 60.0),
    "global horizontal": (0.0, 1500.0),
    "direct normal": (0.0, 1500.0),
    "diffuse horizontal": (0.0, 1200.0),
}
#: pvlib's names of those columns for each kind of file, and what turns them into SI.
COLUMNS = {
    "epw": ("temp_air", "temp_dew", "atmospheric_pressure", "wind_speed", "ghi", "dni", "dhi"),
    "tmy3": ("temp_air", "temp_dew", "pressure", "wind_speed", "ghi", "dni", "dhi"),
    "tmy2": ("DryBulb", "DewPoint", "Pressure", "Wspd", "GHI", "DNI", "DHI"),
}
FACTORS = {
    "epw": (1.0,) * 7,
    "tmy3": (1.0, 1.0, 100.0, 1.0, 1.0, 1.0, 1.0),  # mbar
    "tmy2": (0.1, 0.1, 100.0, 0.1, 1.0, 1.0, 1.0),  # tenths of a degree and of m/s, mbar
}


def embedded_weather(name: str) -> WeatherYear:
    """A year that comes with pvlib: 'greensboro-nc' (TMY3) or 'miami-fl' (TMY2)."""
    import pvlib

    if name not in EMBEDDED:
        raise WeatherError(f"Weather {name!r} is not embedded: use one of {', '.join(EMBEDDED)} or give a file.")
    return read_weather(Path(pvlib.__file__).parent / "data" / EMBEDDED[name])


def weather_for(name_or_path: str, folder: Path | None = None) -> WeatherYear:
    """Embedded weather by name, else a file; a relative path is looked up in `folder`."""
    if name_or_path in EMBEDDED:
        return embedded_weather(name_or_path)
    path = Path(name_or_path)
    return read_weather(path if path.is_absolute() or folder is None else folder / path)


def read_weather(path: Path | str) -> WeatherYear:
    """Read an EPW, TMY3 or TMY2 file of one year; raises `WeatherError` naming what is wrong and where."""
    path = Path(path)
    if not path.is_file():
        raise WeatherError(
            f"Weather file {path} does not exist: give an EPW, TMY3 or TMY2 file, or {', '.join(EMBEDDED)}."
        )
    kind = _kind(path)
    frame, about = _read(path, kind)
    notes: list[str] = []
    columns = _columns(frame, kind, path)
    columns = _one_year(columns, frame, path, notes)
    dry, dew, pressure, wind, ghi, dni, dhi = (
        _mended(values, label, path, notes) for label, values in zip(BELIEVABLE, columns, strict=True)
    )
    latitude, longitude = float(about["latitude"]), float(about["longitude"])
    zone, altitude = float(about["TZ"]), float(about["altitude"])
    _check_zone(ghi, longitude, zone, path)
    mean_pressure = float(pressure.mean())
    from airtrim.physics.air.moist import humidity_ratio_from_dew_point

    humidity = np.array(
        [humidity_ratio_from_dew_point(min(d, t), mean_pressure) for d, t in zip(dew, dry, strict=True)]
    )
    design_dry, design_humidity = _design_hour(dry, humidity, mean_pressure)
    place = str(about.get("Name") or about.get("city") or about.get("City") or path.stem).strip(' "').title()
    state = str(about.get("State") or about.get("state-prov") or "").strip()
    return WeatherYear(
        place=f"{place}, {state}" if state else place,
        source=f"{path.name} ({kind.upper()})",
        latitude_deg=latitude,
        longitude_deg=longitude,
        timezone_h=zone,
        altitude_m=altitude,
        pressure_pa=mean_pressure,
        dry_bulb_c=dry,
        humidity_ratio=humidity,
        wind_m_s=wind,
        ghi_w_m2=ghi,
        facade_w_m2=_facades(latitude, longitude, zone, altitude, ghi, dni, dhi),
        design_dry_bulb_c=design_dry,
        design_humidity_ratio=design_humidity,
        notes=tuple(notes),
    )


def _kind(path: Path) -> str:
    suffix = path.suffix.lower()
    if suffix == ".epw":
        return "epw"
    if suffix == ".tm2":
        return "tmy2"
    if suffix in (".csv", ".tmy3"):
        return "tmy3"
    raise WeatherError(
        f"Weather file {path.name} has the unknown ending {suffix!r}: expected .epw, .csv or .tmy3, or .tm2."
    )


def _read(path: Path, kind: str) -> tuple[Any, dict[str, Any]]:
    from pvlib import iotools

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            if kind == "epw":
                frame, about = iotools.read_epw(path)
            elif kind == "tmy3":
                frame, about = iotools.read_tmy3(path, map_variables=True)
            else:
                frame, about = iotools.read_tmy2(path)
    except Exception as error:  # pvlib raises whatever its parser raises
        raise WeatherError(
            f"Weather file {path.name} cannot be read as {kind.upper()} ({type(error).__name__}): check that it is whole."
        ) from error
    return frame, dict(about)


def _columns(frame: Any, kind: str, path: Path) -> list[Array]:
    columns = []
    for name, label, factor in zip(COLUMNS[kind], BELIEVABLE, FACTORS[kind], strict=True):
        if name not in frame.columns:
            raise WeatherError(
                f"Weather file {path.name} lacks the column for {label}: use a complete {kind.upper()} file."
            )
        columns.append(np.asarray(frame[name], dtype=np.float64) * factor)
    return columns


def _one_year(columns: list[Array], frame: Any, path: Path, notes: list[str]) -> list[Array]:
    count = len(columns[0])
    if count == HOURS + 24:
        month, day = np.asarray(frame.index.month), np.asarray(frame.index.day)
        keep = ~((month == 2) & (day == 29))
        if keep.sum() == HOURS:
            notes.append("29 February was left out.")
            return [values[keep] for values in columns]
    if count != HOURS:
        raise WeatherError(
            f"Weather file {path.name} holds {count} hours, expected 8,760: it is cut short or not one year."
        )
    return columns


def _mended(values: Array, label: str, path: Path, notes: list[str]) -> Array:
    low, high = BELIEVABLE[label]
    bad = ~((values >= low) & (values <= high))
    if not bad.any():
        return values
    edges = np.flatnonzero(np.diff(np.concatenate([[False], bad, [False]]).astype(int)))
    starts, stops = edges[::2], edges[1::2]
    longest = int(np.argmax(stops - starts))
    if stops[longest] - starts[longest] > LONGEST_GAP_H:
        first = int(starts[longest])
        raise WeatherError(
            f"Weather file {path.name} has no believable {label} for {stops[longest] - starts[longest]} hours from hour "
            f"{first + 1} (day {first // 24 + 1}): fill the gap or use another file; up to {LONGEST_GAP_H} hours are bridged."
        )
    notes.append(f"{int(bad.sum())} hours of {label} were missing and bridged in a straight line.")
    hours = np.arange(len(values))
    return np.interp(hours, hours[~bad], values[~bad])


def _check_zone(ghi: Array, longitude: float, zone: float, path: Path) -> None:
    if ghi.sum() <= 0.0:
        raise WeatherError(
            f"Weather file {path.name} has no sun in the whole year: use a file with global horizontal irradiance."
        )
    hour_middle = np.tile(np.arange(24) + 0.5, 365)
    noon = float((ghi * hour_middle).sum() / ghi.sum())
    expected = 12.0 + zone - longitude / 15.0
    if abs(noon - expected) > 1.5:
        raise WeatherError(
            f"Weather file {path.name} has its sun centred on {noon:.1f} h, expected {expected:.1f} h for zone {zone:+g} at "
            f"longitude {longitude:.1f}: correct the time zone or the longitude in the file's head."
        )


def _facades(
    latitude: float, longitude: float, zone: float, altitude: float, ghi: Array, dni: Array, dhi: Array
) -> Array:
    import pandas as pd
    from pvlib import irradiance, solarposition

    middle = pd.date_range("2001-01-01 00:30", periods=HOURS, freq="h", tz="UTC") - pd.Timedelta(hours=zone)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # pvlib's own calls into pandas
        sun = solarposition.get_solarposition(middle, latitude, longitude, altitude=altitude)
        extra = irradiance.get_extra_radiation(middle).to_numpy()
    zenith, azimuth = sun["apparent_zenith"].to_numpy(), sun["azimuth"].to_numpy()
    walls = [
        np.nan_to_num(
            irradiance.get_total_irradiance(
                90.0,
                facing,
                zenith,
                azimuth,
                dni,
                ghi,
                dhi,
                dni_extra=extra,
                albedo=GROUND_REFLECTANCE,
                model="haydavies",
            )["poa_global"]
        )
        for facing in (0.0, 90.0, 180.0, 270.0)
    ]
    return np.ascontiguousarray(np.maximum(np.stack(walls, axis=1), 0.0))


def _design_hour(dry: Array, humidity: Array, pressure: float) -> tuple[float, float]:
    from airtrim.physics.air.moist import humidity_ratio_from_wet_bulb, wet_bulb_c

    design = float(np.quantile(dry, 0.99))
    near = np.abs(dry - design) <= 0.6
    wet = float(np.mean([wet_bulb_c(t, w, pressure) for t, w in zip(dry[near], humidity[near], strict=True)]))
    return design, float(humidity_ratio_from_wet_bulb(design, wet, pressure))
