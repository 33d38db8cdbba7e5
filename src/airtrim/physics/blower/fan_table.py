"""A maker's fan table: airflow of every tap over external static, watts where printed; and where it meets a house's ducts.

Between printed statics airflow follows a monotone cubic (Fritsch and Carlson 1980 [fritsch1980]): no wiggle that the row has
not. Off the printed statics the table says nothing, and neither do we. A table that contradicts itself is refused, the row named.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import nan
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import InputError, NoSolutionError, OutOfRangeError
from airtrim.core.kernels import inline_kernel, kernel
from airtrim.physics.blower.path import Path, Resistance, path_pressure

Array = NDArray[np.float64]


@dataclass(frozen=True)
class FanRow:
    """One row: a tap's name, and airflow m3/s at each static; `watts` at each where printed. NaN where the maker prints a dash."""

    tap: str
    airflow: tuple[float, ...]
    watts: tuple[float, ...] | None = None


class _Curve(NamedTuple):
    static: Array
    value: Array
    slope: Array


@dataclass(frozen=True)
class FanTable:
    """Rows over one list of external statics, Pa rising; fastest tap first. Checked when made.

    Airflow must not rise with static, nor a faster tap move less air than a slower one at the same static: `InputError` names
    row and column.
    """

    static_pa: tuple[float, ...]
    rows: tuple[FanRow, ...]

    def __post_init__(self) -> None:
        _check_statics(self.static_pa)
        if not self.rows:
            raise InputError("A fan table needs one row or more: copy the maker's.")
        for row in self.rows:
            _check_row(row, self.static_pa)
        for faster, slower in pairwise(self.rows):
            for static, more, less in zip(self.static_pa, faster.airflow, slower.airflow, strict=True):
                if less > more:  # false where either is a dash
                    raise InputError(
                        f"Row {slower.tap} of the fan table moves {less:.4g} m3/s at {static:.4g} Pa, more than row {faster.tap} "
                        f"with {more:.4g}: list rows from the fastest, or correct the row."
                    )

    def row(self, tap: int) -> FanRow:
        """The row of a tap, 1 the fastest."""
        if not 1 <= tap <= len(self.rows):
            raise OutOfRangeError(f"tap must lie in 1 to {len(self.rows)}, got {tap}: 1 is the fastest row.")
        return self.rows[tap - 1]

    def airflow_at(self, tap: int, static_pa: float) -> float:
        """Airflow m3/s of a tap at an external static, Pa, within the row."""
        return self._at(tap, static_pa, self.row(tap).airflow)

    def watts_at(self, tap: int, static_pa: float) -> float:
        """Watts of a tap at an external static, Pa, within the row; raises `InputError` where the table prints none."""
        watts = self.row(tap).watts
        if watts is None:
            raise InputError(f"Row {self.row(tap).tap} of the fan table prints no watts: measure them.")
        return self._at(tap, static_pa, watts)

    def _at(self, tap: int, static_pa: float, values: tuple[float, ...]) -> float:
        curve = monotone_curve(self.static_pa, values)
        if not curve.static[0] <= static_pa <= curve.static[-1]:
            raise OutOfRangeError(
                f"Row {self.row(tap).tap} of the fan table covers {curve.static[0]:.4g} to {curve.static[-1]:.4g} Pa, not "
                f"{static_pa:.4g} Pa: measure the airflow instead."
            )
        return float(curve_value(float(static_pa), curve))

    def meets(self, tap: int, path: Path, filter_load: float = 1.0, coil_factor: float = 1.0) -> tuple[float, float]:
        """Airflow m3/s and external static Pa where a tap meets what is outside the cabinet, parts inside it left at 0.

        Raises `NoSolutionError` where that lies off the row.
        """
        if not (0.0 <= filter_load <= 20.0 and 0.0 < coil_factor <= 50.0):
            raise OutOfRangeError(
                f"filter load must lie in 0 to 20 and coil factor in 0 to 50, got {filter_load:g} and {coil_factor:g}: check them."
            )
        row = self.row(tap)
        curve = monotone_curve(self.static_pa, row.airflow)
        static = float(static_met(curve, path, Resistance(float(filter_load), float(coil_factor), 0.0)))
        if not np.isfinite(static):
            raise NoSolutionError(
                f"Row {row.tap} of the fan table and these ducts do not meet within {curve.static[0]:.4g} to "
                f"{curve.static[-1]:.4g} Pa: measure the airflow instead."
            )
        return float(curve_value(static, curve)), static


