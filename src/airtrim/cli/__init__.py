"""The command line: `airtrim COMMAND`. Exit 0 computed, 2 the caller can mend it, 3 unexpected."""

from __future__ import annotations

import sys


def main() -> None:
    """Run the command line; every failure is one sentence on standard error and a status other than 0."""
    from airtrim.cli.failures import run_guarded

    sys.exit(run_guarded(sys.argv[1:]))
