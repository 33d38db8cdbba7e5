"""Weather years kept on disk once they are read or made, so that a later run neither parses nor imports what parsing needs.

A year is found by the hash of what it was made from, of our own sources and of pvlib's version; its contents carry their own hash.
A file that is missing, damaged or unwritable costs time, never a result.
"""

import hashlib
import json
import os
import tempfile
from collections.abc import Callable
from contextlib import suppress
from dataclasses import fields
from functools import lru_cache
from importlib.metadata import version
from pathlib import Path
from zipfile import BadZipFile

import numpy as np

from airtrim.weather.monthly import digest
from airtrim.weather.year import WeatherYear

#: How many years are kept; the oldest go first (about 0.6 MB each).
MOST_KEPT = 60
_ARRAYS = ("dry_bulb_c", "humidity_ratio", "wind_m_s", "ghi_w_m2", "facade_w_m2")


def kept_folder() -> Path:
    """Where years are kept: the user's cache folder (XDG_CACHE_HOME, else ~/.cache)."""
    base = os.environ.get("XDG_CACHE_HOME")
    return (Path(base) if base else Path.home() / ".cache") / "airtrim" / "weather"


def kept(made_from: bytes, make: Callable[[], WeatherYear], folder: Path | None = None) -> WeatherYear:
    """The year that `make` gives, from disk where one made from the same bytes lies there whole."""
    folder = folder or kept_folder()
    path = folder / f"{hashlib.sha256(_makers() + made_from).hexdigest()[:32]}.npz"
    year = _read(path)
    if year is None:
        year = make()
        with suppress(OSError):  # a folder that cannot be written leaves the year as good
            _write(path, year)
    return year


@lru_cache(maxsize=1)
def _makers() -> bytes:
    """Hash of everything that decides how a year comes out of its bytes."""
    found = hashlib.sha256(version("pvlib").encode())
    here = Path(__file__).resolve().parent
    for source in (*sorted(here.glob("*.py")), *sorted((here.parent / "physics" / "air").glob("*.py"))):
        found.update(source.read_bytes())
    return found.digest()


def _read(path: Path) -> WeatherYear | None:
    try:
        with path.open("rb") as file, np.load(file, allow_pickle=False) as stored:
            arrays = {key: stored[key] for key in stored.files}
        if str(arrays["digest"]) != digest(arrays):
            return None
        said = json.loads(str(arrays["said"]))
        said["notes"] = tuple(said["notes"])
        return WeatherYear(**said, **{name: arrays[name] for name in _ARRAYS})
    except (OSError, ValueError, EOFError, KeyError, TypeError, BadZipFile):
        return None  # whatever is wrong with it, the year is made again and written over it


def _write(path: Path, year: WeatherYear) -> None:
    said = {one.name: getattr(year, one.name) for one in fields(year) if one.name not in _ARRAYS}
    arrays = {"said": np.array(json.dumps(said)), **{name: getattr(year, name) for name in _ARRAYS}}
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, half = tempfile.mkstemp(dir=path.parent, suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            np.savez(file, digest=np.array(digest(arrays)), **arrays)
        os.replace(half, path)
    except BaseException:
        Path(half).unlink(missing_ok=True)
        raise
    old = sorted(path.parent.glob("*.npz"), key=lambda one: one.stat().st_mtime)[:-MOST_KEPT]
    for one in old:
        one.unlink(missing_ok=True)
