"""A year of weather as plain arrays, as the season reads it."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class WeatherYear:
    """8,760 hours in local standard time, each value at (sun: over) the hour that ends there.

    degC, kg/kg dry air, m/s, W/m2; `facade_w_m2` is the total on vertical walls facing north, east, south and west. The design
    hour is the dry-bulb exceeded in 1 % of hours with the humidity ratio of its mean coincident wet-bulb.
    """

    place: str
    source: str
    latitude_deg: float
    longitude_deg: float
    timezone_h: float
    altitude_m: float
    pressure_pa: float
    dry_bulb_c: Array
    humidity_ratio: Array
    wind_m_s: Array
    ghi_w_m2: Array
    facade_w_m2: Array
    design_dry_bulb_c: float
    design_humidity_ratio: float
    notes: tuple[str, ...] = field(default=())
