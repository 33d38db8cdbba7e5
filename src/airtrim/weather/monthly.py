"""Monthly means of about 1,000 stations of the United States, as they are stored with the release: read once, checked, frozen.

`monthly.npz` holds figures computed from public data: the typical years TMY3 of the National Renewable Energy Laboratory (Wilcox
and Marion, NREL/TP-581-43156, made for the US Department of Energy; wilcox2008 in REFERENCES.bib). It holds no hour of any year.
Built by `build_monthly`. Spread is of the daily means about the month's mean, divided by the number of days; persistence is the sum
of products of neighbouring days' departures over the sum of their squares.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Final
from zipfile import BadZipFile

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import WeatherError

Array = NDArray[np.float64]

PATH: Final = Path(__file__).resolve().parent / "monthly.npz"
#: Monthly figures in the order of the stored array, and the whole number of parts of a unit that one count stands for.
FIGURES: Final = {
    "dry_bulb_c": 100, "daily_range_k": 100, "dry_bulb_spread_k": 100, "dry_bulb_persistence": 100, "dew_point_c": 100,
    "dew_point_spread_k": 100, "dry_bulb_dew_point_correlation": 100, "ghi_kwh_m2_day": 1000, "ghi_spread_kwh_m2_day": 1000,
    "wind_m_s": 100, "humid_hours": 1,
}  # fmt: skip
#: A station's figures in the order of the stored array, and the parts of a unit.
STATION_FIGURES: Final = {
    "latitude_deg": 1000, "longitude_deg": 1000, "timezone_h": 100, "altitude_m": 1, "pressure_hpa": 10, "design_dry_bulb_c": 10,
    "design_dew_point_c": 10,
}  # fmt: skip
HUMID_DEW_POINT_C: Final = 18.0


@dataclass(frozen=True)
class MonthlyMeans:
    """One place's twelve months, each array `[12]`, January first; degC, K, kWh/m2 a day, m/s, hours.

    `*_spread` is the standard deviation of daily means (sun: daily sums) within the month, `dry_bulb_persistence` the correlation
    of a day's mean dry-bulb with the next day's, `humid_hours` the hours with a dew point above 18 C. The design dry-bulb is
    exceeded in 1 % of the year's hours; the design dew point is the mean found with it.
    """

    station: str
    name: str
    state: str
    origin: str
    latitude_deg: float
    longitude_deg: float
    timezone_h: float
    altitude_m: float
    pressure_hpa: float
    design_dry_bulb_c: float
    design_dew_point_c: float
    dry_bulb_c: Array
    daily_range_k: Array
    dry_bulb_spread_k: Array
    dry_bulb_persistence: Array
    dew_point_c: Array
    dew_point_spread_k: Array
    dry_bulb_dew_point_correlation: Array
    ghi_kwh_m2_day: Array
    ghi_spread_kwh_m2_day: Array
    wind_m_s: Array
    humid_hours: Array

    @property
    def place(self) -> str:
        """Name and state, as on the papers."""
        return f"{self.name}, {self.state}" if self.state else self.name


def digest(arrays: Mapping[str, Any]) -> str:
    """SHA-256 of the contents in the order of their names, the digest itself left out."""
    found = hashlib.sha256()
    for key in sorted(arrays):
        if key != "digest":
            values = np.ascontiguousarray(arrays[key])
            found.update(f"{key} {values.dtype.str} {values.shape}".encode())
            found.update(values.tobytes())
    return found.hexdigest()


def stations() -> tuple[MonthlyMeans, ...]:
    """All stations stored with the release, ordered by state and name."""
    return _read(PATH)


@lru_cache(maxsize=2)
def _read(path: Path) -> tuple[MonthlyMeans, ...]:
    mend = "install airtrim again"
    try:
        with path.open("rb") as file, np.load(file, allow_pickle=False) as stored:
            arrays = {key: stored[key] for key in stored.files}
    except (OSError, ValueError, EOFError, BadZipFile) as error:
        raise WeatherError(f"The table of monthly means {path.name} cannot be read ({error}): {mend}.") from error
    if str(arrays.get("digest")) != digest(arrays):
        raise WeatherError(f"The table of monthly means {path.name} is not what was stored with the release: {mend}.")
    months = arrays["months"] / np.array(list(FIGURES.values()), dtype=np.float64)[:, None, None]
    places = arrays["places"] / np.array(list(STATION_FIGURES.values()), dtype=np.float64)[:, None]
    months.setflags(write=False)
    rows = str(arrays["names"]).split("\n")
    origin = str(arrays["origin"])
    found = []
    for index, row in enumerate(rows):
        station, name, state = row.split("\t")
        one: dict[str, Any] = {figure: float(places[at, index]) for at, figure in enumerate(STATION_FIGURES)}
        series = {figure: months[at, :, index] for at, figure in enumerate(FIGURES)}
        found.append(MonthlyMeans(station=station, name=name, state=state, origin=origin, **one, **series))
    return tuple(found)
