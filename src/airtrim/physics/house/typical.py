"""A usual house of its year, when only size and year are known: walls, ceiling, floor, glass, partitions, furnishings.

Areas as the findings take them: walls 4.4 times the root of the footprint, glass in four equal sides. What is inside is judgement:
partitions with 1.3 m2 of board face for every m2 of floor beyond the outer walls, furnishings of 39 kg/m2 (8 lb/ft2, read in a
summary of the US reference house). Ranges are those of vintage.py.
"""

from math import sqrt

from airtrim.physics.house.fabric import Construction, Fabric, Room, Window, fabric_of
from airtrim.physics.house.films import ROUGH
from airtrim.physics.house.glass import rated_glazing
from airtrim.physics.house.layers import Layer, resistive
from airtrim.physics.house.vintage import Vintage

#: Films that the assemblies' R-values include, m2K/W [from-memory].
FILMS_M2K_W = 0.03 + 0.12
BOARD = Layer("gypsum board", 0.0127, 0.16, 700.0, 1090.0)
SIDING = Layer("siding and sheathing", 0.019, 0.12, 550.0, 1200.0)
DECK = Layer("roof deck and shingles", 0.018, 0.12, 700.0, 1250.0)
SUBFLOOR = Layer("wooden floor", 0.019, 0.12, 550.0, 1200.0)
SLAB = Layer("concrete slab", 0.10, 1.7, 2300.0, 900.0)
FURNISHINGS = Layer("furnishings, half thickness", 0.0325, 0.13, 600.0, 1600.0)
PARTITION_PART, FURNISHING_PART = 1.3, 2.0
ATTIC_GAP = resistive("attic air", 0.2)


def typical_house(
    floor_area_m2: float,
    vintage: Vintage,
    storeys: float = 1.0,
    ceiling_height_m: float = 2.44,
    slab: bool = True,
    glass_part: float = 0.15,
    air_changes_per_hour: float = 0.3,
    gain_w: float = 0.0,
    air_kg_m3: float = 1.19,
    ground_c: float = 16.0,
) -> Fabric:
    """The middle of a vintage as a fabric; gains are half radiant. Floor and doors keep the vintage's conductance together."""
    foot = floor_area_m2 / storeys
    side = 1.1 * sqrt(foot)
    pane = glass_part * floor_area_m2 / 4.0
    high = ceiling_height_m * storeys

    def assembly(name: str, whole_m2k_w: float, *layers: Layer) -> Layer:
        """Insulation that brings the layers up to the whole resistance; a little air where they reach it already."""
        return resistive(name, max(whole_m2k_w - FILMS_M2K_W - sum(layer.resistance_m2k_w for layer in layers), 0.02))

    wall = (SIDING, assembly("wall insulation", vintage.wall_m2k_w.mid, SIDING, BOARD), BOARD)
    ceiling = (
        DECK,
        ATTIC_GAP,
        assembly("ceiling insulation", vintage.ceiling_m2k_w.mid, DECK, ATTIC_GAP, BOARD),
        BOARD,
    )
    bottom = SLAB if slab else SUBFLOOR
    cover = resistive("carpet", 0.1)
    floor = (assembly("ground or air below", 1.0 / vintage.floor_w_m2k.mid, bottom, cover), bottom, cover)
    walls = tuple(
        Construction(
            f"wall {name}",
            side * high - pane,
            wall,
            azimuth_deg=azimuth,
            roughness=ROUGH,
            height_m=0.5 * high,
            perimeter_over_area_1_m=2.0 * (side + high) / (side * high),
        )
        for name, azimuth in (("north", 0.0), ("east", 90.0), ("south", 180.0), ("west", 270.0))
    )
    around = 4.0 * side / foot
    others = (
        Construction(
            "ceiling",
            foot,
            ceiling,
            tilt_deg=0.0,
            outside_absorptance=0.75,
            roughness=ROUGH,
            height_m=high,
            perimeter_over_area_1_m=around,
        ),
        Construction("floor", foot, floor, tilt_deg=180.0, outside="ground", outside_film_w_m2k=50.0),
        Construction("partitions", PARTITION_PART * floor_area_m2, (resistive("studs", 0.2), BOARD), outside="room"),
        Construction("furnishings", FURNISHING_PART * floor_area_m2, (FURNISHINGS,), outside="room"),
    )
    glazing = rated_glazing(vintage.glass_w_m2k.mid, vintage.glass_shgc.mid)
    windows = tuple(
        Window(f"glass {name}", pane, glazing, azimuth, height_m=0.5 * high)
        for name, azimuth in (("north", 0.0), ("east", 90.0), ("south", 180.0), ("west", 270.0))
    )
    room = Room(floor_area_m2 * ceiling_height_m, air_changes_per_hour, air_kg_m3, 0.5 * gain_w, 0.5 * gain_w, ground_c)
    return fabric_of((*walls, *others), windows, room)
