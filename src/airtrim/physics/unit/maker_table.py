"""A unit fitted to a maker's extended performance table, residuals beside it; a table that contradicts itself is refused by row."""

from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import InputError, NoSolutionError
from airtrim.physics.air.moist import humidity_ratio_from_wet_bulb
from airtrim.physics.unit.closure import RATED_PRESSURE_PA, closure
from airtrim.physics.unit.fields import UnitRow, unit_rows
from airtrim.physics.unit.steady import steady_state

Array = NDArray[np.float64]

#: Columns of a table: dry air kg/s, degC, degC, degC, W before blower heat, W likewise, W of compressor and outdoor fan.
TABLE_FIELDS = ("flow_kg_s", "wet_bulb_c", "dry_bulb_c", "outdoor_c", "total_w", "sensible_w", "power_w")
_FLOW, _WET, _DRY, _OUTDOOR, _TOTAL, _SENSIBLE, _POWER = range(7)
#: What is fitted, with bounds.
_FITTED = {
    "gross_capacity_w": (2000.0, 30000.0),
    "compressor_power_w": (300.0, 12000.0),
    "coil_td_k": (11.0, 24.0),
    "sensible_heat_ratio": (0.66, 0.92),
    "air_exponent": (0.0, 0.9),
    "condenser_lift_k": (4.0, 22.0),
}
#: Makers round to hundreds of Btu/h and tens of watts; a rise smaller than this is no contradiction.
_ROUNDING = 0.005
_SAME = (0.002, 0.06, 0.06, 0.06)


@dataclass(frozen=True)
class FittedUnit:
    """A row and what it misses: `residuals` `[n, 3]`, got over table less 1 of total and power, and of sensible over total."""

    row: UnitRow
    residuals: Array

    @property
    def worst(self) -> tuple[float, float, float]:
        """Greatest error of total, sensible (both of the total) and power."""
        total, sensible, power = np.abs(self.residuals).max(axis=0)
        return float(total), float(sensible), float(power)


def fit_unit(table: Array, **known: Any) -> FittedUnit:
    """The unit that comes nearest to a table, rows as TABLE_FIELDS, at least five; `known` are columns of UNIT_FIELDS that are not
    fitted (refrigerant, metering_device, ...).

    Raises InputError where the table contradicts itself, NoSolutionError where no unit comes near it. Sea level; blower heat is not
    in a table's gross capacities: add it back to net ones.
    """
    from scipy.optimize import least_squares

    rows = check_table(table)
    nearest = rows[np.argmin(np.abs(rows[:, _WET] - 19.4) / 4.0 + np.abs(rows[:, _OUTDOOR] - 35.0) / 8.0)]
    humidity = [humidity_ratio_from_wet_bulb(dry, wet, RATED_PRESSURE_PA) for wet, dry in rows[:, [_WET, _DRY]]]
    free = {name: ends for name, ends in _FITTED.items() if name not in known}
    first = {
        "gross_capacity_w": nearest[_TOTAL],
        "compressor_power_w": nearest[_POWER],
        "coil_td_k": 17.5,
        "sensible_heat_ratio": 0.76,
        "air_exponent": 0.5,
        "condenser_lift_k": 20.0 / 1.8,
    }
    columns = {"rated_flow_kg_s": float(np.median(rows[:, _FLOW])), "metering_device": 0.0} | known
    low, high = np.array(list(free.values())).T

    def built(values: Array) -> UnitRow:
        return np.asarray(unit_rows(**(columns | dict(zip(free, values, strict=True))))[0])

    def misses(values: Array) -> Array:
        row = built(values)
        found = np.array(
            [
                steady_state(one[_DRY], w, one[_OUTDOOR], one[_FLOW], RATED_PRESSURE_PA, row)[:3]
                for one, w in zip(rows, humidity, strict=True)
            ]
        )
        error = np.stack(
            [
                found[:, 0] / rows[:, _TOTAL] - 1.0,
                (found[:, 1] - rows[:, _SENSIBLE]) / rows[:, _TOTAL],
                found[:, 2] / rows[:, _POWER] - 1.0,
            ],
            axis=1,
        )
        return np.asarray(np.where(np.isfinite(error), error, 1.0))

    start = np.clip([first[name] for name in free], low * 1.001 + 1e-6, high * 0.999)
    if np.isnan(closure(built(start))[0]):
        raise NoSolutionError(
            f"No coil gives about {nearest[_TOTAL]:.0f} W at {nearest[_FLOW]:.3f} kg/s of air: check the units of the table's "
            "airflow and capacity."
        )
    answer = least_squares(
        lambda values: misses(values).ravel(),
        start,
        bounds=(low, high),
        x_scale=high - low,
        loss="soft_l1",
        f_scale=0.03,
    )
    residuals = misses(answer.x)
    if np.any(residuals == 1.0):
        row = int(np.argmax(np.any(residuals == 1.0, axis=1)))
        raise NoSolutionError(
            f"Row {row + 1} of the maker's table has no steady state in any unit near the others: check its figures."
        )
    return FittedUnit(built(answer.x), residuals)


