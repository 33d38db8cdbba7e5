"""A figure with its range, taken from a sample of systems."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

Figure = dict[str, Any]


def figure(
    identity: str,
    values: NDArray[np.float64],
    unit: str,
    allowed: tuple[float | None, float | None] | None = None,
) -> Figure:
    """5, 50 and 95 % of a sample (`[N]`, SI): the 90 % range; finite, or `{id, status, why}`.

    `allowed` is the band it should lie in, None for an open end.
    """
    if not np.all(np.isfinite(values)):
        return {"id": identity, "status": "not_computed", "why": "outside the model's envelope"}
    low, mid, high = (float(value) for value in np.quantile(values, (0.05, 0.5, 0.95)))
    made = {"id": identity, "low": low, "mid": mid, "high": high, "unit": unit}
    return made if allowed is None else made | {"allowed": list(allowed)}


def spread_figure(identity: str, value: float, half_range: float, unit: str) -> Figure:
    """A figure from one value and half of its 90 % range, SI."""
    return {"id": identity, "low": value - half_range, "mid": value, "high": value + half_range, "unit": unit}
