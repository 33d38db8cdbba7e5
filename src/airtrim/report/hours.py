"""Indoor humidity by month and hour of the day, now and with the recommended option: a heat map, its table and its words.

From `result["humidity_by_hour"]`: [{id, lows, mids, highs}], each 12 months of 24 hours, relative humidity as a fraction.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from airtrim.report.fonts import wrapped
from airtrim.report.look import GREY, INK, NAMES, SMALL, styled
from airtrim.report.ranking import option_named
from airtrim.report.units import number_text
from airtrim.report.words import say

Entry = Mapping[str, Any]
#: Where one shade ends and the next begins, % RH; above DAMP every cell has a dot, so that shade is not the only sign.
BOUNDS, DAMP = (45, 50, 55, 60, 65, 70), 60.0
#: One hue from light to dark: the order holds for every colour vision and in grey print.
SHADES = ("#f0f2ea", "#cadeda", "#a6c8c5", "#7aadad", "#4a8d91", "#1f6269", "#0a353b")
#: A dot on the dark shades; no colour that the page exchanges in the dark.
_DOT = "#ffffff"
_ROW, _KEY, _TWO, _BETWEEN, _MONTHS_ROOM = 14, 12, 500, 16, 36


def hours_of(result: Entry) -> list[Entry] | None:
    """Now and, where it is another, the recommended option; None where the result holds no hours of the day."""
    found = {str(one["id"]): one for one in result.get("humidity_by_hour", [])}
    wanted = dict.fromkeys(("leave_as_is", str(result["recommendation"]["option"])))
    return [found[name] for name in wanted] if all(name in found for name in wanted) else None


def _dampest(one: Entry) -> tuple[int, int]:
    """Month and hour of the greatest value."""
    cells = [(value, month, hour) for month, row in enumerate(one["mids"]) for hour, value in enumerate(row)]
    _, month, hour = max(cells, key=lambda cell: (cell[0], -cell[1], -cell[2]))
    return month, hour


def _percent(value: float) -> str:
    return number_text(100.0 * value, 1.0)


def _when(month: int, hour: int) -> dict[str, str]:
    return {"month": say("web.table.months").split()[month], "hour": hour_names()[hour]}


def hour_names() -> list[str]:
    """Midnight to 11 in the evening."""
    return say("hours.names").split(", ")


def answer(result: Entry) -> str:
    """The picture's title: the dampest hour of now, and what the recommended option makes of it."""
    now, *proposed = _known(result)
    month, hour = _dampest(now)
    values = {**_when(month, hour), "now": _percent(now["mids"][month][hour])}
    if not proposed:
        return say("hours.answer_now", values)
    return say("hours.answer", {**values, "then": _percent(proposed[0]["mids"][month][hour])})


def sentence(result: Entry) -> str:
    """The answer's ranges, and how many of the year's month-hours are damp."""
    now, *proposed = _known(result)
    month, hour = _dampest(now)
    parts = []
    for one in (now, *proposed):
        damp = sum(100.0 * value > DAMP for row in one["mids"] for value in row)
        values = {
            "option": option_named(result, str(one["id"])),
            "low": _percent(one["lows"][month][hour]),
            "high": _percent(one["highs"][month][hour]),
            "damp": damp,
        }
        parts.append(say("hours.sentence", values))
    return " ".join(parts)


def hours_tables(result: Entry) -> list[tuple[str, list[list[str]]]]:
    """For each option (caption, rows): a heading row of months, then a row an hour with value and range in % RH."""
    months = say("web.table.months").split()
    tables = []
    for one in _known(result):
        rows = [[say("hours.from"), *months]]
        for hour, name in enumerate(hour_names()):
            cells = [[_percent(one[end][month][hour]) for end in ("mids", "lows", "highs")] for month in range(12)]
            rows.append([name, *(f"{mid} ({low} to {high})" for mid, low, high in cells)])
        tables.append((say("hours.caption", {"option": option_named(result, str(one["id"]))}), rows))
    return tables


def _known(result: Entry) -> list[Entry]:
    found = hours_of(result)
    assert found is not None, "asked for a picture that the result does not hold"
    return found


def hours_specification(result: Entry, width_px: int = 250) -> dict[str, Any] | None:
    """The Vega-Lite specification, or None where the result has no hours; panels one below the other on a phone, else in a row."""
    import altair as alt

    options = hours_of(result)
    if options is None:
        return None
    side_by_side = width_px >= _TWO and len(options) > 1
    each = (width_px - _BETWEEN - _MONTHS_ROOM) // 2 if side_by_side else width_px - _MONTHS_ROOM
    panels = [_panel(result, one, each, not side_by_side or index == 0) for index, one in enumerate(options)]
    rows = [alt.hconcat(*panels, spacing=_BETWEEN)] if side_by_side else panels
    key = _key(width_px - _MONTHS_ROOM if not side_by_side else 2 * each + _BETWEEN)
    title = alt.TitleParams(
        wrapped(answer(result), width_px + 30.0, 18, 600),
        subtitle=wrapped(say("hours.subtitle"), width_px + 30.0, SMALL),
        anchor="start",
    )
    return dict(styled(alt.vconcat(*rows, key, spacing=12).properties(title=title)).to_dict())


