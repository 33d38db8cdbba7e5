"""Shared by all tests: kernels' cache is set before anything imports numba; skips are counted in one sentence."""

from collections import Counter

import pytest
from hypothesis import settings

import airtrim.core.kernels  # noqa: F401
from tests.capabilities import missing

# a first call compiles, which no deadline for one example allows for; the same examples every run
settings.register_profile("airtrim", deadline=None, derandomize=True)
settings.load_profile("airtrim")


def pytest_collection_modifyitems(items):
    """What cannot run here is skipped with its reason; what CI promised to run is an error."""
    for item in items:
        for marker in ("browser", "postgres"):
            if item.get_closest_marker(marker):
                reason, promised = missing(marker)
                if reason and promised:
                    raise pytest.UsageError(f"{item.nodeid} must run here but cannot: {reason}")
                if reason:
                    item.add_marker(pytest.mark.skip(reason=reason))


def pytest_terminal_summary(terminalreporter):
    reasons = Counter(str(report.longrepr[2]) for report in terminalreporter.stats.get("skipped", ()))
    if reasons:
        said = "; ".join(f"{count} because {reason.removeprefix('Skipped: ')}" for reason, count in reasons.items())
        terminalreporter.write_line(f"Skipped here: {said}.")
