"""Target superheat of a fixed orifice, and the target temperature split: the trade's generic charts.

Superheat: two makers' copies of one generic table [charging-chart], alike to Title 24 RA3.2-2 as recalled; copies differ by 1 F in
about a dozen cells. None: do not charge by superheat there, weigh the charge in. It is not any maker's own chart, which goes first.
Split: Title 24 RA3, table RA3.2-3 as recalled, which one polynomial meets within 0.05 F in all 357 cells [title24ra3].
"""

from typing import Final

#: Outdoor dry-bulb, F, of each row; indoor (return) wet-bulb, F, of each column.
OUTDOOR_F: Final = (40, 45, 50, 55, 60, 65, 70, 75, 80, 85, 90, 95, 100, 105, 110, 115)
WET_BULB_F: Final = (50, 52, 54, 56, 58, 60, 62, 64, 66, 68, 70, 72, 74, 76)
NONE = None
SUPERHEAT_F: Final[tuple[tuple[int | None, ...], ...]] = (
    (15, 18, 20, 23, 26, 29, 32, 34, 38, 41, 43, 46, 48, 51),
    (13, 16, 18, 21, 24, 27, 30, 33, 36, 39, 41, 44, 46, 49),
    (11, 14, 16, 19, 22, 25, 28, 31, 34, 37, 39, 42, 44, 47),
    (9, 12, 14, 17, 20, 23, 27, 30, 33, 36, 38, 40, 42, 44),
    (7, 10, 12, 15, 18, 21, 24, 27, 30, 33, 35, 38, 40, 43),
    (NONE, 6, 10, 13, 16, 19, 21, 24, 27, 30, 33, 36, 38, 41),
    (NONE, NONE, 7, 10, 13, 16, 19, 21, 24, 27, 30, 33, 36, 39),
    (NONE, NONE, NONE, 6, 9, 12, 15, 18, 21, 24, 28, 31, 34, 37),
    (NONE, NONE, NONE, NONE, 5, 8, 12, 15, 18, 21, 25, 28, 31, 35),
    (NONE, NONE, NONE, NONE, NONE, NONE, 8, 11, 15, 19, 22, 26, 30, 33),
    (NONE, NONE, NONE, NONE, NONE, NONE, 5, 9, 13, 16, 20, 24, 27, 31),
    (NONE, NONE, NONE, NONE, NONE, NONE, NONE, 6, 10, 14, 18, 22, 25, 29),
    (NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, 8, 12, 16, 21, 24, 28),
    (NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, 5, 9, 13, 17, 22, 26),
    (NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, 6, 11, 15, 20, 25),
    (NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, 8, 14, 18, 24),
)

#: split, F = a + b (DB - 75) + c (WB - 63) + d (WB - 63)^2, return air in F.
SPLIT: Final = (18.6111, 0.5442, -0.6784, -0.0228)
#: Return air the table covers, F.
SPLIT_DRY_BULB_F: Final = (70.0, 84.0)
SPLIT_WET_BULB_F: Final = (50.0, 76.0)
