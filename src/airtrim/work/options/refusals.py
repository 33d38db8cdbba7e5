"""What no option here can promise, and why: told before anything is recommended."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from airtrim.job.tariff import DAYS_BEFORE
from airtrim.physics.season.system import WeatherArrays
from airtrim.work.findings import Findings
from airtrim.work.options.candidates import IDS
from airtrim.work.options.ranking import DRY, REACHED
from airtrim.work.options.weigh import aim_of

#: What does its work by something else than how much air the blower moves.
NOT_AIRFLOW = frozenset({
    "set_point_higher", "exhausts_by_need", "less_outdoor_air", "thermostat_that_dries", "free_standing_dehumidifier",
    "ducted_dehumidifier", "seal_ducts", "right_sized_unit", "staged_unit",
})  # fmt: skip
#: Airflow is said not to reach an aim where it does in fewer than this part of the systems, and something else in twice as many.
SELDOM = 0.25
#: A month this much below the set-point, K, has little to cool, so that no airflow gets time to dry.
MILD_K = 4.0


def refusals(
    found: Findings,
    options: list[dict[str, Any]],
    weather: WeatherArrays,
    screened: Sequence[dict[str, Any]] = (),
) -> list[dict[str, Any]]:
    """Messages: that the aim cannot be reached and why, that airflow does not and what does, and where airflow promises nothing."""
    told: list[dict[str, Any]] = []
    aim, run = aim_of(found), [one for one in options if one["status"] == "run"]
    everything = [one for one in [*run, *screened] if one["safe"]]
    met = [_chance(one) for one in everything]
    mild = _mild_month(found, run[0], weather)
    if met and max(met) < REACHED:
        why = "mild" if mild is not None and aim in ("dry", "cheap_to_buy") else "limits" if _struck(run) else "size"
        told.append({"id": f"option_told.cannot_reach_{aim}", "values": {}})
        told.append({"id": f"option_told.because_{why}", "values": {}})
    elif met and max(met) >= SELDOM:
        by_air = max((_chance(one) for one in everything if _by_air(one)), default=0.0)
        if by_air < SELDOM and max(met) >= 2.0 * by_air:
            values = {"air": f"{100.0 * by_air:.0f}", "other": f"{100.0 * max(met):.0f}"}
            told.append({"id": "option_told.airflow_does_not", "values": values})
    if mild is not None and aim in ("dry", "cheap_to_buy"):
        told.append({"id": f"option_told.mild_{mild}", "values": {}})
    elif aim in ("dry", "cheap_to_buy"):
        told.append({"id": "option_told.mild_week", "values": {}})
    return told


def _chance(option: dict[str, Any]) -> float:
    return float(next(f for f in option["figures"] if f["id"] == "aim_met")["mid"])


def _by_air(option: dict[str, Any]) -> bool:
    """Whether an option works through airflow alone (leaving it as it is among them)."""
    names = option.get("parts") or [option.get("id", IDS[0])]
    return not NOT_AIRFLOW & set(names)


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
    met = [_chance(one) for one in run if not one["safe"]]
    return bool(met) and max(met) >= REACHED
