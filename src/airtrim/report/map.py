"""The airflow map as an Altair (Vega-Lite 6) specification, from `result["map"]` alone.

Map fields: series [{id, x, lows, mids, highs, unit}] with x in m3/s, `saturated_suction`, `sensible` and `total` among them;
limits [{id, value, unit, airflow}], `airflow` (m3/s or None) being where one begins to bind, and `frost` the lowest saturated
suction allowed; now and proposed in m3/s or None; rated_capacity_w where airflow per ton is to be shown.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from airtrim.core.errors import InputError
from airtrim.report.fonts import width_px, wrapped
from airtrim.report.look import ACCENT, INK, NAMES, QUIET, SAND, SMALL, hatched, styled
from airtrim.report.units import display, limit_text, range_texts, shown_number, value_text
from airtrim.report.words import label, say

_WATTS_PER_TON = 3516.8528
#: The quantities of the detail panels, in the order shown.
DETAILS = ("supply_temperature", "sensible_heat_ratio", "water", "blower_watts", "icing_margin", "superheat")
SUCTION_HEIGHT, HEAT_HEIGHT, DETAIL_HEIGHT = 150, 180, 110


def series(picture: Mapping[str, Any], identity: str) -> Mapping[str, Any]:
    """The series called `identity`; a map without it is an InputError."""
    for one in picture.get("series", []):
        if one.get("id") == identity:
            return dict(one)
    raise InputError(f"The airflow map lacks a series '{identity}'; give it with x, lows, mids and highs.")


def answer(picture: Mapping[str, Any], system: str = "inch_pound") -> str:
    """The map's title: what the picture answers."""
    now, proposed = picture["now"], picture["proposed"]
    if proposed is None:
        return say("map.answer_none")
    if proposed < now * 0.99:
        return say("map.answer", {"airflow": value_text(proposed, "m3/s", system)})
    return say("map.answer_now", {"airflow": value_text(now, "m3/s", system)})


def binding(picture: Mapping[str, Any]) -> Mapping[str, Any] | None:
    """The limit that binds at the greatest airflow, or None where none binds on the map."""
    limits = [one for one in picture.get("limits", []) if one.get("airflow") is not None and one["id"] in _DRAWN]
    return max(limits, key=lambda one: float(one["airflow"]), default=None)


#: Limits that forbid an airflow before it is tried; the others are watched on site.
_DRAWN = ("least_frequency", "airflow_per_ton", "coil_saturation", "maker_least_airflow")


