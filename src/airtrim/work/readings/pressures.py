"""Where the pressure goes: supply, return, filter and coil by port, which part is the restriction and by how much, closed doors."""

from dataclasses import dataclass
from typing import Any

from airtrim.job.readings import Room
from airtrim.physics.blower.airflow_readings import opening_airflow_m3_s
from airtrim.work.figure import Figure
from airtrim.work.readings.point import Point, amount, message
from airtrim.work.readings.uncertain import Uncertain, carried

IN_WC = 249.0889
#: What each part may take at 400 cfm/ton, Pa: the filter's design allowance 0.10 in [common-practice]; a wet coil 0.15 to 0.30 and
#: a dry one 0.10 to 0.25 in [from-memory]; the ducts together less than 40 % of 0.50 in [common-practice], halved [judgement].
ALLOWED_PA = {
    "return_duct": 0.10 * IN_WC,
    "filter": 0.10 * IN_WC,
    "coil": 0.25 * IN_WC,
    "coil_wet": 0.30 * IN_WC,
    "supply_duct": 0.10 * IN_WC,
}
#: dP goes as airflow to this power [from-memory; coil: worked out from a coil catalogue].
EXPONENTS = {"return_duct": 1.9, "filter": 1.4, "coil": 1.65, "coil_wet": 1.65, "supply_duct": 1.9}
NOMINAL_M3_S_PER_W = 400.0 * 0.0004719474432 / 3516.853
#: A wet coil takes about 0.05 in more than a dry one [common-practice]; a coil above 0.50 in is suspect whatever the airflow.
WET_MORE_PA, COIL_SUSPECT_PA = 0.05 * IN_WC, 0.50 * IN_WC
#: A closed room's pressure that harms nothing, Pa [from-memory]; how much the door gap lets by (discharge 0.6).
CLOSED_ROOM_PA, DISCHARGE = 3.0, 0.6
RATED_STATIC_PA = 0.50 * IN_WC


@dataclass(frozen=True)
class Pressures:
    """Parts in Pa; `external` is supply plus return outside the unit; messages and figures beside."""

    parts: dict[str, Uncertain]
    external: Uncertain | None
    figures: list[Figure]
    messages: list[dict[str, Any]]
    restriction: str | None


def coil_before_blower(point: Point) -> bool:
    """An air handler draws through its coil, a furnace blows through it."""
    return point.job.heat.kind != "furnace"


def _magnitude(one: Uncertain | None) -> Uncertain | None:
    if one is None:
        return None
    sign = -1.0 if one.value < 0.0 else 1.0
    return Uncertain(abs(one.value), {name: sign * part for name, part in one.parts.items()})


def parts_of(point: Point) -> dict[str, Uncertain]:
    """Pressure drop of each part that the ports give, Pa. A port's sign does not matter: its place says suction or push."""
    before_filter, after_filter, before_coil, after_coil, supply = (
        _magnitude(point.of(name))
        for name in (
            "static_before_filter",
            "static_after_filter",
            "static_before_coil",
            "static_after_coil",
            "static_supply",
        )
    )
    draws = coil_before_blower(point)
    parts: dict[str, Uncertain] = {}

    def put(name: str, high: Uncertain | None, low: Uncertain | None) -> None:
        if high is not None and low is not None:
            parts[name] = carried(lambda a, b: a - b, a=high, b=low)

    if before_filter is not None:
        parts["return_duct"] = before_filter
    put("filter", after_filter, before_filter)
    if draws:  # both sides of the coil are under suction, which grows towards the blower
        put("coil", after_coil, before_coil or after_filter)
        if supply is not None:
            parts["supply_duct"] = supply
    else:
        leaving = after_coil or supply
        put("coil", before_coil, leaving)
        if leaving is not None:
            parts["supply_duct"] = leaving
    return parts


def external_static(point: Point) -> Uncertain | None:
    """Supply plus return outside the unit, Pa: as read, else from the ports (a furnace has its coil outside)."""
    read = point.of("total_external_static")
    if read is not None:
        return read
    back = _magnitude(point.of("static_after_filter") or point.of("static_before_filter"))
    push = _magnitude(point.of("static_supply") if coil_before_blower(point) else point.of("static_before_coil"))
    if push is None and coil_before_blower(point) is False:
        push = _magnitude(point.of("static_supply"))
    if back is None or push is None:
        return None
    return carried(lambda a, b: a + b, a=back, b=push)


def pressures(point: Point, airflow_m3_s: Uncertain | None) -> Pressures:
    """The budget of one point; with an airflow the allowances are those of that airflow."""
    parts, external = parts_of(point), external_static(point)
    figures = [one.figure(f"{name}_drop", "Pa") for name, one in parts.items()]
    messages: list[dict[str, Any]] = []
    if external is not None:
        figures.insert(0, external.figure("external_static", "Pa", 0.0))
        if external.lowest > RATED_STATIC_PA:
            messages.append(
                message("static_high", static=amount(external.value, "Pa"), rated=amount(RATED_STATIC_PA, "Pa"))
            )
    for name, one in parts.items():
        if one.highest < 0.0:
            messages.append(message("ask.drop_backwards", part={"id": f"reading.part.{name}"}))
    restriction, told = _restriction(point, parts, airflow_m3_s)
    figures += told[0]
    messages += told[1]
    messages += _coil(point, parts)
    doors_figures, doors = _closed_doors(point, external)
    return Pressures(parts, external, figures + doors_figures, messages + doors, restriction)


