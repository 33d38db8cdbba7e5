"""A coil in ice: which readings nothing may be figured from until somebody saw it bare again."""

from collections.abc import Sequence
from datetime import datetime

from airtrim.job.model import Readings

#: No coil in ice is bare sooner than this, s; a thick block takes hours [common-practice].
SOONEST_THAW_S = 1800.0


def held_back(readings: Sequence[Readings]) -> list[str]:
    """Why each reading is held back, "" where it is not, in the order they were taken.

    "frosted": ice was seen. After that "not_seen_bare" until a reading notes the coil as wet or dry, which says that somebody
    looked, and "too_soon" where that was within half an hour of the ice.
    """
    held: list[str] = []
    iced: Readings | None = None
    for reading in readings:
        if reading.coil == "frosted":
            iced = reading
            held.append("frosted")
        elif iced is None:
            held.append("")
        elif reading.coil == "unknown":
            held.append("not_seen_bare")
        elif _seconds_between(iced, reading) < SOONEST_THAW_S:
            held.append("too_soon")
        else:
            iced = None
            held.append("")
    return held


def _seconds_between(before: Readings, after: Readings) -> float:
    """Time between two readings, s; without end where one of the two has no time: the look counts then."""
    if before.time is None or after.time is None:
        return float("inf")
    return (datetime.fromisoformat(after.time) - datetime.fromisoformat(before.time)).total_seconds()
