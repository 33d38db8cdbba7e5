"""Which option serves an aim: a pure function of a result, so that the aim can be changed on the spot.

The cheapest that does well enough is recommended (docs/decisions/options-ranking.md). All comparisons are paired, system by system.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.stats import beta, rankdata

from airtrim.core.errors import InputError
from airtrim.work.figure import Figure, figure
from airtrim.work.options.burden import FREE, burdens, first_burdens, kind_of
from airtrim.work.options.money import Terms

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Option = Mapping[str, Any]
#: What each aim looks at (a list of one value a system; less is better), and the unit of its gain. Cheap to buy looks at what the
#: complaint's own aim looks at.
AIMS: Final[dict[str, tuple[str, str]]] = {
    "dry": ("damp_hours", "h/yr"),
    "quiet": ("sound_change", "dB"),
    "cheap_to_run": ("cost_to_run", ""),
    "cheap_to_buy": ("", ""),
    "even_temperatures": ("hours_set_point_missed", "h/yr"),
}
#: The aim of a complaint, where the owner named none.
OF_COMPLAINT: Final = {
    "damp": "dry",
    "noise": "quiet",
    "cost": "cheap_to_run",
    "uneven": "even_temperatures",
    "icing": "dry",
    "too_dry": "even_temperatures",
    "stops": "even_temperatures",
}
#: The dry aim is met where no month's mean of the season complained of passes this (DOE and PNNL, 30 to 60 %); the quiet one from
#: 3 dB on, a change clearly heard [common-practice]; the cheap one from 5 % on, the even one where at most 1 % of the year's hours
#: miss [judgement].
DRY, QUIETER_DB, CHEAPER, EVEN_HOURS = 0.60, -3.0, 0.95, 87.6
COMPARED: Final = ("damp_hours", "sound_change", "cost_to_run", "hours_set_point_missed")
#: A gain smaller than this is no help: a part of what is, or so much of the aim's own unit; a change of 1 dB is hardly heard.
WORTH_WHILE_PART, WORTH_WHILE = 0.05, {"damp_hours": 20.0, "sound_change": 1.0, "hours_set_point_missed": 10.0}
#: A chance is clearly less than another where it is less by more than this in 95 of 100 [judgement: for less than one house in ten
#: nobody should pay for more work].
LESS_CHANCE: Final = 0.10
#: Where no option has this chance of reaching the aim, those count as good enough that gain this part of the most [judgement].
REACHED, GOOD_PART = 0.05, 0.7
#: From this rank correlation on a reading is named as that which would separate two options.
SEPARATES = 0.5


@dataclass(frozen=True)
class _Judged:
    options: Sequence[Option]
    name: str
    values: dict[str, Array]
    met: dict[str, Flags]
    burden: dict[str, float]

    @property
    def safe(self) -> list[str]:
        return [str(one["id"]) for one in self.options if one["safe"] or one is self.options[0]]


def rank(result: Mapping[str, Any], aim: str | None = None) -> dict[str, Any]:
    """The options of a result ordered by an aim (the result's own where none is given), and the one recommended.

    Another aim than the result's own is ranked over everything that was screened (`basis` "screened": few systems, long steps),
    since only what serves the own aim was confirmed on all systems; what the confirmation struck out stays struck out. `figure` is
    what the aim looks at, `order` holds id, gain (a paired figure against leaving it
    alone), chance of meeting the aim, helps, enough, safe, dominated_by; `surest` is the safe option with the greatest chance, with
    that chance, where it is not the one recommended; `cannot_tell` names pairs that the sample does not tell apart and the reading
    that would. Raises `InputError` for an unknown aim.
    """
    aim = aim if aim is not None else str(result["aim"])
    if aim not in AIMS:
        raise InputError(f"The aim '{aim}' is not known; use one of {', '.join(AIMS)}.")
    by_screening = result.get("screening") is not None and aim != result["aim"]
    return _ranked({**result, "options": _screened(result)} if by_screening else result, aim, by_screening)


def every_ranking(result: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    """By each aim the ranking of everything that was screened, the result's own aim too: to be kept, so that a page changes the aim
    without computing."""
    over_all = {**result, "options": _screened(result)}
    return {aim: _ranked(over_all, aim, True) for aim in AIMS}


def _screened(result: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The entries of the screening; one that was confirmed is as safe as all systems say."""
    confirmed = {str(one["id"]): bool(one["safe"]) for one in result["options"] if one["status"] == "run"}
    return [
        one | {"safe": one["safe"] and confirmed.get(str(one["id"]), True)} for one in result["screening"]["options"]
    ]


def _ranked(result: Mapping[str, Any], aim: str, by_screening: bool) -> dict[str, Any]:
    judged = _judge(result, aim)
    options, values, now = judged.options, judged.values, str(judged.options[0]["id"])
    unit = AIMS[_looked_at(result, aim)][1] or str(result["cost_unit"])
    enough = _enough(judged)
    recommended = _cheapest_help(judged) if aim == "cheap_to_buy" else _cheapest_enough(judged, enough)
    rows = [
        {
            "id": one["id"],
            "gain": figure("gain", values[now] - values[str(one["id"])], unit),
            "chance": chance_of(judged.met[str(one["id"])]),
            "helps": one is not options[0]
            and _beyond_doubt(values[now] - values[str(one["id"])], values[now], judged.name),
            "enough": str(one["id"]) in enough,
            "safe": bool(one["safe"]),
            "dominated_by": _dominated(one, options, judged.burden),
        }
        for one in options
    ]
    rows.sort(key=lambda row: _place(row, aim, recommended, judged.burden))
    surest = max(judged.safe, key=lambda name: (float(judged.met[name].mean()), -judged.burden[name]))
    surer = surest != recommended and judged.met[surest].mean() > judged.met[recommended].mean()
    return {
        "aim": aim,
        "basis": "screened" if by_screening else "confirmed",
        "figure": judged.name,
        "order": rows,
        "recommended": recommended,
        "surest": {"id": surest, "chance": chance_of(judged.met[surest])} if surer else None,
        "cannot_tell": _pairs(result, values, recommended),
    }


def _looked_at(result: Mapping[str, Any], aim: str) -> str:
    return str(result.get("complaint_aim", "dry")) if aim == "cheap_to_buy" else aim


def _judge(result: Mapping[str, Any], aim: str) -> _Judged:
    options = [one for one in result["options"] if one["status"] == "run"]
    looked_at = _looked_at(result, aim)
    name = AIMS[looked_at][0]
    terms = result.get("terms")
    counted = Terms(float(terms["rate"]), int(terms["years"])) if terms and result.get("cost_in_money") else None
    return _Judged(
        options,
        name,
        {str(one["id"]): np.array(one["by_system"][name]) for one in options},
        {str(one["id"]): met(looked_at, one, options[0]) for one in options},
        first_burdens(options) if aim == "cheap_to_buy" else burdens(options, counted),
    )


def met(aim: str, option: Option, now: Option) -> Flags:
    """In which systems an option meets an aim, `[N]`; `now` is leaving it alone."""
    own = {name: np.array(values) for name, values in option["by_system"].items()}
    if aim == "quiet":
        return np.asarray(own["sound_change"] <= QUIETER_DB)
    if aim == "cheap_to_run":
        return np.asarray(own["cost_to_run"] <= CHEAPER * np.array(now["by_system"]["cost_to_run"]))
    if aim == "even_temperatures":
        return np.asarray(own["hours_set_point_missed"] <= EVEN_HOURS)
    return np.asarray(own["worst_month"] <= DRY)


def chance_of(hits: Flags, identity: str = "aim_met") -> Figure:
    """Share of systems, with the 90 % range of a share known from so many (Jeffreys)."""
    count, number = len(hits), int(hits.sum())
    low = float(beta.ppf(0.05, number + 0.5, count - number + 0.5)) if number else 0.0
    high = float(beta.ppf(0.95, number + 0.5, count - number + 0.5)) if number < count else 1.0
    return {"id": identity, "low": low, "mid": number / count, "high": high, "unit": "fraction"}


def clearly_less(own: Flags, other: Flags) -> bool:
    """Whether `own` is met less often than `other` by more than LESS_CHANCE, from the pairs that differ (paired shares, one-sided
    95 %, normal approximation)."""
    count = len(own)
    lost, won = float(np.sum(other & ~own)), float(np.sum(own & ~other))
    less = (lost - won) / count
    spread = np.sqrt(max(lost + won - (lost - won) ** 2 / count, 0.0)) / count
    return bool(less - 1.645 * spread > LESS_CHANCE)


def _enough(judged: _Judged) -> set[str]:
    """Safe options that do well enough: their chance is not clearly less than the best's; where no option reaches the aim, their
    gain is near the greatest."""
    safe = judged.safe
    best = max(safe, key=lambda name: (float(judged.met[name].mean()), -judged.burden[name]))
    now = judged.values[safe[0]]
    if judged.met[best].mean() >= REACHED:
        enough = {name for name in safe if not clearly_less(judged.met[name], judged.met[best])}
        helping = {name for name in enough if _beyond_doubt(now - judged.values[name], now, judged.name)}
        # somebody complained: doing nothing gets no benefit of the doubt where something helps beyond it
        left = judged.met[best].mean() - judged.met[safe[0]].mean() > LESS_CHANCE and bool(helping)
        return enough - {safe[0]} if left else enough
    most = max(safe, key=lambda name: float(np.median(now - judged.values[name])))
    if not _beyond_doubt(now - judged.values[most], now, judged.name):
        return {safe[0]}
    wanted = GOOD_PART * float(np.median(now - judged.values[most]))
    return {name for name in safe if float(np.median(now - judged.values[name])) >= wanted}


def _cheapest_enough(judged: _Judged, enough: set[str]) -> str:
    """Of the least burden; where nothing needs to be bought, the free step that gains most beyond doubt, or that is no worse in
    anything and better in something."""
    chosen = min(enough, key=lambda name: judged.burden[name])
    free = [one for one in judged.options if kind_of(one) == FREE and str(one["id"]) in enough]
    if chosen not in {str(one["id"]) for one in free}:
        return chosen
    held = _walk(free, judged, chosen)
    level = dict.fromkeys(judged.burden, 0.0)
    others = [one for one in free if str(one["id"]) != held]
    better = _dominated(next(one for one in free if str(one["id"]) == held), others, level)
    return held if better is None else better


def _cheapest_help(judged: _Judged) -> str:
    """The least of first burden that helps beyond doubt and is worth its while; leaving it alone where nothing does."""
    now = judged.safe[0]
    helping = [
        name
        for name in judged.safe
        if name != now and _beyond_doubt(judged.values[now] - judged.values[name], judged.values[now], judged.name)
    ]
    return min(helping, key=lambda name: judged.burden[name], default=now)


def _walk(options: Sequence[Option], judged: _Judged, held: str) -> str:
    """From the cheapest up: another is taken only where it gains on the one held, beyond doubt and worth its while."""
    for one in sorted(options, key=lambda each: judged.burden[str(each["id"])]):
        name = str(one["id"])
        if _beyond_doubt(judged.values[held] - judged.values[name], judged.values[held], judged.name):
            held = name
    return held


def _place(row: Mapping[str, Any], aim: str, recommended: str, burden: Mapping[str, float]) -> tuple[Any, ...]:
    """The recommended one, then what does well enough by its burden, then the rest by what it gains; what is not safe last."""
    name = str(row["id"])
    good = row["helps"] if aim == "cheap_to_buy" else row["enough"]
    gain = -float(row["gain"].get("mid", -np.inf))
    return not row["safe"], name != recommended, not good, burden[name] if good else -row["chance"]["mid"], gain


def _beyond_doubt(gain: Array, held: Array, name: str) -> bool:
    if not np.all(np.isfinite(gain)):
        return False
    worth = max(WORTH_WHILE.get(name, 0.0), WORTH_WHILE_PART * abs(float(np.median(held))))
    return float(np.quantile(gain, 0.05)) > 0.0 and float(np.median(gain)) > worth


def _dominated(option: Option, options: Sequence[Option], burden: Mapping[str, float]) -> str | None:
    """Another safe option, of no more burden, that is no worse in anything compared and better beyond doubt in something."""
    for other in options:
        if other is option or not other["safe"] or burden[str(other["id"])] > burden[str(option["id"])]:
            continue
        more = [np.array(option["by_system"][name]) - np.array(other["by_system"][name]) for name in COMPARED]
        if not all(np.all(np.isfinite(each)) for each in more):
            continue
        if all(float(np.median(each)) >= 0.0 for each in more) and any(
            float(np.quantile(each, 0.05)) > 0.0 for each in more
        ):
            return str(other["id"])
    return None


def _pairs(result: Mapping[str, Any], values: Mapping[str, Array], recommended: str) -> list[dict[str, Any]]:
    """The recommended option and each other safe one whose paired difference has both signs."""
    pairs = []
    for option in result["options"]:
        identity = str(option["id"])
        if identity not in values or identity == recommended or not option["safe"]:
            continue
        apart = values[identity] - values[recommended]
        if not np.all(np.isfinite(apart)):
            continue
        low, high = np.quantile(apart, (0.05, 0.95))
        if low < 0.0 < high:
            pairs.append({"options": [recommended, identity], "reading": separating(result["drawn"], apart)})
    return pairs


def separating(drawn: Mapping[str, Sequence[float]], apart: Array) -> str | None:
    """Which of the quantities drawn goes with a paired difference most, by rank; None where none does clearly."""
    found = {name: abs(_rank_correlation(np.array(column)[: len(apart)], apart)) for name, column in drawn.items()}
    best = max(found, key=lambda name: found[name], default=None)
    return best if best is not None and found[best] >= SEPARATES else None


def _rank_correlation(one: Array, other: Array) -> float:
    if np.ptp(one) == 0.0 or np.ptp(other) == 0.0:
        return 0.0
    return float(np.corrcoef(rankdata(one), rankdata(other))[0, 1])
