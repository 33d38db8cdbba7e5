"""Readings that are possible but unlikely: which one or which two, and what may have happened. It asks and refuses nothing."""

import re
from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Any

from airtrim.core.errors import InputError
from airtrim.job.measured import Measured, measured
from airtrim.physics.air.moist import humidity_ratio_from_relative_humidity, relative_humidity, wet_bulb_c
from airtrim.physics.refrigerant import saturation
from airtrim.tables import refrigerant
from airtrim.tables.refrigerants import NAMES
from airtrim.work.readings.point import Point, amount, message
from airtrim.work.readings.pressures import external_static, parts_of
from airtrim.work.readings.refrigerant_state import RefrigerantState
from airtrim.work.readings.uncertain import Uncertain, carried

F = 1.0 / 1.8
IN_WC = 249.0889
#: Where each reading lies in a house that is cooled or heated, SI [common-practice]; outside it is asked about.
USUAL: dict[str, dict[str, tuple[float, float]]] = {
    "cooling": {
        "return_dry_bulb": (15.0, 38.0),
        "return_wet_bulb": (8.0, 28.0),
        "grille_dry_bulb": (15.0, 38.0),
        "grille_wet_bulb": (8.0, 28.0),
        "supply_dry_bulb": (2.0, 27.0),
        "supply_wet_bulb": (1.0, 25.0),
        "outdoor_dry_bulb": (10.0, 50.0),
        "saturated_suction": (-15.0, 20.0),
        "suction_line": (-10.0, 32.0),
        "liquid_line": (12.0, 62.0),
    },
    "heating": {"return_dry_bulb": (8.0, 30.0), "supply_dry_bulb": (22.0, 85.0), "outdoor_dry_bulb": (-35.0, 30.0)},
    "fan_only": {"return_dry_bulb": (8.0, 38.0), "outdoor_dry_bulb": (-35.0, 50.0)},
}
STATICS = ("total_external_static", "static_supply", "static_after_filter", "static_before_filter")
USUAL_STATIC_PA = (0.02 * IN_WC, 2.0 * IN_WC)
USUAL_HUMIDITY = (0.20, 0.95)
#: Saturated suction and condensing that a running system shows, degC.
RUNNING_SUCTION, RUNNING_CONDENSING = (-12.0, 20.0), (15.0, 68.0)
#: Airflow that field surveys met, m3/s per W (130 to 510 cfm/ton) [fsec-pf-321].
CFM_PER_TON = 0.0004719474432 / 3516.853
FIELD_AIRFLOW = (130.0 * CFM_PER_TON, 510.0 * CFM_PER_TON)
_PARTS = re.compile(r"^\s*([-+]?)([\d.,]+)\s*(.*?)\s*$")


def plausibility(point: Point, state: RefrigerantState) -> list[dict[str, Any]]:
    """Questions about one point, the plainest first."""
    asked: list[dict[str, Any]] = []
    seen: set[str] = set()
    for name, (low, high) in USUAL[point.reading.operation].items():
        given = getattr(point.reading, name)
        if given is not None and not low <= given.si <= high:
            asked.append(_odd(name, given, _within(low, high)))
            seen.add(name)
    for name in STATICS:
        given = getattr(point.reading, name)
        if given is not None and not USUAL_STATIC_PA[0] <= abs(given.si) <= USUAL_STATIC_PA[1]:
            asked.append(_odd(name, given, lambda value: USUAL_STATIC_PA[0] <= abs(value) <= USUAL_STATIC_PA[1]))
    asked += [one for one in _air(point) if not _about(one, seen)]
    asked += [one for one in _refrigerant(point, state) if not _about(one, seen)]
    asked += _rest(point)
    return asked


def _within(low: float, high: float) -> Callable[[float], bool]:
    return lambda value: low <= value <= high


def _about(one: dict[str, Any], seen: set[str]) -> bool:
    """Whether a reading already asked about is one of the two."""
    names = {
        str(value["id"]).removeprefix("reading.")
        for value in one["values"].values()
        if isinstance(value, dict) and "id" in value
    }
    return bool(names & seen)


def other_unit(given: Measured) -> Measured | None:
    """The same number with the other temperature unit, or inches of water for pascals; None where there is none."""
    found = _PARTS.match(given.text)
    if found is None:
        return None
    number, unit = found.group(1) + found.group(2), found.group(3)
    swap = {"degC": ("C", "F") if unit.lstrip("°").upper().endswith("F") else ("F", "C"), "Pa": ("inH2O", "Pa")}
    if given.unit not in swap:
        return None
    other = swap[given.unit][0]
    if other == unit:
        other = swap[given.unit][1]
    return _again(f"{number} {other}", given.unit)


