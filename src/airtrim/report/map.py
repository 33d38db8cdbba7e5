"""The airflow map as an Altair (Vega-Lite 6) specification, from `result["map"]` alone.

Map fields: series [{id, x, lows, mids, highs, unit}] with x in m3/s and ids `saturated_suction` (degC), `sensible` (W),
`latent` (W) or `total` (W); limits [{id, value, unit}] with id `frost` for the lowest saturated suction allowed; now and
proposed in m3/s (a number, or a mapping with `x`); rated_capacity_w where the airflow per ton is to be shown.
"""

from __future__ import annotations

from collections.abc import Mapping
from textwrap import wrap
from typing import Any

from airtrim.core.errors import InputError
from airtrim.report.units import display, number_text, range_texts, shown_number, value_text
from airtrim.report.words import label, say

PAPER, INK, ACCENT, QUIET, SAND, GREY = "#fbfaf6", "#20262b", "#0b6b74", "#cfe0de", "#e8e3d3", "#59636b"
FONT = "'DejaVu Sans', 'Liberation Sans', Arial, sans-serif"
_NAMES = {
    "saturated_suction": ("saturated_suction", "saturated_suction_c", "suction"),
    "sensible": ("sensible", "sensible_w", "cooling"),
    "latent": ("latent", "latent_w", "drying"),
    "total": ("total", "total_w"),
}
_WATTS_PER_TON = 3516.8528


def series(picture: Mapping[str, Any], name: str) -> Mapping[str, Any] | None:
    """The series called `name` under any of its spellings, or None."""
    for one in picture.get("series", []):
        if one.get("id") in _NAMES[name]:
            return dict(one)
    return None


def airflow_at(mark: Any) -> float | None:
    """Airflow in m3/s of a `now` or `proposed` mark: a number, or a mapping with `x`."""
    if isinstance(mark, Mapping):
        mark = mark.get("x", mark.get("mid"))
    return None if mark is None else float(mark)


def answer(picture: Mapping[str, Any], system: str = "inch_pound") -> str:
    """The map's title: what the picture answers."""
    now, proposed = airflow_at(picture.get("now")), airflow_at(picture.get("proposed"))
    if proposed is not None and (now is None or proposed < now * 0.99):
        return say("map.answer", {"airflow": value_text(proposed, "m3/s", system)})
    if proposed is not None and now is not None:
        return say("map.answer_now", {"airflow": value_text(now, "m3/s", system)})
    return say("map.answer_none")


def _points(picture: Mapping[str, Any], system: str) -> list[dict[str, float]]:
    """Rows for the picture, in displayed units: airflow, suction (low, mid, high), cooling, total heat."""
    suction, cooling = series(picture, "saturated_suction"), series(picture, "sensible")
    drying, total = series(picture, "latent"), series(picture, "total")
    if suction is None or cooling is None or (drying is None and total is None):
        raise InputError("The airflow map lacks a series; give saturated_suction, sensible and latent or total.")
    used = [one for one in (suction, cooling, drying, total) if one is not None]
    if any(list(one["x"]) != list(suction["x"]) for one in used):
        raise InputError("The series of the airflow map stand at different airflows; give all on the same x.")
    rows = []
    for index, x in enumerate(suction["x"]):
        sensible_w = float(cooling["mids"][index])
        total_w = (
            float(total["mids"][index]) if total is not None else sensible_w + float(_not_none(drying)["mids"][index])
        )
        rows.append(
            {
                "airflow": shown_number(float(x), "m3/s", system),
                "low": shown_number(float(suction["lows"][index]), "degC", system),
                "mid": shown_number(float(suction["mids"][index]), "degC", system),
                "high": shown_number(float(suction["highs"][index]), "degC", system),
                "cooling": _heat(sensible_w, system),
                "total": _heat(total_w, system),
            }
        )
    return rows


def _not_none(one: Mapping[str, Any] | None) -> Mapping[str, Any]:
    if one is None:
        raise InputError("The airflow map has neither a latent nor a total series; give one.")
    return one


def _heat(heat_w: float, system: str) -> float:
    """Heat in kBtu/h or kW."""
    return shown_number(heat_w, "W_heat", system) / (1000.0 if system == "inch_pound" else 1.0)


def frost_limit_c(picture: Mapping[str, Any]) -> float | None:
    """The lowest saturated suction allowed, degC, or None when the result names none."""
    for limit in picture.get("limits", []):
        if limit.get("unit") == "degC" and limit.get("value") is not None:
            return float(limit["value"])
    return None


