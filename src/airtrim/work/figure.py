"""A figure with its range, taken from a sample of systems."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

Figure = dict[str, Any]


def figure(identity: str, values: NDArray[np.float64], unit: str) -> Figure:
    """5, 50 and 95 % of a sample (`[N]`, SI): the 90 % range; finite, or `{id, status, why}`."""
    if not np.all(np.isfinite(values)):
        return {"id": identity, "status": "not_computed", "why": "outside the model's envelope"}
    low, mid, high = (float(value) for value in np.quantile(values, (0.05, 0.5, 0.95)))
    return {"id": identity, "low": low, "mid": mid, "high": high, "unit": unit}
