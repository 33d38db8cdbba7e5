"""The example job computed on few systems, once for all tests that read a result."""

from copy import deepcopy
from functools import lru_cache
from pathlib import Path
from typing import Any

from airtrim.job import read_document
from airtrim.work.plan import make_plan

EXAMPLE = Path(__file__).resolve().parents[1] / "examples" / "alder-court" / "job.toml"
SYSTEMS = 4


@lru_cache(maxsize=4)
def _computed(consider: tuple[str, ...] | None) -> dict[str, Any]:
    document = read_document(EXAMPLE)
    if consider is not None:
        document = document.with_value("options.consider", list(consider))
    return make_plan(document.job, systems=SYSTEMS).result


def demo_result() -> dict[str, Any]:
    """The plan of the example job; a copy the caller may change."""
    return deepcopy(_computed(None))


def drive_result() -> dict[str, Any]:
    """The plan where only the drive is weighed against leaving it alone."""
    return deepcopy(_computed(("drive_coil_feedback",)))
