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


def cache_folder() -> Path:
    digest = hashlib.sha256()
    for source in sorted(_PACKAGE.rglob("*.py")):
        digest.update(source.relative_to(_PACKAGE).as_posix().encode())
        digest.update(source.read_bytes())
    digest.update(f"{platform.machine()}{platform.processor()}{platform.python_version()}".encode())
    base = Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache"))
    return base / "airtrim" / "compiled" / digest.hexdigest()[:16]


os.environ.setdefault("NUMBA_CACHE_DIR", str(cache_folder()))

import numpy as np  # noqa: E402  (numba reads its cache folder when first imported)
from numba import config as _config  # noqa: E402
from numba import njit as _njit  # noqa: E402
from numba import types as _types  # noqa: E402
from numba import vectorize as _vectorize  # noqa: E402
from numba.extending import intrinsic as _intrinsic  # noqa: E402

Function = TypeVar("Function", bound=Callable[..., Any])


def _declared(function: Function, **options: Any) -> Function:
    compiled = _njit(error_model="numpy", cache=True, nogil=True, **options)(function)
    compiled.reference = function
    return cast(Function, compiled)


def kernel(function: Function) -> Function:
    """Compile a loop or a solver; releases the interpreter lock; the plain form stays at `.reference`."""
    return _declared(function)


def inline_kernel(function: Function) -> Function:
    """Compile a small formula that is pasted into the kernels calling it."""
    return _declared(function, forceinline=True)


def fused_kernel(function: Function) -> Function:
    """As `kernel`, and sums may be reordered and multiply-adds fused; NaN stays NaN. Where a benchmark shows that it pays."""
    return _declared(function, fastmath={"contract", "afn", "reassoc"})


@_intrinsic  # type: ignore[untyped-decorator]
def select(typing: Any, condition: Any, then: Any, orelse: Any) -> Any:
    """`then if condition else orelse` of three values at hand, as the processor's own selection: no branch. Kernels only."""

    def generate(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        return builder.select(*arguments)

    return _types.float64(_types.boolean, _types.float64, _types.float64), generate


@lru_cache(maxsize=256)
def over_arrays(scalar: Function) -> Function:
    """A kernel of scalars as a compiled function that broadcasts over arrays (compiled once a process, at its first call)."""
    plain = getattr(scalar, "reference", scalar)
    if _config.DISABLE_JIT:  # numba's own `vectorize` would compile all the same
        return cast(Function, np.vectorize(plain, otypes=[np.float64]))
    return cast(Function, _vectorize(nopython=True)(plain))
