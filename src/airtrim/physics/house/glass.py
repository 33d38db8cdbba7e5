"""Glass: what a window lets through at every angle, what its panes keep, and its gaps.

    one face    Fresnel, both polarisations;  within a pane  exp(-K d / cos of the refracted ray)
    panes       added one by one with all reflections between them
    SHGC        transmitted + sum of absorbed x (resistance from outdoors to the pane / whole resistance)

A pane is known by what is measured at normal incidence: transmittance and reflectance; index and extinction follow. Duffie and
Beckman [duffie2006], equations from memory.
"""

from dataclasses import dataclass, replace
from itertools import pairwise
from math import cos, exp, log, pi, sqrt

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import OutOfRangeError
from airtrim.core.kernels import kernel
from airtrim.physics.house.films import STEFAN_BOLTZMANN

Array = NDArray[np.float64]

#: NFRC's summer state for solar heat gain, films W/m2K outside and inside [from-memory].
SUMMER_OUTSIDE_W_M2K, SUMMER_INSIDE_W_M2K = 15.0, 7.7


@dataclass(frozen=True)
class Pane:
    """One pane, the same from both sides: normal transmittance and reflectance for sun, thickness m, conductivity, emittance."""

    transmittance: float
    reflectance: float
    thickness_m: float = 0.003
    conductivity_w_mk: float = 1.0
    emittance: float = 0.84

    def __post_init__(self) -> None:
        if not (
            0.0 < self.transmittance < 1.0 and self.reflectance > 0.0 and self.transmittance + self.reflectance < 1.0
        ):
            raise OutOfRangeError(
                f"A pane of transmittance {self.transmittance:g} and reflectance {self.reflectance:g} is no glass: both must be "
                "above 0 and their sum below 1."
            )


#: Clear float glass of 3 mm, as glass makers list it [from-memory].
CLEAR_3_MM = Pane(0.834, 0.075, 0.003048)


@dataclass(frozen=True)
class Glazing:
    """Equal or unequal panes, outside first, with air gaps (m) between them.

    `gaps_w_m2k` takes the place of what the gaps' widths give (coated panes, other gases). `sun_part` scales what passes and what
    is kept at every angle alike.
    """

    panes: tuple[Pane, ...]
    gaps_m: tuple[float, ...] = ()
    gaps_w_m2k: tuple[float, ...] = ()
    sun_part: float = 1.0

    def __post_init__(self) -> None:
        if not self.panes or len(self.gaps_m) != len(self.panes) - 1:
            raise OutOfRangeError(
                f"A window of {len(self.panes)} panes needs {max(len(self.panes) - 1, 0)} gaps, got {len(self.gaps_m)}: name each."
            )


@kernel
def pane_constants(transmittance: float, reflectance: float) -> tuple[float, float]:
    """(refractive index, extinction x thickness) of a pane with these values at normal incidence; NaN where none fits."""
    face = 0.04
    for _ in range(60):
        # reflectance = face + face T a, transmittance = (1 - face)^2 a / (1 - face^2 a^2)
        a = (reflectance / face - 1.0) / transmittance
        got = (1.0 - face) ** 2 * a / (1.0 - face * face * a * a)
        slope_face = face * 1e-6
        a2 = (reflectance / (face + slope_face) - 1.0) / transmittance
        got2 = (1.0 - face - slope_face) ** 2 * a2 / (1.0 - (face + slope_face) ** 2 * a2 * a2)
        change = (transmittance - got) / (got2 - got) * slope_face
        face += change
        if abs(change) < 1e-14:
            break
    a = (reflectance / face - 1.0) / transmittance
    root = sqrt(face)
    return (1.0 + root) / (1.0 - root), -log(a)