def _panel(result: Entry, one: Entry, width: int, named: bool) -> Any:
    """One option's 12 x 24 cells; `named` with the months' names at the left."""
    import altair as alt

    months, hours = [name[:3] for name in say("web.table.months").split()], hour_names()
    cells = [
        {
            "month": months[month],
            "hour": hour,
            "from": hours[hour],
            "humidity": round(100.0 * value, 1),
            "range": f"{_percent(one['lows'][month][hour])} to {_percent(one['highs'][month][hour])} %",
        }
        for month, row in enumerate(one["mids"])
        for hour, value in enumerate(row)
    ]
    cells.sort(key=lambda cell: sum(float(str(cell["humidity"])) >= bound for bound in BOUNDS))  # shade by shade
    told = [
        alt.Tooltip("month:N", title=say("web.table.month")),
        alt.Tooltip("from:N", title=say("hours.from")),
        alt.Tooltip("humidity:Q", title="% RH"),
        alt.Tooltip("range:N", title=say("paper.head_range")),
    ]
    marks = {0: hours[0], 6: hours[6], 12: hours[12], 18: hours[18]}
    spoken = " : ".join(f"datum.value == {hour} ? '{name}'" for hour, name in marks.items())
    across = alt.Axis(
        title=None, values=list(marks), labelExpr=f"{spoken} : ''", labelAngle=0, labelAlign="left", labelFlush=False
    )
    down = alt.Axis(title=None, labels=named, ticks=False, minExtent=_MONTHS_ROOM - 6 if named else 0)
    x = alt.X("hour:O", axis=across, scale=alt.Scale(paddingInner=0, paddingOuter=0))
    y = alt.Y("month:O", sort=months, axis=down, scale=alt.Scale(paddingInner=0, paddingOuter=0))
    shades = alt.Scale(type="threshold", domain=list(BOUNDS), range=list(SHADES))
    shade = {  # the stroke closes the seams between cells
        "color": alt.Color("humidity:Q", scale=shades, legend=None),
        "stroke": alt.Stroke("humidity:Q", scale=shades, legend=None),
    }
    base = alt.Chart(alt.Data(values=cells))
    damp = alt.Chart(alt.Data(values=[cell for cell in cells if cell["humidity"] > DAMP]))
    name = wrapped(option_named(result, str(one["id"])), float(width), NAMES, 600)
    return alt.layer(
        base.mark_rect(strokeWidth=0.6).encode(x=x, y=y, tooltip=told, **shade),
        damp.mark_circle(size=7, opacity=1, color=_DOT).encode(x=x, y=y, tooltip=told),
    ).properties(width=width, height=12 * _ROW, title=alt.TitleParams(name, fontSize=NAMES))


def _key(width: int) -> Any:
    """The shades in their order with their bounds, the damp ones dotted."""
    import altair as alt

    steps = [{"from": index, "to": index + 1, "mid": index + 0.5, "shade": shade} for index, shade in enumerate(SHADES)]
    spoken = " : ".join(f"datum.value == {index + 1} ? '{bound}'" for index, bound in enumerate(BOUNDS))
    axis = alt.Axis(
        title=say("hours.key"),
        values=list(range(1, len(SHADES))),
        labelExpr=f"{spoken} : ''",
        grid=False,
        titleColor=GREY,
    )

    def x(field: str) -> Any:
        return alt.X(f"{field}:Q", scale=alt.Scale(domain=[0, len(SHADES)], nice=False), axis=axis)

    base = alt.Chart(alt.Data(values=steps))
    damp = alt.Chart(alt.Data(values=_damp_steps(steps)))
    return alt.layer(
        base.mark_rect(stroke=INK, strokeWidth=0.3).encode(
            x=x("from"), x2="to:Q", color=alt.Color("shade:N", scale=None), y=alt.value(0), y2=alt.value(_KEY)
        ),
        damp.mark_circle(size=7, opacity=1, color=_DOT).encode(x=x("mid"), y=alt.value(_KEY / 2)),
    ).properties(width=width, height=_KEY)


def _damp_steps(steps: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """The shades above DAMP."""
    return [step for bound, step in zip(BOUNDS, steps[1:], strict=True) if bound >= DAMP]
