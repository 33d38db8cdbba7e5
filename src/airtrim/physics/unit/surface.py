"""Surfaces that stand for the unit in balance, cheap enough for every step of a year: straight-line arithmetic, no branch.

Three ideas make one short form do for every unit (docs/decisions/unit-surfaces.md):

    a dry coil     does what a wet one does at some wetter air with the same surface; x_dry(return, outdoor, flow) is the wet bulb
                   of that air, and the larger of it and the air's own wet bulb counts
    metering       an orifice that starts to flood, a valve that is wide open: there the state bends. s is the distance from that
                   bend, h = (s + sqrt(s^2 + width^2)) / 2 a rounded hinge
    the rest       total, power and suction are P(x, y, z, d) + h R(x, y, z, d): x wet bulb, y outdoor, z ln(flow / rated),
                   d return less x; both to the fourth power in x, y, z, less with d

Range: wet bulb 9 to 26.5, outdoor 11 to 47, return 16 to 33 degC, ln(flow / rated) -1.2 to 0.29. How near they come to
`steady_state` is measured in tests/physics/unit/test_surface.py. fit.py makes the coefficients.
"""

from math import sqrt
from typing import Final

import numpy as np
from numpy.typing import NDArray

from airtrim.core.kernels import fma, inline_kernel
from airtrim.physics.coil.wet import bypass_factor, split_of_total

Array = NDArray[np.float64]

#: Middle and half-width of each coordinate, degC, ln, K.
WET_MIDDLE, WET_HALF = 17.5, 9.25
OUT_MIDDLE, OUT_HALF = 29.0, 18.0
FLOW_MIDDLE, FLOW_HALF = -0.5, 0.8
ABOVE_MIDDLE, ABOVE_HALF = 5.0, 6.0
DRY_MIDDLE, DRY_HALF = 25.0, 9.0
#: Terms of P and R, of x_dry and what its hinge multiplies, of s, of s for a dry coil.
BASE, BENT, DRY, DRY_BENT, BEND, DRY_BEND = 62, 60, 36, 10, 34, 21
#: Places in a row: total, power, suction (P then R); x_dry; s wet and dry; how s takes x (the return when dry) and y, and what s
#: runs along; the hinges' widths squared.
_PAIR = BASE + BENT
DRY_AT = 3 * _PAIR
BEND_AT = DRY_AT + DRY + DRY_BENT
DRY_BEND_AT = BEND_AT + BEND
BY_X, BY_Y, FROM_X, FROM_Y, WIDTH_SQUARED, DRY_WIDTH_SQUARED = (DRY_BEND_AT + DRY_BEND + k for k in range(6))
SURFACE_SIZE: Final = DRY_BEND_AT + DRY_BEND + 6


@inline_kernel
def _line(c: Array, at: int, x: float, y: float, z: float) -> float:
    """4 terms."""
    found: float = fma(x, c[at + 3], fma(y, c[at + 2], fma(z, c[at + 1], c[at])))
    return found


@inline_kernel
def _plane_2(c: Array, at: int, y: float, z: float) -> float:
    """Second degree in two, 6 terms."""
    found: float = fma(y, fma(y, c[at + 5], fma(z, c[at + 4], c[at + 3])), fma(z, fma(z, c[at + 2], c[at + 1]), c[at]))
    return found


@inline_kernel
def _plane_3(c: Array, at: int, y: float, z: float) -> float:
    """10 terms."""
    found: float = fma(y, _plane_2(c, at + 4, y, z), fma(z, fma(z, fma(z, c[at + 3], c[at + 2]), c[at + 1]), c[at]))
    return found


@inline_kernel
def _plane_4(c: Array, at: int, y: float, z: float) -> float:
    """15 terms."""
    found: float = fma(
        y, _plane_3(c, at + 5, y, z), fma(z, fma(z, fma(z, fma(z, c[at + 4], c[at + 3]), c[at + 2]), c[at + 1]), c[at])
    )
    return found


@inline_kernel
def _space_2(c: Array, at: int, x: float, y: float, z: float) -> float:
    """Second degree in three, 10 terms."""
    return fma(x, _line(c, at + 6, x, y, z), _plane_2(c, at, y, z))


@inline_kernel
def _space_3(c: Array, at: int, x: float, y: float, z: float) -> float:
    """20 terms."""
    return fma(x, _space_2(c, at + 10, x, y, z), _plane_3(c, at, y, z))


@inline_kernel
def _space_4(c: Array, at: int, x: float, y: float, z: float) -> float:
    """Fourth degree and z^5, 36 terms."""
    found: float = fma(x, _space_3(c, at + 15, x, y, z), fma(c[at + 35], z * z * z * z * z, _plane_4(c, at, y, z)))
    return found


