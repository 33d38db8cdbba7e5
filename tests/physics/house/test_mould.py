"""Mould index by its own bounds; the regressions are held against print in tests/published."""

import pytest

from airtrim.physics.house import mould


def test_greatest_index_at_25_c_and_90_percent():
    """4.00 by the class table of very sensitive wood [hukka1999]."""
    assert mould.greatest_index(25.0, 90.0, mould.VERY_SENSITIVE) == pytest.approx(4.00, abs=0.005)


def _grown(hours, temperature, humidity, kind=mould.VERY_SENSITIVE):
    index = dry = 0.0
    for _ in range(hours):
        index, dry = mould.mould_hour(index, dry, temperature, humidity, kind, 1.0)
    return index


def test_index_reaches_one_when_first_growth_is_due():
    """By definition of the first-growth time (the brake k2 is 1 within 1 % so far below the greatest index)."""
    assert _grown(round(1.4835 * 168), 20.0, 97.0) == pytest.approx(1.0, abs=0.01)


def test_index_stays_below_its_greatest_and_falls_when_dry():
    limit = mould.greatest_index(25.0, 90.0, mould.VERY_SENSITIVE)
    assert 0.97 * limit < _grown(24 * 400, 25.0, 90.0) <= limit
    index, dry = 2.0, 0.0
    falls = []
    for _ in range(48):
        before = index
        index, dry = mould.mould_hour(index, dry, 22.0, 50.0, mould.VERY_SENSITIVE, 1.0)
        falls.append(before - index)
    assert falls[0] == pytest.approx(0.032 / 24) and falls[10] == 0.0 and falls[30] == pytest.approx(0.016 / 24)


def test_resistant_materials_grow_slower_and_nan_stays_nan():
    assert _grown(2000, 22.0, 95.0, mould.RESISTANT) < _grown(2000, 22.0, 95.0, mould.SENSITIVE)
    index, _ = mould.mould_hour(float("nan"), 0.0, 22.0, 50.0, mould.MEDIUM, 1.0)
    assert index != index
