"""What a weather file must satisfy before it is used: a sound head, one year in order, no long gap, sun at noon."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import WeatherError

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

HOURS = 8760
LONGEST_GAP_H = 3
#: How far the middle of the sun's day may lie from the noon that the file's zone and longitude give (own-derivation: one hour of
#: summer time in the hours, and half an hour of clouds that come more in the morning or the afternoon).
NOON_TOLERANCE_H = 1.5
#: Column, lowest and highest believable value (degC, degC, fraction, Pa, m/s, W/m2): the files' marks for "missing" lie outside.
BELIEVABLE = {
    "dry-bulb": (-60.0, 60.0),
    "dew point": (-70.0, 40.0),
    "relative humidity": (0.01, 1.1),
    "pressure": (50000.0, 110000.0),
    "wind": (0.0, 60.0),
    "global horizontal": (0.0, 1500.0),
    "direct normal": (0.0, 1500.0),
    "diffuse horizontal": (0.0, 1200.0),
}
_DAYS = {365: (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31), 366: (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)}
_LEAP_DAY = 59  # 29 February, counted from 0


@dataclass(frozen=True)
class Head:
    """The station in the first line: degrees north and east positive, hours from UTC, metres."""

    place: str
    latitude_deg: float
    longitude_deg: float
    timezone_h: float
    altitude_m: float


def check_head(head: Head, file: str) -> None:
    """Refuse a station that is nowhere on Earth."""
    for label, value, low, high in (
        ("latitude", head.latitude_deg, -90.0, 90.0),
        ("longitude", head.longitude_deg, -180.0, 180.0),
        ("time zone", head.timezone_h, -12.0, 14.0),
        ("altitude", head.altitude_m, -450.0, 6000.0),
    ):
        if not low <= value <= high:
            raise WeatherError(
                f"Weather file {file} gives {label} {value:g} in its first line, expected {low:g} to {high:g}: correct it there."
            )


def hours_of_one_year(month: Whole, day: Whole, hour: Whole, file: str, notes: list[str]) -> Whole:
    """Rows to keep, 1 January hour 1 to 31 December hour 24; a leap day is left out and noted.

    `hour` is the hour that ends there, 1 to 24, or 0 for the midnight that begins the stamped day.
    """
    leap = bool(((month == 2) & (day == 29)).any())
    length = 366 if leap else 365
    before = np.concatenate([[0], np.cumsum(_DAYS[length])])
    slot = ((before[np.clip(month, 1, 12) - 1] + day - 1) * 24 + hour - 1) % (length * 24)
    rows = np.arange(len(slot))
    if leap:
        rows = rows[slot // 24 != _LEAP_DAY]
        slot = np.where(slot // 24 > _LEAP_DAY, slot - 24, slot)[rows]
        notes.append("29 February was left out.")
    if len(rows) != HOURS:
        raise WeatherError(
            f"Weather file {file} holds {len(rows)} hours, expected 8,760: it is cut short or not one year of hours, use a "
            "whole one."
        )
    wrong = np.flatnonzero(slot != np.arange(HOURS))
    if wrong.size:
        first = int(rows[wrong[0]])
        raise WeatherError(
            f"Weather file {file} is out of order at data row {first + 1}, which is stamped month {month[first]} day "
            f"{day[first]} hour {hour[first]}, expected {_stamp(int(wrong[0]))}: put the hours in order from 1 January, each "
            "stamped with its end."
        )
    return rows


def _stamp(slot: int) -> str:
    before = np.concatenate([[0], np.cumsum(_DAYS[365])])
    month = int(np.searchsorted(before, slot // 24, side="right"))
    return f"month {month} day {slot // 24 - int(before[month - 1]) + 1} hour {slot % 24 + 1}"


def believable(values: Array, label: str) -> NDArray[np.bool_]:
    """True where the value is neither missing nor impossible."""
    low, high = BELIEVABLE[label]
    return (values >= low) & (values <= high)


def bridged(values: Array, label: str, file: str, notes: list[str]) -> Array:
    """Fill gaps up to three hours in a straight line and note it; refuse the first longer one."""
    bad = ~believable(values, label)
    if not bad.any():
        return values
    edges = np.flatnonzero(np.diff(np.concatenate([[False], bad, [False]]).astype(np.int64)))
    starts, lengths = edges[::2], edges[1::2] - edges[::2]
    long = np.flatnonzero(lengths > LONGEST_GAP_H)
    if long.size:
        first, length = int(starts[long[0]]), int(lengths[long[0]])
        raise WeatherError(
            f"Weather file {file} has no believable {label} for {length} hours from hour {first + 1} (day {first // 24 + 1}): "
            f"fill the gap or use another file; up to {LONGEST_GAP_H} hours are bridged."
        )
    count = int(bad.sum())
    notes.append(f"{counted(count)} of {label} {was(count)} missing and bridged in a straight line.")
    hours = np.arange(len(values))
    return np.interp(hours, hours[~bad], values[~bad])


def counted(count: int) -> str:
    """'1 hour', '2 hours'."""
    return f"{count} hour" if count == 1 else f"{count} hours"


def was(count: int) -> str:
    """The verb that goes with `counted`."""
    return "was" if count == 1 else "were"


def check_noon(ghi: Array, head: Head, file: str) -> None:
    """Refuse a file whose sun does not stand highest near the noon of its own zone and longitude."""
    if ghi.sum() <= 0.0:
        raise WeatherError(
            f"Weather file {file} has no sun in the whole year: use a file with global horizontal irradiance."
        )
    turn = 2j * np.pi / 24.0
    middle = np.tile(np.arange(24) + 0.5, HOURS // 24)
    noon = float(np.angle((ghi * np.exp(turn * middle)).sum()) / turn.imag) % 24.0
    expected = (12.0 + head.timezone_h - head.longitude_deg / 15.0) % 24.0
    if abs((noon - expected + 12.0) % 24.0 - 12.0) > NOON_TOLERANCE_H:
        raise WeatherError(
            f"Weather file {file} has its sun centred on {noon:.1f} h, expected {expected:.1f} h for zone "
            f"{head.timezone_h:+g} at longitude {head.longitude_deg:.1f}: correct the time zone or the longitude in the file's "
            "first line."
        )
