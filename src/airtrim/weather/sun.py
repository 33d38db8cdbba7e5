"""Sun on the walls: where it stands by pvlib, and what reaches vertical walls facing north, east, south and west."""

import warnings

import numpy as np
from numpy.typing import NDArray

from airtrim.weather.checks import HOURS, Head

Array = NDArray[np.float64]

GROUND_REFLECTANCE = 0.2  # common-practice: bare ground and grass
FACINGS_DEG = (0.0, 90.0, 180.0, 270.0)


def facade_sun_w_m2(head: Head, ghi: Array, dni: Array, dhi: Array) -> Array:
    """Total irradiance [hour, N E S W], W/m2: beam, sky with a bright ring about the sun (Hay and Davies), ground.

    The file's sun is the mean of the hour that ends at the stamp, so the sun's place is taken 30 minutes before it.
    """
    import pandas as pd
    from pvlib import irradiance, solarposition

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # pvlib's own calls into pandas
        middle = pd.date_range("2001-01-01 00:30", periods=HOURS, freq="h", tz="UTC")
        middle -= pd.Timedelta(hours=head.timezone_h)
        sun = solarposition.get_solarposition(middle, head.latitude_deg, head.longitude_deg, altitude=head.altitude_m)
        extra = irradiance.get_extra_radiation(middle).to_numpy()
        zenith, azimuth = sun["apparent_zenith"].to_numpy(), sun["azimuth"].to_numpy()
        walls = [
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
            for facing in FACINGS_DEG
        ]
    return np.ascontiguousarray(np.stack(walls, axis=1), dtype=np.float64)
