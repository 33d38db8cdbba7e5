"""What several commands do first: load a job, compute its plan."""

from __future__ import annotations

from pathlib import Path
from typing import Any


def job_at(path: Path) -> Any:
    """Load a job file; a missing or unreadable one is a JobError."""
    from airtrim.core.errors import JobError

    if not path.is_file():
        raise JobError(f"There is no job file at {path}; make one with 'airtrim new {path.name}'.")
    from airtrim.job import load_job

    return load_job(path)


def computed(job_path: Path, out: Path | None, full: bool, quiet: bool) -> dict[str, Any]:
    """Compute the plan of a job with a progress bar on standard error."""
    from rich.console import Console
    from rich.progress import Progress

    job = job_at(job_path)
    from airtrim.work.plan import make_plan

    with Progress(console=Console(stderr=True), transient=True, disable=quiet) as bar:
        task = bar.add_task("Computing", total=1.0)

        def report(share: float, *_: object) -> None:
            bar.update(task, completed=share)

        plan = make_plan(job, progress=report, full=full)
    return dict(plan.result)
