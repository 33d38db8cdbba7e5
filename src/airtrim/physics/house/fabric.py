"""A house's fabric from what it is built of: constructions, windows and one room, run through weather hour by hour.

One model for light and heavy buildings: nothing in it is fitted. Conduction by cells in every layer (layers.py, conduction.py),
natural and wind convection, long waves to the sky, a star of radiant exchange indoors, glass by its panes (glass.py).
"""

from dataclasses import dataclass, field
from math import cos, inf, isfinite, pi
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import OutOfRangeError
from airtrim.physics.house import conduction as c
from airtrim.physics.house.films import GLASS, MEDIUM_ROUGH, sky_share, wind_at_height_m_s
from airtrim.physics.house.glass import Glazing, diffuse_glazing, glazing_constants, glazing_over, pane_links_w_m2k
from airtrim.physics.house.layers import Layer, nodes_of

Array = NDArray[np.float64]

OUTSIDES = {"room": c.ADIABATIC, "weather": c.WEATHER, "outdoor air": c.OUTDOOR_AIR, "ground": c.GROUND}
#: Faces tilted further than this from upright are floors or ceilings.
FLOOR_TILT_DEG = 135.0
AIR_HEAT_J_KG_K = 1006.0


@dataclass(frozen=True)
class Construction:
    """A wall, roof, floor or the furnishings: layers from outside to inside, net area m2.

    `tilt_deg` of the outside face: 0 a roof, 90 a wall, 180 a floor; `azimuth_deg` from north by east. `outside` is 'weather'
    (wind, sun, sky), 'outdoor air' or 'ground' (both through `outside_film_w_m2k`), or 'room' (both faces indoors: the outer one
    passes no heat). A film of 0 follows temperature and wind (films.py). `height_m` is the middle of the face above ground.
    """

    name: str
    area_m2: float
    layers: tuple[Layer, ...]
    tilt_deg: float = 90.0
    azimuth_deg: float = 180.0
    outside: str = "weather"
    outside_film_w_m2k: float = 0.0
    inside_film_w_m2k: float = 0.0
    outside_absorptance: float = 0.6
    outside_emittance: float = 0.9
    inside_absorptance: float = 0.6
    inside_emittance: float = 0.9
    roughness: float = MEDIUM_ROUGH
    perimeter_over_area_1_m: float = 1.0
    height_m: float = 1.35


@dataclass(frozen=True)
class Window:
    """Glass of one orientation, m2; its frame is part of the ratings or of a wall."""

    name: str
    area_m2: float
    glazing: Glazing
    azimuth_deg: float
    tilt_deg: float = 90.0
    outside_film_w_m2k: float = 0.0
    inside_film_w_m2k: float = 0.0
    perimeter_over_area_1_m: float = 1.7
    height_m: float = 1.35


Face = Construction | Window


@dataclass(frozen=True)
class Room:
    """The air and what warms it: `air_capacity_j_k` with light things, air changes an hour of outdoor air of `air_kg_m3`, gains W.

    `ground_c` is the ground's temperature under 'ground' constructions.
    """

    volume_m3: float
    air_changes_per_hour: float
    air_kg_m3: float
    convective_gain_w: float = 0.0
    radiant_gain_w: float = 0.0
    ground_c: float = 10.0
    air_capacity_j_k: float = 0.0

    @property
    def capacity_j_k(self) -> float:
        return self.air_capacity_j_k or self.volume_m3 * self.air_kg_m3 * AIR_HEAT_J_KG_K

    @property
    def leakage_w_k(self) -> float:
        return self.volume_m3 * self.air_changes_per_hour / 3600.0 * self.air_kg_m3 * AIR_HEAT_J_KG_K


