"""A complete unit from what a contractor knows: sizes, efficiency or age, refrigerant, metering device; each with a range."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from airtrim.core.errors import InputError, OutOfRangeError
from airtrim.physics.unit.fields import (
    EXPANSION_VALVE,
    FIXED_ORIFICE,
    RECIPROCATING,
    SCROLL,
    UnitRow,
    refrigerant_code,
    unit_rows,
)

TON_W: Final = 3516.8528
_CFM_PER_TON_KG_S_W: Final = 0.0004719474432 * 1.165 / TON_W
#: Heat of the blower in a rating, W for each W of capacity: 365 W per 1,000 cfm at 400 cfm a ton [from-memory].
_RATED_BLOWER: Final = 365.0 * 0.4 / TON_W
_BTU_H_W: Final = 3.412142
#: Seasonal efficiency by year made: what the rules asked then, and the spread of what was sold [from-memory].
_SEER_BY_YEAR: Final = (
    (1992, 7.0, 8.5, 10.0),
    (2006, 9.5, 10.5, 12.5),
    (2015, 12.5, 13.5, 16.0),
    (9999, 13.5, 15.0, 18.0),
)
#: Condensing less outdoors by seasonal efficiency, F: the trade's table for checking a charge [common-practice].
_LIFT_BY_SEER_F: Final = ((10.0, 30.0), (13.0, 25.0), (16.0, 20.0), (99.0, 15.0))


@dataclass(frozen=True)
class Column:
    """One column of UNIT_FIELDS with its 90 % range and where it comes from."""

    name: str
    low: float
    mid: float
    high: float
    source: str


@dataclass(frozen=True)
class UnitDescription:
    """All columns that have a range, in the order of UNIT_FIELDS."""

    columns: tuple[Column, ...]

    def row(self, which: str = "mid") -> UnitRow:
        """The full row of the middle values, or of one end ("low", "high") of every column at once."""
        if which not in ("low", "mid", "high"):
            raise InputError(f"A description has no row {which!r}: ask for low, mid or high.")
        return np.asarray(unit_rows(**{one.name: getattr(one, which) for one in self.columns})[0])

    def __getitem__(self, name: str) -> Column:
        for one in self.columns:
            if one.name == name:
                return one
        raise InputError(f"The description has no column {name!r}: ask for one of UNIT_FIELDS.")


def describe_unit(
    outdoor_w: float,
    coil_w: float,
    refrigerant: str | None = None,
    metering_device: str | None = None,
    seer: float | None = None,
    eer: float | None = None,
    year: int | None = None,
) -> UnitDescription:
    """A unit row with ranges from nameplates: sizes in W (3,517 a ton); SEER and EER in Btu/Wh; `metering_device` "expansion_valve"
    or "fixed_orifice".

    The outdoor unit sets capacity, power, airflow and condenser; a coil of another size scales its own conductances. Without SEER
    and EER the year made stands in, without a year 2000 to today. Raises OutOfRangeError on what no such unit has.
    """
    _check(outdoor_w, coil_w, seer, eer, year)
    low, mid, high, origin = _seer(seer, eer, year)
    eers = [eer * part for part in (0.95, 1.0, 1.05)] if eer is not None else [_eer(one) for one in (low, mid, high)]
    eer_source = "nameplate" if eer is not None else f"EER = 1.12 SEER - 0.02 SEER^2 [from-memory], SEER by {origin}"
    powers = [_power_part(one) * outdoor_w for one in eers]
    kind = refrigerant if refrigerant is not None else _refrigerant_of(year)
    code = refrigerant_code(kind)
    compressor = RECIPROCATING if year is not None and year < 1995 else SCROLL
    lift = next(value for end, value in _LIFT_BY_SEER_F if mid < end) / 1.8
    scale = coil_w / outdoor_w
    devices = {"expansion_valve": EXPANSION_VALVE, "fixed_orifice": FIXED_ORIFICE}
    if metering_device is not None and metering_device not in devices:
        raise InputError(f"Metering device {metering_device!r} is not known: give one of {', '.join(devices)}.")
    device = devices.get(metering_device or "", EXPANSION_VALVE)
    ends = (device, device) if metering_device is not None else (EXPANSION_VALVE, FIXED_ORIFICE)
    flow = outdoor_w * _CFM_PER_TON_KG_S_W
    guess = "judgement"
    return UnitDescription(
        (
            Column(
                "gross_capacity_w", 0.86 * outdoor_w, 0.97 * outdoor_w, 1.07 * outdoor_w, "nameplate tonnage, " + guess
            ),
            Column("compressor_power_w", powers[2], powers[1], powers[0], eer_source),
            Column("coil_td_k", 15.0, 17.5, 20.0, "27 to 36 F at 400 cfm a ton [common-practice]"),
            Column("sensible_heat_ratio", 0.72, 0.75, 0.79, "usual ratings [common-practice]"),
            Column("air_exponent", 0.4, 0.5, 0.8, "plate-fin coils, 0.4 to 0.8 [from-memory]"),
            Column("rated_flow_kg_s", 350.0 * flow, 386.1 * flow, 410.0 * flow, "cutler2013"),
            Column("metering_device", ends[0], device, ends[1], "survey" if metering_device else "not known: both"),
            Column("refrigerant", code, code, code, "nameplate" if refrigerant is not None else "year made, " + guess),
            Column("compressor", compressor, compressor, compressor, "year made, " + guess),
            Column("subcooling_k", 8.0 / 1.8, 10.0 / 1.8, 14.0 / 1.8, "8 to 14 F [common-practice]"),
            Column(
                "condenser_lift_k",
                lift - 5.0 / 1.8,
                lift,
                lift + 5.0 / 1.8,
                "the trade's table by SEER [common-practice]",
            ),
            Column("condenser_units", 0.8, 1.1, 1.6, guess),
            Column("condenser_clean", 0.75, 0.95, 1.0, guess),
            Column("coil_clean", 0.8, 0.95, 1.0, guess),
            Column("coil_scale", scale, scale, scale, "nameplates of coil and outdoor unit"),
            Column("circuit_drop_k", 0.6, 1.5, 3.0, "1 to 5 F of saturation [from-memory]"),
            Column("uneven_circuits", 0.0, 0.1, 0.3, guess),
            Column("charge", 0.85, 1.0, 1.1, guess),
            Column("valve_reserve", 1.4, 1.7, 2.2, guess),
            Column("outdoor_fan_share", 0.04, 0.055, 0.09, "nrel30152"),
        )
    )


def _eer(seer: float) -> float:
    return seer * (1.12 - 0.02 * seer)


def _power_part(eer: float) -> float:
    """Compressor and outdoor fan over capacity, for an EER that counts the blower's heat and power."""
    return (1.0 - _RATED_BLOWER) * _BTU_H_W / eer - _RATED_BLOWER


