"""A fabric as the few nodes that the year's kernel can afford: air, one or two masses, and what passes at once.

    from air     Y   = U0 + sum K (U + G + i w C) / D,  D = K + U + G + i w C
    outdoors     Yo  = U0 + sum K U / D
    sun let in   Ys  = s0 + sum s K / D

K joins a mass C to the air, U to outdoors, G the slowest one to the ground; s is its part of the sun. The left sides are the
fabric's own exact answers (layer matrices and the star) with films held at a usual state; the right sides are fitted to them from
two hours to two weeks. Steady conductances are kept exactly. What the fit misses is told by `misfit`; nothing else is adjusted.
"""

from dataclasses import dataclass, replace
from math import inf, pi

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import NoSolutionError, OutOfRangeError
from airtrim.physics.house import conduction as c
from airtrim.physics.house.fabric import Exposure, Fabric, Sun, sun_on
from airtrim.physics.house.films import STEFAN_BOLTZMANN, natural_film_w_m2k, sol_air_c, wind_film_w_m2k
from airtrim.physics.house.glass import pane_links_w_m2k
from airtrim.physics.house.layers import transmission_matrix

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

#: The usual state films are held at: wind at the station, indoor temperature, face less air.
USUAL_WIND_M_S, USUAL_INDOOR_C, USUAL_DIFFERENCE_K = 3.0, 24.0, 1.5
#: Periods fitted, h, evenly in their logarithm: what a call of the thermostat asks is at one end, a spell of weather at the other.
PERIODS_H = tuple(float(period) for period in np.geomspace(2.0, 336.0, 12))
STEADY_S = 1e15


@dataclass(frozen=True)
class MassNode:
    """A mass: J/K, W/K to the air, to outdoors and to the ground, its part of the sun let in."""

    capacity_j_k: float
    coupling_w_k: float
    outside_w_k: float
    ground_w_k: float
    sun_part: float

    @property
    def through_w_k(self) -> float:
        """Steady conductance from the air through this mass to outdoors and ground."""
        beyond = self.outside_w_k + self.ground_w_k
        return self.coupling_w_k * beyond / (self.coupling_w_k + beyond)


@dataclass(frozen=True)
class ReducedFabric:
    """Masses from quick to slow; `direct_w_k` passes at once. `misfit` is the worst of (air, outdoors, sun) over the periods,

    as a part of the fabric's answer from the air at that period (sun: of all sun).
    """

    direct_w_k: float
    sun_to_air: float
    masses: tuple[MassNode, ...]
    misfit: tuple[float, float, float]

    @property
    def envelope_w_k(self) -> float:
        """Steady conductance from room air to outdoors and ground."""
        return self.direct_w_k + sum(one.through_w_k for one in self.masses)


def usual_films_w_m2k(fabric: Fabric) -> tuple[Array, Array, Array]:
    """(outside with long waves, inside convection, inside radiation to the star) of every face at the usual state."""
    count = len(fabric.faces)
    outside, convection, radiation = np.zeros(count), np.zeros(count), np.zeros(count)
    black = 4.0 * STEFAN_BOLTZMANN * (USUAL_INDOOR_C + 273.15) ** 3
    for place, face in enumerate(fabric.faces):
        given = float(face[c.OUTSIDE_FILM])
        if fabric.outside[place] == c.WEATHER:
            if given <= 0.0:
                given = natural_film_w_m2k(USUAL_DIFFERENCE_K, 0.0) + wind_film_w_m2k(
                    USUAL_WIND_M_S * face[c.WIND_PART], face[c.ROUGHNESS], face[c.PERIMETER_OVER_AREA], 0.75
                )
            given += face[c.OUTSIDE_EMITTANCE] * black
        outside[place] = given
        # floors and ceilings: between warm air rising and layered air
        up = float(face[c.INSIDE_COS])
        natural = 0.5 * (natural_film_w_m2k(USUAL_DIFFERENCE_K, up) + natural_film_w_m2k(-USUAL_DIFFERENCE_K, up))
        convection[place] = face[c.INSIDE_FILM] if face[c.INSIDE_FILM] > 0.0 else natural
        radiation[place] = face[c.STAR_FACTOR] * black
    return outside, convection, radiation


def fabric_answers_w_k(fabric: Fabric, period_h: float) -> tuple[complex, complex, complex, complex]:
    """(from the air per kelvin of air, into it per kelvin outdoors, per kelvin of ground, per watt of sun); inf h: steady.

    Sun is half beam and half diffuse, which fall on different faces.
    """
    outside, convection, radiation = usual_films_w_m2k(fabric)
    period_s = STEADY_S if period_h == inf else 3600.0 * period_h
    area = fabric.faces[:, c.AREA]
    answers = [_face_answers(fabric, place, float(outside[place]), period_s) for place in range(len(area))]
    own, through = (np.array([one[part] for one in answers]) for part in (0, 1))
    d = convection + radiation + own
    star = complex(np.sum(area * radiation * (1.0 - radiation / d)))
    by_star = complex(np.sum(area * radiation * convection / d)) / star if star != 0j else 1.0 + 0j
    inward = (convection + by_star * radiation) / d
    from_air = np.sum(area * convection * (1.0 - inward))
    ground = fabric.outside == c.GROUND
    out = area * through * inward
    sun = 0.5 * (fabric.faces[:, c.BEAM_SHARE] + fabric.faces[:, c.DIFFUSE_SHARE]) * inward
    return complex(from_air), complex(np.sum(out[~ground])), complex(np.sum(out[ground])), complex(np.sum(sun))