@kernel
def _pane_at(cosine: float, index: float, extinction: float, polarisation: int) -> tuple[float, float]:
    """(transmittance, reflectance) of one pane for one polarisation at an angle of incidence."""
    refracted = sqrt(1.0 - (1.0 - cosine * cosine) / (index * index))
    if polarisation == 0:
        root = (cosine - index * refracted) / (cosine + index * refracted)
    else:
        root = (index * cosine - refracted) / (index * cosine + refracted)
    face = root * root
    inside = exp(-extinction / refracted)
    transmittance = (1.0 - face) ** 2 * inside / (1.0 - (face * inside) ** 2)
    return transmittance, face * (1.0 + transmittance * inside)


@kernel
def glazing_at(cosine: float, index: Array, extinction: Array, absorbed: Array) -> float:
    """Transmittance of all panes at this cosine of incidence (0 to 1); fills `absorbed` [pane] with what each keeps."""
    count = index.shape[0]
    for pane in range(count):
        absorbed[pane] = 0.0
    if cosine <= 0.0:
        return 0.0
    through = 0.0
    for polarisation in range(2):
        # down[i] reaches pane i from outside, up[i] leaves it towards outside; solved from the room side outwards
        behind = np.zeros(count + 1)  # reflectance of everything from pane i inwards
        for pane in range(count - 1, -1, -1):
            t, r = _pane_at(cosine, index[pane], extinction[pane], polarisation)
            behind[pane] = r + t * t * behind[pane + 1] / (1.0 - r * behind[pane + 1])
        down = 1.0
        for pane in range(count):
            t, r = _pane_at(cosine, index[pane], extinction[pane], polarisation)
            after = down * t / (1.0 - r * behind[pane + 1])
            up_in = after * behind[pane + 1]
            absorbed[pane] += 0.5 * (1.0 - t - r) * (down + up_in)
            down = after
        through += 0.5 * down
    return through


def glazing_constants(glazing: Glazing) -> tuple[Array, Array]:
    """(refractive index, extinction x thickness) of each pane."""
    found = np.array([pane_constants(pane.transmittance, pane.reflectance) for pane in glazing.panes])
    if not np.all(np.isfinite(found)):
        raise OutOfRangeError("A pane's transmittance and reflectance belong to no clear or tinted glass: check both.")
    return np.ascontiguousarray(found[:, 0]), np.ascontiguousarray(found[:, 1])


@kernel
def glazing_over(cosine: Array, index: Array, extinction: Array) -> tuple[Array, Array]:
    """(transmittance [n], absorbed by pane [n, pane]) for many cosines of incidence."""
    through = np.empty(cosine.shape[0])
    absorbed = np.empty((cosine.shape[0], index.shape[0]))
    for place in range(cosine.shape[0]):
        through[place] = glazing_at(cosine[place], index, extinction, absorbed[place])
    return through, absorbed


def diffuse_glazing(index: Array, extinction: Array, steps: int = 90) -> tuple[float, Array]:
    """(transmittance, absorbed by pane) for light even over the hemisphere: the mean over cos^2."""
    square = (np.arange(steps) + 0.5) / steps
    through, absorbed = glazing_over(np.sqrt(square), index, extinction)
    return float(through.mean()), absorbed.mean(axis=0)


def gap_conductance_w_m2k(gap_m: float, emittance: float, other_emittance: float) -> float:
    """Air gap between upright panes: EN 673 (10 degC, 15 K apart), convection and radiation [en673, from memory]."""
    mean_k, difference_k = 283.15, 15.0
    conductivity, density, viscosity, heat = 2.496e-2, 1.232, 1.761e-5, 1008.0
    grashof = 9.81 * gap_m**3 * difference_k * density**2 / (mean_k * viscosity**2)
    nusselt = max(0.035 * (grashof * viscosity * heat / conductivity) ** 0.38, 1.0)
    radiation = 4.0 * STEFAN_BOLTZMANN * mean_k**3 / (1.0 / emittance + 1.0 / other_emittance - 1.0)
    return float(nusselt * conductivity / gap_m + radiation)


