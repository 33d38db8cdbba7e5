"""Each option over the year on the same systems: figures, paired differences, limits, and the choice."""

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from airtrim.physics.season.cases import Case, run_cases
from airtrim.physics.season.many import Progress
from airtrim.physics.season.system import WeatherArrays
from airtrim.physics.season.year import YearResults
from airtrim.work.figure import Figure, figure
from airtrim.work.findings import Findings
from airtrim.work.options.candidates import CARD_KINDS, UNCHANGED_RISE, Candidate, card_of
from airtrim.work.options.heat import heat_of
from airtrim.work.options.limits import air_limits, is_safe, motor_limits, over_dry_limit, year_limits
from airtrim.work.options.measures import Measures, measures_of
from airtrim.work.options.money import Terms, net_present_value, payback_years
from airtrim.work.options.ranking import AIMS, OF_COMPLAINT, chance_of, met, rank
from airtrim.work.readings import points_of
from airtrim.work.readings.pressures import external_static
from airtrim.work.readings.uncertain import carried

Array = NDArray[np.float64]
#: What is shown of each option: result, unit.
SHOWN = {
    "damp_hours": "h/yr",
    "mean_relative_humidity": "fraction",
    "mean_dew_point_c": "degC",
    "longest_wet_spell_h": "h",
    "over_dry_hours": "h/yr",
    "mould_index": "1",
    "mite_safe_hours": "h/yr",
    "water_kg": "kg",
    "compressor_kwh": "kWh/yr",
    "blower_kwh": "kWh/yr",
    "dehumidifier_kwh": "kWh/yr",
    "least_saturated_suction_c": "degC",
    "least_icing_margin_k": "K",
    "stop_hours": "h/yr",
    "frost_hours": "h/yr",
    "hours_set_point_missed": "h/yr",
    "design_margin_w": "W_heat",
    "sweat_hours": "h/yr",
    "duct_sweat_hours": "h/yr",
    "mean_flow_fraction": "fraction",
}
DIFFERENCES = {
    "damp_hours": "h/yr",
    "mean_relative_humidity": "points",
    "mean_dew_point_c": "K",
    "mould_index": "1",
    "mite_safe_hours": "h/yr",
    "blower_kwh": "kWh/yr",
    "compressor_kwh": "kWh/yr",
    "dehumidifier_kwh": "kWh/yr",
    "hours_set_point_missed": "h/yr",
    "design_margin_w": "W_heat",
    "least_icing_margin_k": "K",
    "sweat_hours": "h/yr",
}
#: Monthly series of each option: result, unit.
SERIES = {
    "monthly_relative_humidity": "fraction",
    "monthly_dew_point_c": "degC",
    "monthly_mould_index": "1",
    "monthly_mite_safe_hours": "h",
}
#: What was drawn and a reading on site could tell, by the name of that reading.
DRAWN: Final = {
    "airflow": "full_flow_kg_s",
    "return_leak": "return_leak",
    "supply_leak": "supply_leak",
    "leakage_area": "leakage_area_cm2",
    "moisture": "moisture_gain_kg_s",
    "internal_gain": "internal_gain_w",
    "envelope": "envelope_w_k",
    "moisture_buffer": "moisture_buffer_kg",
}
#: An aim met in fewer than this part of the systems is not to be promised.
PROMISED = 0.5


def run_candidates(
    found: Findings,
    candidates: Sequence[Candidate],
    weather: WeatherArrays,
    step_s: float,
    progress: Progress | None = None,
    systems: int | None = None,
    threads: int = 2,
    hourly: bool = True,
) -> YearResults:
    """Years of all candidates that apply, `[N, M]`, all in one run. `systems` takes the first few.

    `hourly` asks for what comfort and the tariff need: energy by month and hour of the day, hourly temperature and humidity.
    """
    cases = []
    for candidate in candidates:
        if candidate.program is None:
            continue
        sample = candidate.system_of(found)
        count = sample.count if systems is None else min(systems, sample.count)
        watts = None if candidate.watts is None else candidate.watts[:count]
        cases.append(Case(sample if count == sample.count else sample.first(count), candidate.program, watts))
    return run_cases(cases, weather, step_s, progress, threads, by_hour=hourly, hourly=hourly)