def check_table(table: Array) -> Array:
    """The table as an array; raises InputError with the first row that cannot be true, counted from 1."""
    rows = np.atleast_2d(np.asarray(table, dtype=np.float64))
    if rows.shape[1] != len(TABLE_FIELDS) or len(rows) < 5:
        raise InputError(
            f"A maker's table needs at least 5 rows of {len(TABLE_FIELDS)} columns ({', '.join(TABLE_FIELDS)}), got "
            f"{rows.shape[0]} of {rows.shape[1]}: copy more of it."
        )
    for number, one in enumerate(rows, start=1):
        if not np.all(np.isfinite(one)) or np.any(one[[_FLOW, _TOTAL, _SENSIBLE, _POWER]] <= 0.0):
            raise _wrong(number, "has a figure that is missing or not above zero")
        if one[_WET] > one[_DRY] + _SAME[_WET]:
            raise _wrong(number, f"has a wet bulb ({one[_WET]:.1f} C) above its dry bulb ({one[_DRY]:.1f} C)")
        if one[_SENSIBLE] > one[_TOTAL] * (1.0 + _ROUNDING):
            raise _wrong(
                number, f"gives more sensible ({one[_SENSIBLE]:.0f} W) than total capacity ({one[_TOTAL]:.0f} W)"
            )
    for first, second in combinations(range(len(rows)), 2):
        _compare(rows, first, second)
    if np.ptp(rows[:, _OUTDOOR]) < 3.0:
        raise InputError(
            "A maker's table needs rows at two outdoor temperatures at least 3 K apart: copy another of its pages."
        )
    return rows


def _compare(rows: Array, first: int, second: int) -> None:
    """Two rows that differ in one condition, or in none."""
    a, b = rows[first], rows[second]
    same = [abs(a[k] - b[k]) <= _SAME[k] for k in (_FLOW, _WET, _DRY, _OUTDOOR)]
    if sum(same) < 3:
        return
    number, other = second + 1, first + 1
    if all(same):
        if np.any(np.abs(a[_TOTAL:] - b[_TOTAL:]) > _ROUNDING * np.abs(a[_TOTAL:])):
            raise _wrong(number, f"repeats the conditions of row {other} with other figures")
        return
    changed = same.index(False)
    cold, warm, at = (a, b, number) if b[changed] > a[changed] else (b, a, other)
    rise = warm / np.where(cold == 0.0, 1.0, cold) - 1.0
    if changed == _OUTDOOR and rise[_TOTAL] > _ROUNDING:
        raise _wrong(at, "gives more capacity than the same row at a cooler outdoor temperature")
    if changed == _OUTDOOR and rise[_POWER] < -_ROUNDING:
        raise _wrong(at, "gives less power than the same row at a cooler outdoor temperature")
    if changed == _WET and rise[_TOTAL] < -_ROUNDING:
        raise _wrong(at, "gives less capacity than the same row at a lower wet bulb")
    if changed == _WET and rise[_SENSIBLE] > 2.0 * _ROUNDING:
        raise _wrong(at, "gives more sensible capacity than the same row at a lower wet bulb")
    if changed == _DRY and rise[_SENSIBLE] < -_ROUNDING:
        raise _wrong(at, "gives less sensible capacity than the same row at a lower dry bulb")
    if changed == _FLOW and rise[_TOTAL] < -_ROUNDING:
        raise _wrong(at, "gives less capacity than the same row at less airflow")


def _wrong(number: int, what: str) -> InputError:
    return InputError(f"Row {number} of the maker's table {what}: read it again, or leave it out.")