def transposed(given: Measured) -> Iterator[Measured]:
    """The same value with two neighbouring digits swapped, in its own unit."""
    found = _PARTS.match(given.text)
    if found is None:
        return
    sign, digits, unit = found.groups()
    places = [index for index, letter in enumerate(digits) if letter.isdigit()]
    for first, second in pairwise(places):
        if digits[first] == digits[second] or (first == places[0] and digits[second] == "0"):
            continue
        letters = list(digits)
        letters[first], letters[second] = letters[second], letters[first]
        read = _again(f"{sign}{''.join(letters)} {unit}", given.unit)
        if read is not None:
            yield read


def _again(text: str, unit: str) -> Measured | None:
    try:
        return measured(text, unit, -1e9, 1e9, "the value", text)
    except InputError:
        return None


def _odd(name: str, given: Measured, fits: Callable[[float], bool]) -> dict[str, Any]:
    what = {"id": f"reading.{name}"}
    other = other_unit(given)
    if other is not None and fits(other.si):
        return message("ask.unit", what=what, given=given.text, other=other.text)
    for one in transposed(given):
        if fits(one.si):
            return message("ask.digits", what=what, given=given.text, other=one.text)
    return message("ask.unusual", what=what, given=given.text)


def _pair(
    identity: str, first: tuple[str, Measured], second: tuple[str, Measured], fits: Callable[[float, float], bool]
) -> dict[str, Any]:
    """A question about two readings; where one with its digits swapped or in the other unit would be usual and fit, that."""

    def with_second(value: float) -> bool:
        return fits(value, second[1].si)

    def with_first(value: float) -> bool:
        return fits(first[1].si, value)

    for (name, given), fitting in ((first, with_second), (second, with_first)):
        low, high = USUAL["cooling"].get(name, (-1e9, 1e9))

        def keep(
            value: float, fitting: Callable[[float], bool] = fitting, low: float = low, high: float = high
        ) -> bool:
            return low <= value <= high and fitting(value)

        other = other_unit(given)
        if other is not None and keep(other.si):
            return message("ask.unit", what={"id": f"reading.{name}"}, given=given.text, other=other.text)
        for one in transposed(given):
            if keep(one.si):
                return message("ask.digits", what={"id": f"reading.{name}"}, given=given.text, other=one.text)
    return message(
        identity,
        first={"id": f"reading.{first[0]}"},
        first_value=first[1].text,
        second={"id": f"reading.{second[0]}"},
        second_value=second[1].text,
    )


def _air(point: Point) -> Iterator[dict[str, Any]]:
    reading = point.reading
    for where in ("return", "grille", "supply"):
        dry, wet = getattr(reading, f"{where}_dry_bulb"), getattr(reading, f"{where}_wet_bulb")
        if dry is None or wet is None:
            continue
        names = (f"{where}_wet_bulb", wet), (f"{where}_dry_bulb", dry)
        if wet.si > dry.si:
            yield message("saturated", first={"id": f"reading.{names[0][0]}"}, first_value=wet.text,
                          second={"id": f"reading.{names[1][0]}"}, second_value=dry.text)  # fmt: skip
        elif where != "supply":

            def usual(wet: float, dry: float) -> bool:
                ratio = point._from_wet_bulb(dry, wet)
                return (
                    wet <= dry
                    and USUAL_HUMIDITY[0] <= relative_humidity(dry, ratio, point.pressure_pa) <= USUAL_HUMIDITY[1]
                )

            if not usual(wet.si, dry.si):
                yield _pair("ask.odd_humidity", names[0], names[1], lambda w, d: usual(w, d))
    for where in ("return", "supply"):
        yield from _humidity_twice(point, where)
    back, out = point.humidity("return"), point.humidity("supply")
    if back is not None and out is not None and reading.operation == "cooling":
        more = carried(lambda a, b: a - b, a=out, b=back)
        if more.lowest > 0.0 and reading.supply_wet_bulb is not None and reading.return_wet_bulb is not None:
            yield message("ask.supply_wetter", supply=reading.supply_wet_bulb.text, back=reading.return_wet_bulb.text)
    if reading.grille_dry_bulb is not None and reading.return_dry_bulb is not None and reading.operation == "cooling":
        colder = carried(lambda a, b: a - b, a=_of(point, "grille_dry_bulb"), b=_of(point, "return_dry_bulb"))
        if colder.lowest > 0.0:
            yield _pair(
                "ask.return_colder_than_grille",
                ("return_dry_bulb", reading.return_dry_bulb),
                ("grille_dry_bulb", reading.grille_dry_bulb),
                lambda back, grille: 0.0 <= back - grille < 6.0,
            )


