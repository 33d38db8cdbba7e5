"""The one place that touches numba: how a compiled function is declared, and where its machine code is kept.

A cached kernel goes stale when a helper it was compiled with changes, so the cache folder is named by the hash of all our
sources, numba's version and the processor.
"""

import hashlib
import os
import platform
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar, cast

_PACKAGE = Path(__file__).resolve().parent.parent


def _cache_folder() -> Path:
    digest = hashlib.sha256()
    for source in sorted(_PACKAGE.rglob("*.py")):
        digest.update(source.relative_to(_PACKAGE).as_posix().encode())
        digest.update(source.read_bytes())
    digest.update(f"{platform.machine()}{platform.processor()}{platform.python_version()}".encode())
    base = Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache"))
    return base / "airtrim" / "compiled" / digest.hexdigest()[:16]


os.environ.setdefault("NUMBA_CACHE_DIR", str(_cache_folder()))

from numba import njit as _njit  # noqa: E402  (numba reads its cache folder when first imported)
from numba import vectorize as _vectorize  # noqa: E402

Function = TypeVar("Function", bound=Callable[..., Any])


def kernel(function: Function) -> Function:
    """Compile a loop or a solver; releases the interpreter lock; the plain form stays at `.py_func`."""
    return cast(Function, _njit(error_model="numpy", cache=True, nogil=True)(function))


def inline_kernel(function: Function) -> Function:
    """Compile a small formula that is pasted into the kernels calling it."""
    return cast(Function, _njit(error_model="numpy", cache=True, nogil=True, forceinline=True)(function))


def fused_kernel(function: Function) -> Function:
    """As `kernel`, and sums may be reordered and multiply-adds fused; NaN stays NaN. For the season only."""
    flags = {"contract", "afn", "reassoc"}
    return cast(Function, _njit(error_model="numpy", cache=True, nogil=True, fastmath=flags)(function))


@lru_cache(maxsize=256)
def over_arrays(scalar: Function) -> Function:
    """A kernel of scalars as a compiled function that broadcasts over arrays (compiled once a process, at its first call)."""
    return cast(Function, _vectorize(nopython=True)(getattr(scalar, "py_func", scalar)))
