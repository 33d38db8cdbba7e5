"""What every airflow would do at one state of air: the data behind the airflow map."""

from typing import Any

import numpy as np

from airtrim.work.figure import Figure, figure
from airtrim.work.findings import Findings
from airtrim.work.findings.find import STANDARD, at_standard
from airtrim.work.options.limits import WARN_C

FRACTIONS = np.linspace(0.42, 1.12, 24)
LATENT_HEAT = 2.466e6


def airflow_map(found: Findings, proposed_m3_s: float | None) -> dict[str, Any]:
    """Series over airflow (m3/s) with 5, 50, 95 % of the sample; `proposed` is None where nothing is proposed."""
    states = np.stack([at_standard(found.system, float(fraction)) for fraction in FRACTIONS])  # [flow, system, 6]
    total, sensible, power, suction = (states[:, :, i] for i in range(4))
    whole = np.isfinite(suction).all(axis=1)
    x = [float(value) for value in FRACTIONS[whole] * found.airflow.m3_s]

    def series(identity: str, values: Any, unit: str) -> dict[str, Any]:
        low, mid, high = np.quantile(values[whole], (0.05, 0.5, 0.95), axis=1)
        ends = {"lows": low.tolist(), "mids": mid.tolist(), "highs": high.tolist()}
        return {"id": identity, "x": x, **ends, "unit": unit}

    differences = [] if proposed_m3_s is None else _differences(found, proposed_m3_s)
    return {
        "series": [
            series("saturated_suction", suction, "degC"),
            series("icing_margin", suction, "K"),
            series("sensible", sensible, "W_heat"),
            series("latent", total - sensible, "W_heat"),
            series("total", total, "W_heat"),
            series("compressor_watts", power, "W"),
            series("water", (total - sensible) / LATENT_HEAT, "kg/s"),
        ],
        "limits": [{"id": "frost", "value": WARN_C, "unit": "degC"}],
        "now": found.airflow.m3_s,
        "proposed": proposed_m3_s,
        "differences": differences,
        "conditions": dict(zip(("return_c", "relative_humidity", "outdoor_c"), STANDARD, strict=True)),
        "rated_capacity_w": found.job.system.outdoor_size.si,
    }


def _differences(found: Findings, proposed_m3_s: float) -> list[Figure]:
    """What the proposed airflow changes at the map's state of air, system by system."""
    now = at_standard(found.system, 1.0)
    then = at_standard(found.system, proposed_m3_s / found.airflow.m3_s)
    return [
        figure("saturated_suction", then[:, 3] - now[:, 3], "K"),
        figure("latent", then[:, 0] - then[:, 1] - now[:, 0] + now[:, 1], "W_heat"),
        figure("sensible", then[:, 1] - now[:, 1], "W_heat"),
    ]