def _humidity_twice(point: Point, where: str) -> Iterator[dict[str, Any]]:
    """Wet-bulb and probe of the same air that part by more than both allow: which two, and what each would imply."""
    dry = point.supply_dry_bulb() if where == "supply" else point.of(f"{where}_dry_bulb")
    wet, probe = point.of(f"{where}_wet_bulb"), point.of(f"{where}_relative_humidity")
    if dry is None or wet is None or probe is None or wet.value > dry.value:
        return
    by_wet = carried(lambda t, w: relative_humidity(t, point._from_wet_bulb(t, w), point.pressure_pa), t=dry, w=wet)
    apart = carried(lambda a, b: a - b, a=by_wet, b=probe)
    if abs(apart.value) > 1.96 * apart.sigma:
        air = carried(
            lambda t, rh: wet_bulb_c(t, humidity_ratio_from_relative_humidity(t, rh, point.pressure_pa), point.pressure_pa),
            t=dry, rh=probe,
        )  # fmt: skip
        yield message(
            "ask.humidity_twice",
            place={"id": f"reading.{where}_air"},
            wet=amount(wet.value, "degC"),
            probe=amount(probe.value, "fraction"),
            by_wet=amount(by_wet.value, "fraction"),
            by_probe=amount(air.value, "degC"),
        )


def _of(point: Point, name: str) -> Uncertain:
    read = point.of(name)
    assert read is not None
    return read


def _refrigerant(point: Point, state: RefrigerantState) -> Iterator[dict[str, Any]]:
    reading = point.reading
    if reading.operation != "cooling" or point.iced:  # no running system has the pressures of a coil in ice
        return
    low, high = reading.suction_pressure, reading.liquid_pressure or reading.discharge_pressure
    for name, given, saturated in (
        ("suction_pressure", low, state.suction_c),
        ("liquid_pressure" if reading.liquid_pressure is not None else "discharge_pressure", high, state.condensing_c),
    ):
        if point.job.system.refrigerant != "unknown" and given is not None and saturated is None:
            what = {"id": f"reading.{name}"}
            yield message(
                "ask.off_refrigerant_table", what=what, given=given.text, refrigerant=point.job.system.refrigerant
            )
    if point.job.system.refrigerant != "unknown" and low is not None and state.suction_c is not None:
        odd = not RUNNING_SUCTION[0] <= state.suction_c.value <= RUNNING_SUCTION[1]
        odd = odd or (
            state.condensing_c is not None
            and not RUNNING_CONDENSING[0] <= state.condensing_c.value <= RUNNING_CONDENSING[1]
        )
        swapped = _swapped_pressure(point, low, high) if odd else None
        if swapped is not None:
            yield swapped
        elif odd:
            fitting = [name for name in NAMES if name != point.job.system.refrigerant and _runs(point, name)]
            if fitting:
                yield message("ask.refrigerant", plate=point.job.system.refrigerant, other=" or ".join(fitting))
            else:
                yield message("ask.pressures", suction=low.text, saturated=amount(state.suction_c.value, "degC"))
    supply = point.supply_dry_bulb()
    if supply is not None and state.suction_c is not None:
        colder = carried(lambda s, a: s - a, s=state.suction_c, a=supply)
        if colder.value > 0.0:
            yield message(
                "ask.supply_colder_than_coil",
                supply=amount(supply.value, "degC"),
                suction=amount(state.suction_c.value, "degC"),
            )
    if state.superheat_k is not None and state.superheat_k.highest < 0.0:
        yield message("ask.negative_superheat", superheat=amount(state.superheat_k.value, "K"))
    if state.subcooling_k is not None and state.subcooling_k.highest < 0.0:
        yield message("ask.negative_subcooling", subcooling=amount(state.subcooling_k.value, "K"))
    outdoor = point.of("outdoor_dry_bulb")
    if outdoor is not None and state.condensing_c is not None and high is not None:
        below = carried(lambda o, c: o - c, o=outdoor, c=state.condensing_c)
        if below.lowest > 0.0:
            yield message("ask.condensing_below_outdoor", pressure=high.text, outdoor=reading.outdoor_dry_bulb.text
                          if reading.outdoor_dry_bulb is not None else "")  # fmt: skip
    if reading.outdoor_dry_bulb is not None and reading.liquid_line is not None:
        colder = carried(lambda o, c: o - c, o=_of(point, "outdoor_dry_bulb"), c=_of(point, "liquid_line"))
        if colder.lowest > 0.0:
            yield _pair(
                "ask.liquid_colder_than_outdoor",
                ("liquid_line", reading.liquid_line),
                ("outdoor_dry_bulb", reading.outdoor_dry_bulb),
                lambda line, out: 0.0 <= line - out < 20.0,
            )


