"""A room or whole-house dehumidifier: water taken out and power drawn as the room's temperature and humidity move.

    water / rated water       (a + b t + c t^2 + d r + e r^2 + f t r) / the same at rating,  t degC, r %
    litres a kWh / rated      another of that form
    power / rated power       the first over the second, between 0.6 and 1.3

Biquadratic form and coefficients: mean of six units in the laboratory, Winkler, Christensen and Tomerlin 2011
[winkler2011], from memory. All power, and the heat of the condensed water, is given to the room.

Range: 12 to 35 degC and 30 to 90 %; below about 35 % at 21 degC it takes out nothing, and still draws 0.6 of its power
(judgement: fan and compressor run). Defrosting below 18 degC is only as far in it as it was in the measured means.
Temperatures degC, water kg/s, W. Kernels take NaN to NaN.
"""

from typing import Final, NamedTuple

from airtrim.core.errors import OutOfRangeError
from airtrim.core.kernels import inline_kernel

#: 80 F and 60 %: the state of the older rating.
RATED_C, RATED_PERCENT = (80.0 - 32.0) / 1.8, 60.0
#: Room temperatures of ratings at 60 %: older rule, portable units and whole-house units of 10 CFR 430 appendix X1 [from-memory].
RATING_STATES_C: Final = {"80F": RATED_C, "65F": (65.0 - 32.0) / 1.8, "73F": (73.0 - 32.0) / 1.8}
#: Condensing at room conditions, J/kg.
LATENT_HEAT: Final = 2.45e6
LEAST_POWER_RATIO, GREATEST_POWER_RATIO = 0.6, 1.3
#: Part of its heat that a ducted cabinet in an attic or crawl space loses there (judgement: 0.05 to 0.2).
DUCTED_LOST_PART: Final = 0.1


class Dehumidifier(NamedTuple):
    """`water_kg_s` taken out and `power_w` drawn at 80 F and 60 %; `lost_part` of its heat goes to where the cabinet stands."""

    water_kg_s: float
    power_w: float
    lost_part: float = 0.0


@inline_kernel
def water_form(t: float, r: float) -> float:
    return -1.162525707 + t * (0.02271469 - 0.000113208 * t + 0.000378843 * r) + r * (0.021110538 - 0.0000693034 * r)


@inline_kernel
def efficiency_form(t: float, r: float) -> float:
    return -1.902154518 + t * (0.063466565 - 0.000622839 * t - 0.000176722 * r) + r * (0.039540407 - 0.000125637 * r)


#: Both forms at 80 F and 60 %: not exactly 1.
WATER_AT_RATING: Final = water_form.reference(RATED_C, RATED_PERCENT)  # type: ignore[attr-defined]
EFFICIENCY_AT_RATING: Final = efficiency_form.reference(RATED_C, RATED_PERCENT)  # type: ignore[attr-defined]


@inline_kernel
def dehumidifier_ratios(temperature_c: float, relative_humidity: float) -> tuple[float, float]:
    """(water, power) over their values at 80 F and 60 %; relative humidity as a fraction."""
    percent = 100.0 * relative_humidity
    water = max(water_form(temperature_c, percent) / WATER_AT_RATING, 0.0)
    efficiency = max(efficiency_form(temperature_c, percent) / EFFICIENCY_AT_RATING, 0.05)
    return water, min(max(water / efficiency, LEAST_POWER_RATIO), GREATEST_POWER_RATIO)


def dehumidifier_from_rating(
    litres_a_day: float, litres_a_kwh: float, state: str = "80F", ducted: bool = False
) -> Dehumidifier:
    """A unit from its label: 3 to 150 litres a day and 0.8 to 4 litres a kWh (energy factor) at one of RATING_STATES_C.

    `ducted` into the house from an attic or crawl space loses a tenth of its heat there. Raises `OutOfRangeError`.
    """
    if state not in RATING_STATES_C:
        raise OutOfRangeError(f'A dehumidifier is rated at one of {", ".join(RATING_STATES_C)}, got "{state}".')
    if not 3.0 <= litres_a_day <= 150.0:
        raise OutOfRangeError(
            f"A dehumidifier's water must lie in 3 to 150 litres a day, got {litres_a_day:g}: a pint is 0.473 litres."
        )
    if not 0.8 <= litres_a_kwh <= 4.0:
        raise OutOfRangeError(
            f"A dehumidifier's energy factor must lie in 0.8 to 4 litres a kWh, got {litres_a_kwh:g}: read its label again."
        )
    water, power = litres_a_day / 86400.0, litres_a_day / 24.0 / litres_a_kwh * 1000.0
    water_ratio, power_ratio = dehumidifier_ratios(RATING_STATES_C[state], 0.60)
    return Dehumidifier(water / water_ratio, power / power_ratio, DUCTED_LOST_PART if ducted else 0.0)