class Exposure(Protocol):
    """Weather and sun on the faces of a `Fabric`, in the order of its faces: constructions, then windows.

    [hour]: dry-bulb and sky temperature degC, wind m/s at the station. [hour, face]: beam with the bright ring about the sun, and
    diffuse with the ground's reflection, W/m2 on the face; cosine of the beam's incidence; 1 to windward, 0.5 to leeward.
    """

    @property
    def dry_bulb_c(self) -> Array: ...
    @property
    def sky_c(self) -> Array: ...
    @property
    def wind_m_s(self) -> Array: ...
    @property
    def beam_w_m2(self) -> Array: ...
    @property
    def diffuse_w_m2(self) -> Array: ...
    @property
    def cosine(self) -> Array: ...
    @property
    def leeward(self) -> Array: ...


@dataclass(frozen=True)
class Fabric:
    """What conduction.py works on; `faces`, `starts` and `outside` are in the order constructions, windows."""

    constructions: tuple[Construction, ...]
    windows: tuple[Window, ...]
    room: Room
    starts: NDArray[np.int64]
    outside: NDArray[np.int64]
    capacity: Array
    conductance: Array
    faces: Array

    @property
    def tilt_and_azimuth_deg(self) -> list[tuple[float, float]]:
        """Of every face, to make an `Exposure` for."""
        parts: list[Face] = [*self.constructions, *self.windows]
        return [(one.tilt_deg, one.azimuth_deg) for one in parts]


@dataclass(frozen=True)
class Sun:
    """Sun as conduction.py takes it: [hour, face] W/m2 kept at the outermost and innermost node; [hour] W let into the room."""

    outer_w_m2: Array
    inner_w_m2: Array
    beam_w: Array
    diffuse_w: Array


@dataclass(frozen=True)
class FabricRun:
    """Hourly means and the books (J: heating, cooling, through, sun, leaked, gains, stored, absolute flows)."""

    air_c: Array
    star_c: Array
    heating_w: Array
    cooling_w: Array
    sums: Array
    state: tuple[Array, Array] = field(repr=False)

    @property
    def closure(self) -> float:
        """What does not add up, as a part of the summed absolute flows."""
        into = self.sums[c.HEATING] - self.sums[c.COOLING] + self.sums[c.THROUGH : c.STORED].sum()
        return float(abs(into - self.sums[c.STORED]) / self.sums[c.ABSOLUTE])


def star_factors(area: Array, emittance: Array) -> Array:
    """Emittance of each face towards the star of radiant exchange: Carroll's mean radiant temperature [carroll1980, from memory].

    1 / F = 1 - A F / sum(A F), then in series with the face's own resistance (1 - e) / e.
    """
    view = np.ones_like(area)
    for _ in range(200):
        # a face of more than half of all cannot see itself: the star has no better answer for it than twice its emittance
        view = 1.0 / (1.0 - np.minimum(area * view / np.sum(area * view), 0.5))
    return np.asarray(1.0 / (1.0 / view + (1.0 - emittance) / emittance))


def sun_shares(area: Array, absorbed: Array, reflected: Array, first: Array) -> Array:
    """Part of the sun let in that every face keeps, after all reflections; what windows let out again is missing.

    `first` is where it falls first (sum 1); what a face reflects falls on the others by their areas.
    """
    spread = np.tile(area, (len(area), 1))
    np.fill_diagonal(spread, 0.0)
    spread /= np.maximum(spread.sum(axis=1, keepdims=True), 1e-300)
    falls = np.linalg.solve(np.eye(len(area)) - spread.T * reflected, first)
    return np.asarray(absorbed * falls)


