"""Insulation and glass by year built: the table against the code it names, and its order."""

from itertools import pairwise

import pytest

from airtrim.core.errors import OutOfRangeError
from airtrim.physics.house.vintage import R_VALUE, VINTAGES, Range, vintage_of

US_U_FACTOR = 5.678  # W/m2K in one Btu/h-ft2-F


@pytest.mark.parametrize(
    ("year", "first"), [(1900, 0), (1959, 0), (1960, 1960), (1979, 1960), (2005, 1980), (2026, 2006)]
)
def test_a_year_falls_in_its_step(year, first):
    assert vintage_of(year).first_year == first


@pytest.mark.parametrize(
    ("r_ceiling", "r_wall", "u_factor", "shgc"),
    [(30.0, 13.0, 0.75, 0.40), (30.0, 13.0, 0.65, 0.30), (38.0, 13.0, 0.40, 0.25)],
)
def test_the_code_of_2006_to_2012_lies_in_the_newest_range(r_ceiling, r_wall, u_factor, shgc):
    """IECC 2006, 2009 and 2012, zone 2, prescriptive [from-memory]."""
    newest = VINTAGES[-1]
    for known, given in (
        (r_ceiling * R_VALUE, newest.ceiling_m2k_w),
        (r_wall * R_VALUE, newest.wall_m2k_w),
        (u_factor * US_U_FACTOR, newest.glass_w_m2k),
        (shgc, newest.glass_shgc),
    ):
        assert given.low <= known <= given.high


def test_later_houses_are_no_worse():
    for older, newer in pairwise(VINTAGES):
        assert older.first_year < newer.first_year
        assert older.ceiling_m2k_w.mid <= newer.ceiling_m2k_w.mid
        assert older.wall_m2k_w.mid <= newer.wall_m2k_w.mid
        assert older.glass_w_m2k.mid >= newer.glass_w_m2k.mid
        assert older.glass_shgc.mid >= newer.glass_shgc.mid


def test_a_range_that_falls_is_one_sentence():
    with pytest.raises(OutOfRangeError, match="A range must rise, got 3, 2, 4"):
        Range(3.0, 2.0, 4.0)
