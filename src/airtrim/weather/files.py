"""Weather files (EPW, TMY3, TMY2) read through pvlib, checked, and turned into a `WeatherYear`."""

import csv
import re
import tempfile
import warnings
from importlib.util import find_spec
from io import StringIO
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import WeatherError
from airtrim.weather.change import Change, changed_hours
from airtrim.weather.checks import Head, believable, bridged, check_head, check_noon, counted, hours_of_one_year, was
from airtrim.weather.kept import kept
from airtrim.weather.year import Hours, WeatherYear, year_of

Array = NDArray[np.float64]

#: The years that come with the pvlib wheel: NREL TMY3 and TMY2.
EMBEDDED = {"greensboro-nc": "723170TYA.CSV", "miami-fl": "12839.tm2"}
#: Our name of each column -> pvlib's name in each kind of file, and the factor into SI.
COLUMNS = {
    "epw": {
        "dry-bulb": ("temp_air", 1.0),
        "dew point": ("temp_dew", 1.0),
        "relative humidity": ("relative_humidity", 0.01),
        "pressure": ("atmospheric_pressure", 1.0),
        "wind": ("wind_speed", 1.0),
        "global horizontal": ("ghi", 1.0),
        "direct normal": ("dni", 1.0),
        "diffuse horizontal": ("dhi", 1.0),
    },
    "tmy3": {
        "dry-bulb": ("temp_air", 1.0),
        "dew point": ("temp_dew", 1.0),
        "relative humidity": ("relative_humidity", 0.01),
        "pressure": ("pressure", 100.0),  # mbar
        "wind": ("wind_speed", 1.0),
        "global horizontal": ("ghi", 1.0),
        "direct normal": ("dni", 1.0),
        "diffuse horizontal": ("dhi", 1.0),
    },
    "tmy2": {
        "dry-bulb": ("DryBulb", 0.1),  # tenths of a degree
        "dew point": ("DewPoint", 0.1),
        "relative humidity": ("RHum", 0.01),
        "pressure": ("Pressure", 100.0),  # mbar
        "wind": ("Wspd", 0.1),  # tenths of m/s
        "global horizontal": ("GHI", 1.0),
        "direct normal": ("DNI", 1.0),
        "diffuse horizontal": ("DHI", 1.0),
    },
}
_ENDINGS = {".epw": "epw", ".csv": "tmy3", ".tmy3": "tmy3", ".tm2": "tmy2", ".tmy2": "tmy2"}
_TMY2_HEAD = re.compile(
    r"^\s*(\d{5})\s+(\S.*?)\s+([A-Z]{2})\s+(-?\d+)\s+([NS])\s*(\d+)\s+(\d+)\s+([EW])\s*(\d+)\s+(\d+)\s+(-?\d+)\s*$"
)


def embedded_path(name: str) -> Path:
    """The file of a year that comes with pvlib; found without importing pvlib."""
    if name not in EMBEDDED:
        raise WeatherError(f"Weather {name!r} is not embedded: use one of {', '.join(EMBEDDED)} or give a file.")
    package = find_spec("pvlib")
    if package is None or package.origin is None:
        raise WeatherError(
            f"Weather {name!r} comes with the library pvlib, which is not installed: install airtrim again."
        )
    return Path(package.origin).parent / "data" / EMBEDDED[name]


def embedded_weather(name: str) -> WeatherYear:
    """A year that comes with pvlib: 'greensboro-nc' (TMY3) or 'miami-fl' (TMY2)."""
    return read_weather(embedded_path(name))


def weather_path(name_or_path: str, folder: Path | None = None) -> Path:
    """Where embedded weather of that name lies, else the file; a relative path is looked up in `folder`."""
    if name_or_path in EMBEDDED:
        return embedded_path(name_or_path)
    path = Path(name_or_path)
    return path if path.is_absolute() or folder is None else folder / path


def weather_for(name_or_path: str, folder: Path | None = None, change: Change | None = None) -> WeatherYear:
    """Embedded weather by name, else a file, changed where `change` says so; kept on disk by the hash of its bytes."""
    path = weather_path(name_or_path, folder)
    _must_exist(path)
    with_change = change or Change()
    made_from = b"\0".join([path.name.encode(), repr(with_change).encode(), _bytes(path)])
    return kept(made_from, lambda: year_of(changed_hours(_hours(path), with_change)))


