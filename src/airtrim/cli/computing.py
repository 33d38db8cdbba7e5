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
    """Compute the plan of a job with a progress bar on standard error; where it is refused, what comes first is told there."""
    from rich.console import Console
    from rich.progress import Progress

    from airtrim.core.errors import AirtrimError

    job = job_at(job_path)
    from airtrim.report.site_steps import first_of_all
    from airtrim.work.plan import make_plan
    from airtrim.work.readings import read_job

    answers = read_job(job)

    with Progress(console=Console(stderr=True), transient=True, disable=quiet) as bar:
        task = bar.add_task("Computing", total=1.0)

        def report(share: float, *_: object) -> None:
            bar.update(task, completed=share)

        try:
            plan = make_plan(job, progress=report, full=full)
        except AirtrimError:
            if not quiet:
                for line in first_of_all(answers):
                    bar.console.print(line, markup=False, soft_wrap=True)
            raise
    return dict(plan.result)