def option_results(
    found: Findings, candidates: list[Candidate], years: YearResults, weather: WeatherArrays | None = None
) -> list[dict[str, Any]]:
    """One entry a candidate in the order given; the first one run is what others are compared with.

    There is a bill where `years` hold hours (`run_candidates`), and comfort where `weather` is given too.
    """
    run = [candidate for candidate in candidates if candidate.program is not None]
    measures = [measures_of(found, candidate, years, m, weather) for m, candidate in enumerate(run)]
    results = []
    for candidate in candidates:
        if candidate.program is None:
            results.append(set_aside(candidate))
            continue
        m = run.index(candidate)
        results.append(_weighed(found, candidate, years, m, measures))
    return results


def set_aside(candidate: Candidate) -> dict[str, Any]:
    """The entry of an option that does not apply."""
    empty: dict[str, Any] = {name: [] for name in ("figures", "differences", "limits")}
    return {"id": candidate.id} | empty | {"safe": False, "status": "not_applicable", "why": candidate.why_not}


def _weighed(
    found: Findings, candidate: Candidate, years: YearResults, m: int, measures: list[Measures]
) -> dict[str, Any]:
    own, now = measures[m], measures[0]
    column = {name: getattr(years, name)[:, m] for name in SHOWN}
    before = {name: getattr(years, name)[:, 0] for name in SHOWN}
    entry: dict[str, Any] = {"id": candidate.id, "by_system": own.by_system()}
    hits = met(watched_aim(found), entry, {"by_system": now.by_system()})
    figures = [figure(name, column[name], unit) for name, unit in SHOWN.items()]
    figures.append(figure("worst_month_relative_humidity", own.worst_month, "fraction"))
    if m and np.all(np.isfinite(own.sound[0])):
        figures.append(_sound_figure(own.sound))
    static = static_under(found, candidate)
    figures += [*([] if static is None else [static]), *_comfort(own, None), chance_of(hits)]
    differences: list[Figure] = []
    if m:
        differences = [figure(name, column[name] - before[name], unit) for name, unit in DIFFERENCES.items()]
        differences += _comfort(own, now)
    if own.bill is not None and now.bill is not None:
        unit = f"{found.job.tariff.currency} a year"
        figures.append(figure("bill", own.bill, unit))
        differences += [figure("bill", own.bill - now.bill, unit)] if m else []
    figures += _money(found, candidate, own, now) if m else []
    limits = _limits(found, candidate, column, before)
    return entry | {
        "parts": list(candidate.parts),
        "price": first_cost(found, candidate) if m else 0.0,
        "figures": figures,
        "differences": differences,
        "series": [_monthly(name, getattr(years, name)[:, m], unit) for name, unit in SERIES.items()],
        "limits": limits,
        "safe": is_safe(limits),
        "status": "run",
        "why": None,
        "will_not": _will_not(candidate, own, now, hits, first_cost(found, candidate)) if m else [],
        "monthly_relative_humidity": [float(v) for v in np.median(years.monthly_relative_humidity[:, m], axis=0)],
        "monthly_relative_humidity_high": [
            float(v) for v in np.quantile(years.monthly_relative_humidity[:, m], 0.95, axis=0)
        ],
    }


def _monthly(identity: str, values: Array, unit: str) -> dict[str, Any]:
    """A series over the months (1 to 12) with its 90 % range, from `[N, 12]`."""
    ends = {
        name: [float(v) for v in np.quantile(values, part, axis=0)]
        for name, part in (("lows", 0.05), ("mids", 0.5), ("highs", 0.95))
    }
    return {"id": identity, "x": list(range(1, 13)), **ends, "unit": unit}


def _comfort(own: Measures, now: Measures | None) -> list[Figure]:
    if own.comfort is None or (now is not None and now.comfort is None):
        return []
    names = {"comfortable_hours": "comfortable", "too_warm_hours": "too_warm", "too_cold_hours": "too_cold"}
    taken = now.comfort if now is not None else None
    return [
        figure(name, getattr(own.comfort, part) - (0.0 if taken is None else getattr(taken, part)), "h/yr")
        for name, part in names.items()
    ]


