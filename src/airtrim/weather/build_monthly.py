"""Store the monthly means: `python -m airtrim.weather.build_monthly FOLDER` reads FOLDER/stations.csv and monthly.csv.

The two files were computed from the public NREL TMY3 years (NREL/TP-581-43156), one row a station and one row a station's month;
`own_places.means_of` computes the same figures from any weather file. Figures are stored as whole counts of their printed digits.
"""

import csv
import re
import sys
from pathlib import Path
from typing import Any

import numpy as np

from airtrim.weather.monthly import FIGURES, PATH, STATION_FIGURES, digest

ORIGIN = "computed from NREL TMY3 (NSRDB 1991-2005, NREL/TP-581-43156)"
COLUMNS = (
    "dry_bulb_C", "daily_range_K", "sd_daily_dry_bulb_K", "lag1_dry_bulb", "dew_point_C", "sd_daily_dew_point_K",
    "corr_daily_db_dp", "ghi_kWh_m2_day", "sd_ghi_kWh_m2_day", "wind_m_s", "hours_dew_point_above_18C",
)  # fmt: skip
STATION_COLUMNS = (
    "lat_deg", "lon_deg", "utc_offset_h", "elevation_m", "mean_pressure_hPa", "dry_bulb_1pct_C", "coincident_dew_point_C",
)  # fmt: skip


def plain_name(name: str) -> str:
    """A station's name without the marks of the data set it came from."""
    return " ".join(re.sub(r"\[.*?\]|\(.*?\)", " ", name).replace("Int'L", "Intl").split())


def main(folder: Path, path: Path = PATH) -> None:
    """Write `path` from the two files in `folder`."""
    with (folder / "stations.csv").open(newline="", encoding="utf-8") as file:
        places = list(csv.DictReader(file))
    with (folder / "monthly.csv").open(newline="", encoding="utf-8") as file:
        months = {(row["station"], int(row["month"])): row for row in csv.DictReader(file)}
    for row in places:
        row["name"] = plain_name(row["name"])
    places.sort(key=lambda row: (row["state"], row["name"], row["station"]))
    counts = np.array(
        [
            [[round(float(months[place["station"], m][name]) * parts) for place in places] for m in range(1, 13)]
            for name, parts in zip(COLUMNS, FIGURES.values(), strict=True)
        ]
    )
    if np.abs(counts).max() > np.iinfo(np.int16).max:
        raise ValueError("a monthly figure does not fit 16 bits")
    arrays: dict[str, Any] = {
        "months": counts.astype(np.int16),
        "places": np.array(
            [
                [round(float(place[name]) * parts) for place in places]
                for name, parts in zip(STATION_COLUMNS, STATION_FIGURES.values(), strict=True)
            ],
            dtype=np.int32,
        ),
        "names": np.array("\n".join(f"{row['station']}\t{row['name']}\t{row['state']}" for row in places)),
        "origin": np.array(ORIGIN),
    }
    np.savez_compressed(path, digest=np.array(digest(arrays)), **arrays)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
