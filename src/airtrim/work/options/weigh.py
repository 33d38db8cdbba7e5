"""Each option over the year on the same systems: figures, paired differences, limits, and the choice."""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.stats import beta

from airtrim.physics.blower.path import Resistance
from airtrim.physics.blower.wheel import RelativeSound, relative_sound_db, wheel_load
from airtrim.physics.season.system import WeatherArrays
from airtrim.physics.season.year import YearResults, run_years
from airtrim.work.figure import Figure, figure
from airtrim.work.findings import Findings
from airtrim.work.options.candidates import UNCHANGED_RISE, Candidate, card_of
from airtrim.work.options.energy import by_month_and_hour, spread_of
from airtrim.work.options.heat import heat_of
from airtrim.work.options.limits import air_limits, is_safe, motor_limits, year_limits
from airtrim.work.options.money import Terms, added_bill, net_present_value, payback_years
from airtrim.work.options.ranking import OF_COMPLAINT, rank

Array = NDArray[np.float64]
#: What is shown of each option: result, unit.
SHOWN = {
    "damp_hours": "h/yr",
    "mean_relative_humidity": "fraction",
    "water_kg": "kg",
    "compressor_kwh": "kWh/yr",
    "blower_kwh": "kWh/yr",
    "least_saturated_suction_c": "degC",
    "least_icing_margin_k": "K",
    "stop_hours": "h/yr",
    "frost_hours": "h/yr",
    "hours_set_point_missed": "h/yr",
    "design_margin_w": "W_heat",
    "sweat_hours": "h/yr",
    "mean_flow_fraction": "fraction",
}
DIFFERENCES = {
    "damp_hours": "h/yr",
    "mean_relative_humidity": "points",
    "blower_kwh": "kWh/yr",
    "compressor_kwh": "kWh/yr",
    "hours_set_point_missed": "h/yr",
}
#: The dry aim is met where no month's mean passes this (DOE and PNNL, 30 to 60 %); the quiet one from 3 dB on, a change clearly
#: heard [common-practice]; the cheap one from 5 % on, the even one where at most 1 % of the year's hours miss [judgement].
DRY, QUIETER_DB, CHEAPER, EVEN_HOURS = 0.60, -3.0, 0.95, 87.6
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


@dataclass(frozen=True)
class _Measures:
    """What options are compared by, one value a system `[N]`; `sound` has its own range."""

    damp_hours: Array
    worst_month: Array
    missed: Array
    kwh: Array
    sound: tuple[Array, Array, Array]
    bill: Array | None

    @property
    def cost(self) -> Array:
        return self.kwh if self.bill is None else self.bill


def run_candidates(
    found: Findings,
    candidates: Sequence[Candidate],
    weather: WeatherArrays,
    step_s: float,
    progress: Any = None,
    systems: int | None = None,
    threads: int = 2,
) -> YearResults:
    """Years of all candidates that apply, `[N, M]`; those that share a sample run together. `systems` takes the first few."""
    run = [candidate for candidate in candidates if candidate.program is not None]
    groups: dict[int, list[int]] = {}
    for index, candidate in enumerate(run):
        groups.setdefault(id(candidate.system_of(found)), []).append(index)
    columns: list[tuple[YearResults, int] | None] = [None] * len(run)
    done = 0
    for members in groups.values():
        sample = run[members[0]].system_of(found)
        count = sample.count if systems is None else min(systems, sample.count)
        share, before = len(members) / len(run), done / len(run)
        watts = [run[index].watts for index in members]

        def tell(part: float, share: float = share, before: float = before) -> bool | None:
            told: bool | None = progress(before + share * part) if progress is not None else None
            return told

        years = run_years(
            sample.first(count),
            [program for index in members if (program := run[index].program) is not None],
            weather,
            step_s,
            [None if one is None else one[:count] for one in watts],
            tell,
            threads,
        )
        for place, index in enumerate(members):
            columns[index] = (years, place)
        done += len(members)
    return joined(columns)


def joined(columns: Sequence[tuple[YearResults, int] | None]) -> YearResults:
    """One set of results from columns of several."""
    known = [column for column in columns if column is not None]
    together: YearResults = _stacked([years for years, _ in known], [place for _, place in known])
    return together


def _stacked(values: Sequence[Any], places: Sequence[int]) -> Any:
    """Arrays `[N, M, ...]` cut at their places and put side by side, wherever they lie in what the year tells."""
    first = values[0]
    if isinstance(first, np.ndarray):
        return np.stack([value[:, place] for value, place in zip(values, places, strict=True)], axis=1)
    if isinstance(first, dict):
        return {name: _stacked([value[name] for value in values], places) for name in first}
    return type(first)(
        **{one.name: _stacked([getattr(value, one.name) for value in values], places) for one in fields(first)}
    )


