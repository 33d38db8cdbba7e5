"""The working of each figure of a plan: findings, options, limits and settings; those of the readings are in work/readings.

Most of these figures come from a sample of systems and have no closed form: a method is named with what went into it. Where a
formula holds it is given, and a test computes it again.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from airtrim.job.checks import filter_area_m2
from airtrim.job.model import Job
from airtrim.work.readings.working import Inputs, by_method, working

#: Which method gives a finding, and its source; what is not listed comes from the sample alone.
BY_UNIT = ("total_capacity", "latent_capacity", "saturated_suction")
#: Figures of a year that have a source of their own, and those that are counted another way than by the year's hours.
SOURCES = {"mould_index": "hukka1999", "mite_safe_hours": "arlian2001", "sound_change": "amca"}
BY_OTHER = {"aim_met": "share", "sound_change": "sound", "bill": "bill", "first_cost": "price", "payback": "payback",
            "design_margin_w": "design_hour", "external_static": "static"}  # fmt: skip


def findings_workings(
    job: Job, found: Mapping[str, Any], conditions: tuple[float, float, float], systems: int
) -> list[dict[str, Any]]:
    """Of the findings' figures and chances; `conditions` are room degC, RH and outdoor degC that capacities stand at."""
    by_id = {one["id"]: one for one in found["figures"]}
    drawn: Inputs = {"systems": (float(systems), "count")}
    room, humidity, outdoor = conditions
    state: Inputs = {"return_dry_bulb": (room, "degC"), "relative_humidity": (humidity, "fraction"),
                     "outdoor_dry_bulb": (outdoor, "degC")}  # fmt: skip
    made = []
    for identity, one in by_id.items():
        name = f"finding.{identity}"
        if "mid" not in one:
            continue
        flow = (by_id["airflow"].get("mid", float("nan")), "m3/s")
        if identity == "airflow_per_ton":
            size = (job.system.outdoor_size.si, "W_heat")
            made.append(
                working(name, one, "airflow / outdoor_size", "common-practice", {"airflow": flow, "outdoor_size": size})
            )
        elif identity == "filter_velocity":
            area = (filter_area_m2(job) or float("nan"), "m2_small")
            made.append(
                working(name, one, "airflow / filter_area", "common-practice", {"airflow": flow, "filter_area": area})
            )
        elif identity == "return_duct_gain":
            pair = next(
                one for one in job.readings if one.return_dry_bulb is not None and one.grille_dry_bulb is not None
            )
            assert pair.return_dry_bulb is not None and pair.grille_dry_bulb is not None
            made.append(working(name, one, "return_dry_bulb - grille_dry_bulb", "common-practice",
                                {"return_dry_bulb": (pair.return_dry_bulb.si, "degC"),
                                 "grille_dry_bulb": (pair.grille_dry_bulb.si, "degC")}))  # fmt: skip
        elif identity in BY_UNIT:
            made.append(by_method(name, one, "unit", "own-derivation", {**drawn, **state}))
        else:
            made.append(by_method(name, one, "sample", "own-derivation", drawn))
    for one in (found.get("explanations") or {"list": []})["list"]:
        chance = {"id": one["id"], "mid": one["probability"], "unit": "fraction"}
        made.append(by_method(f"finding.chance.{one['id']}", chance, "chance", "own-derivation", {}))
    return made


def options_workings(result: Mapping[str, Any], job: Job) -> list[dict[str, Any]]:
    """Of every figure, difference and limit of the options that were run."""
    years: Inputs = {"systems": (float(result["systems"]), "count")}
    made: list[dict[str, Any]] = []
    for option in result["options"]:
        name = f"option.{option['id']}"
        for one in option["figures"]:
            if "mid" in one:
                made.append(_option_figure(f"{name}.{one['id']}", one, option, result, years))
        for one in option["differences"]:
            if "mid" in one:
                made.append(
                    by_method(f"{name}.against_now.{one['id']}", one, "year_difference", "own-derivation", years)
                )
        made += _limits(name, option, job, years)
    return made


def _option_figure(
    name: str, one: dict[str, Any], option: Mapping[str, Any], result: Mapping[str, Any], years: Inputs
) -> dict[str, Any]:
    identity = one["id"]
    bill = next((other for other in option["differences"] if other["id"] == "bill" and "mid" in other), None)
    cost = next((other for other in option["figures"] if other["id"] == "first_cost"), None)
    if identity == "net_present_value" and bill is not None and cost is not None:
        rate, count = result["terms"]["rate"], result["terms"]["years"]
        worth = "years" if rate == 0.0 else "(1 - (1 + rate) ** (-years)) / rate"
        inputs: dict[str, tuple[float | str, str]] = {
            "change_of_bill": (bill["mid"], bill["unit"]), "years": (float(count), "years"),
            "first_cost": (cost["mid"], cost["unit"]),
        }  # fmt: skip
        inputs |= {} if rate == 0.0 else {"rate": (rate, "fraction")}
        return working(name, one, f"-change_of_bill * {worth} - first_cost", "nist-handbook-135", inputs)
    method = BY_OTHER.get(identity, "year")
    inputs_of: Inputs = {} if method == "price" else years
    return by_method(name, one, method, SOURCES.get(identity, "own-derivation"), inputs_of)


def _limits(name: str, option: Mapping[str, Any], job: Job, years: Inputs) -> Iterator[dict[str, Any]]:
    for one in option["limits"]:
        figure = one["figure"]
        if not figure or "mid" not in figure:
            continue
        side = "least_allowed" if one["at_least"] else "greatest_allowed"
        bound: Inputs = {} if one["bound"] is None else {side: (one["bound"], figure["unit"])}
        key = f"{name}.limit.{one['id']}"
        moved = next((other["figure"] for other in option["limits"] if other["id"] == "maker_least_airflow"), None)
        if one["id"] == "airflow_per_ton" and moved is not None:
            size = (job.system.outdoor_size.si, "W_heat")
            yield working(key, figure, "least_airflow / outdoor_size", "common-practice",
                          {"least_airflow": (moved["mid"], "m3/s"), "outdoor_size": size})  # fmt: skip
        else:
            method = "winding" if one["id"] == "winding_rise" else "limit"
            yield by_method(key, figure, method, "own-derivation", {**years, **bound})


def settings_workings(settings: Mapping[str, Any], systems: int) -> list[dict[str, Any]]:
    """Of the settings sheet's numbers, and of what the instruments should then show."""
    made = []
    for row in settings["card"]:
        if isinstance(row["value"], str):
            continue
        figure = {"id": row["id"], "low": row["low"], "mid": row["value"], "high": row["high"], "unit": row["unit"]}
        part = row.get("part_of")
        if part is not None:
            inputs: Inputs = {"part": (part["part"], "1"), "full_airflow": (part["full"], "m3/s")}
            made.append(working(f"setting.{row['id']}", figure, "part * full_airflow", "own-derivation", inputs))
        else:
            made.append(by_method(f"setting.{row['id']}", figure, "setting", "own-derivation", {}))
    drawn: Inputs = {"systems": (float(systems), "count")}
    for one in settings["expected"]:
        if "mid" in one:
            made.append(by_method(f"setting.expected.{one['id']}", one, "expected", "own-derivation", drawn))
    return made
