"""The example job computed on few systems, once for all tests that read a result."""

from copy import deepcopy
from functools import lru_cache
from pathlib import Path
from typing import Any

from airtrim.job import read_document
from airtrim.work.plan import make_plan

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"
EXAMPLE = EXAMPLES / "alder-court" / "job.toml"
SYSTEMS = 4


@lru_cache(maxsize=4)
def _computed(consider: tuple[str, ...] | None, example: str = "alder-court") -> dict[str, Any]:
    document = read_document(EXAMPLES / example / "job.toml")
    if consider is not None:
        document = document.with_value("options.consider", list(consider))
        document = document.with_value("safe_limits.least_frequency", "50 Hz")  # of so few systems one may ice below
    return make_plan(document.job, systems=SYSTEMS).result


def demo_result() -> dict[str, Any]:
    """The plan of the example job; a copy the caller may change."""
    return deepcopy(_computed(None, "alder-court"))


def drive_result() -> dict[str, Any]:
    """The plan where only the drive is weighed against leaving it alone."""
    return deepcopy(_computed(("drive_coil_feedback",)))


def example_result(name: str) -> dict[str, Any]:
    """The plan of one of the example jobs."""
    return deepcopy(_computed(None, name))
