"""Turn failures into one sentence and an exit status."""

from __future__ import annotations

import os
import sys
import tempfile
import traceback
from collections.abc import Sequence


def run_guarded(arguments: Sequence[str]) -> int:
    """Run the command line with `arguments`: 0 computed, 2 the caller can mend it, 3 unexpected (a log is written)."""
    import typer
    from typer.exceptions import TyperException

    from airtrim.cli.commands import application
    from airtrim.core.errors import AirtrimError

    try:
        outcome = application(list(arguments), standalone_mode=False, prog_name="airtrim")
        return outcome if isinstance(outcome, int) else 0
    except typer.Exit as leave:
        return leave.exit_code
    except TyperException as error:
        print(str(getattr(error, "message", error)), file=sys.stderr)
        return 2
    except AirtrimError as error:
        print(str(error), file=sys.stderr)
        return 2
    except (KeyboardInterrupt, typer.Abort):
        print("Stopped before the answer was there; nothing was finished.", file=sys.stderr)
        return 130
    except Exception as error:
        handle, path = tempfile.mkstemp(prefix="airtrim-", suffix=".log", text=True)
        with os.fdopen(handle, "w", encoding="utf-8") as log:
            log.write(traceback.format_exc())
        print(
            f"Something unexpected went wrong ({type(error).__name__}); what happened is written in {path}.",
            file=sys.stderr,
        )
        return 3
