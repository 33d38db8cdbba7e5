"""What the air says: split, moisture and enthalpy, cooling at true density; the drain's water as the independent check."""

from dataclasses import dataclass
from math import sqrt
from typing import Any

from airtrim.physics.air.moist import dew_point_c, enthalpy_j_kg
from airtrim.work.figure import Figure
from airtrim.work.readings.join import joined_value
from airtrim.work.readings.point import Point, amount, finite, message
from airtrim.work.readings.uncertain import Uncertain, carried
from airtrim.work.readings.ways_by_heat import blower_w, drain_kg_s, leaving_humidity

#: A register lies behind ducts that warm the air, K, by the ducts' place, and one sigma [from-memory]; a plenum does not.
REGISTER_GAIN_K = {"attic": (1.5, 0.8), "unknown": (1.2, 0.9), "crawl_space": (0.8, 0.5), "inside": (0.2, 0.2)}
WATER_HEAT, DISAGREE = 4186.0, 1.96


@dataclass(frozen=True)
class AirSide:
    """Cooling of the coil (before the blower's heat), W, as far as the readings reach.

    `latent_weights` are those of wet-bulbs and drain where both told the drying.
    """

    figures: list[Figure]
    messages: list[dict[str, Any]]
    split_k: Uncertain | None
    sensible_w: Uncertain | None
    latent_w: Uncertain | None
    total_w: Uncertain | None
    duct_gain_k: float = 0.0
    latent_weights: tuple[float, ...] = ()


