"""What every airflow would do at one state of air, and where a safe limit begins to bind: the data of the airflow map."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from airtrim.physics.blower.motor import PscMotor
from airtrim.physics.blower.system import drive_curve, operating_point
from airtrim.physics.unit.steady import TRUSTED_AIRFLOW
from airtrim.work.figure import Figure, figure
from airtrim.work.findings import Findings
from airtrim.work.findings.blower import watts_by_wheel
from airtrim.work.findings.find import LATENT_HEAT, STANDARD, at_standard
from airtrim.work.findings.survey import LEAST_PER_TON
from airtrim.work.findings.trusted import WIDER, rated_part
from airtrim.work.options.limits import LEAST_SUPERHEAT_K, STOP_C, WARN_C, coolest_hour

Array = NDArray[np.float64]
FRACTIONS = np.linspace(0.42, 1.12, 24)
SPECIFIC_HEAT = 1023.7


def airflow_map(found: Findings, proposed_m3_s: float | None) -> dict[str, Any]:
    """Series over airflow (m3/s) with 5, 50, 95 % of the sample; `proposed` is None where nothing is proposed.

    A series leaves out the airflows at which it is not known: no steady state, or beyond what a drive makes of the motor.
    Outside 40 to 130 % of rated airflow ranges are twice as wide; `wider_below` and `wider_above` say from where (m3/s, or None).
    Each of `limits` has the value it stands at and, as `airflow`, below which airflow it binds (None: nowhere on the map).
    """
    states = np.stack([at_standard(found.system, float(fraction)) for fraction in FRACTIONS])  # [flow, system, 6]
    total, sensible, power, suction, _, superheat = (states[:, :, i] for i in range(6))
    whole = np.asarray(np.isfinite(suction).all(axis=1))
    x = FRACTIONS[whole] * found.airflow.m3_s
    parts = np.array([rated_part(found.job, one * found.airflow.m3_s) for one in FRACTIONS])
    wider = np.where((parts >= TRUSTED_AIRFLOW[0]) & (parts <= TRUSTED_AIRFLOW[1]), 1.0, WIDER)
    watts = _blower_watts(found)
    supply = STANDARD[0] - (sensible - watts) / (FRACTIONS[:, None] * found.system.full_flow_kg_s * SPECIFIC_HEAT)

    def series(identity: str, values: Array, unit: str) -> dict[str, Any]:
        known = np.isfinite(values[whole]).all(axis=1)
        low, mid, high = np.quantile(values[whole][known], (0.05, 0.5, 0.95), axis=1)
        more = wider[whole][known]
        low, high = mid - more * (mid - low), mid + more * (high - mid)
        ends = {"lows": low.tolist(), "mids": mid.tolist(), "highs": high.tolist()}
        return {"id": identity, "x": x[known].tolist(), **ends, "unit": unit}

    return {
        "series": [
            series("saturated_suction", suction, "degC"),
            series("icing_margin", suction - found.system.circuit_offset_k - STOP_C, "K"),
            series("superheat", np.maximum(superheat, 0.0), "K"),
            series("sensible", sensible, "W_heat"),
            series("latent", total - sensible, "W_heat"),
            series("total", total, "W_heat"),
            series("sensible_heat_ratio", sensible / total, "fraction"),
            series("supply_temperature", supply, "degC"),
            series("compressor_watts", power, "W"),
            series("blower_watts", watts, "W"),
            series("water", (total - sensible) / LATENT_HEAT, "kg/s"),
        ],
        "limits": [{"id": "frost", "value": WARN_C, "unit": "degC", "airflow": None}, *_binding(found, x, whole)],
        "now": found.airflow.m3_s,
        "proposed": proposed_m3_s,
        "differences": [] if proposed_m3_s is None else _differences(found, proposed_m3_s),
        "conditions": dict(zip(("return_c", "relative_humidity", "outdoor_c"), STANDARD, strict=True)),
        "wider_below": _edge(found, TRUSTED_AIRFLOW[0], x, below=True),
        "wider_above": _edge(found, TRUSTED_AIRFLOW[1], x, below=False),
        "rated_capacity_w": found.job.system.outdoor_size.si,
    }


def _edge(found: Findings, part: float, x: Array, below: bool) -> float | None:
    """An end of the trusted airflows where it lies on the map, m3/s."""
    edge = found.airflow.m3_s * part / rated_part(found.job, found.airflow.m3_s)
    on_map = x[0] < edge if below else edge < x[-1]
    return float(edge) if on_map else None


def _blower_watts(found: Findings) -> Array:
    """Watts of the present motor at each airflow, `[flow, system]`: a PSC on a drive (NaN beyond 20 to 75 Hz), others by load."""
    present = found.system.fan_watts.sum(axis=1)
    if not isinstance(found.blower.motor, PscMotor) or found.blower.motor.capacitor_f == 0.0:
        by_wheel = np.array([watts_by_wheel(found.blower, float(one)) for one in FRACTIONS])
        return np.asarray(by_wheel[:, None] * present[None, :])
    points = drive_curve(found.blower, np.linspace(20.0, 75.0, 20))
    flow = np.array([point.airflow_m3_s for point in points]) / found.blower.wheel[0]
    shape = np.array([point.watts for point in points]) / np.interp(1.0, flow, [point.watts for point in points])
    part = np.interp(FRACTIONS, flow, shape, left=np.nan, right=np.nan)
    return np.asarray(part[:, None] * present[None, :])


def _binding(found: Findings, x: Array, whole: NDArray[np.bool_]) -> list[dict[str, Any]]:
    """Limits of airflow itself: the motor's least frequency, the maker's and the trade's least airflow, cold nights, floodback."""
    job, size = found.job, found.job.system.outdoor_size.si
    floor = job.safe_limits.least_airflow_per_ton
    refused = (floor.si if floor is not None else LEAST_PER_TON) * size
    coldest = [coolest_hour(job, found.system, float(fraction)) for fraction in FRACTIONS[whole]]
    suction = np.array([np.quantile(one[0], 0.05) for one in coldest])
    superheat = np.array([np.quantile(one[1], 0.05) for one in coldest])
    limits: list[dict[str, Any]] = [
        {"id": "airflow_per_ton", "value": refused / size, "unit": "m3/s/W", "airflow": refused},
        {"id": "coil_saturation", "value": STOP_C, "unit": "degC", "airflow": _bound_below(x, suction, STOP_C)},
        {"id": "superheat", "value": LEAST_SUPERHEAT_K, "unit": "K", "airflow": _bound_below(x, superheat, LEAST_SUPERHEAT_K)},
    ]  # fmt: skip
    if found.lowest is not None:
        hertz = found.lowest.hertz
        moved = operating_point(found.blower, hertz=hertz).airflow_m3_s
        limits.append({"id": "least_frequency", "value": hertz, "unit": "Hz", "airflow": moved})
    listed = job.system.least_listed_airflow
    if listed is not None:
        limits.append({"id": "maker_least_airflow", "value": listed.si, "unit": "m3/s", "airflow": listed.si})
    if job.heat.least_airflow is not None:
        heat = job.heat.least_airflow.si
        limits.append({"id": "heat_airflow", "value": heat, "unit": "m3/s", "airflow": heat})
    return [limit | {"airflow": _on_the_map(limit["airflow"], x)} for limit in limits]


