"""Backup and restore in folders of their own, by the commands, also beside a writer."""

import os
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing

import pytest

from tests.plans import EXAMPLE

MAKE = """
import sys
from pathlib import Path
from airtrim.web.setup import with_database
with_database(Path(sys.argv[1]))
from airtrim.web import services
job = services.import_job(Path(sys.argv[2]).read_text(), "Ana")
for people in range(5, 9):
    services.save_values(job.pk, [services.Edit("house.people", people, str(people - 1))], "Ana")
"""


def run(*words, data, code=None):
    told = {name: value for name, value in os.environ.items() if not name.startswith(("AIRTRIM_", "DJANGO_"))}
    command = (
        [sys.executable, "-c", code, *words]
        if code
        else [sys.executable, "-m", "airtrim.cli", *words, "--data", str(data)]
    )
    return subprocess.run(command, env=told | {"PYTHONPATH": "src"}, capture_output=True, text=True)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("data")
    done = run(str(made), str(EXAMPLE), data=made, code=MAKE)
    assert done.returncode == 0, done.stderr
    return made


def rows(path, table):
    with closing(sqlite3.connect(path)) as database:
        return database.execute(f"SELECT * FROM {table} ORDER BY 1").fetchall()


@pytest.mark.slow
def test_a_backup_restored_into_an_empty_folder_holds_the_same(folder, tmp_path):
    backup = tmp_path / "b.sqlite3"
    done = run("backup", str(backup), data=folder)
    assert done.returncode == 0 and "1 jobs, 5 versions, checked" in done.stdout
    again = run("backup", str(backup), data=folder)
    assert again.returncode == 2 and "exists already" in again.stderr
    restored = run("restore", str(backup), data=tmp_path / "new")
    assert restored.returncode == 0 and "Restored 1 jobs and 5 versions" in restored.stdout, restored.stderr
    for table in ("web_job", "web_jobversion"):
        assert rows(tmp_path / "new" / "airtrim.sqlite3", table) == rows(folder / "airtrim.sqlite3", table)


@pytest.mark.slow
def test_jobs_are_covered_only_when_asked_and_kept_beside(folder, tmp_path):
    backup, data = tmp_path / "b.sqlite3", tmp_path / "other"
    run("backup", str(backup), data=folder)
    run(str(data), str(EXAMPLE), data=data, code=MAKE.split("for people")[0])
    refused = run("restore", str(backup), data=data)
    assert refused.returncode == 2 and "--replace" in refused.stderr
    assert len(rows(data / "airtrim.sqlite3", "web_jobversion")) == 1
    done = run("restore", str(backup), "--replace", data=data)
    assert done.returncode == 0 and len(rows(data / "airtrim.sqlite3", "web_jobversion")) == 5, done.stderr
    (kept,) = data.glob("before-restore-*.sqlite3")
    assert len(rows(kept, "web_jobversion")) == 1


@pytest.mark.slow
@pytest.mark.parametrize("damage", ["cut", "foreign", "text"])
def test_a_damaged_or_foreign_file_changes_nothing(folder, tmp_path, damage):
    backup = tmp_path / "b.sqlite3"
    run("backup", str(backup), data=folder)
    content = backup.read_bytes()
    if damage == "cut":
        backup.write_bytes(content[: len(content) // 2])
    elif damage == "text":
        backup.write_text("not a database")
    else:
        backup.unlink()
        with closing(sqlite3.connect(backup)) as other:
            other.execute("CREATE TABLE x (y)")
    before = rows(folder / "airtrim.sqlite3", "web_jobversion")
    done = run("restore", str(backup), "--replace", data=folder)
    assert done.returncode == 2 and "no whole backup" in done.stderr and "Traceback" not in done.stderr
    assert rows(folder / "airtrim.sqlite3", "web_jobversion") == before


@pytest.mark.slow
def test_a_backup_beside_a_writer_is_whole(folder, tmp_path):
    """A writer adds rows all the while; the copy passes SQLite's own integrity check and holds a moment of it."""
    stop = threading.Event()
    path = folder / "airtrim.sqlite3"

    def write():
        with closing(sqlite3.connect(path, timeout=30, isolation_level=None)) as database:
            number = 0
            while not stop.is_set():
                number += 1
                database.execute("INSERT INTO web_instrument (name, accuracy) VALUES (?, '7 %')", (f"w{number}",))

    writer = threading.Thread(target=write)
    writer.start()
    try:
        done = run("backup", str(tmp_path / "b.sqlite3"), data=folder)
    finally:
        stop.set()
        writer.join()
    assert done.returncode == 0, done.stderr
    copied = {row[1] for row in rows(tmp_path / "b.sqlite3", "web_instrument")}
    assert copied == {f"w{number}" for number in range(1, len(copied) + 1)}, "a moment: no hole in the writer's order"


@pytest.mark.slow
def test_accounts_are_made_listed_and_closed(tmp_path):
    def account(*words, password="damp-sheets-in-may"):
        told = {name: value for name, value in os.environ.items() if not name.startswith(("AIRTRIM_", "DJANGO_"))}
        command = [sys.executable, "-m", "airtrim.cli", "account", *words, "--data", str(tmp_path)]
        return subprocess.run(
            command, env=told | {"PYTHONPATH": "src"}, capture_output=True, text=True, input=password + "\n"
        )

    assert account("add", "ana", "--stdin").returncode == 0
    weak = account("add", "ben", "--stdin", password="12345")
    assert weak.returncode == 2 and "will not do" in weak.stderr
    assert account("add", "ana", "--stdin").returncode == 2
    assert account("list").stdout.split() == ["ana"]
    assert account("close", "ana").returncode == 0 and account("list").stdout.split() == []
    assert "no account ben" in account("close", "ben").stderr
