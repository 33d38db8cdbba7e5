"""What this system really does."""

from airtrim.work.findings.find import Findings, find

__all__ = ["Findings", "find"]
