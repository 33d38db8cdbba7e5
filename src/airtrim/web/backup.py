"""Backup and restore of the whole database, also while airtrim serves it.

SQLite is copied by its own backup interface, page by page beside the writers, and the copy is checked before it gets its name.
PostgreSQL is dumped and restored by its own programs in one transaction.
"""

import os
import shutil
import sqlite3
import subprocess
from contextlib import closing
from datetime import datetime
from pathlib import Path
from typing import Any

from airtrim.core.errors import AirtrimError, InputError
from airtrim.report.words import say
from airtrim.web.setup import with_database

PAGES_A_STEP = 500


def write_backup(path: Path, data: Path | None = None) -> str:
    """Write the database to `path`, which must not exist; the sentence saying what is in it."""
    with_database(data)
    if path.exists():
        raise InputError(say("web.backup.exists", {"path": path}))
    path.parent.mkdir(parents=True, exist_ok=True)
    waiting = path.with_name(path.name + ".part")
    waiting.unlink(missing_ok=True)
    try:
        if _is_sqlite():
            _copy(Path(_described()["NAME"]), waiting)
            jobs, versions = _checked(waiting)
        else:
            _run(["pg_dump", "--format=custom", "--no-owner", f"--file={waiting}"])
            jobs, versions = _counted()
        waiting.replace(path)
    finally:
        waiting.unlink(missing_ok=True)
    return say("web.backup.written", {"path": path, "jobs": jobs, "versions": versions})


def restore_backup(path: Path, data: Path | None = None, replace: bool = False) -> list[str]:
    """Put the backup at `path` in place; refuses to cover jobs unless `replace`, and keeps what was there beside it."""
    if not path.is_file():
        raise InputError(say("web.backup.no_file", {"path": path}))
    with_database(data)
    if _is_sqlite():
        _checked(path)
    else:
        _run(["pg_restore", "--list", str(path)], connect=False)
    sentences = []
    there, _ = _counted()
    if there and not replace:
        raise InputError(say("web.backup.taken", {"jobs": there}))
    if there:
        from django.conf import settings

        suffix = "sqlite3" if _is_sqlite() else "dump"
        kept = settings.DATA / f"before-restore-{datetime.now():%Y%m%d-%H%M%S-%f}.{suffix}"
        write_backup(kept, data)
        sentences.append(say("web.backup.kept", {"path": kept}))
    if _is_sqlite():
        _copy(path, Path(_described()["NAME"]))
    else:
        _run(["pg_restore", "--clean", "--if-exists", "--no-owner", "--single-transaction", str(path)], database=True)
    from django.db import connections

    connections.close_all()
    with_database(data)
    jobs, versions = _counted()
    return [*sentences, say("web.backup.restored", {"path": path, "jobs": jobs, "versions": versions})]


def _described() -> dict[str, Any]:
    from django.conf import settings

    found: dict[str, Any] = settings.DATABASES["default"]
    return found


def _is_sqlite() -> bool:
    return str(_described()["ENGINE"]).endswith("sqlite3")


def _copy(source: Path, target: Path) -> None:
    """Copy a database page by page; writers go on meanwhile."""
    with (
        closing(sqlite3.connect(f"file:{source}?mode=ro", uri=True, timeout=30)) as read,
        closing(sqlite3.connect(target, timeout=30)) as write,
    ):
        read.backup(write, pages=PAGES_A_STEP, sleep=0.02)


def _checked(path: Path) -> tuple[int, int]:
    """Jobs and versions in a SQLite backup; raises `InputError` where it is damaged, foreign, or of a newer airtrim."""
    try:
        with closing(sqlite3.connect(f"file:{path}?mode=ro&immutable=1", uri=True)) as database:
            said = str(database.execute("PRAGMA integrity_check").fetchone()[0])
            if said != "ok":
                raise InputError(say("web.backup.damaged", {"path": path, "why": said[:80]}))
            jobs = int(database.execute("SELECT count(*) FROM web_job").fetchone()[0])
            versions = int(database.execute("SELECT count(*) FROM web_jobversion").fetchone()[0])
            applied = {row[0] for row in database.execute("SELECT name FROM django_migrations WHERE app = 'web'")}
    except sqlite3.DatabaseError as error:
        raise InputError(say("web.backup.damaged", {"path": path, "why": str(error)})) from error
    newer = applied - {one.stem for one in (Path(__file__).parent / "migrations").glob("0*.py")}
    if newer:
        raise InputError(say("web.backup.newer", {"path": path}))
    return jobs, versions


def _counted() -> tuple[int, int]:
    from airtrim.web.models import Job, JobVersion

    return Job.objects.count(), JobVersion.objects.count()


def _run(words: list[str], connect: bool = True, database: bool = False) -> None:
    """Run one of PostgreSQL's programs on our database; the password goes by its environment, not on the command line."""
    tool = words[0]
    if shutil.which(tool) is None:
        raise InputError(say("web.backup.no_tool", {"tool": tool}))
    told = dict(os.environ)
    if connect:
        given = _described()
        names = {"PGHOST": "HOST", "PGPORT": "PORT", "PGUSER": "USER", "PGPASSWORD": "PASSWORD", "PGDATABASE": "NAME"}
        told |= {name: str(given[key]) for name, key in names.items() if given.get(key)}
        if database:
            words = [tool, f"--dbname={given['NAME']}", *words[1:]]
    done = subprocess.run(words, env=told, capture_output=True, text=True)
    if done.returncode != 0:
        said = " ".join(done.stderr.split())[:200]
        raise AirtrimError(say("web.backup.tool_failed", {"tool": tool, "status": done.returncode, "said": said}))
