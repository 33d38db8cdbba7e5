"""Indoor humidity by month and hour of the day, of now and of the recommended option, small enough to be kept with the result."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from airtrim.physics.season.year import YearResults

#: Decimals kept of a relative humidity as a fraction: 0.1 % RH.
DECIMALS = 3


def humidity_by_hour(years: YearResults, options: Sequence[str], wanted: Sequence[str]) -> list[dict[str, Any]]:
    """[{id, lows, mids, highs}] of the `wanted` ones among `options` (those run, in the order of the years' programs).

    Each is 12 months of 24 hours from midnight, standard time: 5, 50 and 95 % of the systems' mean relative humidity, a fraction.
    Empty where the years do not hold hours.
    """
    if "relative_humidity" not in years.details.by_hour:
        return []
    told = []
    for name in dict.fromkeys(wanted):
        own = years.details.by_hour["relative_humidity"][:, options.index(name)]
        low, mid, high = (np.round(each, DECIMALS).tolist() for each in np.quantile(own, (0.05, 0.5, 0.95), axis=0))
        told.append({"id": name, "lows": low, "mids": mid, "highs": high})
    return told
