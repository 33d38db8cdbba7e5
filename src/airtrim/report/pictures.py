"""The pictures that go into the paper."""

from collections.abc import Mapping
from typing import Any

from airtrim.report.render import draw


def paper_pictures(result: Mapping[str, Any], system: str = "inch_pound") -> tuple[str, str | None]:
    """The airflow map and the months as SVG text, the latter None where nothing is proposed; in a drawing worker only."""
    from airtrim.report.map import map_specification
    from airtrim.report.months import months_specification

    months = months_specification(result)
    return draw(map_specification(result, system)), None if months is None else draw(months)
