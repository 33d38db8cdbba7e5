"""What superheat and temperature split a cooling unit is expected to show: plain look-ups of the trade's charts, in degC and K."""

from math import isfinite, nan

from airtrim.physics.data.charging_targets import (
    OUTDOOR_F,
    SPLIT,
    SPLIT_DRY_BULB_F,
    SPLIT_WET_BULB_F,
    SUPERHEAT_F,
    WET_BULB_F,
)

#: Sensible capacity goes about as airflow to this power, so that the split goes as the power less one: the bypass closure worked
#: out for 250 to 450 cfm/ton gives 0.33 to 0.35 [own-derivation]; half of its 90 % range.
SENSIBLE_EXPONENT, SENSIBLE_EXPONENT_RANGE = 0.34, 0.10


def _f(celsius: float) -> float:
    return celsius * 1.8 + 32.0


def target_superheat_k(return_wet_bulb_c: float, outdoor_c: float) -> float:
    """Target superheat of a fixed orifice, K, bilinear in the generic chart; NaN off the chart and where it says weigh in.

    Return wet-bulb 50 to 76 F, outdoor dry-bulb 40 to 115 F [charging-chart].
    """
    # a reading that stands on a line of the chart stands on it in either unit
    wet, out = round(_f(return_wet_bulb_c), 9), round(_f(outdoor_c), 9)
    if not (WET_BULB_F[0] <= wet <= WET_BULB_F[-1] and OUTDOOR_F[0] <= out <= OUTDOOR_F[-1]):
        return nan
    column = min(int((wet - WET_BULB_F[0]) / 2.0), len(WET_BULB_F) - 2)
    row = min(int((out - OUTDOOR_F[0]) / 5.0), len(OUTDOOR_F) - 2)
    x, y = (wet - WET_BULB_F[column]) / 2.0, (out - OUTDOOR_F[row]) / 5.0
    total = 0.0
    for i, j, weight in (
        (row, column, (1 - x) * (1 - y)),
        (row, column + 1, x * (1 - y)),
        (row + 1, column, (1 - x) * y),
        (row + 1, column + 1, x * y),
    ):
        cell = SUPERHEAT_F[i][j]
        if weight > 1e-9:  # a refused cell that does not count refuses nothing
            total += weight * (nan if cell is None else cell)
    return total / 1.8


def target_superheat_line_k(return_wet_bulb_c: float, outdoor_c: float) -> float:
    """The linear rule of thumb, (3 WB - 80 - DB) / 2 in F, as K: only a check on the chart, within 3 F of it at 80 to 105 F."""
    return (3.0 * _f(return_wet_bulb_c) - 80.0 - _f(outdoor_c)) / 2.0 / 1.8


def target_split_k(return_dry_bulb_c: float, return_wet_bulb_c: float) -> float:
    """Expected return less supply dry-bulb at about 400 cfm/ton, K; NaN off the table's 70 to 84 F dry, 50 to 76 F wet-bulb."""
    dry, wet = _f(return_dry_bulb_c), _f(return_wet_bulb_c)
    low, high = SPLIT_DRY_BULB_F, SPLIT_WET_BULB_F
    if not (low[0] <= dry <= low[1] and high[0] <= wet <= high[1] and wet <= dry):
        return nan
    a, b, c, d = SPLIT
    return (a + b * (dry - 75.0) + c * (wet - 63.0) + d * (wet - 63.0) ** 2) / 1.8


def shifted_split_k(split_k: float, airflow_ratio: float, sensible_exponent: float = SENSIBLE_EXPONENT) -> float:
    """The split at `airflow_ratio` of the airflow it was given for: sensible capacity falls more slowly than the airflow."""
    if not (isfinite(split_k) and airflow_ratio > 0.0):
        return nan
    return float(split_k * airflow_ratio ** (sensible_exponent - 1.0))
