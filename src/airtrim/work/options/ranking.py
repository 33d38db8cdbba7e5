"""Which option serves an aim best: a pure function of a result, so that the aim can be changed on the spot.

All comparisons are paired, system by system. A dearer option is preferred only where its gain over the cheaper one is beyond
doubt and worth its while.
"""

from collections.abc import Mapping, Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.stats import rankdata

from airtrim.core.errors import InputError
from airtrim.work.figure import figure
from airtrim.work.options.candidates import IDS

Array = NDArray[np.float64]
Option = Mapping[str, Any]
#: What each aim looks at (a list of one value a system; less is better), and the unit of its gain.
AIMS: Final[dict[str, tuple[str, str]]] = {
    "dry": ("damp_hours", "h/yr"),
    "quiet": ("sound_change", "dB"),
    "cheap_to_run": ("cost_to_run", ""),
    "cheap_to_buy": ("damp_hours", "h/yr"),
    "even_temperatures": ("hours_set_point_missed", "h/yr"),
}
#: The aim of a complaint, where the owner named none.
OF_COMPLAINT: Final = {
    "damp": "dry",
    "noise": "quiet",
    "cost": "cheap_to_run",
    "uneven": "even_temperatures",
    "icing": "dry",
}
COMPARED: Final = ("damp_hours", "sound_change", "cost_to_run", "hours_set_point_missed")
#: An improvement smaller than this is not worth a dearer option: a part of what is, or so much of the aim's own unit; a change of
#: 1 dB is hardly heard.
WORTH_WHILE_PART, WORTH_WHILE = 0.05, {"damp_hours": 20.0, "sound_change": 1.0, "hours_set_point_missed": 10.0}
#: From this rank correlation on a reading is named as that which would separate two options.
SEPARATES = 0.5


def rank(result: Mapping[str, Any], aim: str | None = None) -> dict[str, Any]:
    """The options of a result ordered by an aim (the result's own where none is given), and the one recommended.

    `order` holds id, gain (a paired figure against leaving it alone), helps, safe, dominated_by; `cannot_tell` names pairs that
    the sample does not tell apart and the reading that would. Raises `InputError` for an unknown aim.
    """
    aim = aim if aim is not None else str(result["aim"])
    if aim not in AIMS:
        raise InputError(f"The aim '{aim}' is not known; use one of {', '.join(AIMS)}.")
    name, unit = AIMS[aim]
    options = [one for one in result["options"] if one["status"] == "run"]
    unit = unit or str(result["cost_unit"])
    values = {str(one["id"]): np.array(one["by_system"][name]) for one in options}
    now = values[str(options[0]["id"])]
    recommended = _walk(options, values, name)
    rows = []
    for option in options:
        gain = now - values[str(option["id"])]
        rows.append(
            {
                "id": option["id"],
                "gain": figure("gain", gain, unit),
                "helps": option is not options[0] and _beyond_doubt(gain, now, name),
                "safe": bool(option["safe"]),
                "dominated_by": _dominated(option, options),
            }
        )
    rows.sort(
        key=lambda row: (not row["safe"], _price_order(row, options) if aim == "cheap_to_buy" else 0.0, -_mid(row))
    )
    return {"aim": aim, "order": rows, "recommended": recommended, "cannot_tell": _pairs(result, values, recommended)}


def _mid(row: Mapping[str, Any]) -> float:
    return float(row["gain"].get("mid", -np.inf))


def _price_order(row: Mapping[str, Any], options: Sequence[Option]) -> float:
    """What helps first, and the cheaper of it first."""
    return dearness(options)[str(row["id"])] + (0.0 if row["helps"] else 1e9)


#: What costs nothing but a visit.
FREE: Final = ("leave_as_is", "fan_auto", "shorter_off_delay", "set_point_higher")


def dearness(options: Sequence[Option]) -> dict[str, float]:
    """How dear each option is: the user's prices where every one that is not free has one, else the place in the trade's order.

    Two together cost, without prices, a little more than the dearer part.
    """
    dear = {}
    for option in options:
        names = [str(name) for name in option.get("parts") or [option["id"]]]
        dear[str(option["id"])] = max(IDS.index(name) for name in names) + 0.5 * (len(names) > 1)
    prices = {str(one["id"]): 0.0 if one["id"] in FREE else one.get("price") for one in options}
    known = {name: float(price) for name, price in prices.items() if price is not None}
    # among equal prices the trade's order counts
    return {name: price + 1e-3 * dear[name] for name, price in known.items()} if len(known) == len(dear) else dear


def _walk(options: Sequence[Option], values: Mapping[str, Array], name: str) -> str:
    """From the cheapest up: another is taken only where it gains on the one held, beyond doubt and worth its while."""
    held = str(options[0]["id"])
    dear = dearness(options)
    for option in sorted(options[1:], key=lambda one: dear[str(one["id"])]):
        identity = str(option["id"])
        if option["safe"] and _beyond_doubt(values[held] - values[identity], values[held], name):
            held = identity
    return held


def _beyond_doubt(gain: Array, held: Array, name: str) -> bool:
    if not np.all(np.isfinite(gain)):
        return False
    worth = max(WORTH_WHILE.get(name, 0.0), WORTH_WHILE_PART * abs(float(np.median(held))))
    return float(np.quantile(gain, 0.05)) > 0.0 and float(np.median(gain)) > worth


def _dominated(option: Option, options: Sequence[Option]) -> str | None:
    """Another safe option, no dearer, that is no worse in anything compared and better beyond doubt in something."""
    dear = dearness(options)
    for other in options:
        if other is option or not other["safe"] or dear[str(other["id"])] > dear[str(option["id"])]:
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
        if option["status"] != "run" or identity == recommended or not option["safe"]:
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
    found = {name: abs(_rank_correlation(np.array(column), apart)) for name, column in drawn.items()}
    best = max(found, key=lambda name: found[name], default=None)
    return best if best is not None and found[best] >= SEPARATES else None


def _rank_correlation(one: Array, other: Array) -> float:
    if np.ptp(one) == 0.0 or np.ptp(other) == 0.0:
        return 0.0
    return float(np.corrcoef(rankdata(one), rankdata(other))[0, 1])