def _limits(
    found: Findings, candidate: Candidate, column: dict[str, Array], before: dict[str, Array]
) -> list[dict[str, Any]]:
    program = candidate.program
    assert program is not None
    slowest = program.cooling_flow if program.drying_flow is None else min(program.cooling_flow, program.drying_flow)
    fraction = (
        program.least_flow if candidate.watches_coil else slowest
    )  # a first stage cools less: its airflow is its own
    system, job = candidate.system_of(found), candidate.job or found.job
    moved = found.airflow.m3_s * float(np.median(system.full_flow_kg_s / found.system.full_flow_kg_s))
    limits = air_limits(
        job, system, moved, found.airflow.sigma, fraction, candidate.watches_coil, heat_of(found, candidate)
    )
    limits += year_limits(
        column["design_margin_w"],
        column["hours_set_point_missed"],
        before["hours_set_point_missed"],
        column["sweat_hours"],
        before["sweat_hours"],
        column["least_icing_margin_k"],
        before["least_icing_margin_k"],
        drips="registers_drip" in found.job.complaint.signs,
        only_stops_the_fan=candidate.id in ("fan_auto", "shorter_off_delay"),
    )
    limits.append(over_dry_limit(found.job, column["over_dry_hours"], before["over_dry_hours"]))
    if candidate.on_a_drive or candidate.rise != UNCHANGED_RISE:
        limits += motor_limits(
            found, candidate.hertz, candidate.rise, on_a_drive=candidate.on_a_drive, own_tap=candidate.tap is not None
        )
    return limits


def _sound_figure(sound: tuple[Array, Array, Array]) -> Figure:
    low, mid, high = sound
    return {
        "id": "sound_change",
        "low": float(np.quantile(low, 0.05)),
        "mid": float(np.median(mid)),
        "high": float(np.quantile(high, 0.95)),
        "unit": "dB",
    }


def aim_of(found: Findings) -> str:
    """The owner's aim, else the complaint's."""
    return found.job.options.aim or complaint_aim(found)


def complaint_aim(found: Findings) -> str:
    """The aim that the first complaint makes."""
    return OF_COMPLAINT[found.job.complaint.kinds[0]]


def watched_aim(found: Findings) -> str:
    """The aim whose chance is told: the owner's, and for the cheapest to buy the complaint's."""
    aim = aim_of(found)
    return complaint_aim(found) if aim == "cheap_to_buy" else aim


def static_under(found: Findings, candidate: Candidate) -> Figure | None:
    """Total external static at the option's greatest airflow in cooling; None where it was not read.

    The path's ducts at that airflow, against what was read on them now; the reading's own range goes with it.
    """
    read = next((point for point in points_of(found.job) if external_static(point) is not None), None)
    if candidate.program is None or read is None:
        return None
    static = external_static(read)
    assert static is not None
    path, now = candidate.blower_of(found).path, found.blower
    flow = max(candidate.program.cooling_flow, candidate.program.greatest_flow) * now.wheel.airflow
    here = now.path.ducts * now.wheel.airflow**now.path.ducts_exponent
    ratio = path.ducts * flow**path.ducts_exponent / here
    return carried(lambda p: p * ratio, p=static).figure("external_static", "Pa", 0.0)


def first_cost(found: Findings, candidate: Candidate) -> float | None:
    """What it costs the customer: the job's price, else its card's; parts add up. None where nobody gave one."""
    own = _price_of(found, candidate.id)
    if own is not None:
        return own
    if candidate.parts:
        each = [_price_of(found, name) for name in candidate.parts]
        return None if any(one is None for one in each) else float(sum(one for one in each if one is not None))
    return None


def _price_of(found: Findings, identity: str) -> float | None:
    prices = {str(one.option): one.price for one in found.job.options.prices}
    if identity in prices:
        return prices[identity]
    kind = CARD_KINDS.get(identity)
    return card_of(found.job, kind).price if kind is not None else None


