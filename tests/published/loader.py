"""One loader for every table of published numbers: TOML in, (case, got, expected, allowed) out.

A table names `function`, `source`, `locator`, `kind`, `[tolerance]` (relative and/or absolute in the printed unit, because) and
either `[[cases]]` with `inputs` (keyword -> "25 degC" or a number; a refrigerant by its name) and `expected` ("3169.7 Pa" or a
number), or `checked_by`, the test that holds a table of its own shape against a whole model; that test's
`published_errors(table)`, where it has one, tells the page of outside checks (case, error, allowed). `answer` says which part of
what the function returns is meant: the name of a field, or the place in a tuple from 0 (which is taken where it is not said).
"""

import importlib
import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from airtrim.core.units import Quantity
from airtrim.tables import refrigerant

FOLDER = Path(__file__).resolve().parent
KINDS = (
    "published-table", "worked-example", "measured", "independent-code", "common-practice", "from-memory", "own-derivation"
)  # fmt: skip
_NUMBER = re.compile(r"^\s*([-+]?[\d.]+(?:[eE][-+]?\d+)?)\s*(.*)$")


class TableError(ValueError):
    """A table of published numbers cannot be used; the sentence says which, where and how to mend it."""


@dataclass(frozen=True)
class Case:
    """One printed value: where it stands, how to call us, what is expected and allowed, in the printed unit."""

    id: str
    function: Any
    inputs: dict[str, Any]
    expected: float
    unit: str
    allowed: float
    half_digit: float
    answer: str | int = 0

    def got(self) -> float:
        answer = self.function(**self.inputs)
        if isinstance(self.answer, str):
            answer = getattr(answer, self.answer)
        elif isinstance(answer, tuple):
            answer = answer[self.answer]
        return float(answer.m_as(self.unit)) if hasattr(answer, "m_as") else float(answer)


def read_table(path: Path) -> dict[str, Any]:
    """A table with all its keys; raises `TableError`."""
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise TableError(f"{path.name} cannot be read ({error}): give a TOML file in UTF-8.") from error
    for key in ("function", "source", "locator", "kind", "tolerance"):
        if key not in table:
            raise TableError(f"{path.name} lacks {key}: add it as tests/published/loader.py tells.")
    if table["kind"] not in KINDS:
        raise TableError(f"{path.name}: kind {table['kind']!r} is not known: use one of {', '.join(KINDS)}.")
    if not str(table["tolerance"].get("because", "")).strip():
        raise TableError(f"{path.name}: [tolerance] lacks because: say why so much is allowed.")
    if "checked_by" not in table and not table.get("cases"):
        raise TableError(f"{path.name} has neither [[cases]] nor checked_by: add one.")
    return table


def cases_of(path: Path) -> Iterator[Case]:
    """The cases of one table; none where a test of its own checks it."""
    table = read_table(path)
    if "checked_by" in table:
        return
    module, _, name = table["function"].rpartition(".")
    try:
        function = getattr(importlib.import_module(module), name)
    except (ImportError, AttributeError) as error:
        raise TableError(f"{path.name}: function {table['function']} does not exist: name it in full.") from error
    tolerance = table["tolerance"]
    for number, case in enumerate(table["cases"], start=1):
        if "inputs" not in case or "expected" not in case:
            raise TableError(f"{path.name}, case {number} lacks inputs or expected: write both.")
        expected, unit, half = _printed(case["expected"], path, number)
        inputs = {key: _input(key, value, path, number) for key, value in case["inputs"].items()}
        allowed = max(float(tolerance.get("absolute", 0.0)), float(tolerance.get("relative", 0.0)) * abs(expected))
        shown = ", ".join(str(value) for value in case["inputs"].values())
        yield Case(
            f"{table['source']}, {table['locator']}: {shown}",
            function,
            inputs,
            expected,
            unit,
            allowed,
            half,
            table.get("answer", 0),
        )


def _input(key: str, value: Any, path: Path, number: int) -> Any:
    if key == "refrigerant":
        return refrigerant(value)
    if not isinstance(value, str):
        return float(value)
    amount, unit, _ = _printed(value, path, number)
    return Quantity(amount, unit)


def _printed(value: Any, path: Path, number: int) -> tuple[float, str, float]:
    """(number, unit, half of the last printed digit)."""
    text = str(value)
    found = _NUMBER.match(text)
    if not found:
        raise TableError(
            f'{path.name}, case {number}: {text!r} is no number with a unit, such as "25 degC": write it so.'
        )
    digits, unit = found.groups()
    mantissa, _, exponent = digits.lower().partition("e")
    places = len(mantissa.partition(".")[2])
    return float(digits), unit, 0.5 * 10.0 ** (int(exponent or 0) - places)


def tables(folders: list[Path]) -> list[Path]:
    """All tables below the folders."""
    for folder in folders:
        if not folder.is_dir():
            raise TableError(f"There is no folder {folder} for --published: give one with tables in TOML.")
    return sorted(path for folder in folders for path in folder.rglob("*.toml"))


def all_cases(folders: list[Path]) -> list[Case]:
    """The cases of all tables below the folders."""
    return [case for path in tables(folders) for case in cases_of(path)]