@dataclass(frozen=True)
class _Frame:
    """The horizontal axis that all panels share, in displayed units."""

    picture: Mapping[str, Any]
    system: str
    width: int
    left: float
    right: float

    @property
    def lines(self) -> dict[str, float]:
        marks = {name: self.picture[name] for name in ("now", "proposed")}
        return {name: self.airflow(at) for name, at in marks.items() if at is not None}

    def airflow(self, airflow_m3_s: float) -> float:
        return shown_number(float(airflow_m3_s), "m3/s", self.system)

    def x(self, field: str = "airflow", shown: bool = False) -> Any:
        import altair as alt

        axis = alt.Axis(title=None, labels=False, ticks=False, tickCount=5, grid=False)
        if shown:
            title, expression = self._title()
            axis = alt.Axis(title=title, labelExpr=expression, tickCount=5, grid=False)
        return alt.X(f"{field}:Q", scale=alt.Scale(domain=[self.left, self.right], nice=False), axis=axis)

    def _title(self) -> tuple[str, str]:
        rated_w = self.picture.get("rated_capacity_w")
        if not rated_w:
            return display("m3/s", self.system).unit, "format(datum.value, ',.0f')"
        inch_pound = self.system == "inch_pound"
        size = float(rated_w) / (_WATTS_PER_TON if inch_pound else 1000.0)
        title = say("map.axis_inch_pound" if inch_pound else "map.axis_si")
        return title, f"[format(datum.value, ',.0f'), format(datum.value / {size}, '.0f')]"

    def rules(self, shown: bool) -> list[Any]:
        """The lines of now (dashed) and proposed (solid)."""
        import altair as alt

        return [
            alt.Chart(alt.Data(values=[{"airflow": at}]))
            .mark_rule(color=INK, size=2, strokeDash=[4, 4] if name == "now" else [1, 0])
            .encode(x=self.x(shown=shown))
            for name, at in self.lines.items()
        ]

    def names(self, shown: bool) -> list[Any]:
        """Each line's name on its outer side, so that near lines do not share a place; inside where the edge is near."""
        import altair as alt

        layers = []
        for name, at in self.lines.items():
            other = next((x for key, x in self.lines.items() if key != name), 0.5 * (self.left + self.right))
            room = (self.right - at) if at >= other else (at - self.left)
            wanted = (self.right - self.left) * (width_px(say(f"map.{name}"), NAMES, 600) + 7.0) / self.width
            to_right = (at >= other) == (room >= wanted)
            mark = alt.Chart(alt.Data(values=[{"airflow": at, "name": say(f"map.{name}")}])).mark_text(
                align="left" if to_right else "right",
                dx=5 if to_right else -5,
                y=9 if name == "now" else 23,
                fontWeight=600,
                fontSize=NAMES,
                color=INK,
            )
            layers.append(mark.encode(x=self.x(shown=shown), text="name:N"))
        return layers

    @property
    def free_x(self) -> float:
        """The middle of the widest part of the picture that no line crosses: a place for words."""
        edges = [self.left, *sorted(self.lines.values()), self.right]
        gaps = [(after - before, 0.5 * (before + after)) for before, after in pairwise(edges)]
        return max(gaps)[1]

    def limit(self, bottom: float, top: float, y: Any, shown: bool, height: int, named: bool) -> list[Any]:
        """The airflows a limit forbids, hatched from the left edge; with the limit's name where `named`."""
        import altair as alt

        found = binding(self.picture)
        if found is None:
            return []
        end = self.airflow(found["airflow"])
        slope = ((self.right - self.left) / self.width, (top - bottom) / height)
        layers = [hatched(self.left, end, bottom, top, lambda field: self.x(field, shown), y, slope)]
        if named:
            # at the foot, where no line of the picture runs; wider than the hatching only where that is very narrow
            room = max((end - self.left) / (self.right - self.left) * self.width, 70.0)
            words = wrapped(say(f"map.limit.{found['id']}"), room - 7.0, NAMES, 600)
            for index, words_of_line in enumerate(words):
                text = alt.Data(values=[{"at": self.left, "name": words_of_line}])
                mark = alt.Chart(text).mark_text(
                    align="left",
                    dx=5,
                    y=height - 8 - 15 * (len(words) - 1 - index),
                    fontWeight=600,
                    fontSize=NAMES,
                    color=INK,
                )
                layers.append(mark.encode(x=self.x("at", shown), text="name:N"))
        return layers


def _frame(result: Mapping[str, Any], system: str, width: int) -> _Frame:
    picture: Mapping[str, Any] = result["map"]
    x = series(picture, "saturated_suction")["x"]
    left, right = (shown_number(float(end), "m3/s", system) for end in (x[0], x[-1]))
    return _Frame(picture, system, width, left, right)


def _rows(frame: _Frame, identity: str, scale: float = 1.0) -> list[dict[str, float]]:
    one = series(frame.picture, identity)
    columns = {"low": one["lows"], "mid": one["mids"], "high": one["highs"]}
    return [
        {"airflow": frame.airflow(x)}
        | {
            name: scale * shown_number(float(values[index]), one["unit"], frame.system)
            for name, values in columns.items()
        }
        for index, x in enumerate(one["x"])
    ]


