"""House-years, compiled: the demo's house under its present airflow, one alone and many in lanes."""

import math
import time
import tracemalloc
from pathlib import Path
from typing import Any

BATCH = 256


def _entry(
    name: str, value: float, unit: str, better: str = "lower", against: str = "", ratio: float = 0.0
) -> dict[str, Any]:
    return {
        "bench": name,
        "value": value,
        "unit": unit,
        "better": better,
        "against": against or None,
        "ratio": ratio or None,
    }


def run() -> list[dict[str, Any]]:
    from airtrim.job import load_job
    from airtrim.physics.season.system import AirflowProgram
    from airtrim.physics.season.year import run_years
    from airtrim.weather.files import embedded_weather
    from airtrim.work.findings import find

    job_path = next((Path(__file__).resolve().parent.parent / "examples").glob("*/job.toml"))
    weather = embedded_weather("greensboro-nc")
    systems = find(load_job(job_path), weather, count=BATCH, seed=1).system
    program = AirflowProgram()

    def clocks(count: int, programs: int, step_s: float, threads: int = 1) -> tuple[float, float]:
        """Wall and processor seconds."""
        wall, processor = time.perf_counter(), time.process_time()
        run_years(systems.first(count), [program] * programs, weather, step_s=step_s, threads=threads)
        return time.perf_counter() - wall, time.process_time() - processor

    for count in (1, BATCH // 16):
        clocks(count, 1, 60.0)  # compiled
    single = 1000.0 * min(clocks(1, 1, 10.0)[0] for _ in range(5))
    fine = 1000.0 * clocks(BATCH, 1, 10.0)[1] / BATCH
    coarse = 1000.0 * min(clocks(BATCH, 1, 60.0)[1] for _ in range(2)) / BATCH
    one, two = (min(clocks(BATCH, 1, 60.0, threads)[0] for _ in range(2)) for threads in (1, 2))
    few, most = (
        min(clocks(count, m, 60.0)[1] for _ in range(times)) for count, m, times in ((64, 1, 3), (BATCH, 16, 1))
    )
    slope = math.log(most / few) / math.log(BATCH * 16 / 64)
    return [
        _entry("season_single", single, "ms"),
        _entry("season_batch_10s", fine, "CPU-ms each", against="season_single", ratio=single / fine),
        _entry("season_batch_60s", coarse, "CPU-ms each"),
        _entry("season_two_cores", one / two, "times one core", better="higher"),
        _entry("season_growth", slope, "slope, 1 is linear"),
        _entry("season_memory", _kilobytes_each(clocks), "kB a scenario"),
    ]


def _kilobytes_each(clocks: Any) -> float:
    """What 15 programs more add to the greatest memory in use, for each house-year of the greater run."""
    peaks = []
    for programs in (1, 16):
        tracemalloc.start()
        clocks(64, programs, 60.0)
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    return (peaks[1] - peaks[0]) / (64 * 15) / 1000.0
