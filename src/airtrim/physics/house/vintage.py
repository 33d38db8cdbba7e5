"""Insulation and glass by the year a house was built, when nobody has looked: low, middle and high of each, with its standing.

Four steps of building practice. The middles of insulation are the usual integrity levels of North American practice (11-4 up to
30-13, from memory); from 2006 on the IECC's prescriptive zone 2 (R30/R13, U-factor 0.75 to 0.40, SHGC 0.40 to 0.25 through the
editions of 2006 to 2012, from memory). Low and high are our judgement of nine houses in ten, and include later work on the house.
No survey of old houses was read (LBNL-44636 would be the place to look), so nothing here is a published value.

What it is not: a finding about this house. A look into the attic replaces the ceiling, a label on the glass replaces the glass.
"""

from dataclasses import dataclass
from typing import Final

from airtrim.core.errors import OutOfRangeError

#: m2K/W in one h-ft2-F/Btu.
R_VALUE: Final = 1.0 / 5.678


@dataclass(frozen=True)
class Range:
    """Middle of what is usual, and the low and high that nine in ten houses lie between."""

    low: float
    mid: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.mid <= self.high:
            raise OutOfRangeError(
                f"A range must rise, got {self.low:g}, {self.mid:g}, {self.high:g}: put the lowest first."
            )


def _r_value(low: float, mid: float, high: float) -> Range:
    return Range(low * R_VALUE, mid * R_VALUE, high * R_VALUE)


@dataclass(frozen=True)
class Vintage:
    """Houses built from `first_year` on: whole assemblies with their films, m2K/W; whole windows, W/m2K and SHGC.

    `floor_w_m2k` is floor and doors together by footprint. `standing` says where the figures come from.
    """

    first_year: int
    ceiling_m2k_w: Range
    wall_m2k_w: Range
    glass_w_m2k: Range
    glass_shgc: Range
    floor_w_m2k: Range
    standing: str


VINTAGES: Final = (
    Vintage(
        0,
        _r_value(4.0, 11.0, 22.0),
        _r_value(3.0, 4.0, 11.0),
        Range(4.0, 6.0, 6.5),
        Range(0.45, 0.55, 0.75),
        Range(0.2, 0.35, 0.7),
        "[from-memory] level 'very little'; one clear pane, some behind storm windows",
    ),
    Vintage(
        1960,
        _r_value(9.0, 19.0, 30.0),
        _r_value(4.0, 8.0, 13.0),
        Range(3.5, 6.0, 6.5),
        Range(0.45, 0.55, 0.75),
        Range(0.2, 0.35, 0.7),
        "[from-memory] between the levels 'little' and 'very little'; one clear pane, mostly aluminium",
    ),
    Vintage(
        1980,
        _r_value(19.0, 26.0, 38.0),
        _r_value(9.0, 11.0, 15.0),
        Range(2.7, 4.0, 6.0),
        Range(0.35, 0.55, 0.70),
        Range(0.2, 0.35, 0.6),
        "[from-memory] between the levels 'little' and 'normal'; one and two clear panes mixed",
    ),
    Vintage(
        2006,
        _r_value(26.0, 30.0, 49.0),
        _r_value(11.0, 13.0, 20.0),
        Range(1.8, 3.0, 4.3),
        Range(0.22, 0.35, 0.45),
        Range(0.2, 0.35, 0.5),
        "[from-memory] IECC 2006 to 2012, zone 2, prescriptive; two panes, mostly coated",
    ),
)
#: Range of a whole house's conductance, and of its sun-collecting area, about the middle: less than all components at their worst,
#: for they are not all worst at once (judgement).
ENVELOPE_PARTS: Final = (0.7, 1.4)
APERTURE_PARTS: Final = (0.6, 1.5)


def vintage_of(year_built: int) -> Vintage:
    """The step of building practice a year falls in."""
    return next(one for one in reversed(VINTAGES) if year_built >= one.first_year)
