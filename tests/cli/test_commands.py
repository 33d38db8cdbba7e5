"""Exit status and messages of the command line."""

import pytest

from airtrim.cli import commands
from airtrim.cli.failures import run_guarded
from airtrim.core.errors import JobError


def test_help_ends_well(capsys):
    assert run_guarded(["--help"]) == 0
    assert "plan" in capsys.readouterr().out


@pytest.mark.parametrize("command", ["check", "plan", "map"])
def test_a_missing_job_file_is_one_sentence_and_status_2(command, tmp_path, capsys):
    assert run_guarded([command, str(tmp_path / "none.toml")]) == 2
    printed = capsys.readouterr()
    assert printed.out == "" and "There is no job file at" in printed.err and "Traceback" not in printed.err


def test_new_never_overwrites(tmp_path, capsys):
    path = tmp_path / "job.toml"
    path.write_text("mine")
    assert run_guarded(["new", str(path)]) == 2
    assert path.read_text() == "mine" and "exists already" in capsys.readouterr().err


def test_an_unknown_command_is_status_2(capsys):
    assert run_guarded(["nonsense"]) == 2
    assert "nonsense" in capsys.readouterr().err


def test_the_unexpected_is_one_sentence_with_a_log_and_status_3(monkeypatch, tmp_path, capsys):
    def broken(_path):
        raise ZeroDivisionError("x")

    monkeypatch.setattr(commands, "_job", broken)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    assert run_guarded(["check", "any.toml"]) == 3
    assert "ZeroDivisionError" in capsys.readouterr().err
    assert "Traceback" in next(tmp_path.glob("airtrim-*.log")).read_text()


def test_an_airtrim_error_is_its_own_sentence(monkeypatch, capsys):
    def refused(_path):
        raise JobError("The job has no house.")

    monkeypatch.setattr(commands, "_job", refused)
    assert run_guarded(["check", "any.toml"]) == 2
    assert capsys.readouterr().err == "The job has no house.\n"
