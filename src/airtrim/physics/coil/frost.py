"""Frost on a cooling coil: where it starts, how it grows, what air it takes away, how it thaws.

    coldest inlet     saturated suction - circuit offset
    inlet surface     coldest inlet + INLET_PLACE (mean surface - coldest inlet)
    frosting part     the part of the fins below freezing, were their temperatures spread evenly about the mean surface
    frost surface     inlet surface, warmed as the frost insulates it (conductances in series between air and refrigerant)
    freezing          frosting part x air that touches it x (entering humidity ratio - that of ice at the frost surface),
                      only where the inlet surface is below freezing; it fades out as the frost surface comes up to 0 degC
    air               frost narrows the gaps between fins; the coil's drop rises, and the air settles on the blower's curve
    melting           by the air that moves while the compressor rests, by a surface above freezing, or by what surrounds
                      the cabinet

The feedback is in the season: less air lowers the suction, and that freezes more. A thin layer stops of itself when its surface
reaches 0 degC; beyond, water runs over it. What is left out: frost does not lower the coil's own conductance (the air it takes
away does), it does not densify with age, and it does not freeze the water already held on the fins.

Water: every kilogram frozen is taken out of what the coil condenses and every kilogram melted is given back. Heat: freezing
takes `HEAT_OF_FUSION` out of the coil's sensible cooling, melting gives it back to the air or takes it from the surroundings.

Temperatures degC, flows kg of dry air a second, mass kg, thickness m. Kernels take NaN to NaN. Names are explained in
docs/nomenclature.md.
"""

from math import sqrt
from typing import Final

from airtrim.core.kernels import inline_kernel
from airtrim.physics.air.moist import saturation_pressure_fast_pa
from airtrim.physics.coil.water import WET_EFFECTIVENESS

#: Icing is judged at the coldest circuit-inlet saturation: warn below 36 F, stop below 32 F (judgement), degC.
WARN_C: Final = (36.0 - 32.0) / 1.8
STOP_C: Final = 0.0
#: By how much the coldest circuit boils colder than the one saturated suction that carries the whole coil, K: low, middle, high,
#: for a unit of which no loop is at hand (unit/circuits has it from the loop). Half of 1 to 2 K of saturation lost along a circuit,
#: and 0 to 1 K because circuits are fed and loaded unevenly [own-derivation].
CIRCUIT_OFFSET_K: Final = (0.3, 1.0, 2.0)
#: Place of the coldest fins between coldest saturation and mean surface: on the air's leaving side a counterflow coil carries
#: about 0.74 of its mean flux (0.44 of the enthalpy difference taken at rating), and half of the resistance behind the mean
#: surface is the fin's [own-derivation]; 0 to 0.5.
INLET_PLACE: Final = 0.3
#: The least part that frosts at all: the first tubes of the circuits.
LEAST_PART: Final = 0.02
#: Fin area (both sides) for each kg/s of rated air: 0.9 kg of water at 0.0415 kg/m2 on a coil of 0.68 kg/s (3 tons); the
#: measured numbers are FSEC-CR-1537-05's, second-hand [own-derivation].
FIN_AREA_M2_S_KG: Final = 32.0
#: Clear gap between fins, m: 14 fins an inch less their own thickness [from-memory].
FIN_GAP_M: Final = 1.7e-3
#: Density of frost near melting, kg/m3: 100 to 300 over most of its life [from-memory]; late, warm frost is at the dense end.
DENSITY_KG_M3: Final = 250.0
#: J/kg, ASHRAE Handbook - Fundamentals.
HEAT_OF_FUSION: Final = 333500.0
#: Total heat over sensible heat of room air at a surface near freezing (21 degC, 50 %: 31 of 21 kJ/kg) [own-derivation].
WET_FACTOR: Final = 1.5
#: Moist air, J/kg K, as in the season.
SPECIFIC_HEAT: Final = 1006.0 + 1860.0 * 0.0095
#: The frost surface's last kelvin below freezing over which freezing fades into running water: fins differ (judgement).
FADE_K: Final = 1.0
#: Opening left when a coil is iced shut, as a part of the clean one: cracks and the gaps round the slab, 0.1 to 0.2
#: (judgement); it also bounds how far the blower is throttled.
PAST_ICE: Final = 0.15
#: The clean wet coil's part of the whole pressure drop, 0.25 to 0.3, as blower/system takes it.
COIL_SHARE: Final = 0.28
#: A cabinet's conductance to its surroundings for each kg/s of rated air, J/kg K: about 2.5 W/K for 3 tons (2 m2 of R-4 lining
#: and its gaps) [own-derivation].
SURROUNDINGS_J_KG_K: Final = 3.7
#: Frost that can be seen, kg: it counts as present.
SEEN_KG: Final = 0.001


@inline_kernel
def frost_conductivity_w_m_k(density_kg_m3: float) -> float:
    """Yonko and Sepsy 1967 [from-memory]; below 570 kg/m3."""
    return 0.02422 + density_kg_m3 * (7.214e-4 + 1.1797e-6 * density_kg_m3)


#: The same at `DENSITY_KG_M3`, W/m K.
CONDUCTIVITY_W_M_K: Final = 0.02422 + DENSITY_KG_M3 * (7.214e-4 + 1.1797e-6 * DENSITY_KG_M3)


@inline_kernel
def ice_humidity_ratio(temperature_c: float, pressure_pa: float) -> float:
    """Humidity ratio of air saturated over ice, -20 to 0 degC: the water formula times the ratio of the two pressures."""
    over_ice = saturation_pressure_fast_pa(temperature_c) * (1.0 + temperature_c * (0.00973 + 4.4e-5 * temperature_c))
    return 0.621945 * over_ice / (pressure_pa - over_ice)


