"""Layers of a wall, roof or floor: steady conductance, exact answer to a sinusoid, and the nodes a time step works on.

    steady    1 / (1/h_out + sum d/k + 1/h_in)
    sinusoid  product of the layers' matrices [cosh x, R sinh x / x; x sinh x / R, cosh x], x = sqrt(i w d rho c R), R = d/k

The matrices are those of Carslaw and Jaeger's slab and of ISO 13786 [carslaw1959]. All per square metre of surface.
"""

import cmath
from dataclasses import dataclass
from math import ceil, isfinite, pi, sqrt

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import OutOfRangeError

Array = NDArray[np.float64]

#: The shortest swing, s, that cells resolve: cells are no thicker than a third of the depth an hour's swing reaches.
SHORTEST_PERIOD_S = 3600.0


@dataclass(frozen=True)
class Layer:
    """One layer: thickness m, conductivity W/m K, density kg/m3, specific heat J/kg K (density 0: it stores nothing)."""

    name: str
    thickness_m: float
    conductivity_w_mk: float
    density_kg_m3: float
    specific_heat_j_kg_k: float

    def __post_init__(self) -> None:
        for name, value, least in (
            ("thickness_m", self.thickness_m, 1e-6),
            ("conductivity_w_mk", self.conductivity_w_mk, 1e-6),
            ("density_kg_m3", self.density_kg_m3, 0.0),
            ("specific_heat_j_kg_k", self.specific_heat_j_kg_k, 0.0),
        ):
            if not (isfinite(value) and value >= least):
                raise OutOfRangeError(
                    f"Layer {self.name!r}: {name} must be a finite number of at least {least:g}, got {value!r}: check the layer."
                )

    @property
    def resistance_m2k_w(self) -> float:
        return self.thickness_m / self.conductivity_w_mk

    @property
    def capacity_j_m2k(self) -> float:
        return self.thickness_m * self.density_kg_m3 * self.specific_heat_j_kg_k


def resistive(name: str, resistance_m2k_w: float) -> Layer:
    """A layer that stores nothing: an air gap, a carpet, insulation taken as a resistance, m2K/W."""
    return Layer(name, 1.0, 1.0 / resistance_m2k_w if resistance_m2k_w > 0.0 else 0.0, 0.0, 0.0)


def surface_resistance_m2k_w(layers: tuple[Layer, ...]) -> float:
    """From surface to surface, without films."""
    return sum(layer.resistance_m2k_w for layer in layers)


def steady_u_value_w_m2k(layers: tuple[Layer, ...], outside_film_w_m2k: float, inside_film_w_m2k: float) -> float:
    """Conductance from air to air in the steady state."""
    return 1.0 / (1.0 / outside_film_w_m2k + surface_resistance_m2k_w(layers) + 1.0 / inside_film_w_m2k)


def transmission_matrix(layers: tuple[Layer, ...], period_s: float) -> NDArray[np.complex128]:
    """Exact 2x2 matrix from outside to inside: (temperature, flow inward) outside = matrix x (the same) inside."""
    total = np.eye(2, dtype=np.complex128)
    for layer in layers:
        resistance = layer.resistance_m2k_w
        x = cmath.sqrt(2j * pi / period_s * layer.capacity_j_m2k * resistance)
        if x == 0.0:
            one = np.array([[1.0, resistance], [0.0, 1.0]], dtype=np.complex128)
        else:
            one = np.array(
                [[cmath.cosh(x), resistance * cmath.sinh(x) / x], [x * cmath.sinh(x) / resistance, cmath.cosh(x)]]
            )
        total = total @ one
    return total


def sinusoid_answers_w_m2k(
    layers: tuple[Layer, ...], period_s: float, outside_film_w_m2k: float, inside_film_w_m2k: float
) -> tuple[complex, complex]:
    """(flow from the room into the surface per kelvin of room swing, flow into the room per kelvin of outdoor swing).

    Complex amplitudes, W/m2K, with films as pure resistances; the other side held still.
    """
    outside = np.array([[1.0, 1.0 / outside_film_w_m2k], [0.0, 1.0]], dtype=np.complex128)
    inside = np.array([[1.0, 1.0 / inside_film_w_m2k], [0.0, 1.0]], dtype=np.complex128)
    matrix = outside @ transmission_matrix(layers, period_s) @ inside
    return complex(matrix[0, 0] / matrix[0, 1]), complex(1.0 / matrix[0, 1])


def cells_of(layer: Layer, shortest_period_s: float = SHORTEST_PERIOD_S) -> int:
    """How many cells a layer is cut into: none if it stores nothing, else a third of the shortest swing's reach each."""
    if layer.capacity_j_m2k == 0.0:
        return 0
    reach = sqrt(layer.thickness_m**2 * shortest_period_s / (pi * layer.capacity_j_m2k * layer.resistance_m2k_w))
    return max(1, ceil(3.0 * layer.thickness_m / reach))


def nodes_of(layers: tuple[Layer, ...], shortest_period_s: float = SHORTEST_PERIOD_S) -> tuple[Array, Array]:
    """(capacity of each node J/m2K, conductance between neighbours W/m2K), outside to inside.

    The first and the last node are the two faces and store nothing; cells store in their middle. Layers that store nothing
    only add to the resistance between cells.
    """
    capacity, conductance, waiting = [0.0], [], 0.0
    for layer in layers:
        cells = cells_of(layer, shortest_period_s)
        if cells == 0:
            waiting += layer.resistance_m2k_w
            continue
        half = 0.5 * layer.resistance_m2k_w / cells
        for _ in range(cells):
            conductance.append(1.0 / (waiting + half))
            capacity.append(layer.capacity_j_m2k / cells)
            waiting = half
    if waiting == 0.0:
        raise OutOfRangeError("A construction has no layers: give at least one, outside to inside.")
    conductance.append(1.0 / waiting)
    capacity.append(0.0)
    return np.array(capacity), np.array(conductance)