def option_results(
    found: Findings, candidates: list[Candidate], years: YearResults, weather: WeatherArrays | None = None
) -> list[dict[str, Any]]:
    """One entry a candidate in the order given; the first one run is what others are compared with.

    `weather` tells when in the day energy is used; without it there is no bill.
    """
    run = [candidate for candidate in candidates if candidate.program is not None]
    measures = [_measures(found, candidate, years, m, weather) for m, candidate in enumerate(run)]
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
    found: Findings, candidate: Candidate, years: YearResults, m: int, measures: list[_Measures]
) -> dict[str, Any]:
    own, now = measures[m], measures[0]
    column = {name: getattr(years, name)[:, m] for name in SHOWN}
    before = {name: getattr(years, name)[:, 0] for name in SHOWN}
    figures = [figure(name, column[name], unit) for name, unit in SHOWN.items()]
    differences = [figure(name, column[name] - before[name], unit) for name, unit in DIFFERENCES.items()] if m else []
    figures.append(figure("worst_month_relative_humidity", own.worst_month, "fraction"))
    if m and np.all(np.isfinite(own.sound[0])):
        figures.append(_sound_figure(own.sound))
    unit = f"{found.job.tariff.currency} a year"
    if own.bill is not None:
        figures.append(figure("bill", own.bill, unit))
        if m and now.bill is not None:
            differences.append(figure("bill", own.bill - now.bill, unit))
    figures += _money(found, candidate, own, now) if m else []
    aim = aim_of(found)
    met = _met(aim, own, now)
    figures.append(_share("aim_met", met))
    limits = _limits(found, candidate, column, before)
    return {
        "id": candidate.id,
        "parts": list(candidate.parts),
        "price": first_cost(found, candidate) if m else 0.0,
        "figures": figures,
        "differences": differences,
        "limits": limits,
        "safe": is_safe(limits),
        "status": "run",
        "why": None,
        "will_not": _will_not(candidate, own, now) if m else [],
        "monthly_relative_humidity": [float(v) for v in np.median(years.monthly_relative_humidity[:, m], axis=0)],
        "monthly_relative_humidity_high": [
            float(v) for v in np.quantile(years.monthly_relative_humidity[:, m], 0.95, axis=0)
        ],
        "by_system": {
            "damp_hours": own.damp_hours.tolist(),
            "sound_change": own.sound[1].tolist() if np.all(np.isfinite(own.sound[1])) else [0.0] * len(own.kwh),
            "cost_to_run": own.cost.tolist(),
            "hours_set_point_missed": own.missed.tolist(),
        },
    }


def _limits(
    found: Findings, candidate: Candidate, column: dict[str, Array], before: dict[str, Array]
) -> list[dict[str, Any]]:
    program = candidate.program
    assert program is not None
    fraction = program.least_flow if candidate.watches_coil else program.cooling_flow
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
    )
    if candidate.on_a_drive or candidate.rise != UNCHANGED_RISE:
        limits += motor_limits(found, candidate.hertz, candidate.rise, on_a_drive=candidate.on_a_drive)
    return limits


def _measures(
    found: Findings, candidate: Candidate, years: YearResults, m: int, weather: WeatherArrays | None
) -> _Measures:
    compressor, blower = years.compressor_kwh[:, m], years.blower_kwh[:, m]
    heat = years.heating_kwh[:, m] if found.job.heat.kind == "electric_strip" else np.zeros_like(blower)
    bill = None
    if weather is not None and found.job.tariff.is_known and candidate.program is not None:
        spread = spread_of(candidate.program, weather)
        run = np.maximum(years.run_hours[:, m], 1.0)
        resting = 0.0
        if candidate.program.circulation_flow > 0.0:
            resting = float(np.median(1.0 - run / 8760.0))
        draw = (compressor + (1.0 - resting) * blower) / run
        energy = by_month_and_hour(spread, compressor, blower, heat, resting)
        bill = added_bill(found.job.tariff, energy, draw[:, None] * spread.cooling_months)
    return _Measures(
        damp_hours=years.damp_hours[:, m],
        worst_month=years.monthly_relative_humidity[:, m].max(axis=1),
        missed=years.hours_set_point_missed[:, m],
        kwh=compressor + blower + heat,
        sound=_sound(found, candidate, years, m),
        bill=bill,
    )


def _sound(found: Findings, candidate: Candidate, years: YearResults, m: int) -> tuple[Array, Array, Array]:
    """Change of the blower's sound while cooling, dB, by its speed at the year's mean airflow; each end `[N]`."""
    blower, system = candidate.blower_of(found), candidate.system_of(found)
    count = years.mean_flow_fraction.shape[0]
    parts = years.mean_flow_fraction[:, m] * (system.full_flow_kg_s / found.system.full_flow_kg_s)[:count]
    unheard = RelativeSound(np.nan, np.nan, np.nan)
    sounds = [
        relative_sound_db(float(wheel_load(float(part), blower.wheel, blower.path, Resistance())[0]))
        if part > 0.0
        else unheard
        for part in parts
    ]
    low, mid, high = (np.array(end) for end in zip(*sounds, strict=True))
    return low, mid, high


def _sound_figure(sound: tuple[Array, Array, Array]) -> Figure:
    low, mid, high = sound
    return {
        "id": "sound_change",
        "low": float(np.quantile(low, 0.05)),
        "mid": float(np.median(mid)),
        "high": float(np.quantile(high, 0.95)),
        "unit": "dB",
    }


