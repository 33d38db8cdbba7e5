"""The command that adds a place."""

import pytest

from airtrim.cli.failures import run_guarded
from airtrim.job import new_job_text
from airtrim.weather.files import embedded_path

MIAMI = str(embedded_path("miami-fl"))


@pytest.fixture(autouse=True)
def own_folder(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    return tmp_path / "data" / "airtrim" / "places"


def test_a_place_is_added_and_a_job_there_needs_its_name_only(own_folder, tmp_path, capsys):
    assert run_guarded(["place", MIAMI, "--name", "Summerfield, NC"]) == 0
    said = capsys.readouterr().out
    assert "Added Summerfield, NC: warmest month 8" in said and 'place = "Summerfield, NC"' in said
    assert (own_folder / "summerfield-nc.json").is_file()
    path = tmp_path / "job.toml"
    path.write_text(new_job_text().replace("Greensboro, NC", "Summerfield, NC"))
    assert run_guarded(["check", str(path)]) == 0
    assert "Summerfield, NC was found among the places you added." in capsys.readouterr().out


def test_a_second_time_needs_replace(capsys):
    assert run_guarded(["place", MIAMI]) == 0
    assert run_guarded(["place", MIAMI]) == 2
    assert "Miami, FL was added already" in capsys.readouterr().err
    assert run_guarded(["place", MIAMI, "--replace"]) == 0


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [(["nothing.epw"], "does not exist"), ([MIAMI, "--name", "Summerfield"], "does not tell town and state")],
)
def test_what_cannot_be_added_is_one_sentence(arguments, sentence, own_folder, capsys):
    assert run_guarded(["place", *arguments]) == 2
    printed = capsys.readouterr()
    assert sentence in printed.err and printed.out == "" and not own_folder.exists()