def _bound_below(x: Array, values: Array, bound: float) -> float | None:
    """The airflow below which `values` (rising with airflow, NaN where there is no steady state) stay under `bound`."""
    under = ~(values >= bound)
    if not under.any():
        return None
    last = int(np.flatnonzero(under)[-1])
    if last == len(x) - 1 or not np.isfinite(values[last]):
        return float(x[last])
    return float(np.interp(bound, values[last : last + 2], x[last : last + 2]))


def _on_the_map(airflow_m3_s: float | None, x: Array) -> float | None:
    if airflow_m3_s is None or not np.isfinite(airflow_m3_s) or airflow_m3_s <= x[0]:
        return None
    return min(airflow_m3_s, float(x[-1]))


def _differences(found: Findings, proposed_m3_s: float) -> list[Figure]:
    """What the proposed airflow changes at the map's state of air, system by system."""
    now = at_standard(found.system, 1.0)
    then = at_standard(found.system, proposed_m3_s / found.airflow.m3_s)
    return [
        figure("saturated_suction", then[:, 3] - now[:, 3], "K"),
        figure("latent", then[:, 0] - then[:, 1] - now[:, 0] + now[:, 1], "W_heat"),
        figure("sensible", then[:, 1] - now[:, 1], "W_heat"),
    ]
