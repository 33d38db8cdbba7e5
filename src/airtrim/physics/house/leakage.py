"""Air that leaks through the house's envelope, by stack and wind, and what an unbalanced duct leak adds."""

from math import sqrt

from airtrim.core.kernels import inline_kernel

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
