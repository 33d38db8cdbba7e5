"""Air that leaks through the house's envelope, by stack and wind, and what an unbalanced duct leak adds."""

from math import exp, sqrt
from typing import Final

import numpy as np
from numpy.typing import NDArray

from airtrim.core.elementary import power
from airtrim.core.errors import OutOfRangeError
from airtrim.core.kernels import inline_kernel, kernel

Array = NDArray[np.float64]

#: Sherman and Grimsrud 1980 [sherman1980], handbook coefficients for one storey and what each further storey adds;
#: typical suburban shelter. m3/s from square centimetres at 4 Pa, kelvin and m/s at the weather station.
STACK_PER_STOREY = 0.000145
WIND_ONE_STOREY = 0.000174
WIND_PER_FURTHER_STOREY = 0.000057


@inline_kernel
def natural_leakage_m3_s(area_cm2: float, storeys: float, difference_k: float, wind_m_s: float) -> float:
    """Air exchanged by stack and wind, m3/s; `difference_k` indoors less outdoors, either sign; 1 to 3 storeys."""
    wind = WIND_ONE_STOREY + WIND_PER_FURTHER_STOREY * (storeys - 1.0)
    return area_cm2 * 0.001 * sqrt(STACK_PER_STOREY * storeys * abs(difference_k) + wind * wind_m_s * wind_m_s)


#: ASHRAE enhanced model, no flue: stack and wind coefficients of one, two and three storeys; wind by foundation [from-memory,
#: and within 2 % of AIM-2].
ENHANCED_STACK = (0.054, 0.078, 0.098)
ENHANCED_WIND_SLAB = (0.156, 0.170, 0.170)
ENHANCED_WIND_CRAWL_SPACE = (0.128, 0.142, 0.151)
FLOW_EXPONENT = 0.65
#: Shelter of a typical suburban house, wind at the weather station: with it the enhanced model's wind-driven flow of one storey
#: on a slab is within 9 % of the basic model's class 3 at 2 to 3 m/s, the usual wind of damp summers [own-derivation].
SUBURBAN_SHELTER: Final = 0.7
#: kg/m3
REFERENCE_DENSITY = 1.2


def flow_coefficient_from_leakage_area(area_cm2: float, exponent: float = FLOW_EXPONENT) -> float:
    """Flow coefficient, m3/s at 1 Pa, of an effective leakage area (cm2 at 4 Pa, discharge 1, air of 1.2 kg/m3)."""
    return float(area_cm2 * 1e-4 * sqrt(2.0 * 4.0 / REFERENCE_DENSITY) / 4.0**exponent)


def leakage_area_from_blower_door_cm2(flow_50_m3_s: float, exponent: float = FLOW_EXPONENT) -> float:
    """Effective leakage area, cm2 at 4 Pa, of a blower-door flow at 50 Pa."""
    return float(flow_50_m3_s * (4.0 / 50.0) ** exponent / sqrt(2.0 * 4.0 / REFERENCE_DENSITY) * 1e4)


@kernel
def enhanced_leakage_m3_s(
    coefficient: float,
    exponent: float,
    stack: float,
    wind: float,
    shelter: float,
    difference_k: float,
    wind_m_s: float,
) -> float:
    """Air exchanged by stack and wind, m3/s, ASHRAE enhanced model: both by the power law of the leaks, added in quadrature.

    `coefficient` m3/s at 1 Pa; `exponent` 0.5 to 1, usually 0.65; `stack` (Pa/K)^n and `wind` (Pa s2/m2)^n of the tables
    above; `shelter` 0.3 (dense) to 1 (open), wind at the weather station; `difference_k` of either sign.
    """
    by_stack = coefficient * stack * power(abs(difference_k), exponent)
    by_wind = coefficient * wind * power(shelter * wind_m_s, 2.0 * exponent)
    return sqrt(by_stack * by_stack + by_wind * by_wind)


def enhanced_coefficients(storeys: Array, crawl_space: Array) -> tuple[Array, Array]:
    """Stack and wind coefficients of the tables above, between their storeys on straight lines; `storeys` 1 to 3.

    `crawl_space` is 1 over a crawl space, 0 on a slab or over a basement.
    """
    rows = np.arange(1.0, 4.0)
    over_crawl, on_slab = (np.interp(storeys, rows, table) for table in (ENHANCED_WIND_CRAWL_SPACE, ENHANCED_WIND_SLAB))
    return np.interp(storeys, rows, ENHANCED_STACK), np.where(crawl_space > 0.5, over_crawl, on_slab)


def leakage_area_from_age_cm2(year_built: float, floor_area_m2: float, height_m: float = 2.44) -> float:
    """Effective leakage area, cm2 at 4 Pa, of a conventional house by year and size: the middle of a wide spread.

    Normalised leakage exp(20.7 - 0.0107 year - 0.0022 area), Chan and others 2005 [chan2005], coefficients from memory;
    normalised leakage = 1000 (area / floor) (height / 2.5)^0.3. `height_m` is the whole house's. Against 642 measured days in
    31 houses this and the basic model had a median absolute error of 43 %. Year 1850 to 2030, floor 40 to 600 m2.
    """
    if not (1850.0 <= year_built <= 2030.0 and 40.0 <= floor_area_m2 <= 600.0):
        raise OutOfRangeError(
            f"Leakage by age holds for houses of 1850 to 2030 and 40 to 600 m2, got {year_built:g} and {floor_area_m2:g} m2: "
            "measure with a blower door."
        )
    normalised = exp(20.7 - 0.0107 * year_built - 0.00220 * floor_area_m2)
    return float(normalised * floor_area_m2 * 10.0 / (height_m / 2.5) ** 0.3)


def walker_wilson_coefficients(
    exponent: float, ceiling_part: float = 0.25, floor_part: float = 0.25, height_m: float = 2.5
) -> tuple[float, float]:
    """Stack and wind coefficients of AIM-2 for a house without flue on slab or basement.

    `ceiling_part` and `floor_part` are the parts of all leaks in ceiling and floor; the rest is in the walls. Walker and
    Wilson 1998 [walker1998], equations from memory. Stack in (Pa/K)^n with indoor air at 293 K.
    """
    n, r, x = exponent, ceiling_part + floor_part, ceiling_part - floor_part
    stack = (1.0 + n * r) / (n + 1.0) * (0.5 - 0.5 * (x * x / (2.0 - r)) ** 1.25) ** (n + 1.0)
    wind = 0.19 * (2.0 - n) * (1.0 - ((x + r) / 2.0) ** 1.5)
    return stack * (1.204 * 9.81 * height_m / 293.0) ** n, wind * (0.5 * 1.204) ** n


@inline_kernel
def envelope_flows_kg_s(natural_kg_s: float, unbalanced_kg_s: float) -> tuple[float, float]:
    """Air in and air out through the envelope, kg/s, when the ducts lose `unbalanced_kg_s` more than they draw in.

    Natural and unbalanced flows add in quadrature (ASHRAE superposition, [from-memory]); the difference keeps the house's
    air in balance.
    """
    larger = sqrt(natural_kg_s * natural_kg_s + unbalanced_kg_s * unbalanced_kg_s)
    if unbalanced_kg_s > 0.0:
        return larger, larger - unbalanced_kg_s
    return larger + unbalanced_kg_s, larger
