"""Shared by all tests: kernels' cache is set before anything imports numba; skips are counted in one sentence."""

from collections import Counter

import airtrim.core.kernels  # noqa: F401


def pytest_terminal_summary(terminalreporter):
    reasons = Counter(str(report.longrepr[2]) for report in terminalreporter.stats.get("skipped", ()))
    if reasons:
        said = "; ".join(f"{count} because {reason.removeprefix('Skipped: ')}" for reason, count in reasons.items())
        terminalreporter.write_line(f"Skipped here: {said}.")
