"""The one place that touches numba: how a compiled function is declared, and where its machine code is kept.

A cached kernel goes stale when a helper it was compiled with changes, so each module's code is kept in a folder named by the hash
of that module, of all of ours that it imports, however far away, and of the processor (docs/decisions/compiled-cache.md).
"""

import hashlib
import os
import platform
import re
from collections.abc import Callable
from functools import cache, lru_cache
from math import isfinite
from pathlib import Path
from typing import Any, TypeVar, cast

import numpy as np
from llvmlite import binding as _llvm
from numba import config as _config
from numba import njit as _njit
from numba import types as _types
from numba import vectorize as _vectorize
from numba.extending import intrinsic as _intrinsic
from numba.extending import overload as _overload

# A loop over lanes stays a loop until the vectoriser has seen it: written out before, short ones were done lane by lane, a sixth
# of a year's time. It holds for all that is compiled in this process, and changes no result.
_llvm.set_option("airtrim", "-unroll-full-max-count=7")

_PACKAGE = Path(__file__).resolve().parent.parent
_IMPORT = re.compile(r"^\s*(?:from (airtrim[\w.]*) import (\([^)]*\)|.*)|import (airtrim[\w.]*))", re.MULTILINE)


def _source(module: str) -> Path | None:
    place = _PACKAGE.joinpath(*module.split(".")[1:])
    for path in (place.with_suffix(".py"), place / "__init__.py"):
        if path.is_file():
            return path
    return None


@cache
def _imports(path: Path) -> tuple[bytes, frozenset[str]]:
    """A source file's bytes and the modules of ours it imports."""
    content = path.read_bytes()
    found = set()
    for package, names, whole in _IMPORT.findall(content.decode()):
        found.add(package or whole)
        found |= {f"{package}.{name}" for name in re.findall(r"\w+", names)} if package else set()
    return content, frozenset(found)


def cache_folder(*modules: str) -> Path:
    """Where the machine code made from these modules is kept: another folder when they or what they import changes."""
    wanted, read = [*modules], {}
    while wanted:
        module = wanted.pop()
        path = _source(module)
        if path is not None and path not in read:
            content, found = _imports(path)
            read[path] = content
            wanted += found
    digest = hashlib.sha256()
    for path in sorted(read):
        digest.update(path.relative_to(_PACKAGE).as_posix().encode())
        digest.update(read[path])
    digest.update(f"{platform.machine()}{platform.processor()}{platform.python_version()}".encode())
    return _kept() / digest.hexdigest()[:16]


def _kept() -> Path:
    return Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache")) / "airtrim" / "compiled"


def _all_modules() -> list[str]:
    paths = (path.relative_to(_PACKAGE).with_suffix("").parts for path in _PACKAGE.rglob("*.py"))
    return [".".join(("airtrim", *parts)) for parts in paths if parts[-1] != "__init__"]


@cache
def _kept_in(module: str, file: str) -> str:
    if module.startswith("airtrim."):
        return str(cache_folder(module))
    if _kept() in Path(file).parents:  # a module written by core/lanes: it lies in the right folder already
        return str(Path(file).parent)
    return str(cache_folder(*_all_modules()))


Function = TypeVar("Function", bound=Callable[..., Any])


def _declared(function: Function, **options: Any) -> Function:
    before = _config.CACHE_DIR
    if "NUMBA_CACHE_DIR" not in os.environ:
        _config.CACHE_DIR = _kept_in(function.__module__, function.__code__.co_filename)
    try:
        compiled = _njit(error_model="numpy", cache=True, nogil=True, **options)(function)
    finally:
        _config.CACHE_DIR = before
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


def fma(x: float, y: float, z: float) -> float:
    """x y + z rounded once, the processor's fused multiply-add when compiled; the same bits in plain Python, slowly."""
    if not (isfinite(x) and isfinite(y) and isfinite(z)):
        return x * y + z
    (a, b), (c, d), (e, f) = x.as_integer_ratio(), y.as_integer_ratio(), z.as_integer_ratio()
    exact = a * c * f + e * b * d
    return exact / (b * d * f) if exact else x * y + z  # whole numbers are divided with one rounding


@_intrinsic  # type: ignore[untyped-decorator]
def _fma(typing: Any, x: Any, y: Any, z: Any) -> Any:
    def generate(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        return builder.fma(*arguments)

    return _types.float64(_types.float64, _types.float64, _types.float64), generate


@_overload(fma, inline="never")
def _compiled_fma(x, y, z):  # type: ignore[no-untyped-def]
    return lambda x, y, z: _fma(x, y, z)


@lru_cache(maxsize=256)
def over_arrays(scalar: Function) -> Function:
    """A kernel of scalars as a compiled function that broadcasts over arrays (compiled once a process, at its first call)."""
    plain = getattr(scalar, "reference", scalar)
    if _config.DISABLE_JIT:  # numba's own `vectorize` would compile all the same
        return cast(Function, np.vectorize(plain, otypes=[np.float64]))
    return cast(Function, _vectorize(nopython=True)(plain))
