"""From nothing running to a first answer, s: a fresh process reads a job, finds eight systems that fit, runs a house-year at 10 s.

With what an earlier run left on disk (compiled code, weather), and with nothing there.
"""

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent

FIRST_ANSWER = """
from airtrim.job import load_job
from airtrim.physics.season.system import AirflowProgram
from airtrim.physics.season.year import run_years
from airtrim.work.findings import find
from airtrim.work.weather import weather_of

job = load_job({job!r})
weather = weather_of(job)
systems = find(job, weather, count=8, seed=1).system
assert run_years(systems.first(1), [AirflowProgram()], weather).mean_relative_humidity.shape == (1, 1)
"""


def run() -> list[dict[str, Any]]:
    job = next((ROOT / "examples").glob("*/job.toml"))
    program = FIRST_ANSWER.format(job=str(job))

    def seconds(cache: str) -> float:
        start = time.perf_counter()
        environment = os.environ | {"XDG_CACHE_HOME": cache, "PYTHONPATH": str(ROOT / "src")}
        subprocess.run([sys.executable, "-c", program], env=environment, check=True, cwd=ROOT)
        return time.perf_counter() - start

    with tempfile.TemporaryDirectory() as cache:
        empty = seconds(cache)
        kept = min(seconds(cache) for _ in range(3))
    return [
        {"bench": name, "value": value, "unit": "s", "better": "lower", "against": against, "ratio": ratio}
        for name, value, against, ratio in (
            ("first_result", kept, None, None),
            ("first_result_nothing_kept", empty, "first_result", empty / kept),
        )
    ]