def read_weather(path: Path | str) -> WeatherYear:
    """Read an EPW, TMY3 or TMY2 file of one year; raises `WeatherError` naming what is wrong and where."""
    path = Path(path)
    _must_exist(path)
    return year_of(_hours(path))


def read_hours(path: Path | str) -> Hours:
    """The checked hours of an EPW, TMY3 or TMY2 file; raises `WeatherError` as `read_weather` does."""
    path = Path(path)
    _must_exist(path)
    return _hours(path)


def _must_exist(path: Path) -> None:
    if not path.is_file():
        raise WeatherError(
            f"Weather file {path} does not exist: give an EPW, TMY3 or TMY2 file, or {', '.join(EMBEDDED)}."
        )


def _hours(path: Path) -> Hours:
    file, lines = path.name, _lines(path)
    kind = _kind(lines, path)
    head = _head(lines, kind, path)
    check_head(head, file)
    notes: list[str] = []
    frame = _frame(lines, kind, file, notes)
    rows = hours_of_one_year(*_stamps(frame, kind), file, notes)

    def column(label: str) -> Array:
        return bridged(_values(frame, kind, label, file)[rows], label, file, notes)

    dry, pressure = column("dry-bulb"), column("pressure")
    dew = _dew_point(frame, kind, rows, dry, pressure, file, notes)
    wind, ghi, dni, dhi = (
        column(label) for label in ("wind", "global horizontal", "direct normal", "diffuse horizontal")
    )
    check_noon(ghi, head, file)
    return Hours(head, f"{file} ({kind.upper()})", dry, dew, pressure, wind, ghi, dni, dhi, tuple(notes))


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise WeatherError(
            f"Weather file {path.name} cannot be opened ({error.strerror}): allow reading it or use a copy."
        ) from error


def _lines(path: Path) -> list[str]:
    raw = _bytes(path)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("latin-1")  # older files spell their places so; it decodes any byte
    return text.splitlines()


def _kind(lines: list[str], path: Path) -> str:
    """By the first lines, and where these are unclear by the file's ending."""
    if lines and lines[0].startswith("LOCATION,"):
        return "epw"
    if len(lines) > 1 and lines[1].startswith("Date (MM/DD/YYYY)"):
        return "tmy3"
    if lines and _TMY2_HEAD.match(lines[0]):
        return "tmy2"
    kind = _ENDINGS.get(path.suffix.lower())
    if kind is None:
        raise WeatherError(
            f"Weather file {path.name} has the unknown ending {path.suffix!r} and does not begin like a weather file: "
            "expected EPW (.epw), TMY3 (.csv or .tmy3) or TMY2 (.tm2)."
        )
    return kind


def _head(lines: list[str], kind: str, path: Path) -> Head:
    first = lines[0] if lines else ""
    try:
        if kind == "tmy2":
            match = _TMY2_HEAD.match(first)
            if match is None:
                raise ValueError("not a TMY2 head")
            _, name, state, zone, north, lat, lat_minutes, east, lon, lon_minutes, altitude = match.groups()
            latitude = (float(lat) + float(lat_minutes) / 60.0) * (1.0 if north == "N" else -1.0)
            longitude = (float(lon) + float(lon_minutes) / 60.0) * (1.0 if east == "E" else -1.0)
            numbers = (latitude, longitude, float(zone), float(altitude))
        else:
            cells = next(csv.reader([first]))
            name, state = cells[1:3]
            place = (6, 7, 8, 9) if kind == "epw" else (4, 5, 3, 6)
            numbers = (float(cells[place[0]]), float(cells[place[1]]), float(cells[place[2]]), float(cells[place[3]]))
    except (ValueError, IndexError, StopIteration) as error:
        raise WeatherError(
            f"Weather file {path.name} does not give its station in line 1, which reads {first[:60]!r}: expected name, state, "
            f"time zone, latitude, longitude and altitude as {kind.upper()} has them, use a whole file."
        ) from error
    name, state = name.strip().title() or path.stem, state.strip(" -")
    return Head(f"{name}, {state}" if state else name, *numbers)


