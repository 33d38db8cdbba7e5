"""Humidity by month and hour: cells, dots, words and tables say what the result holds; shades keep their order in grey."""

from itertools import pairwise

import numpy as np
import pytest

from airtrim.report.hours import BOUNDS, DAMP, SHADES, answer, hours_of, hours_specification, hours_tables, sentence
from tests.plans import demo_result
from tests.report.test_options_picture import values_of


def luminance(colour):
    """Relative luminance of sRGB, WCAG 2.2 (IEC 61966-2-1)."""
    parts = [int(colour[at : at + 2], 16) / 255.0 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return float(np.dot((0.2126, 0.7152, 0.0722), linear))


def contrast(one, other):
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_shades_go_from_light_to_dark_in_steps_that_grey_keeps():
    """One hue by luminance: the order holds without colour; the dot on a damp shade is a sign of its own (3:1, WCAG 1.4.11)."""
    assert len(SHADES) == len(BOUNDS) + 1
    assert all(contrast(one, other) >= 1.2 for one, other in pairwise(SHADES))
    assert [luminance(one) for one in SHADES] == sorted((luminance(one) for one in SHADES), reverse=True)
    assert all(contrast("#ffffff", shade) >= 3.0 for shade in SHADES[BOUNDS.index(int(DAMP)) + 1 :])


@pytest.mark.parametrize("width", [250, 520])
def test_a_cell_for_each_hour_of_each_month_of_both_options(width):
    result = demo_result()
    specification = hours_specification(result, width)
    cells = [row for row in values_of(specification) if "humidity" in row]
    two = hours_of(result)
    assert [one["id"] for one in two] == ["leave_as_is", result["recommendation"]["option"]]
    shown = 100.0 * np.array([one["mids"] for one in two]).ravel()
    drawn = np.array([row["humidity"] for row in cells])
    dotted = drawn[drawn > DAMP]
    # the panels' order: all cells of an option, then its damp ones once more for the dots
    assert len(cells) == 2 * 12 * 24 + len(shown[shown > DAMP])
    assert sorted(drawn) == pytest.approx(sorted([*shown, *shown[shown > DAMP]]), abs=0.051) and len(dotted)


def test_the_title_names_the_dampest_cell_and_the_same_cell_proposed():
    result = demo_result()
    now, proposed = hours_of(result)
    now["mids"][6][18], proposed["mids"][6][18] = 0.912, 0.803
    now["lows"][6][18], now["highs"][6][18] = 0.88, 0.95
    assert answer(result) == "Dampest in July from 6 p.m.: 91 % RH now, 80 % proposed"
    assert "88 to 95 % RH in that hour" in sentence(result)
    damp = int(sum(value > 0.6 for row in now["mids"] for value in row))
    assert f"over 60 % in {damp} of the 288" in sentence(result)


def test_a_table_an_option_with_every_value_and_its_range():
    result = demo_result()
    tables = hours_tables(result)
    for one, (_, (head, *rows)) in zip(hours_of(result), tables, strict=True):
        assert len(head) == 13 and len(rows) == 24
        for hour, month in ((0, 0), (7, 8), (23, 11)):
            mid, low, high = (round(100.0 * one[end][month][hour] + 1e-9) for end in ("mids", "lows", "highs"))
            assert rows[hour][1 + month] == f"{mid} ({low} to {high})"


def test_leaving_it_alone_shows_one_panel_and_an_older_result_none():
    result = demo_result()
    result["recommendation"]["option"] = "leave_as_is"
    assert len(hours_of(result)) == 1 and "proposed" not in answer(result)
    assert hours_specification(result) is not None
    del result["humidity_by_hour"]
    assert hours_of(result) is None and hours_specification(result) is None
