"""Water that a cooling coil holds between condensing and draining, and gives back when air moves without cooling."""

from math import exp, sqrt

from airtrim.core.kernels import inline_kernel, kernel

#: How near the air comes to saturation over a fully wet coil that is not cooled: one less the bypass factor of a coil
#: at rated airflow (coil closure, bypass 0.2 to 0.25). It makes the initial evaporation 1.2 to 1.5 of the latent
#: capacity at 400 cfm/ton.
WET_EFFECTIVENESS = 0.78


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
    if greatest_kg <= 0.0:
        return 0.0, condensing_kg_s + held_kg / step_s, 0.0
    evaporated = 0.0
    if not (potential_kg_s <= 0.0 or held_kg <= 0.0):  # NaN goes in, so that NaN comes out
        root = sqrt(held_kg / greatest_kg) - 0.5 * WET_EFFECTIVENESS * potential_kg_s * step_s / greatest_kg
        left = 0.0 if root <= 0.0 else greatest_kg * root * root
        evaporated = (held_kg - left) / step_s
        held_kg = left
    held_kg += condensing_kg_s * step_s
    drained = 0.0
    if held_kg > greatest_kg:
        drained = (held_kg - greatest_kg) / step_s
        held_kg = greatest_kg
    return held_kg, drained, evaporated


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
