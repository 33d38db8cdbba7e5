"""Options side by side: the picture shows what the table says, its title is its answer, and nothing in it runs over."""

import pytest

from airtrim.report.fonts import width_px
from airtrim.report.options_picture import (
    QUANTITIES,
    answer,
    difference_line,
    options_specification,
    options_table,
    quantity,
    shown_options,
    text_alternative,
)
from airtrim.report.ranking import option_name
from tests.plans import demo_result, example_result

WIDTHS = (250, 520)


def values_of(part):
    """Every row of data of a specification, with the panels named by their title."""
    if isinstance(part, dict):
        if "values" in part:
            yield from (row for row in part["values"] if isinstance(row, dict))  # not those of an axis
        for inside in part.values():
            yield from values_of(inside)
    elif isinstance(part, list):
        for inside in part:
            yield from values_of(inside)


def panels_of(specification):
    return [panel for row in specification["vconcat"] for panel in row["hconcat"]]


@pytest.mark.parametrize("units", ["inch_pound", "si"])
@pytest.mark.parametrize("width", WIDTHS)
def test_every_bar_stands_where_its_figure_lies(width, units):
    """By hand from the result: per cent of a fraction, hours and decibels as they are."""
    result = demo_result()
    panels = panels_of(options_specification(result, units, width))
    assert len(panels) == len(QUANTITIES)
    for identity, panel in zip(QUANTITIES, panels, strict=True):
        bars = {row["option"]: row for layer in panel["layer"] for row in values_of(layer) if "mid" in row}
        assert set(bars) == {option_name(one) for one in shown_options(result)}
        for option in shown_options(result):
            one, scale = quantity(result, option, identity), 100.0 if identity.startswith("worst") else 1.0
            for end in ("low", "mid", "high"):
                assert bars[option_name(option)][end] == pytest.approx(scale * one[end])


def test_the_title_is_the_recommended_option_and_now_in_what_was_asked_for():
    result = demo_result()
    by_id = {one["id"]: one for one in result["options"]}
    damp = {
        name: next(f["mid"] for f in by_id[name]["figures"] if f["id"] == "damp_hours")
        for name in ("leave_as_is", result["recommendation"]["option"])
    }
    title = answer(result)
    assert all(f"{round(value):,}" in title for value in damp.values()) and "now" in title
    result["aim"] = "quiet"
    sound = next(f["mid"] for f in by_id[result["recommendation"]["option"]]["figures"] if f["id"] == "sound_change")
    assert sound < 0.0 and answer(result).endswith(f"{round(-2.0 * sound) / 2.0:.1f} dB quieter than now")
    result["recommendation"]["option"] = "leave_as_is"
    assert "leaving it as it is" in answer(result) and difference_line(result) == ""


def test_words_and_table_hold_every_value_of_the_picture():
    result = example_result("heron-lane")
    head, *rows = options_table(result)
    words = text_alternative(result)
    drawn = {row["range"] for row in values_of(options_specification(result)) if "range" in row}
    cells = {cell for row in rows for cell in row[1:]}
    assert drawn == cells and all(cell in words for cell in cells) and all(name in words for name in head[1:])


def test_a_struck_out_option_is_marked_by_more_than_colour():
    result = demo_result()
    shown_options(result)[-1]["safe"] = False
    names = [row["name"] for row in values_of(options_specification(result)) if "name" in row]
    assert any(name.startswith("×") for name in names) and "struck out" in " ".join(names)


@pytest.mark.parametrize("width", WIDTHS)
def test_names_and_values_share_a_line_without_touching(width):
    """Measured with the font's own advances; two options together have the longest names."""
    result = demo_result()
    last = shown_options(result)[-1]
    last["parts"] = ["thermostat_that_dries", "drive_coil_feedback"]
    each = width if width < 500 else (width - 30) // 2
    rows = [row for row in values_of(options_specification(result, "inch_pound", width)) if "name" in row]
    values = [row["value"] for row in values_of(options_specification(result, "inch_pound", width)) if "value" in row]
    widest = max(width_px(value, 14, 600) for value in values)
    for row in rows:
        assert width_px(row["name"], 14, 600 if row["chosen"] else 400) + widest + 6 <= each, row["name"]


def test_nothing_to_compare_is_no_picture():
    result = demo_result()
    result["options"] = [one for one in result["options"] if one["id"] == "leave_as_is"]
    assert options_specification(result) is None
