"""Exit status and messages of the command line."""

import json
import re
from pathlib import Path

import pytest

from airtrim.cli import commands
from airtrim.cli.failures import run_guarded
from airtrim.core.errors import JobError
from airtrim.job import new_job_text
from tests.plans import EXAMPLE, demo_result


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


@pytest.fixture
def computed(monkeypatch):
    """Commands compute on few systems; the number itself is checked in tests/work."""
    monkeypatch.setattr(commands, "_computed", lambda *_: demo_result())


def test_new_then_check_is_a_job_that_can_be_computed(tmp_path, capsys):
    path = tmp_path / "job.toml"
    assert run_guarded(["new", str(path)]) == 0
    assert run_guarded(["check", str(path), "--json"]) == 0
    lines = capsys.readouterr().out.splitlines()
    said = "Greensboro Piedmont Triad Int, NC, found by its name, stands in for Greensboro, NC."
    assert json.loads(lines[-1]) == {"usable": True, "remarks": [said]}


def test_plan_writes_papers_result_map_and_a_job_with_identities(computed, tmp_path, capsys):
    job = tmp_path / "mine.toml"
    job.write_text("\n".join(line for line in new_job_text().splitlines() if not line.startswith("id =")))
    out = tmp_path / "papers"
    assert run_guarded(["plan", str(job), "--out", str(out)]) == 0
    assert {path.name for path in out.iterdir()} == {"report.pdf", "result.json", "airflow-map.svg", "job.toml"}
    assert (out / "report.pdf").read_bytes().startswith(b"%PDF")
    assert json.loads((out / "result.json").read_text())["recommendation"]["option"]
    assert re.search(r'^id = "[0-9a-f-]{36}"$', (out / "job.toml").read_text(), re.MULTILINE)
    screen = capsys.readouterr().out.splitlines()
    assert len(screen) <= 44 and max(len(line) for line in screen[:-1]) <= 100  # the last one holds the folder
    assert any(line.startswith("Recommended: ") for line in screen)


@pytest.mark.parametrize("command", ["plan", "map"])
def test_json_goes_to_standard_output_alone(command, computed, tmp_path, capsys):
    assert run_guarded([command, str(EXAMPLE), "--out", str(tmp_path / "o"), "--json"]) == 0
    read = json.loads(capsys.readouterr().out)
    assert ("recommendation" in read) if command == "plan" else ("series" in read)


def test_map_writes_a_picture_whose_sentence_is_its_answer(computed, tmp_path, capsys):
    path = tmp_path / "map.svg"
    assert run_guarded(["map", str(EXAMPLE), "--out", str(path), "--units", "si"]) == 0
    assert path.read_text().startswith("<svg")
    printed = capsys.readouterr().out
    assert re.search(r"^\d+ L/s dries best within the limits\.$", printed, re.MULTILINE)
    assert "Sensible heat ratio, %" in printed
    assert path.with_name("map-detail.svg").read_text().startswith("<svg")


def test_schema_is_json(capsys):
    assert run_guarded(["schema"]) == 0
    assert json.loads(capsys.readouterr().out)["$defs"]["House"]["required"]


BROKEN_JOBS = [
    ('"3 tons"', '"3"', "needs a number and a unit"),
    ("[house]", "[house", "is not readable TOML"),
    ("[weather]", '[weather]\nfile = "nowhere.epw"', "Weather file nowhere.epw does not exist"),
    ("Greensboro, NC", "Nowhere, NC", "No station of the table begins with the name of Nowhere, NC"),
    ('airflow = "1200 cfm"', 'total_external_static = "0.5 inH2O"', "static pressure 0.5 inH2O alone gives no airflow"),
    ('"1650 ft2"', '"40 ft2"', "must lie in"),
]


@pytest.mark.parametrize(("good", "bad", "sentence"), BROKEN_JOBS)
def test_what_cannot_be_computed_is_one_sentence_and_leaves_nothing_behind(good, bad, sentence, tmp_path, capsys):
    path, out = tmp_path / "job.toml", tmp_path / "papers"
    path.write_text(new_job_text().replace(good, bad, 1))
    assert run_guarded(["plan", str(path), "--out", str(out)]) == 2
    printed = capsys.readouterr()
    assert sentence in printed.err and "Traceback" not in printed.err and len(printed.err.strip().splitlines()) == 1
    assert printed.out == "" and not out.exists()


def test_a_truncated_weather_file_is_named(tmp_path, capsys):
    import pvlib

    whole = (Path(pvlib.__file__).parent / "data" / "723170TYA.CSV").read_text().splitlines()
    (tmp_path / "cut.csv").write_text("\n".join(whole[:4000]))
    path = tmp_path / "job.toml"
    path.write_text(new_job_text().replace("[weather]", f'[weather]\nfile = "{tmp_path / "cut.csv"}"'))
    assert run_guarded(["plan", str(path), "--out", str(tmp_path / "papers")]) == 2
    assert "cut.csv" in capsys.readouterr().err
