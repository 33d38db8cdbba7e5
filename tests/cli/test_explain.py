"""`airtrim explain`: the list, one figure, a wrong id, a plan that is at hand."""

import json

import pytest

from airtrim.cli import explaining
from airtrim.cli.failures import run_guarded
from airtrim.job import load_job
from airtrim.report.workings import appendix, taken_rows
from airtrim.work.plan import hash_of
from tests.plans import EXAMPLE, demo_result


@pytest.fixture
def papers(tmp_path):
    """A folder with the plan of the example job."""
    result = demo_result()
    assert result["input_hash"] == hash_of(load_job(EXAMPLE))  # else nothing here would be found
    (tmp_path / "result.json").write_text(json.dumps(result))
    return tmp_path


def test_a_reading_is_explained_without_a_fit_or_a_year(monkeypatch, tmp_path, capsys):
    monkeypatch.setattr(explaining, "_quick", lambda *_: pytest.fail("nothing is fitted for a reading"))
    assert run_guarded(["explain", str(EXAMPLE), "reading.1.superheat", "--plan", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert said.startswith("Superheat, reading 1: ")
    for part in ("suction line − saturated suction", "60.0 °F  (15.5556 °C)", "It gives", "Source: "):
        assert part in said
    assert run_guarded(["explain", str(EXAMPLE), "reading.1.superheat", "--units", "si", "--plan", str(tmp_path)]) == 0
    assert "°F" not in capsys.readouterr().out


def test_all_figures_are_listed_and_each_listed_id_is_explained(papers, capsys):
    assert run_guarded(["explain", str(EXAMPLE), "--plan", str(papers)]) == 0
    lines = capsys.readouterr().out.splitlines()
    ids = [line.split()[0] for line in lines[1:]]
    assert {"airflow", "reading.1.superheat", "finding.total_capacity"} < set(ids)
    assert any(one.startswith("option.") for one in ids) and any(one.startswith("setting.") for one in ids)
    for one in ids[:: max(1, len(ids) // 25)]:
        assert run_guarded(["explain", str(EXAMPLE), one, "--plan", str(papers)]) == 0
    assert "Source: " in capsys.readouterr().out


@pytest.mark.parametrize(
    ("wrong", "near"),
    [("superheet", "reading.1.superheat"), ("reading.1.superheats", "reading.1.superheat"), ("qqqq", "")],
)
def test_a_wrong_id_is_one_sentence_with_near_ones(wrong, near, papers, capsys):
    assert run_guarded(["explain", str(EXAMPLE), wrong, "--plan", str(papers)]) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1 and f"{wrong} is no figure of this job" in said and near in said


def test_a_plan_of_another_job_is_not_used(papers):
    result = json.loads((papers / "result.json").read_text())
    job = load_job(EXAMPLE)
    assert explaining._kept(papers / "result.json", job)
    for text in (json.dumps(result | {"input_hash": "0"}), json.dumps(result | {"airtrim_version": "0"}), "{", "[]"):
        (papers / "result.json").write_text(text)
        assert explaining._kept(papers / "result.json", job) is None


def test_json_is_one_working(papers, capsys):
    assert run_guarded(["explain", str(EXAMPLE), "airflow", "--json", "--plan", str(papers)]) == 0
    one = json.loads(capsys.readouterr().out)
    assert one["formula"] and one["inputs"] and one["source"]


def test_the_papers_show_the_same_records():
    result = demo_result()
    shown = appendix(result)
    rows = [row for group in shown["groups"] for row in group["rows"]]
    read = [one for one in result["workings"] if one["id"].split(".")[0] not in ("option", "setting")]
    plain = [one for one in read if one.get("formula") in [given["name"] for given in one["inputs"]]]
    assert len(rows) == len([one for one in read if not one["id"].startswith("finding.chance.")]) - len(plain)
    assert all(1 <= row["source"] <= len(shown["sources"]) for row in rows)


def test_readings_stand_with_range_and_instrument():
    result = demo_result()
    [reading] = taken_rows(result)
    rows = {row[0]: row[1:] for row in reading["rows"]}
    # the example's instruments are not listed: 1.3 F and 0.1 % at the thermometer [title24ra3], rectangular, and its place
    value, ends, instrument = rows["Return dry-bulb"]
    assert value == "75.0 F" and instrument == "(thermometer)" and ends.endswith(" F")
    low, high = (float(part) for part in ends.removesuffix(" F").split(" to "))
    assert 1.2 < (high - low) / 2.0 < 1.6
    assert rows["Airflow"][1:] == ["1,363 to 1,537 cfm", "as stated"]
    assert rows["Condensate: water caught"][2] == "(bucket and watch)"
    assert any("580 cfm/ton" in one for one in reading["questions"])
