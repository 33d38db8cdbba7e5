"""Comfort of the people in the house, hour by hour: the predicted mean vote (ISO 7730) by pythermalcomfort.

People sit (1.2 met) in still air (0.1 m/s), the surfaces about as warm as the air, clothed by the weather. The adaptive line is not
used: it holds for houses whose windows do the cooling. Comfortable is a vote within 0.5 (class B of ISO 7730).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from airtrim.physics.season.system import WeatherArrays

Array = NDArray[np.float64]
SEATED_MET, STILL_M_S = 1.2, 0.1
#: Clothes of summer and of winter indoors (ISO 7730: 0.5 and 1.0 clo), by the day's mean outdoor temperature [judgement].
DAYS_C, CLOTHES_CLO = (10.0, 22.0), (1.0, 0.5)
#: Class B of ISO 7730.
COMFORTABLE_VOTE = 0.5


@dataclass(frozen=True)
class Comfort:
    """Hours of the year comfortable, too warm and too cold; each in the shape of the temperatures less their last axis."""

    comfortable: Array
    too_warm: Array
    too_cold: Array


def clothing(dry_bulb_c: Array) -> Array:
    """Insulation of clothing, clo, for each hour of a year `[8760]`, by the day's mean outdoor temperature degC."""
    daily = dry_bulb_c.reshape(365, 24).mean(axis=1)
    return np.repeat(np.interp(daily, DAYS_C, CLOTHES_CLO), 24)


def comfort_of(temperature_c: Array, relative_humidity: Array, weather: WeatherArrays) -> Comfort:
    """Comfort of hourly means `[..., 8760]`; relative humidity as a fraction."""
    vote = predicted_mean_vote(temperature_c, relative_humidity, clothing(weather.dry_bulb_c))
    return Comfort(
        np.asarray((np.abs(vote) <= COMFORTABLE_VOTE).sum(axis=-1), dtype=np.float64),
        np.asarray((vote > COMFORTABLE_VOTE).sum(axis=-1), dtype=np.float64),
        np.asarray((vote < -COMFORTABLE_VOTE).sum(axis=-1), dtype=np.float64),
    )


def predicted_mean_vote(temperature_c: Array, relative_humidity: Array, clo: Array) -> Array:
    """The vote, -3 cold to 3 hot, of seated people; arrays that broadcast."""
    from pythermalcomfort.models import pmv_ppd_iso

    air, humidity, worn = np.broadcast_arrays(temperature_c, 100.0 * relative_humidity, clo)
    told = pmv_ppd_iso(
        tdb=air, tr=air, vr=STILL_M_S, rh=humidity, met=SEATED_MET, clo=worn, limit_inputs=False, round_output=False
    )
    return np.asarray(told.pmv, dtype=np.float64)
