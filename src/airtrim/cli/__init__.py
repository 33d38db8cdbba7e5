"""The command line: `airtrim new | check | readings | place | plan | map | schema | demo`.

Exit 0 computed, 2 mendable, 3 unexpected.
"""

from __future__ import annotations

import sys


def main() -> None:
    """Run the command line; every failure is one sentence on standard error and a status other than 0."""
    from airtrim.cli.failures import run_guarded

    sys.exit(run_guarded(sys.argv[1:]))