def fabric_of(
    constructions: tuple[Construction, ...], windows: tuple[Window, ...], room: Room, radiant_exchange: bool = True
) -> Fabric:
    """Cut everything into nodes and find how faces share long waves and sun.

    Without `radiant_exchange` the inside films given are combined ones, and radiant gains go to the air.
    """
    parts: list[Face] = [*constructions, *windows]
    _check(parts, room)
    count = len(parts)
    faces, starts = np.zeros((count, c.FACE_COLUMNS)), [0]
    outside = np.zeros(count, np.int64)
    capacities, conductances = [], []
    emittance, absorbed, reflected = np.ones(count), np.zeros(count), np.zeros(count)
    for place, one in enumerate(parts):
        upright = cos(one.tilt_deg * pi / 180.0)
        if isinstance(one, Construction):
            capacity, conductance = nodes_of(one.layers)
            outside[place] = OUTSIDES[one.outside]
            emittance[place] = one.inside_emittance
            absorbed[place], reflected[place] = one.inside_absorptance, 1.0 - one.inside_absorptance
            faces[place, c.ROUGHNESS], faces[place, c.OUTSIDE_EMITTANCE] = one.roughness, one.outside_emittance
        else:
            panes = one.glazing.panes
            capacity, conductance = np.zeros(len(panes)), pane_links_w_m2k(one.glazing)
            outside[place] = c.WEATHER
            emittance[place] = panes[-1].emittance
            through, kept = (one.glazing.sun_part * part for part in diffuse_glazing(*glazing_constants(one.glazing)))
            absorbed[place], reflected[place] = float(np.sum(kept)), 1.0 - float(through + np.sum(kept))
            faces[place, c.ROUGHNESS], faces[place, c.OUTSIDE_EMITTANCE] = GLASS, panes[0].emittance
        capacities.append(capacity)
        conductances.append(np.append(conductance, 0.0))  # so that a link has the place of its outer node
        starts.append(starts[-1] + len(capacity))
        faces[place, c.AREA] = one.area_m2
        faces[place, c.OUTSIDE_FILM], faces[place, c.INSIDE_FILM] = one.outside_film_w_m2k, one.inside_film_w_m2k
        faces[place, c.COS_TILT], faces[place, c.INSIDE_COS] = upright, -upright
        faces[place, c.PERIMETER_OVER_AREA] = one.perimeter_over_area_1_m
        faces[place, c.SKY_SHARE] = sky_share(upright)
        faces[place, c.WIND_PART] = wind_at_height_m_s(1.0, max(one.height_m, 0.5))
    area = faces[:, c.AREA]
    if radiant_exchange:
        faces[:, c.STAR_FACTOR] = star_factors(area, emittance)
    glass = np.arange(count) >= len(constructions)
    floor = np.array([one.tilt_deg > FLOOR_TILT_DEG for one in parts])
    everywhere = np.where(glass, 0.0, area) / np.sum(area[~glass])
    first = np.where(floor, area, 0.0) / np.sum(area[floor]) if floor.any() else everywhere
    faces[:, c.BEAM_SHARE] = sun_shares(area, absorbed, reflected, first)
    faces[:, c.DIFFUSE_SHARE] = sun_shares(area, absorbed, reflected, everywhere)
    return Fabric(
        constructions,
        windows,
        room,
        np.array(starts, np.int64),
        outside,
        np.concatenate(capacities),
        np.concatenate(conductances),
        faces,
    )


def sun_on(fabric: Fabric, exposure: Exposure) -> Sun:
    """What faces keep and windows let in, hour by hour."""
    hours, walls = len(exposure.dry_bulb_c), len(fabric.constructions)
    outer, inner = np.zeros((hours, len(fabric.faces))), np.zeros((hours, len(fabric.faces)))
    beam_w, diffuse_w = np.zeros(hours), np.zeros(hours)
    for place, one in enumerate(fabric.constructions):
        if one.outside == "weather":
            outer[:, place] = one.outside_absorptance * (exposure.beam_w_m2[:, place] + exposure.diffuse_w_m2[:, place])
    for place, window in enumerate(fabric.windows, start=walls):
        index, extinction = glazing_constants(window.glazing)
        beam, diffuse = exposure.beam_w_m2[:, place], exposure.diffuse_w_m2[:, place]
        through, kept = glazing_over(np.ascontiguousarray(exposure.cosine[:, place]), index, extinction)
        through_all, kept_all = diffuse_glazing(index, extinction)
        part = window.glazing.sun_part
        pane = part * (beam[:, None] * kept + diffuse[:, None] * kept_all)
        inward = np.linspace(0.0, 1.0, pane.shape[1]) if pane.shape[1] > 1 else np.ones(1)  # a middle pane counts half
        inner[:, place], outer[:, place] = pane @ inward, pane @ (1.0 - inward)
        beam_w += part * window.area_m2 * beam * through
        diffuse_w += part * window.area_m2 * diffuse * through_all
    return Sun(outer, inner, beam_w, diffuse_w)


