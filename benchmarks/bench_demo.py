"""The demo from the outside: wall time (caches warm), memory of the whole process tree, and time to show help."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]


def _tree(root_pid: int) -> list[int]:
    """The process and all its descendants, from /proc."""
    parents: dict[int, int] = {}
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                parents[int(entry.name)] = int((entry / "stat").read_text().rsplit(")", 1)[1].split()[1])
            except (OSError, IndexError):
                continue  # the process ended while we looked
    tree = [root_pid]
    for pid in tree:
        tree.extend(child for child, parent in parents.items() if parent == pid)
    return tree


def _pss_mb(pid: int) -> float:
    try:
        lines = Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines()
    except OSError:
        return 0.0  # the process ended while we looked
    return sum(float(line.split()[1]) for line in lines if line.startswith("Pss:")) / 1024.0


def _timed(arguments: list[str], look_at_memory: bool) -> tuple[float, float]:
    """Wall time (s) and greatest PSS (MB) of one run; raises when it fails. Looking at memory takes a good part of a core."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
    start, most = time.perf_counter(), 0.0
    with tempfile.TemporaryFile() as errors:
        command = [sys.executable, "-m", "airtrim.cli", *arguments]
        process = subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL, stderr=errors)
        while look_at_memory and process.poll() is None:
            most = max(most, sum(_pss_mb(pid) for pid in _tree(process.pid)))
            time.sleep(0.05)
        process.wait()
        wall = time.perf_counter() - start
        if process.returncode != 0:
            errors.seek(0)
            raise RuntimeError(
                f"airtrim {' '.join(arguments)} ended with {process.returncode}: {errors.read().decode()}"
            )
    return wall, most


def _help_s() -> float:
    """Wall time of --help, without the sampling of memory."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
    start = time.perf_counter()
    subprocess.run(
        [sys.executable, "-m", "airtrim.cli", "--help"], env=environment, stdout=subprocess.DEVNULL, check=True
    )
    return time.perf_counter() - start


def _row(bench: str, value: float, unit: str) -> dict[str, Any]:
    return {"bench": bench, "value": round(value, 3), "unit": unit, "better": "lower", "against": None, "ratio": None}


def run() -> list[dict[str, Any]]:
    """Help (best of 5), then the demo once to warm the caches, its memory looked at, and once for its time."""
    help_s = min(_help_s() for _ in range(5))
    with tempfile.TemporaryDirectory() as folder:
        _, memory = _timed(["demo", "--out", folder], look_at_memory=True)
        wall, _ = _timed(["demo", "--out", folder], look_at_memory=False)
    return [_row("demo", wall, "s"), _row("demo_memory", memory, "MB"), _row("help", help_s, "s")]


if __name__ == "__main__":
    for row in run():
        print(row)
