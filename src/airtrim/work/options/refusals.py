"""What no option here can promise, and why: told before anything is recommended."""

from typing import Any

import numpy as np

from airtrim.job.tariff import DAYS_BEFORE
from airtrim.physics.season.system import WeatherArrays
from airtrim.work.findings import Findings
from airtrim.work.options.weigh import DRY, aim_of

#: No safe option meets the aim where fewer than this part of the systems do.
REACHED = 0.05
#: A month this much below the set-point, K, has little to cool, so that no airflow gets time to dry.
MILD_K = 4.0


def refusals(found: Findings, options: list[dict[str, Any]], weather: WeatherArrays) -> list[dict[str, Any]]:
    """Messages: that the aim cannot be reached and why, and where airflow promises nothing."""
    told: list[dict[str, Any]] = []
    aim, run = aim_of(found), [one for one in options if one["status"] == "run"]
    met = [next(f for f in one["figures"] if f["id"] == "aim_met")["mid"] for one in run if one["safe"]]
    mild = _mild_month(found, run[0], weather)
    if met and max(met) < REACHED:
        why = "mild" if mild is not None and aim in ("dry", "cheap_to_buy") else "limits" if _struck(run) else "size"
        told.append({"id": f"option_told.cannot_reach_{aim}", "values": {}})
        told.append({"id": f"option_told.because_{why}", "values": {}})
    if mild is not None and aim in ("dry", "cheap_to_buy"):
        told.append({"id": f"option_told.mild_{mild}", "values": {}})
    elif aim in ("dry", "cheap_to_buy"):
        told.append({"id": "option_told.mild_week", "values": {}})
    return told


def _mild_month(found: Findings, now: dict[str, Any], weather: WeatherArrays) -> int | None:
    """The wettest month indoors (1 to 12) where it is wet and there is little to cool, else None."""
    humidity = np.array(now["monthly_relative_humidity"])
    wettest = int(np.argmax(humidity))
    hours = slice(24 * DAYS_BEFORE[wettest], 24 * DAYS_BEFORE[wettest + 1])
    mean = float(weather.dry_bulb_c[hours].mean())
    if humidity[wettest] <= DRY - 0.02:
        return None
    return wettest + 1 if mean < found.job.thermostat.set_point.si - MILD_K else None


def _struck(run: list[dict[str, Any]]) -> bool:
    """Whether an option that would meet the aim was struck out by a limit."""
    met = [next(f for f in one["figures"] if f["id"] == "aim_met")["mid"] for one in run if not one["safe"]]
    return bool(met) and max(met) >= REACHED
