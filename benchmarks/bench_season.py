"""One house-year at 10 s steps, compiled, one core: the demo's house under its present airflow."""

import time
from pathlib import Path
from typing import Any


def run() -> list[dict[str, Any]]:
    from airtrim.job import load_job
    from airtrim.physics.season.system import AirflowProgram
    from airtrim.physics.season.year import run_years
    from airtrim.weather.files import embedded_weather
    from airtrim.work.findings import find

    job_path = next((Path(__file__).resolve().parent.parent / "examples").glob("*/job.toml"))
    weather = embedded_weather("greensboro-nc")
    system = find(load_job(job_path), weather, count=2, seed=1).system.first(1)
    program = AirflowProgram()
    run_years(system, [program], weather, step_s=60.0, threads=1)
    best = float("inf")
    for _ in range(5):
        began = time.perf_counter()
        run_years(system, [program], weather, step_s=10.0, threads=1)
        best = min(best, time.perf_counter() - began)
    return [
        {
            "bench": "season_single",
            "value": 1000.0 * best,
            "unit": "ms",
            "better": "lower",
            "against": None,
            "ratio": None,
        }
    ]