def _seer(seer: float | None, eer: float | None, year: int | None) -> tuple[float, float, float, str]:
    if seer is not None:
        return 0.95 * seer, seer, 1.05 * seer, "nameplate"
    if eer is not None:
        found = 28.0 - (784.0 - 50.0 * eer) ** 0.5
        return 0.95 * found, found, 1.05 * found, "EER"
    if year is None:
        return 9.5, 13.0, 16.0, "nothing known"
    return (*next(ends for last, *ends in _SEER_BY_YEAR if year < last), "year made")  # type: ignore[return-value]


def _refrigerant_of(year: int | None) -> str:
    if year is None:
        return "R-410A"
    return "R-22" if year < 2010 else "R-410A" if year < 2025 else "R-454B"


def _check(outdoor_w: float, coil_w: float, seer: float | None, eer: float | None, year: int | None) -> None:
    for name, value in (("outdoor unit", outdoor_w), ("coil", coil_w)):
        if not 3500.0 <= value <= 21200.0:
            raise OutOfRangeError(
                f"The size of the {name} must lie in 1 to 6 tons, got {value / TON_W:.2f} tons: read its plate again."
            )
    if not 0.7 <= coil_w / outdoor_w <= 1.7:
        raise OutOfRangeError(
            f"A coil of {coil_w / TON_W:.1f} tons on an outdoor unit of {outdoor_w / TON_W:.1f} tons is no match anyone lists "
            "(0.7 to 1.7 of its size): read both plates again."
        )
    if seer is not None and not 6.0 <= seer <= 26.0:
        raise OutOfRangeError(f"SEER must lie in 6 to 26, got {seer:g}: read the label again.")
    if eer is not None and not 5.0 <= eer <= 15.0:
        raise OutOfRangeError(f"EER must lie in 5 to 15, got {eer:g}: read the label again.")
    if seer is not None and eer is not None and eer > seer:
        raise OutOfRangeError(f"EER {eer:g} above SEER {seer:g} cannot be: the two are exchanged on the survey.")
    if year is not None and not 1950 <= year <= 2100:
        raise OutOfRangeError(f"The year made must lie in 1950 to 2100, got {year}: read the plate again.")