def _money(found: Findings, candidate: Candidate, own: Measures, now: Measures) -> list[Figure]:
    cost, currency = first_cost(found, candidate), found.job.tariff.currency
    if cost is None:
        return []
    figures: list[Figure] = [{"id": "first_cost", "low": cost, "mid": cost, "high": cost, "unit": currency}]
    if own.bill is None or now.bill is None:
        return figures
    saving, options = now.bill - own.bill, found.job.options
    payback = payback_years(cost, saving)
    if np.all(np.isfinite(payback)):
        figures.append(figure("payback", payback, "years"))
    value = net_present_value(cost, saving, Terms(options.rate.si, options.years))
    return [*figures, figure("net_present_value", value, currency)]


def _will_not(
    candidate: Candidate, own: Measures, now: Measures, hits: NDArray[np.bool_], cost: float | None
) -> list[str]:
    """Ids of what the option will not do, or asks for: its own, and what the year shows."""
    told = list(candidate.notes)
    if hits.mean() < PROMISED:
        told.append("option_note.aim_not_promised")
    if float(np.quantile(now.damp_hours - own.damp_hours, 0.05)) <= 0.0:
        told.append("option_note.not_drier")
    if float(np.median(own.heard)) > -1.0:
        told.append("option_note.louder" if float(np.median(own.heard)) > 1.0 else "option_note.not_quieter")
    if float(np.quantile(now.cost - own.cost, 0.95)) <= 0.0:
        told.append("option_note.dearer_to_run")
    elif cost and np.any(now.cost - own.cost <= 0.0):
        told.append("option_note.may_not_pay_back")
    return told


def drawn_of(found: Findings) -> dict[str, list[float]]:
    """What was drawn of each system and a reading could tell, for the question which reading would separate two options."""
    return {name: np.asarray(getattr(found.system, column)).tolist() for name, column in DRAWN.items()}


def recommend(
    found: Findings, candidates: list[Candidate], results: list[dict[str, Any]], years: YearResults | None = None
) -> dict[str, Any]:
    """The safe option of the least burden that does well enough by the owner's aim, with its gain and its chance."""
    ranking = ranked(found, results)
    run = [candidate.id for candidate in candidates if candidate.program is not None]
    chosen, aim = ranking["recommended"], ranking["aim"]
    if chosen == run[0]:
        return {"option": chosen, "why": {"id": "recommendation.leave", "values": {}}}
    own = next(one for one in results if one["id"] == chosen)["by_system"]
    now = next(one for one in results if one["id"] == run[0])["by_system"]
    name = AIMS[complaint_aim(found) if aim == "cheap_to_buy" else aim][0]
    gain = np.array(now[name]) - np.array(own[name])
    low, high = (float(v) for v in np.quantile(gain, (0.05, 0.95)))
    values = {"low": f"{low:.0f}", "high": f"{high:.0f}"}
    if name == "cost_to_run":
        values["unit"] = cost_unit(found)
    named = found.job.complaint.season
    of_season = f"_{named}" if name == "damp_hours" and named in ("spring", "summer", "autumn", "winter") else ""
    return {"option": chosen, "why": {"id": f"recommendation.{name}{of_season}", "values": values}}


def ranked(found: Findings, results: list[dict[str, Any]], aim: str | None = None) -> dict[str, Any]:
    """The ranking of results, by the owner's aim where none is given."""
    return rank(ranking_base(found, results), aim)


def ranking_base(found: Findings, results: list[dict[str, Any]]) -> dict[str, Any]:
    """What `rank` needs of a result."""
    options = found.job.options
    return {
        "aim": aim_of(found),
        "complaint_aim": complaint_aim(found),
        "season": found.job.complaint.season,
        "options": results,
        "cost_unit": cost_unit(found),
        "cost_in_money": any(one["id"] == "bill" for option in results for one in option["figures"]),
        "drawn": drawn_of(found),
        "terms": {"rate": options.rate.si, "years": options.years, "currency": found.job.tariff.currency},
    }


def cost_unit(found: Findings) -> str:
    """Unit in which running costs are compared: money where the tariff is known, else kWh."""
    return f"{found.job.tariff.currency} a year" if found.job.tariff.is_known else "kWh/yr"
