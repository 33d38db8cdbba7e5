"""One screen of summary on the terminal."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.table import Table

from airtrim.report.findings import explanation_lines
from airtrim.report.paper import safe_word, side_by_side
from airtrim.report.ranking import option_name
from airtrim.report.readings import sentence
from airtrim.report.site_steps import site_step_lines
from airtrim.report.stops import stop_lines
from airtrim.report.units import display, figure_text, range_texts
from airtrim.report.words import label, say

_ROWS = (
    "aim_met",
    "damp_hours",
    "worst_month_relative_humidity",
    "least_icing_margin_k",
    "design_margin_w",
    "sound_change",
)


def print_summary(result: Mapping[str, Any], console: Console, system: str = "inch_pound") -> None:
    """Print stop signs above all else, then findings, options side by side and the recommendation."""
    for sign in stop_lines(result["findings"]["messages"], system):
        console.print(sign["stop"], style="bold red", markup=False)
        console.print(f"  {sign['caution']}", markup=False)
    console.print(f"{result['job'].get('name', '')}, {result['job'].get('place', '')}", style="bold", markup=False)
    found = Table(box=None, show_header=False, padding=(0, 2, 0, 0))
    for figure in result["findings"].get("figures", [])[:8]:
        found.add_row(label(str(figure["id"])), figure_text(figure, system))
    console.print(found)
    for one in result["findings"].get("told_airflow", []):
        console.print(sentence(one, system), markup=False)
    for line in [*explanation_lines(result["findings"], system), *site_step_lines(result.get("readings", {}), system)]:
        console.print(line, markup=False)
    table = Table(box=None, padding=(0, 2, 0, 0))
    options = side_by_side(result)
    table.add_column("", no_wrap=True)
    for option in options:
        table.add_column(option_name(option).replace("-", "-\n"))  # a long word breaks at its hyphen
    for identity in _ROWS:
        match = [next((f for f in option["figures"] if f["id"] == identity), None) for option in options]
        if any(match):
            unit = display(str(next(f["unit"] for f in match if f)), system).unit
            cells = ["" if f is None else "\n".join(range_texts(f, system)) for f in match]
            table.add_row(f"{label(identity)}, {unit}", *cells)
    table.add_row(say("paper.within_limits"), *(safe_word(option) for option in options))
    console.print(table)
    recommendation = result.get("recommendation") or {}
    chosen = recommendation.get("option")
    console.print(
        say("paper.recommended", {"option": label(str(chosen), "option")}) if chosen else say("paper.none_recommended"),
        markup=False,
    )
    if recommendation.get("why"):
        console.print(say(str(recommendation["why"]["id"]), recommendation["why"].get("values")), markup=False)
    settings = result.get("settings") or {}
    if not settings.get("issued"):
        console.print(
            f"{say('paper.not_issued')} {say(str(settings['why'])) if settings.get('why') else ''}".strip(),
            markup=False,
        )