def _check_statics(statics: Sequence[float]) -> None:
    if len(statics) < 2 or not all(a < b for a, b in pairwise(statics)):
        raise InputError(
            f"Statics of a fan table must be two or more and rise, got {list(statics)}: copy the table's head."
        )
    if not (statics[0] >= -50.0 and statics[-1] <= 1000.0):
        raise OutOfRangeError(
            f"Statics of a fan table must lie in -50 to 1000 Pa, got {statics[0]:g} to {statics[-1]:g}: convert inches (249.1 Pa)."
        )


def _check_row(row: FanRow, statics: Sequence[float]) -> None:
    for what, values in (("airflow", row.airflow), ("watts", row.watts)):
        if values is None:
            continue
        if len(values) != len(statics):
            raise InputError(
                f"Row {row.tap} of the fan table has {len(values)} values of {what} for {len(statics)} statics: put NaN for a dash."
            )
        known = [value for value in values if not np.isnan(value)]
        least, most = (0.005, 5.0) if what == "airflow" else (5.0, 5000.0)
        if len(known) < 2 or not all(least <= value <= most for value in known):
            raise InputError(
                f"Row {row.tap} of the fan table needs two or more values of {what} in {least:g} to {most:g}, got {known}: "
                "check units."
            )
    pairs = [(s, q) for s, q in zip(statics, row.airflow, strict=True) if not np.isnan(q)]
    for (_, before), (static, after) in pairwise(pairs):
        if after > before * 1.001:  # constant-airflow rows are flat to their last digit
            raise InputError(
                f"Row {row.tap} of the fan table rises from {before:.4g} to {after:.4g} m3/s at {static:.4g} Pa: airflow falls as "
                "static rises, so one of them is a misprint; leave the row out or ask the maker."
            )


def monotone_curve(static_pa: Sequence[float], values: Sequence[float]) -> _Curve:
    """Static, values and slopes of the monotone cubic through a row; dashes (NaN) left out."""
    known = ~np.isnan(np.asarray(values, dtype=np.float64))
    x, y = np.asarray(static_pa, dtype=np.float64)[known], np.asarray(values, dtype=np.float64)[known]
    secant = np.diff(y) / np.diff(x)
    slope = np.empty_like(y)
    slope[0], slope[-1] = secant[0], secant[-1]
    flat = secant[:-1] * secant[1:] <= 0.0
    slope[1:-1] = np.where(flat, 0.0, 0.5 * (secant[:-1] + secant[1:]))
    for index, one in enumerate(secant):
        if one == 0.0:
            slope[index] = slope[index + 1] = 0.0
            continue
        left, right = slope[index] / one, slope[index + 1] / one
        size = left * left + right * right
        if size > 9.0:  # outside the circle of radius 3 the cubic would overshoot
            slope[index], slope[index + 1] = 3.0 * slope[index] / np.sqrt(size), 3.0 * slope[index + 1] / np.sqrt(size)
    return _Curve(x, y, slope)


@inline_kernel
def curve_value(static_pa: float, curve: _Curve) -> float:
    """The row's value at a static within it, Pa."""
    x, y, slope = curve
    place = 0
    while place < x.size - 2 and static_pa > x[place + 1]:
        place += 1
    width = x[place + 1] - x[place]
    t = (static_pa - x[place]) / width
    one = y[place] * (1.0 + 2.0 * t) * (1.0 - t) ** 2 + y[place + 1] * t * t * (3.0 - 2.0 * t)
    bend = slope[place] * t * (1.0 - t) ** 2 - slope[place + 1] * t * t * (1.0 - t)
    whole: float = one + width * bend
    return whole


@kernel
def static_met(curve: _Curve, path: Path, now: Resistance) -> float:
    """External static (Pa) at which a row's airflow needs just that through the path; NaN where none lies on the row."""
    low, high = float(curve.static[0]), float(curve.static[-1])
    if low > path_pressure(curve_value(low, curve), path, now)[0]:
        return nan
    if high < path_pressure(curve_value(high, curve), path, now)[0]:
        return nan
    for _ in range(60):
        middle = 0.5 * (low + high)
        if middle < path_pressure(curve_value(middle, curve), path, now)[0]:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)
