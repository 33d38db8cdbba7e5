"""Each option over the year on the same systems: figures, paired differences, limits, and the choice."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from airtrim.physics.season.year import YearResults
from airtrim.work.figure import figure
from airtrim.work.findings import Findings
from airtrim.work.options.candidates import Candidate
from airtrim.work.options.heat import heat_of
from airtrim.work.options.limits import air_limits, is_safe, motor_limits, year_limits

Array = NDArray[np.float64]
#: What is shown of each option: result, unit.
SHOWN = {
    "damp_hours": "h/yr",
    "mean_relative_humidity": "fraction",
    "water_kg": "kg",
    "compressor_kwh": "kWh/yr",
    "blower_kwh": "kWh/yr",
    "least_saturated_suction_c": "degC",
    "least_icing_margin_k": "K",
    "stop_hours": "h/yr",
    "frost_hours": "h/yr",
    "hours_set_point_missed": "h/yr",
    "design_margin_w": "W_heat",
    "sweat_hours": "h/yr",
    "mean_flow_fraction": "fraction",
}
DIFFERENCES = {
    "damp_hours": "h/yr",
    "mean_relative_humidity": "points",
    "blower_kwh": "kWh/yr",
    "compressor_kwh": "kWh/yr",
    "hours_set_point_missed": "h/yr",
}
#: An improvement smaller than this is not worth a dearer option.
WORTH_WHILE_PART, WORTH_WHILE_HOURS = 0.05, 20.0


def option_results(found: Findings, candidates: list[Candidate], years: YearResults) -> list[dict[str, Any]]:
    """One entry a candidate in the order given; the first one run is what others are compared with."""
    run = [candidate for candidate in candidates if candidate.program is not None]
    results = []
    for candidate in candidates:
        if candidate.program is None:
            results.append(
                {
                    "id": candidate.id,
                    "figures": [],
                    "differences": [],
                    "limits": [],
                    "safe": False,
                    "status": "not_applicable",
                    "why": candidate.why_not,
                }
            )
            continue
        m = run.index(candidate)
        column = {name: getattr(years, name)[:, m] for name in SHOWN}
        now = {name: getattr(years, name)[:, 0] for name in SHOWN}
        watches = candidate.program.coil_sensor_drop_k > 0.0
        fraction = candidate.program.least_flow if watches else candidate.program.cooling_flow
        heat = heat_of(found, candidate)
        limits = air_limits(found.job, found.system, found.airflow.m3_s, found.airflow.sigma, fraction, watches, heat)
        limits += year_limits(
            column["design_margin_w"],
            column["hours_set_point_missed"],
            now["hours_set_point_missed"],
            column["sweat_hours"],
            now["sweat_hours"],
            column["least_icing_margin_k"],
            now["least_icing_margin_k"],
        )
        if watches or candidate.tap is not None:
            limits += motor_limits(found, candidate.hertz, candidate.rise, on_a_drive=watches)
        results.append(
            {
                "id": candidate.id,
                "figures": [figure(name, column[name], unit) for name, unit in SHOWN.items()],
                "differences": [figure(name, column[name] - now[name], unit) for name, unit in DIFFERENCES.items()]
                if m
                else [],
                "limits": limits,
                "safe": is_safe(limits),
                "status": "run",
                "why": None,
                "monthly_relative_humidity": [
                    float(v) for v in np.median(years.monthly_relative_humidity[:, m], axis=0)
                ],
            }
        )
    return results


def recommend(
    found: Findings, candidates: list[Candidate], results: list[dict[str, Any]], years: YearResults
) -> dict[str, Any]:
    """The safe option that serves the complaint best; a dearer one only where the paired gain is beyond doubt."""
    aim = "damp_hours"
    if found.job.complaint.kinds[0] == "cost":
        aim = "blower_kwh"
    elif found.job.complaint.kinds[0] == "noise":
        aim = "mean_flow_fraction"
    values: Array = getattr(years, aim)
    run = [candidate for candidate in candidates if candidate.program is not None]
    safe = [(m, c) for m, c in enumerate(run) if m == 0 or next(r["safe"] for r in results if r["id"] == c.id)]
    chosen, kept = run[0], values[:, 0]
    for m, candidate in safe[1:]:
        gain = kept - values[:, m]
        worth = max(WORTH_WHILE_PART * float(np.median(kept)), WORTH_WHILE_HOURS if aim == "damp_hours" else 0.0)
        if float(np.quantile(gain, 0.05)) > 0.0 and float(np.median(gain)) > worth:
            chosen, kept = candidate, values[:, m]
    if chosen is run[0]:
        return {"option": chosen.id, "why": {"id": "recommendation.leave", "values": {}}}
    low, high = (float(v) for v in np.quantile(values[:, 0] - kept, (0.05, 0.95)))
    return {"option": chosen.id, "why": {"id": f"recommendation.{aim}", "values": _shown(aim, low, high)}}


def _shown(aim: str, low: float, high: float) -> dict[str, float | str]:
    if aim == "mean_flow_fraction":
        return {"low": f"{100 * low:.0f}", "high": f"{100 * high:.0f}"}
    return {"low": f"{low:.0f}", "high": f"{high:.0f}"}
