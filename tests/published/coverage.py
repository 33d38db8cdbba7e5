"""Which public functions of the physics stand in no table of printed values that others vouch for."""

import importlib
import inspect
import pkgutil
import re

from airtrim import physics
from tests.published.loader import FOLDER, read_table, tables


def public_functions() -> dict[str, str]:
    """Full name of every public function of the physics, and its source text."""
    found = {}
    for place in pkgutil.walk_packages(physics.__path__, "airtrim.physics."):
        for name, one in vars(importlib.import_module(place.name)).items():
            plain = inspect.unwrap(getattr(one, "reference", one))
            if not name.startswith("_") and inspect.isfunction(plain) and plain.__module__ == place.name:
                found[f"{place.name}.{name}"] = inspect.getsource(plain)
    return found


def named_in_tables() -> set[str]:
    """Functions that a table names whose figures are not our own derivation."""
    named: set[str] = set()
    for path in tables([FOLDER]):
        table = read_table(path)
        if table["kind"] != "own-derivation":
            first, *others = [one.strip() for one in table["function"].split(",")]
            named |= {first} | {f"{first.rpartition('.')[0]}.{one}" for one in others}
    return named


def without_outside_case() -> list[str]:
    """Public functions without an outside case; the formula behind a checked function of quantities counts with it."""
    functions, seen = public_functions(), named_in_tables()
    for name in sorted(seen & functions.keys()):
        for room, formulas in (("air", "moist"), ("refrigerant", "saturation")):
            if name.startswith(f"airtrim.physics.{room}.states."):
                behind = re.findall(rf"\b{formulas}\.(\w+)", functions[name])
                seen |= {f"airtrim.physics.{room}.{formulas}.{one}" for one in behind}
    return sorted(functions.keys() - seen)
