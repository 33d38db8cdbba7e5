"""A year of weather as plain arrays, as the season reads it."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from airtrim.weather.checks import Head
from airtrim.weather.sun import facade_sun_w_m2

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Hours:
    """One place's 8,760 hours as read or made: degC, Pa, m/s, W/m2; `dew_point_c` nowhere above `dry_bulb_c`."""

    head: Head
    source: str
    dry_bulb_c: Array
    dew_point_c: Array
    pressure_pa: Array
    wind_m_s: Array
    ghi_w_m2: Array
    dni_w_m2: Array
    dhi_w_m2: Array
    notes: tuple[str, ...] = ()


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


def year_of(hours: Hours, design: tuple[float, float] | None = None) -> WeatherYear:
    """The year as the season reads it; `design` is dry-bulb and dew point of the design hour, degC, where they are known apart."""
    from airtrim.physics.air.moist import humidity_ratio_from_dew_point

    head, pressure = hours.head, float(hours.pressure_pa.mean())
    pairs = zip(hours.dew_point_c.tolist(), hours.pressure_pa.tolist(), strict=True)
    humidity = np.array([humidity_ratio_from_dew_point(point, at) for point, at in pairs])
    if design is None:
        design_dry, design_humidity = _design_hour(hours.dry_bulb_c, humidity, hours.pressure_pa)
    else:
        design_dry, design_humidity = design[0], float(humidity_ratio_from_dew_point(design[1], pressure))
    return WeatherYear(
        place=head.place,
        source=hours.source,
        latitude_deg=head.latitude_deg,
        longitude_deg=head.longitude_deg,
        timezone_h=head.timezone_h,
        altitude_m=head.altitude_m,
        pressure_pa=pressure,
        dry_bulb_c=hours.dry_bulb_c,
        humidity_ratio=humidity,
        wind_m_s=hours.wind_m_s,
        ghi_w_m2=hours.ghi_w_m2,
        facade_w_m2=facade_sun_w_m2(head, hours.ghi_w_m2, hours.dni_w_m2, hours.dhi_w_m2),
        design_dry_bulb_c=design_dry,
        design_humidity_ratio=design_humidity,
        notes=hours.notes,
    )


def _design_hour(dry: Array, humidity: Array, pressure: Array) -> tuple[float, float]:
    """Dry-bulb exceeded in 1 % of the hours, degC, and the humidity ratio of the mean wet-bulb within 0.6 K of it, kg/kg."""
    from airtrim.physics.air.moist import humidity_ratio_from_wet_bulb, wet_bulb_c

    design = float(np.quantile(dry, 0.99))
    near = np.flatnonzero(np.abs(dry - design) <= 0.6)
    wet = float(np.mean([wet_bulb_c(dry[hour], humidity[hour], pressure[hour]) for hour in near]))
    return design, float(humidity_ratio_from_wet_bulb(design, wet, float(pressure.mean())))