def _face_answers(fabric: Fabric, place: int, outside_film: float, period_s: float) -> tuple[complex, complex]:
    """Of a square metre, at its inner face: (flow into it per kelvin there, flow into the room per kelvin outdoors)."""
    if place < len(fabric.constructions):
        matrix = transmission_matrix(fabric.constructions[place].layers, period_s)
    else:
        resistance = float(np.sum(1.0 / pane_links_w_m2k(fabric.windows[place - len(fabric.constructions)].glazing)))
        matrix = np.array([[1.0, resistance], [0.0, 1.0]], dtype=np.complex128)
    if fabric.outside[place] == c.ADIABATIC:
        return complex(matrix[1, 0] / matrix[1, 1]), 0j
    matrix = np.array([[1.0, 1.0 / outside_film], [0.0, 1.0]], dtype=np.complex128) @ matrix
    return complex(matrix[0, 0] / matrix[0, 1]), complex(1.0 / matrix[0, 1])


def reduced_fabric(fabric: Fabric, masses: int = 2) -> ReducedFabric:
    """Fit one or two masses to the fabric's own answers."""
    from scipy.optimize import least_squares, nnls

    if masses not in (1, 2):
        raise OutOfRangeError(f"A fabric is reduced to one mass or two, got {masses}: choose one of them.")
    _, whole, whole_ground, _ = (answer.real for answer in fabric_answers_w_k(fabric, inf))
    if not whole > 0.0:
        raise OutOfRangeError(
            "Nothing of this fabric lies towards outdoors: give at least one wall, roof or window that does."
        )
    answers = np.array([fabric_answers_w_k(fabric, period) for period in PERIODS_H])
    turn = 2j * pi / (3600.0 * np.array(PERIODS_H))
    size = np.abs(answers[:, 0])
    biggest = float(size.max())
    last = np.arange(masses) == masses - 1

    def network(logs: Array) -> tuple[Array, Array, Array, Array, float]:
        """(C, K, U, G, U0): each mass takes its part of the steady conductance, the last the ground; the rest passes at once."""
        capacity, coupling = np.exp(logs[:masses]), np.exp(logs[masses : 2 * masses])
        share = np.exp(logs[2 * masses :])
        through = whole * share / (1.0 + share.sum())
        ground = np.where(last, whole_ground, 0.0)
        coupling = coupling + through + ground  # a mass passes less than joins it to the air
        beyond = coupling * (through + ground) / (coupling - through - ground)
        part = through / (through + ground)
        return capacity, coupling, beyond * part, beyond * (1.0 - part), whole - float(through.sum())

    def answered(logs: Array) -> tuple[Complex, Complex, Complex]:
        capacity, coupling, out, ground, direct = network(logs)
        carried = coupling / (coupling + out + ground + turn[:, None] * capacity)
        stored = out + ground + turn[:, None] * capacity
        from_air = np.asarray(direct + (carried * stored).sum(axis=1))
        return from_air, np.asarray(direct + (carried * out).sum(axis=1)), np.asarray(carried)

    def miss(logs: Array) -> Array:
        from_air, from_out, _ = answered(logs)
        left = np.concatenate(((from_air - answers[:, 0]) / size, (from_out - answers[:, 1]) / size))
        return np.concatenate((left.real, left.imag))

    day = biggest * 86400.0 / (2.0 * pi)
    if masses == 1:
        start = np.log([0.1 * day, biggest, 0.5])
    else:
        start = np.log([0.05 * day, 0.5 * day, 0.6 * biggest, 0.4 * biggest, 0.3, 0.3])
    found = least_squares(miss, start, max_nfev=2000)
    if not found.success:
        raise NoSolutionError("No network of few nodes fits this fabric: check its layers and areas.")
    capacity, coupling, out, ground, direct = network(found.x)
    from_air, from_out, carried = answered(found.x)
    carried = np.column_stack((np.ones(len(turn)), carried))
    let_in = answers[:, 3]
    parts, _ = nnls(np.concatenate((carried.real, carried.imag)), np.concatenate((let_in.real, let_in.imag)))
    misfit = (
        float(np.max(np.abs(from_air - answers[:, 0]) / size)),
        float(np.max(np.abs(from_out - answers[:, 1]) / size)),
        float(np.max(np.abs(carried @ parts - let_in))),
    )
    nodes = tuple(
        MassNode(*(float(column[i]) for column in (capacity, coupling, out, ground, parts[1:])))
        for i in np.argsort(capacity / coupling)
    )
    return ReducedFabric(direct, float(parts[0]), nodes, misfit)