@inline_kernel
def base(c: Array, at: int, x: float, y: float, z: float, d: float) -> float:
    """P: 62 terms."""
    third = fma(d, fma(z, c[at + 61], c[at + 60]), _line(c, at + 56, x, y, z))
    return fma(d, fma(d, third, _space_3(c, at + 36, x, y, z)), _space_4(c, at, x, y, z))


@inline_kernel
def bent(c: Array, at: int, x: float, y: float, z: float, d: float) -> float:
    """R: 60 terms."""
    second = fma(d, _line(c, at + 56, x, y, z), _space_3(c, at + 36, x, y, z))
    return fma(d, second, _space_4(c, at, x, y, z))


@inline_kernel
def dry(c: Array, at: int, t: float, y: float, z: float) -> float:
    """x_dry without its hinge: 36 terms, t is the return."""
    return _space_4(c, at, t, y, z)


@inline_kernel
def dry_bent(c: Array, at: int, t: float, y: float, z: float) -> float:
    """10 terms."""
    return _space_2(c, at, t, y, z)


@inline_kernel
def dry_bend(c: Array, at: int, u: float, z: float) -> float:
    """The part of a dry coil's s that is not the return or y alone: fifth degree, 21 terms."""
    fifth = c[at + 15] * z * z * z * z * z + u * _plane_4(c, at, u, z)
    found: float = fifth + c[at + 16] + z * (c[at + 17] + z * (c[at + 18] + z * (c[at + 19] + z * c[at + 20])))
    return found


@inline_kernel
def bend(c: Array, at: int, u: float, z: float, d: float) -> float:
    """The part of s that is not x or y alone: as `dry_bend`, with d to the third and d^2 to the first; 34 terms."""
    found: float = fma(
        d, fma(d, fma(u, c[at + 32], fma(z, c[at + 33], c[at + 31])), _plane_3(c, at + 21, u, z)), dry_bend(c, at, u, z)
    )
    return found


@inline_kernel
def hinge(s: float, width_squared: float) -> float:
    return 0.5 * (s + sqrt(s * s + width_squared))


@inline_kernel
def surface_state(
    row: Array, return_c: float, wet_bulb_c: float, outdoor_c: float, flow_ratio_log: float
) -> tuple[float, float, float]:
    """(total W, compressor and outdoor fan W, saturated suction degC) of the unit running steadily."""
    y = (outdoor_c - OUT_MIDDLE) * (1.0 / OUT_HALF)
    z = (flow_ratio_log - FLOW_MIDDLE) * (1.0 / FLOW_HALF)
    wet = (wet_bulb_c - WET_MIDDLE) * (1.0 / WET_HALF)
    t = (return_c - DRY_MIDDLE) * (1.0 / DRY_HALF)
    s = row[FROM_X] * t + row[FROM_Y] * y + dry_bend(row, DRY_BEND_AT, row[BY_X] * t + row[BY_Y] * y, z)
    as_wet = dry(row, DRY_AT, t, y, z) + hinge(s, row[DRY_WIDTH_SQUARED]) * dry_bent(row, DRY_AT + DRY, t, y, z)
    x = as_wet if as_wet > wet else wet
    d = (return_c - WET_MIDDLE - WET_HALF * x - ABOVE_MIDDLE) * (1.0 / ABOVE_HALF)
    s = row[FROM_X] * x + row[FROM_Y] * y + bend(row, BEND_AT, row[BY_X] * x + row[BY_Y] * y, z, d)
    h = hinge(s, row[WIDTH_SQUARED])
    return (
        fma(h, bent(row, BASE, x, y, z, d), base(row, 0, x, y, z, d)),
        fma(h, bent(row, _PAIR + BASE, x, y, z, d), base(row, _PAIR, x, y, z, d)),
        fma(h, bent(row, 2 * _PAIR + BASE, x, y, z, d), base(row, 2 * _PAIR, x, y, z, d)),
    )


@inline_kernel
def split_sensible(
    total_w: float,
    return_c: float,
    humidity_ratio: float,
    flow_kg_s: float,
    bypass_units: float,
    air_exponent: float,
    rated_flow_kg_s: float,
    pressure_pa: float,
) -> tuple[float, float]:
    """(sensible W, mean surface degC) of a total; `bypass_units` comes from `bypass_constants`; latent is never
    negative."""
    touched = flow_kg_s * (1.0 - bypass_factor(flow_kg_s, rated_flow_kg_s, bypass_units, air_exponent))
    return split_of_total(total_w, return_c, humidity_ratio, touched, pressure_pa)