def _swapped_pressure(point: Point, low: Measured, high: Measured | None) -> dict[str, Any] | None:
    """A question about swapped digits where they alone make one of the two pressures that of a running system."""
    table, air = refrigerant(point.job.system.refrigerant).table, point.pressure_pa

    def runs(given: Measured, suction: bool) -> bool:
        if suction:
            return RUNNING_SUCTION[0] <= saturation.dew_temperature_c(table, given.si + air) <= RUNNING_SUCTION[1]
        return RUNNING_CONDENSING[0] <= saturation.bubble_temperature_c(table, given.si + air) <= RUNNING_CONDENSING[1]

    wrong = [(given, given is low) for given in (low, high) if given is not None and not runs(given, given is low)]
    if len(wrong) != 1:  # two pressures that both fit no system are not two slips of the pen
        return None
    ((given, suction),) = wrong
    other = next((one for one in transposed(given) if runs(one, suction)), None)
    if other is None:
        return None
    high_name = "liquid_pressure" if point.reading.liquid_pressure is not None else "discharge_pressure"
    what = {"id": f"reading.{'suction_pressure' if suction else high_name}"}
    return message("ask.digits", what=what, given=given.text, other=other.text)


def _runs(point: Point, name: str) -> bool:
    """Whether the pressures read would be those of a running system on this refrigerant."""
    table, air = refrigerant(name).table, point.pressure_pa
    low, high = point.reading.suction_pressure, point.reading.liquid_pressure
    fits = low is None or RUNNING_SUCTION[0] <= saturation.dew_temperature_c(table, low.si + air) <= RUNNING_SUCTION[1]
    return fits and (
        high is None
        or RUNNING_CONDENSING[0] <= saturation.bubble_temperature_c(table, high.si + air) <= RUNNING_CONDENSING[1]
    )


def _rest(point: Point) -> Iterator[dict[str, Any]]:
    reading = point.reading
    if reading.airflow is not None:
        per_watt = reading.airflow.si / point.job.system.outdoor_size.si
        if not FIELD_AIRFLOW[0] <= per_watt <= FIELD_AIRFLOW[1]:
            digits = next(
                (
                    one.text
                    for one in transposed(reading.airflow)
                    if FIELD_AIRFLOW[0] <= one.si / point.job.system.outdoor_size.si <= FIELD_AIRFLOW[1]
                ),
                None,
            )
            what = {"id": "reading.airflow"}
            if digits is not None:
                yield message("ask.digits", what=what, given=reading.airflow.text, other=digits)
            else:
                yield message("ask.airflow_per_ton", given=reading.airflow.text, per_ton=amount(per_watt, "m3/s/W"))
    whole = reading.total_external_static
    if whole is not None:
        # by its own reading and by its ports
        ports = external_static(_without_total(point))
        read = point.of("total_external_static")
        if ports is not None and read is not None:
            apart = carried(lambda a, b: a - b, a=read, b=ports)
            if abs(apart.value) > 1.96 * apart.sigma:
                yield message("ask.static_against_ports", static=whole.text, ports=amount(ports.value, "Pa"))
    if reading.capacitor_volts is not None and reading.blower_volts is not None:
        volts, line = _of(point, "capacitor_volts"), _of(point, "blower_volts")
        if carried(lambda a, b: a - b, a=line, b=volts).lowest > 0.0:
            yield message("ask.capacitor_volts", volts=reading.capacitor_volts.text, line=reading.blower_volts.text)
    if any(one.value < 0.0 for name, one in parts_of(point).items() if name in ("filter", "coil")):
        yield message("ask.ports_swapped")


def _without_total(point: Point) -> Point:
    return Point(
        point.job, point.reading.model_copy(update={"total_external_static": None}), point.number, point.pressure_pa
    )