@inline_kernel
def inlet_surface_c(coldest_inlet_c: float, mean_surface_c: float) -> float:
    """Temperature of the fins round the coldest circuit inlet, degC."""
    return coldest_inlet_c + INLET_PLACE * (mean_surface_c - coldest_inlet_c)


@inline_kernel
def frosting_part(inlet_c: float, mean_surface_c: float) -> float:
    """Part of the fins below freezing, 0 to 1, were their temperatures spread evenly from the inlet's to as much above the mean."""
    spread = max(2.0 * (mean_surface_c - inlet_c), 0.1)
    return min(max(-inlet_c / spread, 0.0), 1.0)


@inline_kernel
def frost_thickness_m(frost_kg: float, part: float, rated_flow_kg_s: float) -> float:
    """Thickness of `frost_kg` spread over a `part` (above 0) of the fins on both sides of every gap."""
    return frost_kg / (DENSITY_KG_M3 * FIN_AREA_M2_S_KG * rated_flow_kg_s * part)


@inline_kernel
def gap_left(thickness_m: float) -> float:
    """Free width between two frosted fins as a part of the clean gap, 0 to 1."""
    return max(1.0 - 2.0 * thickness_m / FIN_GAP_M, 0.0)


@inline_kernel
def coil_drop_ratio(gap: float, part: float) -> float:
    """Pressure drop of the frosted coil over the clean one at the same airflow.

    Between plates a drop of f (L / D) u^2 / 2 with f as Re^-1/2 (drop as flow^1.5, a coil's exponent being 1.4 to 1.9) passes
    air as gap^2 at a given drop [own-derivation]. Frosted and free parts lie side by side; past ice that closes everything
    `PAST_ICE` of the air still finds a way.
    """
    passing = max(1.0 - part * (1.0 - gap * gap), PAST_ICE)
    return 1.0 / (passing * sqrt(passing))


@inline_kernel
def air_left(frost_kg: float, part: float, rated_flow_kg_s: float) -> float:
    """Airflow over what the same blower moved without frost, 0 to 1; exactly 1 without frost.

    The path's drop goes as airflow^2, the wheel's pressure as 1.6 - 0.6 airflow^2 (blower/system), at constant speed.
    """
    gap = gap_left(frost_thickness_m(frost_kg, max(part, LEAST_PART), rated_flow_kg_s))
    resistance = 1.0 - COIL_SHARE + COIL_SHARE * coil_drop_ratio(gap, part)
    return sqrt(1.6 / (0.6 + resistance))


@inline_kernel
def frost_surface_c(
    inlet_c: float, coldest_inlet_c: float, entering_c: float, thickness_m: float, bypass_units: float
) -> float:
    """Temperature of the frost's face: air film, frost, and what lies between fin and refrigerant are in series.

    `bypass_units` are the coil's rated transfer units, which tell the air film's conductance.
    """
    film = WET_FACTOR * bypass_units * SPECIFIC_HEAT / FIN_AREA_M2_S_KG
    layer = thickness_m * film / CONDUCTIVITY_W_M_K
    whole, outer = entering_c - coldest_inlet_c, entering_c - inlet_c
    return entering_c - outer * whole / (whole + layer * outer)


@inline_kernel
def frost_step(
    frost_kg: float,
    part: float,
    coldest_inlet_c: float,
    mean_surface_c: float,
    entering_c: float,
    entering_humidity: float,
    moved_kg_s: float,
    running: float,
    around_c: float,
    rated_flow_kg_s: float,
    bypass_units: float,
    pressure_pa: float,
    step_s: float,
) -> tuple[float, float, float, float, float]:
    """Advance the frost by one step: (frost kg, frosted part, freezing kg/s, melted by the air kg/s, melted otherwise kg/s).

    `running` (0 to 1) says how much of the steady cooling there is. `part` is the greatest part frosted since the coil was
    last bare. Frost kg afterwards = before + step x (freezing - both meltings), never below zero.
    """
    inlet = inlet_surface_c(coldest_inlet_c, mean_surface_c)
    icy = running > 0.001 and inlet < 0.0
    now = max(frosting_part(inlet, mean_surface_c), LEAST_PART) if icy else 0.0
    part = max(part, now)
    thickness = frost_thickness_m(frost_kg, max(part, LEAST_PART), rated_flow_kg_s)
    gap = gap_left(thickness)
    touching = WET_EFFECTIVENESS * moved_kg_s * part
    face = frost_surface_c(inlet, coldest_inlet_c, entering_c, thickness, bypass_units)
    cold = min(max(-face / FADE_K, 0.0), 1.0)
    excess = max(entering_humidity - ice_humidity_ratio(min(face, 0.0), pressure_pa), 0.0)
    freezing = running * touching * gap * gap * cold * excess if icy else 0.0
    warmth = running * inlet + (1.0 - running) * entering_c
    thawing = touching * max(gap * gap, PAST_ICE) * SPECIFIC_HEAT * max(warmth, 0.0) / HEAT_OF_FUSION
    by_air_kg = min(thawing * step_s, frost_kg)
    still = SURROUNDINGS_J_KG_K * rated_flow_kg_s * max(around_c, 0.0) / HEAT_OF_FUSION if moved_kg_s <= 0.0 else 0.0
    still_kg = min(still * step_s, frost_kg - by_air_kg)
    frost_kg = frost_kg - by_air_kg - still_kg + step_s * freezing
    part = 0.0 if frost_kg <= 0.0 else part
    return frost_kg, part, freezing, by_air_kg / step_s, still_kg / step_s