def map_specification(result: Mapping[str, Any], system: str = "inch_pound", width_px: int = 250) -> dict[str, Any]:
    """The Vega-Lite specification; `width_px` is the inner width of a panel (250 fits a 360 px phone)."""
    import altair as alt

    picture: Mapping[str, Any] = result["map"]
    rows = _points(picture, system)
    left, right = rows[0]["airflow"], rows[-1]["airflow"]
    rated_w = picture.get("rated_capacity_w")
    unit = "cfm" if system == "inch_pound" else "L/s"
    title = unit
    if rated_w and system == "inch_pound":
        tons = float(rated_w) / _WATTS_PER_TON
        label = f"[format(datum.value, ',.0f'), format(datum.value / {tons}, '.0f')]"
        title = "cfm, and below it cfm per ton"
    elif rated_w:
        label = f"[format(datum.value, ',.0f'), format(datum.value / {float(rated_w) / 1000.0}, '.0f')]"
        title = "L/s, and below it L/s per kW"
    else:
        label = "format(datum.value, ',.0f')"
    data = alt.Data(values=rows)

    def horizontal(shown: bool, field: str = "airflow") -> Any:
        axis = alt.Axis(title=title, labelExpr=label, tickCount=5, grid=False)
        if not shown:
            axis = alt.Axis(title=None, labels=False, ticks=False, tickCount=5, grid=False)
        return alt.X(f"{field}:Q", scale=alt.Scale(domain=[left, right], nice=False), axis=axis)

    def rules(shown_axis: bool) -> list[Any]:
        layers = []
        for name, dash in (("now", [4, 4]), ("proposed", [1, 0])):
            at = airflow_at(picture.get(name))
            if at is None:
                continue
            values = [{"airflow": shown_number(at, "m3/s", system), "name": name}]
            layers.append(
                alt.Chart(alt.Data(values=values))
                .mark_rule(color=INK, size=2, strokeDash=dash)
                .encode(x=horizontal(shown_axis))
            )
        return layers

    lines = {
        name: shown_number(at, "m3/s", system)
        for name in ("now", "proposed")
        if (at := airflow_at(picture.get(name))) is not None
    }
    # words stand in the half of the picture the lines leave free
    free = "left" if not lines or sum(lines.values()) / len(lines) > 0.5 * (left + right) else "right"
    free_x = left + (right - left) * (0.24 if free == "left" else 0.76)

    def names() -> list[Any]:
        """Each line's name on its outer side, so that near lines do not share a place; inside where the edge is near."""
        layers = []
        for name, shown in lines.items():
            other = next((x for key, x in lines.items() if key != name), 0.5 * (left + right))
            room = (right - shown) if shown >= other else (shown - left)
            wanted = (right - left) * (8.0 * len(say(f"map.{name}")) + 5.0) / width_px
            to_right = (shown >= other) == (room >= wanted)
            mark = alt.Chart(alt.Data(values=[{"airflow": shown, "name": say(f"map.{name}")}])).mark_text(
                align="left" if to_right else "right",
                dx=5 if to_right else -5,
                y=9 if name == "now" else 23,
                fontWeight=600,
                fontSize=13,
                color=INK,
            )
            layers.append(mark.encode(x=horizontal(True), text="name:N"))
        return layers

    degree = "°F" if system == "inch_pound" else "°C"
    limit_c = frost_limit_c(picture)
    bottom = min(row["low"] for row in rows)
    top = max(row["high"] for row in rows)
    limit = None if limit_c is None else shown_number(limit_c, "degC", system)
    if limit is not None:
        bottom, top = min(bottom, limit - (4.0 if system == "inch_pound" else 2.0)), max(top, limit)

    def vertical(field: str) -> Any:
        scale = alt.Scale(domain=[bottom - 1.0, top + 1.0], zero=False, nice=False)
        return alt.Y(f"{field}:Q", scale=scale, axis=alt.Axis(title=None, tickCount=4))

    frost: list[Any] = []
    if limit is not None:
        zone = [{"left": left, "right": right, "bottom": bottom - 1.0, "limit": limit}]
        zone_data = alt.Data(values=zone)
        frost.append(
            alt.Chart(zone_data)
            .mark_rect(color=SAND, opacity=1)
            .encode(x=horizontal(False, "left"), x2="right:Q", y=vertical("bottom"), y2="limit:Q")
        )
        low_middle = 0.5 * (bottom - 1.0 + limit)
        steps = 26
        hatching = [
            {
                "x": left + (right - left) * i / steps,
                "x2": left + (right - left) * (i + 1) / steps,
                "y": bottom - 1,
                "y2": limit,
            }
            for i in range(steps)
        ]
        frost.append(
            alt.Chart(alt.Data(values=hatching))
            .mark_rule(color=GREY, opacity=0.45, size=0.8)
            .encode(x=horizontal(False, "x"), x2="x2:Q", y=vertical("y"), y2="y2:Q")
        )
        frost.append(
            alt.Chart(
                alt.Data(
                    values=[{"x": left if free == "left" else right, "y": low_middle, "name": say("map.too_near")}]
                )
            )
            .mark_text(align=free, dx=6 if free == "left" else -6, fontWeight=600, fontSize=13, color=INK)
            .encode(x=horizontal(False, "x"), y=vertical("y"), text="name:N")
        )
    base = alt.Chart(data)
    suction = alt.layer(
        *frost,
        base.mark_area(color=ACCENT, opacity=0.2).encode(x=horizontal(False), y=vertical("low"), y2="high:Q"),
        base.mark_line(color=ACCENT, size=3).encode(x=horizontal(False), y=vertical("mid")),
        *rules(False),
    ).properties(width=width_px, height=150, title=alt.TitleParams(say("map.suction", {"unit": degree}), fontSize=13))
    heat_unit = "kBtu/h" if system == "inch_pound" else "kW"
    middle = min(rows, key=lambda row: abs(row["airflow"] - free_x))
    notes = [
        {"airflow": middle["airflow"], "y": 0.5 * middle["cooling"], "name": say("map.cooling")},
        {"airflow": middle["airflow"], "y": 0.5 * (middle["cooling"] + middle["total"]), "name": say("map.drying")},
    ]
    ceiling = 1.2 * max(row["total"] for row in rows)

    def heat_y(field: str) -> Any:
        return alt.Y(f"{field}:Q", scale=alt.Scale(domain=[0, ceiling]), axis=alt.Axis(title=None, tickCount=4))

    heat = alt.layer(
        base.mark_area(color=SAND).encode(x=horizontal(True), y=heat_y("cooling")),
        base.mark_area(color=QUIET).encode(x=horizontal(True), y=heat_y("cooling"), y2="total:Q"),
        base.mark_line(color=INK, size=1).encode(x=horizontal(True), y=heat_y("cooling")),
        base.mark_line(color=INK, size=2).encode(x=horizontal(True), y=heat_y("total")),
        alt.Chart(alt.Data(values=notes))
        .mark_text(fontSize=13, color=INK)
        .encode(x=horizontal(True), y=heat_y("y"), text="name:N"),
        *rules(True),
        *names(),
    ).properties(width=width_px, height=180, title=alt.TitleParams(say("map.heat", {"unit": heat_unit}), fontSize=13))
    chart = alt.vconcat(suction, heat, spacing=14).properties(
        title=alt.TitleParams(
            wrap(answer(picture, system), width=width_px // 9),
            subtitle=list(say("map.subtitle").split(". ", 1)),
            anchor="start",
        )
    )
    return dict(styled(chart).to_dict())


def styled(chart: Any) -> Any:
    """`chart` with paper, ink and one sans, no text under 12 px."""
    return (
        chart.configure(background=PAPER, font=FONT, padding=10)
        .configure_view(stroke=None)
        .configure_axis(
            labelFontSize=12,
            titleFontSize=12,
            labelColor=INK,
            titleColor=GREY,
            titleFontWeight="normal",
            gridColor="#dedbd2",
            domain=False,
            tickColor=INK,
        )
        .configure_title(
            fontSize=17, subtitleFontSize=12, color=INK, subtitleColor=GREY, fontWeight=600, anchor="start"
        )
        .configure_concat(spacing=14)
    )


def difference_sentence(result: Mapping[str, Any], system: str = "inch_pound") -> str:
    """What the proposed airflow changes against now, with ranges; empty where nothing is proposed."""
    parts = []
    for one in result["map"].get("differences", []):
        mid, ends = range_texts(one, system)
        unit = display(str(one["unit"]), system).unit
        sign = "+" if float(one["mid"]) > 0.0 else ""
        parts.append(f"{label(str(one['id'])).lower()} {sign}{mid} {unit} ({ends})")
    return say("map.difference", {"changes": ", ".join(parts)}) if parts else ""


def suction_sentence(result: Mapping[str, Any], system: str = "inch_pound") -> str:
    """A plain-text twin of the picture, for alt text."""
    picture = result["map"]
    rows = _points(picture, system)
    degree = "°F" if system == "inch_pound" else "°C"
    return (
        f"{answer(picture, system)}. Saturated suction goes from {number_text(rows[0]['mid'], 0.1)} to "
        f"{number_text(rows[-1]['mid'], 0.1)} {degree} between {rows[0]['airflow']:.0f} and {rows[-1]['airflow']:.0f} "
        f"{'cfm' if system == 'inch_pound' else 'L/s'}."
    )