def _share(identity: str, met: NDArray[np.bool_]) -> Figure:
    """Share of systems, with the 90 % range of a share known from so many (Jeffreys)."""
    count, hits = len(met), int(met.sum())
    low = float(beta.ppf(0.05, hits + 0.5, count - hits + 0.5)) if hits else 0.0
    high = float(beta.ppf(0.95, hits + 0.5, count - hits + 0.5)) if hits < count else 1.0
    return {"id": identity, "low": low, "mid": hits / count, "high": high, "unit": "fraction"}


def aim_of(found: Findings) -> str:
    """The owner's aim, else the complaint's."""
    return found.job.options.aim or OF_COMPLAINT[found.job.complaint.kinds[0]]


def _met(aim: str, own: _Measures, now: _Measures) -> NDArray[np.bool_]:
    if aim == "quiet":
        return np.asarray(own.sound[1] <= QUIETER_DB)
    if aim == "cheap_to_run":
        return np.asarray(own.cost <= CHEAPER * now.cost)
    if aim == "even_temperatures":
        return np.asarray(own.missed <= EVEN_HOURS)
    return np.asarray(own.worst_month <= DRY)


def first_cost(found: Findings, candidate: Candidate) -> float | None:
    """What it costs the customer: the job's price, else its card's; parts add up. None where nobody gave one."""
    own = _price_of(found, candidate.id)
    if own is not None:
        return own
    if candidate.parts:
        each = [_price_of(found, name) for name in candidate.parts]
        return None if any(one is None for one in each) else float(sum(one for one in each if one is not None))
    return None


CARD_KINDS: Final = {
    "drive_coil_feedback": "speed_control_by_frequency",
    "reduced_voltage": "reduced_voltage_control",
    "constant_torque_motor": "constant_torque_motor",
    "constant_airflow_motor": "constant_airflow_motor",
    "constant_airflow_feedback": "constant_airflow_motor",
}


def _price_of(found: Findings, identity: str) -> float | None:
    prices = {str(one.option): one.price for one in found.job.options.prices}
    if identity in prices:
        return prices[identity]
    kind = CARD_KINDS.get(identity)
    return card_of(found.job, kind).price if kind is not None else None


def _money(found: Findings, candidate: Candidate, own: _Measures, now: _Measures) -> list[Figure]:
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


def _will_not(candidate: Candidate, own: _Measures, now: _Measures) -> list[str]:
    """Ids of what the option will not do, or asks for: its own, and what the year shows."""
    told = list(candidate.notes)
    if float(np.quantile(now.damp_hours - own.damp_hours, 0.05)) <= 0.0:
        told.append("option_note.not_drier")
    if float(np.median(own.sound[1])) > -1.0:
        told.append("option_note.louder" if float(np.median(own.sound[1])) > 1.0 else "option_note.not_quieter")
    if float(np.quantile(now.cost - own.cost, 0.95)) <= 0.0:
        told.append("option_note.dearer_to_run")
    return told


def drawn_of(found: Findings) -> dict[str, list[float]]:
    """What was drawn of each system and a reading could tell, for the question which reading would separate two options."""
    return {name: np.asarray(getattr(found.system, column)).tolist() for name, column in DRAWN.items()}


def recommend(
    found: Findings, candidates: list[Candidate], results: list[dict[str, Any]], years: YearResults
) -> dict[str, Any]:
    """The safe option that serves the owner's aim best; a dearer one only where the paired gain is beyond doubt."""
    ranking = ranked(found, results)
    run = [candidate.id for candidate in candidates if candidate.program is not None]
    chosen, aim = ranking["recommended"], ranking["aim"]
    if chosen == run[0]:
        return {"option": chosen, "why": {"id": "recommendation.leave", "values": {}}}
    own = next(one for one in results if one["id"] == chosen)["by_system"]
    now = next(one for one in results if one["id"] == run[0])["by_system"]
    name = {"quiet": "sound_change", "cheap_to_run": "cost_to_run", "even_temperatures": "hours_set_point_missed"}.get(
        aim, "damp_hours"
    )
    gain = np.array(now[name]) - np.array(own[name])
    low, high = (float(v) for v in np.quantile(gain, (0.05, 0.95)))
    values = {"low": f"{low:.0f}", "high": f"{high:.0f}"}
    if name == "cost_to_run":
        values["unit"] = cost_unit(found)
    return {"option": chosen, "why": {"id": f"recommendation.{name}", "values": values}}


def ranked(found: Findings, results: list[dict[str, Any]], aim: str | None = None) -> dict[str, Any]:
    """The ranking of results, by the owner's aim where none is given."""
    return rank(ranking_base(found, results), aim)


def ranking_base(found: Findings, results: list[dict[str, Any]]) -> dict[str, Any]:
    """What `rank` needs of a result."""
    return {"aim": aim_of(found), "options": results, "cost_unit": cost_unit(found), "drawn": drawn_of(found)}


def cost_unit(found: Findings) -> str:
    """Unit in which running costs are compared: money where the tariff is known, else kWh."""
    return f"{found.job.tariff.currency} a year" if found.job.tariff.is_known else "kWh/yr"
