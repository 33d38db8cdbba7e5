"""Compiling in a second process what will be needed soon, where no machine code is kept yet: a compiler works in one thread.

`python -m airtrim.core.ahead MODULE FUNCTION` calls the function and notes beside the compiled code that it did.
"""

import atexit
import importlib
import os
import subprocess
import sys
from pathlib import Path

from airtrim.core.kernels import cache_folder

_STARTED: dict[tuple[str, str], subprocess.Popen[bytes]] = {}


def _note(module: str, function: str) -> Path:
    """There once it was done with the same sources."""
    return cache_folder(module) / f"{function}.ahead"


def compile_ahead(module: str, function: str) -> None:
    """Let another process call `module.function()`, so that its kernels are on disk; nothing where that was done before.

    Where the other process fails nothing is lost: this one compiles for itself, and says what is wrong.
    """
    if (module, function) in _STARTED or _note(module, function).exists():
        return
    path = os.pathsep.join([str(Path(__file__).resolve().parents[2]), *filter(None, [os.environ.get("PYTHONPATH")])])
    process = subprocess.Popen(
        [sys.executable, "-m", __name__, module, function],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env=os.environ | {"PYTHONPATH": path},
    )
    _STARTED[module, function] = process
    atexit.register(process.terminate)


def is_under_way(module: str, function: str) -> bool:
    """Whether another process started here is at it."""
    return (module, function) in _STARTED and _STARTED[module, function].poll() is None


def wait_for(module: str, function: str) -> None:
    """Until the other process is through, if one was started here."""
    if (module, function) in _STARTED:
        _STARTED[module, function].wait()


def main(module: str, function: str) -> None:
    getattr(importlib.import_module(module), function)()
    note = _note(module, function)
    note.parent.mkdir(parents=True, exist_ok=True)
    note.touch()


if __name__ == "__main__":
    main(*sys.argv[1:])
