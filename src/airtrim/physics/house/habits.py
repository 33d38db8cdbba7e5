"""When a household gives its heat and moisture: 24 values about a mean of 1, the first for midnight to one.

People follow their presence at home; the rest of the heat is half steady (refrigerator, standing losses) and half in the waking
hours at home; the rest of the moisture (bath, kitchen) comes in the morning and the evening.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
HOURS: Final = 24
#: Part of the household at home by hour, 16.5 person-hours of 24: Hendron and Engebrecht 2010 [hendron2010], from memory.
PRESENCE: Final = (*(1.0,) * 7, 0.883, 0.409, *(0.242,) * 7, 0.295, 0.553, *(0.897,) * 3, *(1.0,) * 3)
#: Hours from midnight in which a household is up and about at home, and those of bath and kitchen with their weights (judgement).
WAKING: Final = (6, 7, 8, 16, 17, 18, 19, 20, 21, 22)
BATH_AND_KITCHEN: Final = {6: 2.0, 7: 3.0, 8: 1.0, 12: 1.0, 17: 2.0, 18: 3.0, 19: 2.0, 20: 1.0, 21: 1.0}
#: People's part of internal heat (118 of 950 W for three bedrooms) and of moisture (3.1 of 6 kg a day) [own-derivation].
PEOPLE_HEAT_PART, PEOPLE_MOISTURE_PART = 0.12, 0.5


def _about_one(values: Array) -> Array:
    return np.asarray(values / values.mean())


def daily_shapes(
    people_heat_part: float = PEOPLE_HEAT_PART, people_moisture_part: float = PEOPLE_MOISTURE_PART
) -> tuple[Array, Array]:
    """(heat, moisture) by hour, each `[24]` with a mean of 1; the people's parts lie in 0 to 1."""
    presence = _about_one(np.array(PRESENCE))
    waking, wet = np.zeros(HOURS), np.zeros(HOURS)
    waking[list(WAKING)] = 1.0
    for hour, weight in BATH_AND_KITCHEN.items():
        wet[hour] = weight
    rest = 0.5 + 0.5 * _about_one(waking)
    heat = people_heat_part * presence + (1.0 - people_heat_part) * rest
    return heat, people_moisture_part * presence + (1.0 - people_moisture_part) * _about_one(wet)
