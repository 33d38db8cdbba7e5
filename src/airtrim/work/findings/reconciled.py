"""The airflow as it was read beside the airflow of the fitted systems: one sentence where the two differ."""

from collections.abc import Mapping, Sequence
from typing import Any

#: Less apart than this part the two are the same on paper.
SAME = 0.01


def airflow_reconciled(read: Mapping[str, Any], figures: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """[] where they agree to 1 % or one is missing; else [{id, values}] saying which is which and whether the ranges overlap.

    `read` is the readings' document, `figures` the findings'. The fit takes the same readings with all others (static, split,
    suction, the tap's table), so that it may lie elsewhere.
    """
    alone = next((one for one in read["airflow"]["figures"] if one["id"] == "airflow" and "mid" in one), None)
    fitted = next((one for one in figures if one["id"] == "airflow" and "mid" in one), None)
    if alone is None or fitted is None or abs(fitted["mid"] / alone["mid"] - 1.0) <= SAME:
        return []
    overlap = alone["low"] <= fitted["high"] and fitted["low"] <= alone["high"]
    values = {name: {"value": one["mid"], "unit": "m3/s"} for name, one in (("read", alone), ("fitted", fitted))}
    values |= {"low": {"value": fitted["low"], "unit": "m3/s"}, "high": {"value": fitted["high"], "unit": "m3/s"}}
    return [{"id": f"finding.airflow_{'reconciled' if overlap else 'apart'}", "values": values}]