def run_fabric(
    fabric: Fabric,
    exposure: Exposure,
    heating_c: float | Array = -inf,
    cooling_c: float | Array = inf,
    first_hour: int = 0,
    hours: int = 8760,
    steps_per_hour: int = 6,
    warm_up_hours: int = 21 * 24,
    start_c: float = 20.0,
    sun: Sun | None = None,
) -> FabricRun:
    """Run the fabric through `hours`; set-points are one value or a day of `24 steps_per_hour`; left out, the room floats.

    The hours before the first (round the year's end) are run first, as the warm-up. `sun` takes the place of `sun_on`.
    """
    if not 1 <= steps_per_hour <= 3600:
        raise OutOfRangeError(f"steps_per_hour must lie in 1 to 3600, got {steps_per_hour}: take 6 for ten minutes.")
    sun = sun_on(fabric, exposure) if sun is None else sun
    weather = np.column_stack((exposure.dry_bulb_c, exposure.sky_c, exposure.wind_m_s, sun.beam_w, sun.diffuse_w))
    day = np.zeros(24 * steps_per_hour)
    heating, cooling = np.ascontiguousarray(day + heating_c), np.ascontiguousarray(day + cooling_c)
    room = fabric.room
    gains = (room.convective_gain_w, room.radiant_gain_w)
    room_row = np.array([room.capacity_j_k, room.leakage_w_k, *gains, room.ground_c])
    state = np.full(len(fabric.capacity) + 1, start_c)
    before, fresh = state.copy(), True
    for start, length in ((first_hour - warm_up_hours, warm_up_hours), (first_hour, hours)):
        result, sums = np.empty((length, 4)), np.zeros(8)
        steps = c.run_hours(
            start,
            length,
            steps_per_hour,
            fresh,
            weather,
            sun.outer_w_m2,
            sun.inner_w_m2,
            exposure.leeward,
            fabric.starts,
            fabric.outside,
            fabric.capacity,
            fabric.conductance,
            fabric.faces,
            room_row,
            heating,
            cooling,
            state,
            before,
            result,
            sums,
        )
        fresh = fresh and steps == 0
    air, star, heated, cooled = (np.ascontiguousarray(column) for column in result.T)
    return FabricRun(air, star, heated, cooled, sums, (state, before))


def _check(parts: list[Face], room: Room) -> None:
    if not any(isinstance(one, Construction) for one in parts):
        raise OutOfRangeError("A fabric needs at least one wall, roof or floor: give its constructions.")
    for one in parts:
        if not (isfinite(one.area_m2) and one.area_m2 > 0.0):
            raise OutOfRangeError(
                f"{one.name}: the area must be above 0 m2, got {one.area_m2!r}: leave out what is not there."
            )
        if isinstance(one, Construction):
            if one.outside not in OUTSIDES:
                raise OutOfRangeError(
                    f"{one.name}: outside {one.outside!r} is not one of {', '.join(OUTSIDES)}: name one."
                )
            if one.outside in ("outdoor air", "ground") and one.outside_film_w_m2k <= 0.0:
                raise OutOfRangeError(
                    f"{one.name}: towards {one.outside} an outside film in W/m2K is needed: give one above 0."
                )
    if not (room.volume_m3 > 0.0 and room.air_kg_m3 > 0.0 and room.air_changes_per_hour >= 0.0):
        raise OutOfRangeError(
            "A room needs a volume and an air density above 0 and no negative air changes: check the room."
        )
