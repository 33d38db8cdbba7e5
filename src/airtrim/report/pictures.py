"""The pictures of a plan: which can be drawn of a result, and those that go into the paper."""

from collections.abc import Mapping
from typing import Any

from airtrim.report.hours import hours_of
from airtrim.report.months import months_of
from airtrim.report.options_picture import can_be_drawn
from airtrim.report.render import draw


def wanted(result: Mapping[str, Any]) -> tuple[str, ...]:
    """Names of the pictures that can be drawn of a result, without drawing anything; those that `page_pictures` makes."""
    able = {
        "map": True,
        "detail": True,
        "options": can_be_drawn(result),
        "months": months_of(result) is not None,
        "hours": hours_of(result) is not None,
    }
    return tuple(name for name, can in able.items() if can)


def page_pictures(result: Mapping[str, Any], system: str, width: int) -> dict[str, dict[str, Any]]:
    """Specifications of a page's pictures by name; `width` is the inner width of a panel, px."""
    from airtrim.report.hours import hours_specification
    from airtrim.report.map import detail_specification, map_specification
    from airtrim.report.months import months_specification
    from airtrim.report.options_picture import options_specification

    made = {
        "map": map_specification(result, system, width),
        "detail": detail_specification(result, system, width),
        "options": options_specification(result, system, width),
        "months": months_specification(result, width),
        "hours": hours_specification(result, width),
    }
    return {name: one for name, one in made.items() if one is not None}


def paper_pictures(result: Mapping[str, Any], system: str = "inch_pound") -> tuple[str, str | None]:
    """The airflow map and the months as SVG text, the latter None where nothing is proposed; in a drawing worker only."""
    from airtrim.report.map import map_specification
    from airtrim.report.months import months_specification

    months = months_specification(result)
    return draw(map_specification(result, system)), None if months is None else draw(months)