def _frame(lines: list[str], kind: str, file: str, notes: list[str]) -> Any:
    from pvlib import iotools

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            if kind == "epw":
                return iotools.read_epw(StringIO("\n".join(lines)))[0]
            if kind == "tmy3":  # pvlib splits the station's line at every comma, quoted or not
                station = [cell.replace(",", " ") for cell in next(csv.reader(lines[:1]))]
                text = "\n".join([",".join(station), *lines[1:]])
                return iotools.read_tmy3(StringIO(text), map_variables=True)[0]
            return _tmy2_frame(lines, notes)
    except Exception as error:  # pvlib raises whatever its parser raises
        detail = " ".join(str(error).split())[:80]
        raise WeatherError(
            f"Weather file {file} cannot be read as {kind.upper()} ({type(error).__name__}: {detail}): check that it is whole."
        ) from error


def _tmy2_frame(lines: list[str], notes: list[str]) -> Any:
    """pvlib reads TMY2 from a path only, fails on a place of several words, and on a leap day."""
    from pvlib import iotools

    match = _TMY2_HEAD.match(lines[0])
    if match is None:
        raise ValueError("not a TMY2 head")
    cells = list(match.groups())
    cells[1] = cells[1].replace(" ", "_")
    hours = [line for line in lines[1:] if line[3:7] != "0229"]
    if len(hours) < len(lines) - 1:
        notes.append("29 February was left out.")
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "year.tm2"
        copy.write_text("\n".join([" ".join(cells), *hours]) + "\n", encoding="utf-8")
        return iotools.read_tmy2(str(copy))[0]


def _stamps(frame: Any, kind: str) -> tuple[Any, Any, Any]:
    """Month, day, hour (the one that ends there) as the file writes them."""
    if kind == "tmy3":
        date, time = frame["Date (MM/DD/YYYY)"].str.split("/"), frame["Time (HH:MM)"].str.split(":")
        parts = (date.str[0], date.str[1], time.str[0])
    else:
        parts = (frame["month"], frame["day"], frame["hour"])
    month, day, hour = (np.asarray(part).astype(np.int64) for part in parts)
    return month, day, hour


def _values(frame: Any, kind: str, label: str, file: str) -> Array:
    """A column in SI; a cell that is no number becomes NaN, which is a gap."""
    import pandas as pd

    name, factor = COLUMNS[kind][label]
    if name not in frame.columns:
        also = " (and for relative humidity)" if label == "dew point" else ""
        raise WeatherError(
            f"Weather file {file} lacks the column for {label}{also}: use a complete {kind.upper()} file."
        )
    return np.asarray(pd.to_numeric(frame[name], errors="coerce"), dtype=np.float64) * factor


def _dew_point(frame: Any, kind: str, rows: Any, dry: Array, pressure: Array, file: str, notes: list[str]) -> Array:
    """degC, never above dry-bulb; where it is missing, from the relative humidity and the pressure of the hour."""
    from airtrim.physics.air.moist import dew_point_c, humidity_ratio_from_relative_humidity

    columns = COLUMNS[kind]
    has_relative = columns["relative humidity"][0] in frame.columns
    if has_relative and columns["dew point"][0] not in frame.columns:
        dew = np.full(len(rows), np.nan)
    else:
        dew = _values(frame, kind, "dew point", file)[rows]
    bad = ~believable(dew, "dew point")
    if has_relative and bad.any():
        relative = _values(frame, kind, "relative humidity", file)[rows]
        usable = np.flatnonzero(bad & believable(relative, "relative humidity"))
        for hour in usable:
            ratio = humidity_ratio_from_relative_humidity(dry[hour], relative[hour], pressure[hour])
            dew[hour] = dew_point_c(ratio, pressure[hour])
        if usable.size:
            notes.append(f"{counted(usable.size)} of dew point {was(usable.size)} worked out from relative humidity.")
    dew = bridged(dew, "dew point", file, notes)
    over = int((dew > dry + 0.05).sum())  # half the last digit of the files
    if over:
        notes.append(f"{counted(over)} had a dew point above the dry-bulb and {was(over)} taken as saturated.")
    return np.minimum(dew, dry)
