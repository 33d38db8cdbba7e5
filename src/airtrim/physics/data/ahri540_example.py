"""A compressor map in the ten-coefficient form of AHRI Standard 540, for a scroll of about 3 tons on R-410A.

What it is not: a rating of any machine on sale. The coefficients stand in many public files and their origin is unknown
(second-hand); only the shape of the map is used here, scaled to a unit's own capacity and power. Dew points in F, mass
flow in lb/h, power in W. No range came with the map; we use it for suction -18 to 60 F and discharge 70 to 150 F and
test there that flow and power stay positive and rise the right way.
"""

from typing import Final

#: X = C1 + C2 S + C3 D + C4 S^2 + C5 S D + C6 D^2 + C7 S^3 + C8 D S^2 + C9 S D^2 + C10 D^3
MASS_FLOW_LB_H: Final = (
    217.3163128, 5.094492028, -0.593170311, 4.38e-2, -2.14e-2, 1.04e-2, 7.90e-5, -5.73e-5, 1.79e-4, -8.08e-5,
)  # fmt: skip
POWER_W: Final = (
    -561.3615705, -15.62601841, 46.92506685, -0.217949552, 0.435062616, -0.442400826, 2.25e-4, 2.37e-3, -3.32e-3,
    2.50e-3,
)  # fmt: skip
#: What the map is taken to be rated at: suction superheat and liquid subcooling, K (10 F each).
SUPERHEAT_K: Final = 10.0 / 1.8
SUBCOOLING_K: Final = 10.0 / 1.8

#: R-410A enthalpy over liquid at -5.56 C, J/kg, as polynomials in the saturation temperature, C, lowest power first.
#: Least squares to the CoolProp equation of state: superheated vapour at SUPERHEAT_K from -25 to 22 C (within 8 J/kg),
#: liquid at SUBCOOLING_K from 15 to 65 C (within 5 J/kg).
VAPOUR_ENTHALPY_J_KG: Final = (2.35846093e05, 3.48388164e02, -3.03706880e00, -1.99162714e-02)
LIQUID_ENTHALPY_J_KG: Final = (3.31760216e02, 1.44202838e03, 4.79937326e00, -4.86334021e-02, 6.59618540e-04)

#: R-410A near 5 C, from the same equation of state: growth of the suction gas with superheat per kelvin, its heat J/kg K, heat
#: of vaporization J/kg.
VAPOUR_EXPANSION_PER_K: Final = 0.0073
VAPOUR_HEAT_J_KG_K: Final = 1110.0
HEAT_OF_VAPORIZATION_J_KG: Final = 214.0e3
#: ln(dew pressure / Pa) as a polynomial in temperature, C, lowest power first, -28 to 66 C (within 0.04 %).
LOG_SATURATION_PRESSURE: Final = (13.5900566, 3.18946827e-2, -1.25252417e-4, 5.64935472e-7, -1.16519611e-9)