def air_side(point: Point, flow: Uncertain | None, drain_known_apart: bool = True) -> AirSide:
    """Split and states from the air alone; heat only with an airflow (kg/s of dry air).

    `drain_known_apart` is False where the airflow itself came from water or refrigerant: the drain then checks nothing.
    """
    reading = point.reading
    figures: list[Figure] = []
    told: list[dict[str, Any]] = []
    back, supply = point.of("return_dry_bulb") or point.of("grille_dry_bulb"), point.supply_dry_bulb()
    for where in ("return", "supply"):
        ratio = point.humidity(where)
        dry = supply if where == "supply" else point.of("return_dry_bulb")
        if ratio is None or dry is None:
            continue
        figures.append(ratio.figure(f"{where}_moisture", "kg/kg", 0.0))
        dew = carried(lambda w: dew_point_c(max(w, 1e-5), point.pressure_pa), w=ratio)
        figures.append(dew.figure(f"{where}_dew_point", "degC"))
        figures.append(
            carried(enthalpy_j_kg, temperature_c=dry, humidity_ratio=ratio).figure(f"{where}_enthalpy", "J/kg")
        )
    grille, entering = point.of("grille_dry_bulb"), point.of("return_dry_bulb")
    if grille is not None and entering is not None:
        gain_k = carried(lambda a, b: a - b, a=entering, b=grille)
        figures.append(gain_k.figure("return_duct_gain", "K"))
    if back is None or supply is None or reading.operation != "cooling":
        return AirSide(figures, told, None, None, None, None)
    split = carried(lambda a, b: a - b, a=back, b=supply)
    figures.append(split.figure("temperature_split", "K"))
    if flow is None:
        told.append(message("no_heat_without_airflow"))
        return AirSide(figures, told, split, None, None, None)

    watts = blower_w(point) if reading.blower_place != "after_supply_reading" else Uncertain(0.0)
    gain = Uncertain(0.0)
    if reading.supply_place == "register":
        middle, sigma = REGISTER_GAIN_K[point.job.ducts.place]
        gain = Uncertain(middle, {"assumed.duct_gain": sigma})
        told.append(message("register_reading", gain=amount(middle, "K")))
    ratio_back = point.return_air()[1]

    def leaving(supply: float, watts: float, gain: float, flow: float, ratio: float) -> float:
        return supply - gain - watts / (flow * (1006.0 + 1860.0 * ratio))

    coil_c = carried(leaving, supply=supply, watts=watts, gain=gain, flow=flow, ratio=ratio_back)
    figures.append(coil_c.figure("coil_leaving_air", "degC"))
    warmed = carried(lambda supply, coil: supply - coil, supply=supply, coil=coil_c)
    figures.append(warmed.figure("blower_heat_rise", "K", 0.0))
    supply_ratio = leaving_humidity(point)
    ratio_out = supply_ratio[0] if supply_ratio is not None else ratio_back
    air = {"back": back, "coil": coil_c, "ratio": ratio_back, "out": ratio_out, "flow": flow}

    def sensible(back: float, coil: float, ratio: float, out: float, flow: float) -> float:
        return flow * (1006.0 + 1860.0 * out) * (back - coil)

    def latent(back: float, coil: float, ratio: float, out: float, flow: float) -> float:
        # vapour of the return air becomes water at the coil: its own heat is counted here, the water's taken off
        return flow * (ratio - out) * (2501000.0 + 1860.0 * back - WATER_HEAT * coil)

    s = carried(sensible, **air)
    figures.append(s.figure("sensible_capacity", "W_heat"))
    delivered = carried(lambda s, watts: s - watts, s=s, watts=watts)
    figures.append(delivered.figure("sensible_delivered", "W_heat"))
    drained = drain_kg_s(point)
    by_drain = None
    if drained is not None:
        by_drain = carried(
            lambda m, back, coil: m * (2501000.0 + 1860.0 * back - WATER_HEAT * coil), m=drained, back=back, coil=coil_c
        )
        figures.append(drained.figure("drain_water", "kg/s", 0.0))
        figures.append(by_drain.figure("latent_by_drain", "W_heat", 0.0))
    read_wet = supply_ratio is not None and supply_ratio[1] and (drain_known_apart or by_drain is None)
    by_air = carried(latent, **air) if read_wet else None
    if by_air is not None:
        figures.append(by_air.figure("latent_by_air", "W_heat"))
    latent_w, weights = _one_latent(by_air, by_drain, told)
    if latent_w is None and supply_ratio is not None:
        latent_w = carried(latent, **air)
        told.append(message("latent_assumed"))
    total = carried(lambda a, b: a + b, a=s, b=latent_w) if latent_w is not None else None
    if latent_w is not None and total is not None:
        figures.append(latent_w.figure("latent_capacity", "W_heat", 0.0))
        figures.append(total.figure("total_capacity", "W_heat"))
        if total.value > 0.0:
            share = carried(lambda a, b: a / (a + b) if a + b > 0.0 else float("nan"), a=s, b=latent_w)
            figures.append(share.figure("sensible_heat_ratio", "fraction", 0.0, 1.0))
    if not finite(s):
        return AirSide(figures, told, split, None, None, None)
    return AirSide(figures, told, split, s, latent_w, total, gain.value, weights)


def _one_latent(
    by_air: Uncertain | None, by_drain: Uncertain | None, told: list[dict[str, Any]]
) -> tuple[Uncertain | None, tuple[float, ...]]:
    """Drying by wet-bulbs and by drain joined; what the drain cannot share with the air (airflow, wicks) is its strength."""
    if by_air is None or by_drain is None:
        return by_air or by_drain, ()
    apart = by_air.value - by_drain.value
    spread = sqrt(by_air.sigma**2 + by_drain.sigma**2 - 2.0 * by_air.covariance(by_drain))
    values = {
        "air": amount(by_air.value, "W_heat"),
        "drain": amount(by_drain.value, "W_heat"),
        "allowed": amount(DISAGREE * spread, "W_heat"),
    }
    told.append(message("latent_disagrees" if abs(apart) > DISAGREE * spread else "latent_agrees", **values))
    joined, weights, _ = joined_value([by_air, by_drain])
    return joined, tuple(float(weight) for weight in weights)
