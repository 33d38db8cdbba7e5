"""The refrigerants' tables as they are stored with the release: read once, checked, frozen. Built by `build_refrigerants`."""

import hashlib
import json
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any, Final
from zipfile import BadZipFile

import numpy as np

from airtrim.core.errors import InputError
from airtrim.physics.refrigerant.table import Refrigerant, RefrigerantTable

PATH: Final = Path(__file__).resolve().parent / "refrigerants.npz"
#: Trade names, as on the nameplate.
NAMES: Final = ("R-22", "R-32", "R-134a", "R-407C", "R-410A", "R-454B")


def refrigerant(name: str) -> Refrigerant:
    """The refrigerant of a trade name ("R-410A", also "R410A" or "r410a"); raises `InputError` on any other."""
    wanted = _bare(name)
    for known in NAMES:
        if _bare(known) == wanted:
            return _read(PATH)[known]
    raise InputError(f"Refrigerant {name!r} has no table: give one of {', '.join(NAMES)}.")


def digest(arrays: Mapping[str, Any]) -> str:
    """SHA-256 of the contents in the order of their names, the digest itself left out."""
    found = hashlib.sha256()
    for key in sorted(arrays):
        if key != "digest":
            values = np.ascontiguousarray(arrays[key])
            found.update(f"{key} {values.dtype.str} {values.shape}".encode())
            found.update(values.tobytes())
    return found.hexdigest()


@lru_cache(maxsize=2)
def _read(path: Path) -> dict[str, Refrigerant]:
    """All refrigerants of a file; raises `InputError` where it is missing or not as it was written."""
    mend = "install airtrim again, or run python -m airtrim.tables.build_refrigerants"
    try:
        with path.open("rb") as file, np.load(file, allow_pickle=False) as stored:
            arrays = {key: stored[key] for key in stored.files}
    except (OSError, ValueError, EOFError, BadZipFile) as error:
        raise InputError(f"The table of refrigerants {path.name} cannot be read ({error}): {mend}.") from error
    if str(arrays.get("digest")) != digest(arrays):
        raise InputError(f"The table of refrigerants {path.name} is not what was stored with the release: {mend}.")
    origin = json.loads(str(arrays["origin"]))
    found = {}
    for name in NAMES:
        fields: dict[str, Any] = {}
        for field in RefrigerantTable._fields:
            values = arrays[f"{name}/{field}"].astype(np.float64)
            values.setflags(write=False)
            fields[field] = float(values) if values.ndim == 0 else values
        table = RefrigerantTable(**fields)
        found[name] = Refrigerant(name, table, f"{origin['origin']}, {origin['fluids'][name]}")
    return found


def _bare(name: str) -> str:
    return name.strip().upper().replace("-", "").replace(" ", "")
