"""Indoor relative humidity month by month, left as it is against the proposed option."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from airtrim.report.fonts import wrapped
from airtrim.report.look import ACCENT, GREY, INK, SMALL, styled
from airtrim.report.words import label, say

_MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]


def monthly_humidity(result: Mapping[str, Any], option_id: str) -> list[float] | None:
    """Twelve monthly means of indoor RH in percent for `option_id`, or None when the result has none."""
    for option in result.get("options", []):
        values = option.get("monthly_relative_humidity")
        if option.get("id") == option_id and values:
            return [100.0 * float(one) if float(one) <= 1.0 else float(one) for one in values]
    return None


def months_of(result: Mapping[str, Any]) -> tuple[str, list[float], list[float]] | None:
    """The recommended option with the months of now and of it, or None where it is leaving it alone or one has no months."""
    chosen = str((result.get("recommendation") or {}).get("option"))
    now, proposed = monthly_humidity(result, "leave_as_is"), monthly_humidity(result, chosen)
    return None if chosen == "leave_as_is" or now is None or proposed is None else (chosen, now, proposed)


def months_specification(result: Mapping[str, Any], width_px: int = 270) -> dict[str, Any] | None:
    """The Vega-Lite specification, or None when the result has no monthly humidity of both options."""
    import altair as alt

    found = months_of(result)
    if found is None:
        return None
    chosen, now, proposed = found
    rows = [
        {"month": month, "order": order, "humidity": values[order], "option": name}
        for name, values in ((label("leave_as_is", "option"), now), (label(chosen, "option"), proposed))
        for order, month in enumerate(_MONTHS)
    ]
    title = say("map.months", {"mid": round(max(now)), "proposed": round(max(proposed))})
    names = [label("leave_as_is", "option"), label(chosen, "option")]
    month = alt.X(
        "month:O", sort=_MONTHS, axis=alt.Axis(title=None, labelAngle=0, labelExpr="slice(datum.label, 0, 1)")
    )
    humidity = alt.Y("humidity:Q", scale=alt.Scale(zero=False), axis=alt.Axis(title="% RH", tickCount=5))
    lines = (
        alt.Chart(alt.Data(values=rows))
        .mark_line(size=2.5)
        .encode(
            x=month,
            y=humidity,
            color=alt.Color("option:N", scale=alt.Scale(domain=names, range=[INK, ACCENT]), legend=None),
            strokeDash=alt.StrokeDash("option:N", scale=alt.Scale(domain=names, range=[[4, 4], [1, 0]]), legend=None),
        )
    )
    damp = alt.Chart(alt.Data(values=[{"humidity": 60.0}])).mark_rule(color=GREY, size=1).encode(y=humidity)
    chart = alt.layer(damp, lines).properties(
        width=width_px,
        height=170,
        title=alt.TitleParams(
            wrapped(title, width_px + 30.0, 18, 600),
            subtitle=wrapped(say("map.months_subtitle"), width_px + 30.0, SMALL),
        ),
    )
    return dict(styled(chart).to_dict())
