"""What one way of getting at the airflow comes to."""

from dataclasses import dataclass, field
from typing import Any

from airtrim.work.readings.uncertain import Uncertain
from airtrim.work.readings.working import Inputs

#: State of an assumption a way rests on.
KEPT, BROKEN, NOT_KNOWN = "kept", "broken", "not_known"


@dataclass(frozen=True)
class Way:
    """One way to the airflow at one point: dry air in kg/s, or None and `why` not.

    `assumptions` are (catalogue id, state); a broken one keeps the way out of the joined figure. `formula` gives the
    dry air from `inputs`, {name: (SI value, unit)}, in the form of working.py.
    """

    id: str
    point: int
    tap: int
    operation: str
    flow_kg_s: Uncertain | None
    assumptions: tuple[tuple[str, str], ...] = ()
    why: str = ""
    formula: str = ""
    source: str = ""
    inputs: Inputs = field(default_factory=dict)

    @property
    def usable(self) -> bool:
        return self.flow_kg_s is not None and all(state != BROKEN for _, state in self.assumptions)


def state(condition: bool | None) -> str:
    """An assumption's state; None is not known."""
    return NOT_KNOWN if condition is None else KEPT if condition else BROKEN


def way_of(point: Any, identity: str, flow: Uncertain | None, **more: Any) -> Way:
    """A way at a point; the operation and tap are the point's. Nothing read on a frosted coil holds for the system."""
    if point.iced and flow is not None:
        more["assumptions"] = (*more.get("assumptions", ()), ("no_frost", BROKEN))
    return Way(identity, point.number, point.tap, point.reading.operation, flow, **more)