def pane_links_w_m2k(glazing: Glazing) -> Array:
    """Conductance from pane to pane (middle to middle), W/m2K."""
    links = []
    for place, (outer, inner) in enumerate(pairwise(glazing.panes)):
        halves = 0.5 * (outer.thickness_m / outer.conductivity_w_mk + inner.thickness_m / inner.conductivity_w_mk)
        if glazing.gaps_w_m2k:
            gap = glazing.gaps_w_m2k[place]
        else:
            gap = gap_conductance_w_m2k(glazing.gaps_m[place], outer.emittance, inner.emittance)
        links.append(1.0 / (1.0 / gap + halves))
    return np.array(links)


def glazing_u_value_w_m2k(glazing: Glazing, outside_film_w_m2k: float, inside_film_w_m2k: float) -> float:
    """Conductance of the middle of the glass with these films."""
    outer, inner = glazing.panes[0], glazing.panes[-1]
    faces = 0.5 * (outer.thickness_m / outer.conductivity_w_mk + inner.thickness_m / inner.conductivity_w_mk)
    gaps = float(np.sum(1.0 / pane_links_w_m2k(glazing)))
    return 1.0 / (1.0 / outside_film_w_m2k + faces + gaps + 1.0 / inside_film_w_m2k)


def solar_heat_gain(
    glazing: Glazing,
    angle_deg: float,
    outside_film_w_m2k: float = SUMMER_OUTSIDE_W_M2K,
    inside_film_w_m2k: float = SUMMER_INSIDE_W_M2K,
) -> float:
    """Solar heat gain coefficient of the glass at an angle of incidence, degrees (below 90)."""
    index, extinction = glazing_constants(glazing)
    through, absorbed = glazing_over(np.array([cos(angle_deg * pi / 180.0)]), index, extinction)
    inward = inward_parts(glazing, outside_film_w_m2k, inside_film_w_m2k)
    return glazing.sun_part * float(through[0] + np.dot(inward, absorbed[0]))


def inward_parts(glazing: Glazing, outside_film_w_m2k: float, inside_film_w_m2k: float) -> Array:
    """Part of the sun each pane keeps that goes on inwards: resistance from outdoors to it over the whole."""
    steps = np.concatenate(([1.0 / outside_film_w_m2k], 1.0 / pane_links_w_m2k(glazing)))
    return np.asarray(np.cumsum(steps) / (steps.sum() + 1.0 / inside_film_w_m2k))


#: NFRC's winter state for the U-value, films W/m2K [from-memory]; above this U-value a window is taken as one pane.
WINTER_OUTSIDE_W_M2K, WINTER_INSIDE_W_M2K, ONE_PANE_W_M2K = 26.0, 8.3, 4.8


def rated_glazing(u_value_w_m2k: float, shgc: float) -> Glazing:
    """Glass that has these ratings, of the whole window: clear panes of 3 mm whose gap and whose sun are scaled to meet them.

    U-value 1 to 6.5 W/m2K, SHGC 0.1 to 0.86. The angles follow clear glass, which coated glass does within some hundredths.
    One pane keeps its own conductance, so a frame that differs from the glass goes unseen there.
    """
    if not (1.0 <= u_value_w_m2k <= 6.5 and 0.1 <= shgc <= 0.86):
        raise OutOfRangeError(
            f"A window of {u_value_w_m2k:g} W/m2K and SHGC {shgc:g} is outside 1 to 6.5 W/m2K and 0.1 to 0.86: check its ratings."
        )
    if u_value_w_m2k > ONE_PANE_W_M2K:
        glazing = Glazing((CLEAR_3_MM,))
    else:
        glass = CLEAR_3_MM.thickness_m / CLEAR_3_MM.conductivity_w_mk
        rest = 1.0 / u_value_w_m2k - 1.0 / WINTER_OUTSIDE_W_M2K - 1.0 / WINTER_INSIDE_W_M2K - 2.0 * glass
        glazing = Glazing((CLEAR_3_MM, CLEAR_3_MM), (0.012,), (1.0 / rest,))
    return replace(glazing, sun_part=shgc / solar_heat_gain(glazing, 0.0))
