"""A figure as a strip: the allowed band, the range and the value on one line, and the texts beside it.

Figures that are to be compared share one scale.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from airtrim.report.units import display, number_text, range_texts
from airtrim.report.words import label, say

Figure = Mapping[str, Any]
LEFT, RIGHT = 4.0, 316.0


@dataclass(frozen=True)
class Strip:
    """Places on a strip 320 wide, and the words; the places are None where the figure has no value."""

    id: str
    name: str
    value: str
    unit: str
    ends: str
    tick: float | None = None
    low: float | None = None
    width: float | None = None
    band: str = ""
    zero: float | None = None
    outside: bool = False
    note: str = ""


def strip(figure: Figure, system: str, among: Sequence[Figure] = (), name: str = "", zero: bool = False) -> Strip:
    """The strip of a figure; `among` are the figures whose scale it shares; `zero` marks nought (for differences)."""
    unit = str(figure.get("unit", ""))
    value, ends = range_texts(figure, system)
    words: dict[str, Any] = {
        "id": str(figure["id"]),
        "name": name or label(str(figure["id"])),
        "unit": display(unit, system).unit,
    }
    if figure.get("mid") is None:
        return Strip(value=say("web.strip.none"), ends="", note=value, **(words | {"unit": ""}))
    marks = [mark for one in (among or (figure,)) for mark in _marks(one)] + ([0.0] if zero else [])
    least, most = min(marks), max(marks)
    span = max(most - least, 1e-9 * max(abs(most), 1.0))
    start, span = least - 0.12 * span, 1.24 * span

    def at(number: float) -> float:
        return round(LEFT + (RIGHT - LEFT) * (number - start) / span, 1)

    low, mid, high = (float(figure[end]) for end in ("low", "mid", "high"))
    allowed = figure.get("allowed") or [None, None]
    below = allowed[0] is not None and mid < allowed[0]
    above = allowed[1] is not None and mid > allowed[1]
    return Strip(
        value=value,
        ends="" if low == high else say("web.strip.range", {"ends": ends}),
        tick=at(mid),
        low=at(low),
        width=round(max(at(high) - at(low), 1.0), 1),
        band=_band(allowed, at),
        zero=at(0.0) if zero else None,
        outside=below or above,
        note=_note(allowed, unit, system, below, above),
        **words,
    )


def _marks(figure: Figure) -> list[float]:
    if figure.get("mid") is None:
        return []
    return [
        float(figure["low"]),
        float(figure["high"]),
        *(float(e) for e in figure.get("allowed") or () if e is not None),
    ]


def _band(allowed: Sequence[float | None], at: Any) -> str:
    """The path of the bracket; an end without a bound stays open."""
    low, high = allowed
    if low is None and high is None:
        return ""
    left = f"M{at(low)} 6v-4" if low is not None else f"M{LEFT} 2"
    right = f"H{at(high)}v4" if high is not None else f"H{RIGHT}"
    return left + right


def _note(allowed: Sequence[float | None], unit: str, system: str, below: bool, above: bool) -> str:
    """Where the value lies against the band it should lie in."""
    if allowed[0] is None and allowed[1] is None:
        return ""
    how = display(unit, system)
    low, high = (  # both ends on their safe side
        None if end is None else number_text(end * how.factor + how.offset, how.step, side)
        for end, side in zip(allowed, ("least", "greatest"), strict=True)
    )
    kind = "between" if low is not None and high is not None else "at_least" if low is not None else "at_most"
    key = "outside" if below or above else "inside"
    return say(f"web.strip.{key}_{kind}", {"low": low or "", "high": high or "", "unit": how.unit})