def _band(frame: _Frame, identity: str, height: int, title: str, shown: bool, floor: float | None = None) -> Any:
    """A line with its range; below `floor` (displayed unit) hatched as too near frost."""
    import altair as alt

    rows = _rows(frame, identity)
    bottom, top = min(row["low"] for row in rows), max(row["high"] for row in rows)
    margin = max(0.06 * (top - bottom), 0.5 * display(series(frame.picture, identity)["unit"], frame.system).step)
    if floor is not None:
        bottom, top = min(bottom, floor - (4.0 if frame.system == "inch_pound" else 2.0)), max(top, floor)
    bottom, top = bottom - margin, top + margin

    def y(field: str) -> Any:
        scale = alt.Scale(domain=[bottom, top], zero=False, nice=False)
        return alt.Y(f"{field}:Q", scale=scale, axis=alt.Axis(title=None, tickCount=4, minExtent=30))

    layers: list[Any] = []
    if floor is not None:
        zone = alt.Data(values=[{"left": frame.left, "right": frame.right, "bottom": bottom, "limit": floor}])
        layers.append(
            alt.Chart(zone).mark_rect(color=SAND, opacity=1).encode(x=frame.x("left"), x2="right:Q", y=y("bottom"), y2="limit:Q")
        )  # fmt: skip
        slope = ((frame.right - frame.left) / frame.width, (top - bottom) / height)
        layers.append(hatched(frame.left, frame.right, bottom, floor, frame.x, y, slope))
        at_left = frame.free_x < 0.5 * (frame.left + frame.right)
        text = {"x": frame.left if at_left else frame.right, "y": 0.5 * (bottom + floor), "name": say("map.too_near")}
        mark = alt.Chart(alt.Data(values=[text])).mark_text(
            align="left" if at_left else "right", dx=6 if at_left else -6, fontWeight=600, fontSize=NAMES, color=INK
        )
        layers.append(mark.encode(x=frame.x("x"), y=y("y"), text="name:N"))
    base = alt.Chart(alt.Data(values=rows))
    layers += [
        base.mark_area(color=ACCENT, opacity=0.2).encode(x=frame.x(shown=shown), y=y("low"), y2="high:Q"),
        base.mark_line(color=ACCENT, size=3).encode(x=frame.x(shown=shown), y=y("mid")),
        *frame.rules(shown),
    ]
    return alt.layer(*layers).properties(
        width=frame.width, height=height, title=alt.TitleParams(title, fontSize=NAMES)
    )  # fmt: skip


def _heat(frame: _Frame) -> Any:
    """Sensible cooling and drying stacked, with the airflows that a limit forbids."""
    import altair as alt

    scale, unit = (0.001, "kBtu/h") if frame.system == "inch_pound" else (1.0, "kW")
    sensible, total = _rows(frame, "sensible", scale), _rows(frame, "total", scale)
    if [row["airflow"] for row in sensible] != [row["airflow"] for row in total]:
        raise InputError(
            "The series of the airflow map stand at different airflows; give sensible and total on the same x."
        )
    rows = [
        {"airflow": one["airflow"], "cooling": one["mid"], "total": both["mid"]}
        for one, both in zip(sensible, total, strict=True)
    ]
    ceiling = 1.3 * max(row["total"] for row in rows)

    def y(field: str) -> Any:
        return alt.Y(
            f"{field}:Q", scale=alt.Scale(domain=[0, ceiling]), axis=alt.Axis(title=None, tickCount=4, minExtent=30)
        )

    middle = min(rows, key=lambda row: abs(row["airflow"] - frame.free_x))
    notes = [
        {"airflow": middle["airflow"], "y": 0.5 * middle["cooling"], "name": say("map.cooling")},
        {"airflow": middle["airflow"], "y": 0.5 * (middle["cooling"] + middle["total"]), "name": say("map.drying")},
    ]
    base = alt.Chart(alt.Data(values=rows))
    x = frame.x(shown=True)
    layers = [
        base.mark_area(color=SAND).encode(x=x, y=y("cooling")),
        base.mark_area(color=QUIET).encode(x=x, y=y("cooling"), y2="total:Q"),
        base.mark_line(color=INK, size=1).encode(x=x, y=y("cooling")),
        base.mark_line(color=INK, size=2).encode(x=x, y=y("total")),
        *frame.limit(0.0, ceiling, y, True, HEAT_HEIGHT, named=True),
        alt.Chart(alt.Data(values=notes)).mark_text(fontSize=NAMES, color=INK).encode(x=x, y=y("y"), text="name:N"),
        *frame.rules(True),
        *frame.names(True),
    ]
    return alt.layer(*layers).properties(
        width=frame.width, height=HEAT_HEIGHT, title=alt.TitleParams(say("map.heat", {"unit": unit}), fontSize=NAMES)
    )


def conditions_text(picture: Mapping[str, Any], system: str = "inch_pound") -> str:
    """The state of air that the map stands at."""
    state = picture["conditions"]
    return say(
        "map.conditions",
        {
            "return": value_text(float(state["return_c"]), "degC", system),
            "humidity": f"{100.0 * float(state['relative_humidity']):.0f}",
            "outdoor": value_text(float(state["outdoor_c"]), "degC", system),
        },
    )


def wider_sentences(picture: Mapping[str, Any], system: str = "inch_pound") -> list[str]:
    """From which airflow on the unit's model is known less well, where that lies on the map."""
    edges = {name: picture.get(name) for name in ("wider_below", "wider_above")}
    return [
        say(f"map.{name}", {"airflow": value_text(float(at), "m3/s", system)})
        for name, at in edges.items()
        if at is not None
    ]


