"""Heat exchanged at faces: convection inside and outside, and long waves to the sky.

    inside, vertical              1.31 |dT|^(1/3)
    inside, warm air rising       9.482 |dT|^(1/3) / (7.283 - |cos tilt|)
    inside, layered               1.810 |dT|^(1/3) / (1.382 + |cos tilt|)
    outside                       the same, plus 2.537 w r sqrt(P V / A); w 1 to windward, 0.5 to leeward

Walton 1983, NBSIR 83-2655 [walton1983], from memory; roughness r: 1.00 glass, 1.52 siding or stucco to 2.17 shingle-like.
Sky: Clark and Allen's clear sky from the dew point with the cloud factor of the same report, from memory.
"""

from math import log, sqrt

import numpy as np
from numpy.typing import NDArray

from airtrim.core.kernels import inline_kernel, kernel

Array = NDArray[np.float64]

STEFAN_BOLTZMANN = 5.670374e-8
#: Roughness factors of the same report.
GLASS, SMOOTH, MEDIUM_SMOOTH, MEDIUM_ROUGH, ROUGH, VERY_ROUGH = 1.00, 1.11, 1.13, 1.52, 1.67, 2.17
#: Least difference, K, at which natural convection is taken: still air mixes a little, and the cube root has no slope at 0.
LEAST_DIFFERENCE_K = 0.1


@inline_kernel
def natural_film_w_m2k(face_less_air_k: float, cos_tilt: float) -> float:
    """Natural convection at a face whose outward normal (towards its air) has this cosine with the vertical.

    `cos_tilt` 1 faces up (floor seen from a room), 0 a wall, -1 faces down (ceiling).
    """
    root = max(abs(face_less_air_k), LEAST_DIFFERENCE_K) ** (1.0 / 3.0)
    if face_less_air_k != face_less_air_k:
        return face_less_air_k
    upright = abs(cos_tilt)
    if upright < 0.05:
        return float(1.31 * root)
    if face_less_air_k * cos_tilt > 0.0:  # warm facing up, or cold facing down
        return float(9.482 * root / (7.283 - upright))
    return float(1.810 * root / (1.382 + upright))


@inline_kernel
def wind_film_w_m2k(wind_at_face_m_s: float, roughness: float, perimeter_over_area_1_m: float, side: float) -> float:
    """Convection forced by wind; `side` 1 to windward, 0.5 to leeward."""
    return 2.537 * side * roughness * sqrt(perimeter_over_area_1_m * wind_at_face_m_s)


@inline_kernel
def radiant_film_w_m2k(emittance: float, one_c: float, other_c: float) -> float:
    """Long-wave exchange of two black temperatures through an emittance, exactly linear in their difference."""
    one, other = one_c + 273.15, other_c + 273.15
    return emittance * STEFAN_BOLTZMANN * (one * one + other * other) * (one + other)


@kernel
def wind_at_height_m_s(wind_m_s: float, height_m: float, exponent: float = 0.14, layer_m: float = 270.0) -> float:
    """Wind at a height, from a station's 10 m over open land; exponent and layer of the site (ASHRAE Fundamentals, from memory).

    Open land 0.14 and 270 m, suburbs 0.22 and 370 m.
    """
    return float(wind_m_s * (270.0 / 10.0) ** 0.14 * (height_m / layer_m) ** exponent)


@kernel
def sky_temperature_c(dry_bulb_c: float, dew_point_c: float, opaque_cloud_tenths: float) -> float:
    """Black temperature of the whole sky. Dew point -40 to 30 degC, cloud 0 to 10 tenths."""
    clear = 0.787 + 0.764 * log((dew_point_c + 273.15) / 273.0)
    n = opaque_cloud_tenths
    emissivity = clear * (1.0 + 0.0224 * n - 0.0035 * n * n + 0.00028 * n * n * n)
    return float((dry_bulb_c + 273.15) * emissivity**0.25 - 273.15)


@kernel
def sky_share(cos_tilt: float) -> float:
    """Part of a face's long-wave exchange that goes to the sky: its view of the sky, less the part near the horizon that is air.

    Walton's split: view (1 + cos)/2 times its square root; a roof 1, a wall 0.35.
    """
    return float((0.5 * (1.0 + cos_tilt)) ** 1.5)


@kernel
def sol_air_c(
    dry_bulb_c: Array,
    sky_c: Array,
    wind_at_face_m_s: Array,
    side: Array,
    sun_kept_w_m2: Array,
    cos_tilt: float,
    roughness: float,
    perimeter_over_area_1_m: float,
    emittance: float,
    share_of_sky: float,
    film_w_m2k: float,
) -> Array:
    """Temperature a face would take with nothing behind it, hour by hour: sun kept = convection + long waves to air and sky.

    A film of 0 follows temperature and wind. Eight rounds settle it within 0.01 K.
    """
    found = np.empty(dry_bulb_c.shape[0])
    for hour in range(dry_bulb_c.shape[0]):
        air, sky, face = dry_bulb_c[hour], sky_c[hour], dry_bulb_c[hour] + sun_kept_w_m2[hour] / 20.0
        for _ in range(8):
            film = film_w_m2k
            if film <= 0.0:
                film = natural_film_w_m2k(face - air, cos_tilt) + wind_film_w_m2k(
                    wind_at_face_m_s[hour], roughness, perimeter_over_area_1_m, side[hour]
                )
            to_sky = share_of_sky * radiant_film_w_m2k(emittance, face, sky)
            to_air = film + (1.0 - share_of_sky) * radiant_film_w_m2k(emittance, face, air)
            face = (to_air * air + to_sky * sky + sun_kept_w_m2[hour]) / (to_air + to_sky)
        found[hour] = face
    return found
