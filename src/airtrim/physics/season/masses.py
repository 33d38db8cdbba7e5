"""A house's fabric, reduced to one or two masses, put into a sample of systems."""

from dataclasses import replace

import numpy as np

from airtrim.physics.house.reduction import ReducedFabric
from airtrim.physics.season.system import SystemSample


def with_fabric(systems: SystemSample, reduced: ReducedFabric) -> SystemSample:
    """The systems with this fabric's masses and conductances (house/reduction) in place of their own; all houses alike.

    The quick mass is the light one, the slow one the heavy one. A fabric's roof is part of its outdoors, so nothing is left to the
    attic. Sun that the fabric loses again through its panes stays out of the room: `sun_parts` add up to less than 1.
    """
    light, *slow = reduced.masses
    heavy = slow[0] if slow else None
    n = systems.count
    nodes = [reduced.direct_w_k, light.outside_w_k, 0.0, light.ground_w_k]
    nodes += [heavy.outside_w_k, heavy.ground_w_k] if heavy is not None else [0.0, 0.0]
    suns = [reduced.sun_to_air, light.sun_part, heavy.sun_part if heavy is not None else 0.0]
    return replace(
        systems,
        envelope_w_k=np.full(n, reduced.envelope_w_k),
        mass_capacity_j_k=np.full(n, light.capacity_j_k),
        mass_coupling_w_k=np.full(n, light.coupling_w_k),
        heavy_capacity_j_k=np.full(n, heavy.capacity_j_k if heavy is not None else 0.0),
        heavy_coupling_w_k=np.full(n, heavy.coupling_w_k if heavy is not None else 0.0),
        heavy_part=np.zeros(n),
        node_w_k=np.tile(nodes, (n, 1)),
        sun_parts=np.tile(suns, (n, 1)),
    )