def map_specification(result: Mapping[str, Any], system: str = "inch_pound", width_px: int = 250) -> dict[str, Any]:
    """The Vega-Lite specification; `width_px` is the inner width of a panel (250 fits a 360 px phone)."""
    import altair as alt

    frame = _frame(result, system, width_px)
    limit_c = next((float(one["value"]) for one in frame.picture.get("limits", []) if one["id"] == "frost"), None)
    floor = None if limit_c is None else shown_number(limit_c, "degC", system)
    title = say("map.suction", {"unit": display("degC", system).unit})
    suction = _band(frame, "saturated_suction", SUCTION_HEIGHT, title, False, floor)
    return _titled(alt.vconcat(suction, _heat(frame), spacing=14), frame, answer(frame.picture, system))


def detail_specification(
    result: Mapping[str, Any], system: str = "inch_pound", width_px: int = 250, columns: int = 1
) -> dict[str, Any]:
    """The further quantities over the same airflows, each with its range: DETAILS, in `columns` panels side by side."""
    import altair as alt

    frame = _frame(result, system, width_px)
    panels = []
    for index, identity in enumerate(DETAILS):
        unit = display(series(frame.picture, identity)["unit"], system).unit
        shown = index >= len(DETAILS) - columns
        panels.append(_band(frame, identity, DETAIL_HEIGHT, f"{label(identity)}, {unit}", shown))
    rows = [alt.hconcat(*panels[at : at + columns], spacing=22) for at in range(0, len(panels), columns)]
    return _titled(alt.vconcat(*rows, spacing=14), frame, say("map.detail"))


def _titled(chart: Any, frame: _Frame, title: str) -> dict[str, Any]:
    """The picture with what it says, and under that its conditions and how to read it."""
    import altair as alt

    below = [
        conditions_text(frame.picture, frame.system),
        say("map.subtitle"),
        *wider_sentences(frame.picture, frame.system),
    ]
    params = alt.TitleParams(
        wrapped(title, frame.width + 30.0, 18, 600),
        subtitle=[line for text in below for line in wrapped(text, frame.width + 30.0, SMALL)],
        anchor="start",
    )
    return dict(styled(chart.properties(title=params)).to_dict())


def map_table(result: Mapping[str, Any], system: str = "inch_pound") -> list[list[str]]:
    """The table behind the picture: a heading row, then a row for each quantity with its value and its range in brackets.

    Columns are the least airflow of the map, the proposed one, the present one and the greatest.
    """
    picture = result["map"]
    x = series(picture, "saturated_suction")["x"]
    columns = [("", float(x[0])), ("", float(x[-1]))]
    columns += [(f" ({say(f'map.{name}')})", float(picture[name])) for name in ("now", "proposed") if picture[name]]
    columns.sort(key=lambda column: column[1])
    rows = [[say("map.airflow"), *(f"{value_text(at, 'm3/s', system)}{name}" for name, at in columns)]]
    for identity in ("saturated_suction", "sensible", "latent", *DETAILS):
        one = series(picture, identity)
        cells = []
        for _, at in columns:
            ends = {end: _between(one["x"], one[f"{end}s"], at) for end in ("low", "mid", "high")}
            if ends["mid"] is None:
                cells.append(say("map.not_known"))
            else:
                cells.append("{} ({})".format(*range_texts({**ends, "unit": one["unit"]}, system)))
        rows.append([f"{label(identity)}, {display(one['unit'], system).unit}", *cells])
    return rows


def _between(x: Any, values: Any, at: float) -> float | None:
    """Straight between the points of a series; None beyond its ends, where it is not known."""
    for index in range(len(x) - 1):
        if x[index] <= at <= x[index + 1]:
            part = (at - x[index]) / (x[index + 1] - x[index])
            return float(values[index] + part * (values[index + 1] - values[index]))
    return None


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
    one = series(picture, "saturated_suction")
    ends = {
        "low": value_text(float(one["mids"][0]), "degC", system),
        "high": value_text(float(one["mids"][-1]), "degC", system),
        "first": value_text(float(one["x"][0]), "m3/s", system),
        "last": value_text(float(one["x"][-1]), "m3/s", system),
    }
    sentence = f"{answer(picture, system)}. {say('map.alternative', ends)}"
    found = binding(picture)
    if found is not None:
        bound = {
            "limit": label(str(found["id"]), "limit"),
            "airflow": limit_text(float(found["airflow"]), "m3/s", True, system),
        }
        sentence += " " + say("map.alternative_limit", bound)
    return sentence