def network_of(reduced: ReducedFabric, fabric: Fabric) -> Fabric:
    """The reduced fabric as conduction.py runs it: one node a mass, one for what passes at once, one that hands sun to the air.

    Its sun, sky, ground and radiant gains come from `sun_for_network`.
    """
    masses = reduced.masses
    faces = np.zeros((len(masses) + 2, c.FACE_COLUMNS))
    faces[:, c.AREA] = 1.0
    outside = np.full(len(faces), c.OUTDOOR_AIR, np.int64)
    for place, one in enumerate(masses):
        faces[place, c.OUTSIDE_FILM] = one.outside_w_k + one.ground_w_k
        faces[place, c.INSIDE_FILM] = one.coupling_w_k
        faces[place, c.BEAM_SHARE] = one.sun_part
    faces[-2, c.OUTSIDE_FILM], faces[-2, c.INSIDE_FILM] = 2.0 * reduced.direct_w_k, 2.0 * max(reduced.direct_w_k, 1e-9)
    outside[-1] = c.ADIABATIC
    faces[-1, c.INSIDE_FILM], faces[-1, c.BEAM_SHARE] = 1e6, reduced.sun_to_air
    capacity = np.array([*(one.capacity_j_k for one in masses), 0.0, 0.0])
    return replace(
        fabric,
        constructions=(),
        windows=(),
        starts=np.arange(len(faces) + 1, dtype=np.int64),
        outside=outside,
        capacity=capacity,
        conductance=np.zeros(len(faces)),
        faces=faces,
        room=replace(fabric.room, radiant_gain_w=0.0),
    )


def steady_weights(fabric: Fabric) -> tuple[Array, Array, float]:
    """What reaches the air, steadily: W per kelvin outside each face, W per W into each inner face, W per W at the star."""
    outside, convection, radiation = usual_films_w_m2k(fabric)
    area = fabric.faces[:, c.AREA]
    answers = [_face_answers(fabric, place, float(outside[place]), STEADY_S) for place in range(len(area))]
    own, through = (np.array([one[part].real for one in answers]) for part in (0, 1))
    d = convection + radiation + own
    star = float(np.sum(area * radiation * (1.0 - radiation / d)))
    by_star = float(np.sum(area * radiation * convection / d)) / star if star > 0.0 else 1.0
    inward = (convection + by_star * radiation) / d
    return area * through * inward, inward, by_star


def sun_for_network(reduced: ReducedFabric, fabric: Fabric, exposure: Exposure) -> Sun:
    """Sun, sky, ground and radiant gains for the reduced fabric, each by the heat it would bring the air in the steady state.

    What falls on walls and roof and the sky's cold count as warmer air outdoors, the same for every node; what panes keep and
    radiant gains count as so much more sun let in, and beam and diffuse by what they are worth.
    """
    to_air, inward, by_star = steady_weights(fabric)
    sun, walls = sun_on(fabric, exposure), len(fabric.constructions)
    beam_worth, diffuse_worth = (
        float(np.sum(fabric.faces[:, share] * inward)) for share in (c.BEAM_SHARE, c.DIFFUSE_SHARE)
    )
    worth = max(0.5 * (beam_worth + diffuse_worth), 1e-9)
    let_in = (sun.beam_w * beam_worth + sun.diffuse_w * diffuse_worth + fabric.room.radiant_gain_w * by_star) / worth
    excess_w = np.zeros_like(let_in)
    for place, face in enumerate(fabric.faces):
        if fabric.outside[place] == c.WEATHER:
            faced = sol_air_c(
                exposure.dry_bulb_c,
                exposure.sky_c,
                exposure.wind_m_s * face[c.WIND_PART],
                np.ascontiguousarray(exposure.leeward[:, place]),
                np.ascontiguousarray(sun.outer_w_m2[:, place]),
                face[c.COS_TILT],
                face[c.ROUGHNESS],
                face[c.PERIMETER_OVER_AREA],
                face[c.OUTSIDE_EMITTANCE],
                face[c.SKY_SHARE],
                face[c.OUTSIDE_FILM],
            )
            excess_w += to_air[place] * (faced - exposure.dry_bulb_c)
            if place >= walls:
                kept = face[c.AREA] * sun.inner_w_m2[:, place] * inward[place]
                let_in = let_in + kept / worth
    outer = np.zeros((len(let_in), len(reduced.masses) + 2))
    to_outdoors = float(np.sum(to_air[fabric.outside != c.GROUND]))
    warmer_k = excess_w / to_outdoors if to_outdoors > 0.0 else excess_w
    for place, one in enumerate(reduced.masses):
        # the kernel joins a node to outdoors alone: what the ground differs from it goes in as heat
        outer[:, place] = one.outside_w_k * warmer_k + one.ground_w_k * (fabric.room.ground_c - exposure.dry_bulb_c)
    outer[:, -2] = 2.0 * reduced.direct_w_k * warmer_k
    return Sun(outer, np.zeros_like(outer), let_in, np.zeros_like(let_in))
