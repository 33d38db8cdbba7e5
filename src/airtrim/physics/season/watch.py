"""What is watched hour by hour: the hour's sums into the month's, dew points, wet spells, mites and mould.

The same code for one house-year and for many in lanes: values of `lanes` house-years lie side by side.
"""

from math import log
from typing import Final

from airtrim.core.kernels import inline_kernel, kernel
from airtrim.physics.air.moist import saturation_pressure_fast_pa, saturation_pressure_slope_fast_pa_k
from airtrim.physics.house.mites import MITE_LINE
from airtrim.physics.house.mould import SENSITIVE, mould_hour
from airtrim.physics.season.layout import (
    ADDED,
    BY_HOUR,
    DEW_POINT_LINES_C,
    GREATEST,
    LEAST,
    MONTHLY,
    PARAMETERS,
    SETTINGS,
    STATE,
    SUMS,
    WATCHED,
)
from airtrim.physics.season.system import Array

#: Places of what is carried from hour to hour, `[len(CARRIED), lanes]`.
CARRIED: Final = ("mould_index", "mould_dry_h", "wet_spell_h", "longest_wet_spell_h")
#: The coldest place of the inner surface, (surface - outdoors) / (room - outdoors): the least that EN ISO 13788 and DIN 4108-2
#: accept at corners and cold bridges [from-memory]. Where it is warmer outside the surface is at room temperature.
SURFACE_FACTOR: Final = 0.70
#: Paper-faced board, and how much slower than wood it loses what has grown [from-memory].
DECLINE: Final = 0.25
WET_LINE: Final = 0.60
#: Sums at an hour's beginning, for the least of it.
_HIGH: Final = 99.0
_SETTINGS, _ROWS, _SUMS_AT = len(SETTINGS), len(SUMS), len(PARAMETERS) + len(STATE)
_ADDED, _LEAST, _GREATEST = len(ADDED), len(LEAST), len(GREATEST)
_RELATIVE, _AIR, _HUMIDITY = (SUMS.index(name) for name in ("relative_humidity_s", "air_temperature_s", "humidity_s"))
_DEW, _MITES, _LINES, _MOULD, _SPELL = (
    len(SUMS) + WATCHED.index(name)
    for name in (
        "dew_point_s",
        "mite_safe_s",
        f"dew_over_{DEW_POINT_LINES_C[0]:.1f}_s",
        "mould_peak",
        "wet_spell_peak_h",
    )
)
_BY_HOUR = tuple(MONTHLY.index(name) for name in BY_HOUR)
_HOUR = 3600.0


@inline_kernel
def dew_point_fast_c(vapour_pa: float) -> float:
    """Dew point over water, -20 to 60 degC, within 0.002 K: Magnus' formula turned round, then one step of Newton."""
    ratio = log(vapour_pa / 611.2)
    guess = 243.12 * ratio / (17.62 - ratio)
    return guess - (saturation_pressure_fast_pa(guess) - vapour_pa) / saturation_pressure_slope_fast_pa_k(guess)


@kernel
def begin_hour(hour: int, lanes: int, settings: Array, block: Array) -> None:
    """Put the hour's settings `[24, len(SETTINGS), lanes]` into the block and clear its sums."""
    for row in range(_SETTINGS):
        for lane in range(lanes):
            block[row * lanes + lane] = settings[hour, row, lane]
    for row in range(_ROWS):
        value = _HIGH if row >= _ADDED and row < _ADDED + _LEAST else 0.0
        for lane in range(lanes):
            block[(_SUMS_AT + row) * lanes + lane] = value


@kernel
def end_hour(
    day: int,
    month: int,
    hour: int,
    lanes: int,
    pressure_pa: float,
    dry_bulb_c: Array,
    block: Array,
    months: Array,
    watched: Array,
    by_hour: Array,
    hourly: Array,
) -> None:
    """Add the hour to `months` `[12, len(MONTHLY), lanes]` and to what is carried in `watched` `[len(CARRIED), lanes]`.

    `month` 0 to 11, or -1 while the house settles: then nothing is added. `by_hour` `[12, 24, len(BY_HOUR), lanes]` and
    `hourly` `[8760, 2, lanes]` (mean temperature degC, relative humidity) are filled unless they are empty.
    """
    if month < 0:
        return
    totals = months[month]
    for row in range(_ROWS):
        for lane in range(lanes):
            value = block[(_SUMS_AT + row) * lanes + lane]
            if row < _ADDED:
                totals[row, lane] += value
            elif row < _ADDED + _LEAST:
                totals[row, lane] = min(totals[row, lane], value)
            else:
                totals[row, lane] = max(totals[row, lane], value)
    now = day * 24 + hour
    outdoor = 0.5 * (dry_bulb_c[now - 1] + dry_bulb_c[now])
    for lane in range(lanes):
        air = block[(_SUMS_AT + _AIR) * lanes + lane] / _HOUR
        relative = block[(_SUMS_AT + _RELATIVE) * lanes + lane] / _HOUR
        humidity = block[(_SUMS_AT + _HUMIDITY) * lanes + lane] / _HOUR
        vapour = pressure_pa * humidity / (0.621945 + humidity)
        dew = dew_point_fast_c(vapour)
        totals[_DEW, lane] += _HOUR * dew
        for line in range(len(DEW_POINT_LINES_C)):
            if dew > DEW_POINT_LINES_C[line]:
                totals[_LINES + line, lane] += _HOUR
        if relative < MITE_LINE:
            totals[_MITES, lane] += _HOUR
        spell = watched[2, lane] + 1.0 if relative > WET_LINE else 0.0
        watched[2, lane] = spell
        watched[3, lane] = max(watched[3, lane], spell)
        totals[_SPELL, lane] = max(totals[_SPELL, lane], spell)
        surface = min(air, outdoor + SURFACE_FACTOR * (air - outdoor))
        at_surface = 100.0 * vapour / saturation_pressure_fast_pa(surface)
        index, dry_hours = mould_hour(watched[0, lane], watched[1, lane], surface, at_surface, SENSITIVE, DECLINE)
        watched[0, lane] = index
        watched[1, lane] = dry_hours
        totals[_MOULD, lane] = max(totals[_MOULD, lane], index)
        if hourly.shape[0] > 0:
            hourly[now, 0, lane] = air
            hourly[now, 1, lane] = relative
        if by_hour.shape[0] > 0:
            for place in range(len(_BY_HOUR)):
                row = _BY_HOUR[place]
                value = _HOUR * dew if row == _DEW else block[(_SUMS_AT + row) * lanes + lane]
                by_hour[month, hour, place, lane] += value
