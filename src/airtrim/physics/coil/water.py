"""Water that a cooling coil holds between condensing and draining, and gives back when air moves without cooling."""

from math import exp, inf, sqrt
from typing import Final

from airtrim.core.errors import OutOfRangeError
from airtrim.core.kernels import inline_kernel, kernel

#: How near the air comes to saturation over a fully wet coil that is not cooled: one less the bypass factor of a coil
#: at rated airflow (coil closure, bypass 0.2 to 0.25). It makes the initial evaporation 1.2 to 1.5 of the latent
#: capacity at 400 cfm/ton.
WET_EFFECTIVENESS = 0.78
#: Water that a wetted coil keeps, kg for each m2 of fin (both sides): 8 to 9 lb per 1000 ft2, FSEC-CR-1537-05 (second-hand).
RETAINED_KG_M2: Final = (0.039, 0.0415, 0.044)
#: The same for each watt of nominal cooling, where the fins are not known: 0.9 kg on a 3-ton coil. Low: a wet time of 12 min at
#: 2.64 kW of latent cooling; high: what delays the drain by about 10 min at 21 degC entering dew point, both told with the
#: same measurements [own-derivation].
RETAINED_KG_W: Final = (0.26 / 3516.85, 0.30 / 3516.85, 0.41 / 3516.85)
LATENT_HEAT: Final = 2.466e6


@inline_kernel
def water_step(
    held_kg: float, condensing_kg_s: float, potential_kg_s: float, step_s: float, greatest_kg: float
) -> tuple[float, float, float]:
    """Advance the water on the coil by one step: (held kg, drained kg/s, evaporated kg/s).

    `condensing_kg_s` comes from the cooling coil. `potential_kg_s` is what the air stream could take up if it left
    saturated at its wet bulb: dry-air flow x (saturation humidity ratio at the wet bulb - entering humidity ratio);
    zero when no air moves. Up to `greatest_kg` is held and the rest drains. The wetted part of the fins is taken as the
    root of the filling, which makes the evaporation fall linearly in time as in Henderson & Rengarajan (1996); the step
    is exact for that law, so it cannot take more than is held. Evaporation is adiabatic: the air loses as much sensible
    heat as the water takes up.
    """
    per_step = 1.0 / step_s
    if greatest_kg <= 0.0:
        return 0.0, condensing_kg_s + held_kg * per_step, 0.0
    evaporated = 0.0
    if not (potential_kg_s <= 0.0 or held_kg <= 0.0):  # NaN goes in, so that NaN comes out
        per_greatest = 1.0 / greatest_kg
        root = sqrt(held_kg * per_greatest) - 0.5 * WET_EFFECTIVENESS * potential_kg_s * step_s * per_greatest
        left = 0.0 if root <= 0.0 else greatest_kg * root * root
        evaporated = (held_kg - left) * per_step
        held_kg = left
    held_kg += condensing_kg_s * step_s
    drained = 0.0
    if held_kg > greatest_kg:
        drained = (held_kg - greatest_kg) * per_step
        held_kg = greatest_kg
    return held_kg, drained, evaporated


def retained_water_kg(fin_area_m2: float) -> tuple[float, float, float]:
    """Most water a coil keeps before it drains, kg: low, middle, high. `fin_area_m2` counts both sides, 1 to 200 m2."""
    if not 1.0 <= fin_area_m2 <= 200.0:
        raise OutOfRangeError(
            f"fin area must lie in 1 to 200 m2, got {fin_area_m2:g} m2: count both sides of every fin, not the coil's face."
        )
    low, middle, high = (fin_area_m2 * each for each in RETAINED_KG_M2)
    return low, middle, high


def retained_water_from_size_kg(size_w: float) -> tuple[float, float, float]:
    """The same from the nominal cooling of the coil, 1,500 to 60,000 W, where its fins were not counted."""
    if not 1500.0 <= size_w <= 60000.0:
        raise OutOfRangeError(f"nominal cooling must lie in 1500 to 60000 W, got {size_w:g} W: check the tonnage.")
    low, middle, high = (size_w * each for each in RETAINED_KG_W)
    return low, middle, high


@kernel
def first_drain_s(greatest_kg: float, held_kg: float, latent_w: float, lag_s: float) -> float:
    """Seconds from the compressor's start until condensate reaches the drain: what the coil can still hold fills first.

    Cooling comes up as 1 - exp(-t / `lag_s`), so t + lag (exp(-t / lag) - 1) = (greatest - held) x latent heat / latent
    cooling: the mass balance of `latent_ratio`. Zero on a full coil, infinite where nothing condenses (`latent_w` 0).
    """
    wanted = (greatest_kg - held_kg) * LATENT_HEAT / latent_w
    if wanted <= 0.0:
        return 0.0
    if wanted == inf:
        return inf
    time = wanted + lag_s
    for _ in range(60):
        change = (time + lag_s * (exp(-time / lag_s) - 1.0) - wanted) / (1.0 - exp(-time / lag_s))
        time -= change
        if abs(change) < 1e-9:
            break
    return time


@kernel
def latent_ratio(
    run_fraction: float,
    wet_time_s: float,
    evaporation_ratio: float,
    cycles_per_h: float,
    lag_s: float,
    fan_off_s: float,
) -> float:
    """Part-load latent capacity as a fraction of steady, for a thermostat cycling at `cycles_per_h` (greatest, at half
    load).

    Closed form of Henderson & Rengarajan (1996), re-derived from the mass balance: `wet_time_s` is the water the coil
    holds x latent heat / latent capacity, `evaporation_ratio` the initial evaporation / latent capacity, `lag_s` the
    time constant of the start, `fan_off_s` how long air moves after the compressor stops (infinite for a constant fan).
    0 < run_fraction < 1.
    """
    time_on = 3600.0 / (4.0 * cycles_per_h * (1.0 - run_fraction))
    time_off = 3600.0 / (4.0 * cycles_per_h * run_fraction)
    drying = min(min(time_off, fan_off_s), 2.0 * wet_time_s / evaporation_ratio)
    lost = evaporation_ratio * drying - (evaporation_ratio * drying) ** 2 / (4.0 * wet_time_s)
    start = lost + lag_s
    for _ in range(60):
        change = (start + lag_s * (exp(-start / lag_s) - 1.0) - lost) / (1.0 - exp(-start / lag_s))
        start -= change
        if abs(change) < 1e-9:
            break
    if lost <= 0.0:
        start = 0.0
    return max(0.0, (time_on - start) / (time_on + lag_s * (exp(-time_on / lag_s) - 1.0)))