def _restriction(
    point: Point, parts: dict[str, Uncertain], airflow: Uncertain | None
) -> tuple[str | None, tuple[list[Figure], list[dict[str, Any]]]]:
    """The part with the greatest excess over its allowance, if beyond its uncertainty, and whether another may be it as well."""
    nominal = NOMINAL_M3_S_PER_W * point.job.system.outdoor_size.si
    wet = point.reading.coil != "dry"
    excess: dict[str, Uncertain] = {}
    for name, drop in parts.items():
        rule = "coil_wet" if name == "coil" and wet else name
        allowed, power = ALLOWED_PA[rule], EXPONENTS[rule]
        flow = airflow if airflow is not None else Uncertain(nominal)
        excess[name] = carried(
            lambda drop, q, allowed=allowed, power=power: drop - allowed * max(q / nominal, 0.05) ** power,
            drop=drop,
            q=flow,
        )
    figures = [one.figure(f"{name}_excess", "Pa") for name, one in excess.items()]
    if not excess:
        return None, (figures, [])
    worst = max(excess, key=lambda name: excess[name].value)
    if excess[worst].lowest <= 0.0:
        return None, (figures, [message("no_restriction")] if len(excess) > 1 else [])
    others = [
        name
        for name, one in excess.items()
        if name != worst and one.value > 0.0 and carried(lambda a, b: a - b, a=excess[worst], b=one).lowest <= 0.0
    ]
    part = {"id": f"reading.part.{worst}"}
    values = {
        "part": part,
        "drop": amount(parts[worst].value, "Pa"),
        "more": amount(excess[worst].value, "Pa"),
    }
    if others:
        return None, (figures, [message("restriction_either", **values, other={"id": f"reading.part.{others[0]}"})])
    return worst, (figures, [message("restriction", **values)])


def _coil(point: Point, parts: dict[str, Uncertain]) -> list[dict[str, Any]]:
    coil = parts.get("coil")
    if coil is None:
        return []
    told = []
    if coil.lowest > COIL_SUSPECT_PA:
        told.append(message("coil_suspect", drop=amount(coil.value, "Pa")))
        told.append(message("coil_clean_and_read"))
    if point.reading.coil == "dry":
        told.append(message("coil_dry", more=amount(WET_MORE_PA, "Pa")))
    elif point.reading.coil == "unknown":
        told.append(message("coil_state_not_noted"))
    return told


def _closed_doors(point: Point, external: Uncertain | None) -> tuple[list[Figure], list[dict[str, Any]]]:
    figures, told = [], []
    closed = point.of("closed_doors_static")
    if closed is not None and external is not None:
        step = carried(lambda a, b: a - b, a=closed, b=external)
        figures.append(step.figure("closed_doors_step", "Pa"))
        if step.lowest > 0.0:
            told.append(message("doors_add", more=amount(step.value, "Pa")))
    for room in point.reading.rooms:
        if room.supply is not None and (room.pressure is None or room.way_back is not None):
            told.append(_opening(room, room.supply.si))
        if room.pressure is None:
            continue
        pressure = point.taken("rooms", room.pressure, f".{room.name}")
        if abs(pressure.value) - 1.645 * pressure.sigma <= CLOSED_ROOM_PA:
            continue
        values: dict[str, Any] = {"room": room.name, "pressure": amount(pressure.value, "Pa")}
        if room.supply is None or room.way_back is not None:
            told.append(message("room_pressure", **values))
            continue
        # all the room's air finds its way out at 3 Pa: air the way back must pass, less what the gaps passed at the pressure read
        whole = room.supply.si / opening_airflow_m3_s(1.0, CLOSED_ROOM_PA, DISCHARGE, 1.2)
        present = room.supply.si / opening_airflow_m3_s(1.0, max(abs(pressure.value), 0.1), DISCHARGE, 1.2)
        told.append(message("room_way_back", **values, area=amount(max(whole - present, 0.0) * 1e4, "cm2")))
    return figures, told


def _opening(room: Room, supply_m3_s: float) -> dict[str, Any]:
    """What a closed room's way back passes at 3 Pa, the open area its air needs there, and how much is lacking."""
    whole = supply_m3_s / opening_airflow_m3_s(1.0, CLOSED_ROOM_PA, DISCHARGE, 1.2)
    values: dict[str, Any] = {
        "room": room.name,
        "supply": amount(supply_m3_s, "m3/s_room"),
        "whole": amount(whole * 1e4, "cm2"),
    }
    if room.way_back is None:
        return message("room_opening", **values)
    passes = opening_airflow_m3_s(room.way_back.si, CLOSED_ROOM_PA, DISCHARGE, 1.2)
    values |= {"present": amount(room.way_back.si * 1e4, "cm2"), "passes": amount(passes, "m3/s_room")}
    lacking = whole - room.way_back.si
    if lacking <= 0.0:
        return message("room_opening_enough", **values)
    return message("room_opening_more", **values, area=amount(lacking * 1e4, "cm2"))
