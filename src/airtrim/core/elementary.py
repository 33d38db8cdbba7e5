"""Elementary functions that the processor can run in lanes: no branch, no table, no call into a library.

The compiler's own `math.exp` and `math.log` are calls that keep a loop from running in lanes, and give other last digits on
other machines. These are plain arithmetic on the number and its bits, so that a kernel gives the same bits run singly or in
lanes. Reduction and coefficients after fdlibm (Sun Microsystems 1993, e_exp.c and e_log.c) [fdlibm]. NaN in, NaN out.
`sqrt` is correctly rounded by every processor, and vectorised by the compiler: math's own.
"""

from math import sqrt as sqrt

import numpy as np

from airtrim.core.kernels import fma, inline_kernel

_LN2_HIGH, _LN2_LOW = 6.93147180369123816490e-01, 1.90821492927058770002e-10
_LOG2_E = 1.4426950408889634
#: Added to a number below 2^51 it leaves the nearest whole number in the lowest bits.
_WHOLE = 6755399441055744.0
_ONE_BITS = 0x3FF0000000000000
_ROOT_HALF_BITS = 0x3FE6A09E667F3BCD
_MANTISSA = 0x000FFFFFFFFFFFFF
_TWO_52_BITS = 0x4330000000000000
_TWO_52 = 4503599627370496.0
_LEAST_NORMAL = 2.2250738585072014e-308
_LARGEST_EXP, _LEAST_EXP = 709.782712893384, -745.1332191019412


@inline_kernel
def exp(x: float) -> float:
    """e to the x, within 1 ulp; 0 below -745.13, infinite above 709.78."""
    inside = x if x < _LARGEST_EXP else _LARGEST_EXP
    inside = inside if inside > _LEAST_EXP else _LEAST_EXP
    whole = (inside * _LOG2_E + _WHOLE) - _WHOLE
    high = inside - whole * _LN2_HIGH
    low = whole * _LN2_LOW
    r = high - low
    t = r * r
    inner = fma(t, fma(t, 4.13813679705723846039e-08, -1.65339022054652515390e-06), 6.61375632143793436117e-05)
    c = r - t * fma(t, fma(t, inner, -2.77777777770155933842e-03), 1.66666666666666019037e-01)
    y = 1.0 - ((low - (r * c) / (2.0 - c)) - high)
    # two factors, so that neither leaves the range of normal numbers
    half = (0.5 * whole + _WHOLE) - _WHOLE
    first = (np.float64(half + _WHOLE).view(np.int64) << 52) + _ONE_BITS
    second = (np.float64(whole - half + _WHOLE).view(np.int64) << 52) + _ONE_BITS
    value: float = y * np.int64(first).view(np.float64) * np.int64(second).view(np.float64)
    value = np.inf if x > _LARGEST_EXP else value
    value = 0.0 if x < _LEAST_EXP else value
    return value if x == x else x


@inline_kernel
def log(x: float) -> float:
    """Natural logarithm, within 1 ulp; minus infinity at 0, NaN below."""
    small = x < _LEAST_NORMAL
    scaled = x * 18014398509481984.0 if small else x
    usable = scaled if (scaled > 0.0) & (scaled < np.inf) else 1.0
    bits = np.float64(usable).view(np.int64) + (_ONE_BITS - _ROOT_HALF_BITS)
    power = np.int64(((bits >> 52) & 0x7FF) | _TWO_52_BITS).view(np.float64) - (_TWO_52 + 1023.0)
    power = power - 54.0 if small else power
    f = np.int64((bits & _MANTISSA) + _ROOT_HALF_BITS).view(np.float64) - 1.0
    s = f / (2.0 + f)
    z = s * s
    w = z * z
    even = w * fma(w, fma(w, 1.531383769920937332e-01, 2.222219843214978396e-01), 3.999999999940941908e-01)
    odd = fma(w, fma(w, 1.479819860511658591e-01, 1.818357216161805012e-01), 2.857142874366239149e-01)
    remainder = fma(z, fma(w, odd, 6.666666666666735130e-01), even)
    half_square = 0.5 * f * f
    value: float = power * _LN2_HIGH - ((half_square - (s * (half_square + remainder) + power * _LN2_LOW)) - f)
    value = value if scaled > 0.0 else -np.inf
    value = np.inf if x == np.inf else value
    return value if x >= 0.0 else np.nan


@inline_kernel
def power(x: float, y: float) -> float:
    """x to the y for x >= 0, as exp(y ln x): relative error within (1 + |y ln x|) ulp; 0 to a positive power is 0."""
    return exp(y * log(x))


@inline_kernel
def tanh(x: float) -> float:
    """Hyperbolic tangent, within 3 ulp; rational below 0.625 (Cephes, Moshier 1984) [cephes], by `exp` above."""
    size = abs(x)
    z = x * x
    top = (-9.64399179425052238628e-1 * z - 9.92877231001918586564e1) * z - 1.61468768441708447952e3
    bottom = ((z + 1.12811678491632931402e2) * z + 2.23548839060100448583e3) * z + 4.84406305325125486048e3
    near = x + x * z * (top / bottom)
    far = 1.0 - 2.0 / (exp(2.0 * size) + 1.0)
    far = -far if x < 0.0 else far
    return far if size >= 0.625 else near
