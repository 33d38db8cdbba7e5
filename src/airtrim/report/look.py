"""Paper, ink and one accent: how every picture is drawn."""

from __future__ import annotations

from typing import Any

from airtrim.report.fonts import FAMILY

PAPER, INK, ACCENT, QUIET, SAND, GREY = "#fbfaf6", "#20262b", "#0b6b74", "#cfe0de", "#e8e3d3", "#454d54"
#: Pictures are measured with the first; a browser that explores one has it under the page's own name.
FONT = f"'{FAMILY}', 'Airtrim Sans', 'Segoe UI', Roboto, 'Liberation Sans', Arial, sans-serif"
#: Sizes inside pictures, px: what is read along, and what names a panel, a line or a limit.
SMALL, NAMES = 13, 14


def styled(chart: Any) -> Any:
    """`chart` with paper, ink and one sans, no text under 13 px."""
    return (
        chart.configure(background=PAPER, font=FONT, padding=10)
        .configure_view(stroke=None)
        .configure_axis(
            labelFontSize=SMALL,
            titleFontSize=SMALL,
            labelColor=INK,
            titleColor=GREY,
            titleFontWeight="normal",
            gridColor="#dedbd2",
            domain=False,
            tickColor=INK,
        )
        .configure_title(
            fontSize=18, subtitleFontSize=SMALL, color=INK, subtitleColor=GREY, fontWeight=600, anchor="start"
        )
        .configure_concat(spacing=14)
    )


def hatched(
    left: float,
    right: float,
    bottom: float,
    top: float,
    x: Any,
    y: Any,
    slope: tuple[float, float],
    apart_px: float = 12.0,
) -> Any:
    """Slanting lines over a rectangle of the data, cut off at its edges, `apart_px` from one to the next along its foot.

    `slope` is a line's run and rise for one px each.
    `x` and `y` make the encodings of a field (so that the layer shares its panel's scales).
    """
    import altair as alt

    run, rise = slope
    lines = []
    reach = (right - left) + (top - bottom) / rise * run
    steps = max(3, round(reach / run / apart_px))
    for index in range(steps):
        start = left - (top - bottom) / rise * run + reach * (index + 0.5) / steps
        low = max(start, left)
        high = min(start + (top - bottom) / rise * run, right)
        if high > low:
            lines.append(
                {
                    "x": low,
                    "x2": high,
                    "y": bottom + (low - start) / run * rise,
                    "y2": bottom + (high - start) / run * rise,
                }
            )
    return (
        alt.Chart(alt.Data(values=lines))
        .mark_rule(color=GREY, opacity=0.5, size=0.8)
        .encode(x=x("x"), x2="x2:Q", y=y("y"), y2="y2:Q")
    )
