"""`./run bench [NAME ...] [--json]`: the figures the README quotes; the calibration kernel's time stands beside them."""

import importlib
import json
import sys
import time
from pathlib import Path
from typing import Any


def calibration_ms() -> float:
    """A fixed plain-Python loop: machines differ threefold, so read every time against this one."""
    best = float("inf")
    for _ in range(5):
        began, total = time.perf_counter(), 0.0
        for index in range(400_000):
            total += (index * 0.5) % 3.0
        best = min(best, time.perf_counter() - began)
    return 1000.0 * best


def is_wanted(room: str, figure: str, wanted: list[str]) -> bool:
    """Whether a figure is shown: all are where nothing is named or their room is (`web`), else those a name begins."""
    return not wanted or room in wanted or any(figure.startswith(name) for name in wanted)


def main(arguments: list[str]) -> int:
    as_json = "--json" in arguments
    wanted = [name for name in arguments if not name.startswith("--")]
    folder = Path(__file__).resolve().parent
    entries: list[dict[str, Any]] = [
        {
            "bench": "calibration",
            "value": calibration_ms(),
            "unit": "ms",
            "better": "lower",
            "against": None,
            "ratio": None,
        }
    ]
    for path in sorted(folder.glob("bench_*.py")):
        room = path.stem.removeprefix("bench_")
        if not wanted or any(name.startswith(room) or name in path.read_text() for name in wanted):
            measured = importlib.import_module(f"benchmarks.{path.stem}").run()
            entries += [entry for entry in measured if is_wanted(room, entry["bench"], wanted)]
    for entry in entries:
        if as_json:
            print(json.dumps(entry))
        else:
            ratio = "" if entry["ratio"] is None else f"   {entry['ratio']:.3g} times {entry['against']}"
            print(f"{entry['bench']:<24}{entry['value']:>12.4g} {entry['unit']:<18}{ratio}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
