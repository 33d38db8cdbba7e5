"""Rows of a maker's extended performance table as they are written into the job file, one line of text a row."""

import numpy as np
from numpy.typing import NDArray

from airtrim.job.measured import measured

#: What a row holds, in this order: name, unit, least and greatest, example.
COLUMNS = (
    ("airflow", "m**3/s", 0.05, 2.0, "1200 cfm"),
    ("entering wet-bulb", "degC", 5.0, 32.0, "67 F"),
    ("entering dry-bulb", "degC", 10.0, 45.0, "80 F"),
    ("outdoor temperature", "degC", 5.0, 55.0, "95 F"),
    ("total capacity", "W", 1000.0, 40000.0, "36.2 kBtu/h"),
    ("sensible capacity", "W", 500.0, 40000.0, "27.1 kBtu/h"),
    ("power", "W", 200.0, 20000.0, "2.9 kW"),
)
#: Makers' airflow is of standard air, kg of dry air a m3 (0.075 lb/ft3).
STANDARD_AIR = 1.2014


def performance_row(text: str, number: int) -> tuple[float, ...]:
    """A row in SI, airflow in kg/s; raises `InputError` naming row, column and what was expected."""
    example = ", ".join(one[4] for one in COLUMNS)
    cells = [cell.strip() for cell in text.split(",")]
    if len(cells) != len(COLUMNS):
        names = ", ".join(one[0] for one in COLUMNS)
        raise ValueError(
            f'row {number} of the performance table needs {len(COLUMNS)} values ({names}), such as "{example}", got {len(cells)}: '
            "write them with their units, no comma inside a number."
        )
    values = [
        measured(cell, unit, low, high, f"{name} of row {number} of the performance table", shown).si
        for cell, (name, unit, low, high, shown) in zip(cells, COLUMNS, strict=True)
    ]
    return (values[0] * STANDARD_AIR, *values[1:])


def performance_array(rows: list[str]) -> NDArray[np.float64]:
    """All rows, `[n, 7]`."""
    return np.array([performance_row(text, number) for number, text in enumerate(rows, start=1)])
