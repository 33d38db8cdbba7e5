"""Weather and sun on a fabric's faces from a TMY3 file, by pvlib: what the weather room will do for the product."""

import csv
import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
from pvlib import irradiance, solarposition

from airtrim.core.kernels import over_arrays
from airtrim.physics.house.films import sky_temperature_c


@dataclass(frozen=True)
class Exposed:
    dry_bulb_c: np.ndarray
    sky_c: np.ndarray
    wind_m_s: np.ndarray
    beam_w_m2: np.ndarray
    diffuse_w_m2: np.ndarray
    cosine: np.ndarray
    leeward: np.ndarray
    pressure_pa: float


def exposed(path: Path, tilt_and_azimuth, ground_reflectance: float = 0.2) -> Exposed:
    """A TMY3 file's year on these faces: Perez' sky, the bright ring taken with the beam; the sun's place at mid-hour."""
    with path.open(newline="") as handle:
        rows = list(csv.reader(handle))
    cells = {
        head: np.array(column, dtype=object) for head, column in zip(rows[1], zip(*rows[2:], strict=True), strict=True)
    }

    def numbers(head):
        return cells[head].astype(float)

    zone, latitude, longitude, altitude = (float(cell) for cell in rows[0][3:7])
    middle = pd.date_range("2001-01-01 00:30", periods=8760, freq="h", tz="UTC") - pd.Timedelta(hours=zone)
    ghi, dni, dhi = (numbers(f"{name} (W/m^2)") for name in ("GHI", "DNI", "DHI"))
    dry, dew, cloud = numbers("Dry-bulb (C)"), numbers("Dew-point (C)"), numbers("OpqCld (tenths)")
    beam, diffuse, cosine, lee = [], [], [], []
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # pvlib's own calls into pandas
        sun = solarposition.get_solarposition(middle, latitude, longitude, altitude=altitude)
        zenith, azimuth = sun["apparent_zenith"].to_numpy(), sun["azimuth"].to_numpy()
        extra = irradiance.get_extra_radiation(middle).to_numpy()
        mass = np.nan_to_num(1.0 / np.maximum(np.cos(np.radians(zenith)), 0.03), nan=30.0)
        for tilt, facing in tilt_and_azimuth:
            shown = irradiance.aoi_projection(tilt, facing, zenith, azimuth)
            sky = irradiance.perez(tilt, facing, dhi, dni, extra, zenith, azimuth, mass, return_components=True)
            ring = np.nan_to_num(np.asarray(sky["poa_circumsolar"]))
            whole = np.nan_to_num(np.asarray(sky["poa_sky_diffuse"]))
            up = zenith < 90.0
            beam.append(np.where(up, dni * np.maximum(shown, 0.0), 0.0) + np.where(shown > 0.0, ring, 0.0))
            ground = ghi * ground_reflectance * 0.5 * (1.0 - np.cos(np.radians(tilt)))
            diffuse.append(np.where(shown > 0.0, whole - ring, whole) + ground)
            cosine.append(np.maximum(shown, 0.0))
            away = np.abs((numbers("Wdir (degrees)") - facing + 180.0) % 360.0 - 180.0) > 100.0
            lee.append(np.where(away & (tilt > 10.0) & (tilt < 170.0), 0.5, 1.0))
    return Exposed(
        dry,
        over_arrays(sky_temperature_c)(dry, dew, cloud),
        numbers("Wspd (m/s)"),
        *(np.ascontiguousarray(np.stack(part, axis=1)) for part in (beam, diffuse, cosine, lee)),
        float(numbers("Pressure (mbar)").mean() * 100.0),
    )
