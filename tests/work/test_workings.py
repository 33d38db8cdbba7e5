"""The work behind a plan's figures: each has its working, formulas give the figures, methods and sources have words."""

import re
from pathlib import Path

import pytest

from airtrim.report.sentences import sentence
from airtrim.report.words import catalogue
from airtrim.report.workings import name_of, working_lines
from airtrim.work.findings.reconciled import airflow_reconciled
from airtrim.work.readings.working import evaluated
from airtrim.work.workings import findings_workings, options_workings
from tests.plans import demo_result, drive_result
from tests.work.readings.readings_cases import CFM, job_with

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("make", [demo_result, drive_result])
def test_every_figure_of_a_plan_has_its_working(make):
    result = make()
    wanted = {f"finding.{one['id']}" for one in result["findings"]["figures"] if "mid" in one}
    for option in result["options"]:
        name = f"option.{option['id']}"
        wanted |= {f"{name}.{one['id']}" for one in option["figures"] if "mid" in one}
        wanted |= {f"{name}.against_now.{one['id']}" for one in option["differences"] if "mid" in one}
        wanted |= {f"{name}.limit.{one['id']}" for one in option["limits"] if one["figure"] and "mid" in one["figure"]}
    wanted |= {f"setting.{row['id']}" for row in result["settings"]["card"] if not isinstance(row["value"], str)}
    wanted |= {f"setting.expected.{one['id']}" for one in result["settings"]["expected"] if "mid" in one}
    made = {one["id"]: one for one in result["workings"]}
    assert wanted - made.keys() == set()
    assert len(made) == len(result["workings"])


@pytest.mark.parametrize("make", [demo_result, drive_result])
def test_formulas_give_the_figures_and_everything_has_words(make):
    text = (ROOT / "REFERENCES.bib").read_text()
    closed = set()
    for one in make()["workings"]:
        assert f"{{{one['source']}," in text and f"working.source.{one['source']}" in catalogue(), one["source"]
        assert name_of(one) and working_lines(one) and working_lines(one, "si")
        if "formula" in one:
            closed.add(one["id"])
            assert evaluated(one) == pytest.approx(one["figure"]["mid"], rel=1e-9), one["id"]
            for given in one["inputs"]:
                assert re.search(rf"\b{given['name']}\b", one["formula"])
        else:
            assert one["method"] in catalogue()
    assert {"finding.airflow_per_ton", "finding.filter_velocity"} < closed


def test_what_a_person_computes_from_the_printed_si_values_is_the_printed_figure():
    """The inputs as printed, to six figures, through the printed formula."""
    for one in demo_result()["workings"]:
        if "formula" not in one or any(isinstance(given["value"], str) for given in one["inputs"]):
            continue
        lines = working_lines(one)
        printed = [re.search(r"\(([-\d.e+]+)[^()]*\)$", line) for line in lines if line.startswith("    ")]
        values = [float(found.group(1)) for found in printed if found]
        assert len(values) == len(one["inputs"])
        again = one | {"inputs": [given | {"value": value} for given, value in zip(one["inputs"], values, strict=True)]}
        figure = one["figure"]
        near = max(2e-3 * abs(figure["mid"]), 0.05 * (figure["high"] - figure["low"]), 1e-9)
        assert evaluated(again) == pytest.approx(figure["mid"], abs=near), one["id"]


def test_the_settings_airflow_is_a_part_of_full_airflow():
    made = {one["id"]: one for one in drive_result()["workings"]}
    assert "formula" in made["setting.least_airflow"]


def test_present_value_by_hand():
    """USD 100 a year for 10 years at 3 % are 853.02 today (NIST Handbook 135, from-memory: UPV factor 8.530)."""
    option = {
        "id": "x",
        "figures": [
            {"id": "first_cost", "low": 500.0, "mid": 500.0, "high": 500.0, "unit": "USD"},
            {"id": "net_present_value", "low": 0.0, "mid": 353.02, "high": 500.0, "unit": "USD"},
        ],
        "differences": [{"id": "bill", "low": -150.0, "mid": -100.0, "high": -50.0, "unit": "USD a year"}],
        "limits": [],
    }
    result = {"options": [option], "systems": 4, "terms": {"rate": 0.03, "years": 10}}
    made = {one["id"]: one for one in options_workings(result, job_with())}
    assert evaluated(made["option.x.net_present_value"]) == pytest.approx(353.02, abs=0.01)


def test_a_return_duct_gain_is_worked_from_the_reading_that_has_both():
    job = job_with('return_dry_bulb = "75 F"', 'return_dry_bulb = "76 F"\ngrille_dry_bulb = "74 F"\ntap = 2')
    figure = {"id": "return_duct_gain", "low": 0.0, "mid": 2.0 / 1.8, "high": 2.0, "unit": "K"}
    flow = {"id": "airflow", "low": 0.4, "mid": 0.5, "high": 0.6, "unit": "m3/s"}
    made = findings_workings(job, {"figures": [flow, figure]}, (23.9, 0.52, 29.0), 4)
    assert evaluated(made[1]) == pytest.approx(2.0 / 1.8)


def airflow(cfm, part=0.05):
    return {
        "id": "airflow",
        "low": cfm * CFM * (1 - part),
        "mid": cfm * CFM,
        "high": cfm * CFM * (1 + part),
        "unit": "m3/s",
    }


@pytest.mark.parametrize(
    ("fitted", "told"),
    [(1204.0, []), (1150.0, ["finding.airflow_reconciled"]), (900.0, ["finding.airflow_apart"])],
)
def test_airflow_as_read_is_set_beside_the_fitted_one(fitted, told):
    read = {"airflow": {"figures": [airflow(1200.0)]}}
    made = airflow_reconciled(read, [airflow(fitted)])
    assert [one["id"] for one in made] == told
    for one in made:
        said = sentence(one)
        assert "as read 1,200 cfm" in said and f"{fitted:,.0f} cfm (" in said
    assert airflow_reconciled({"airflow": {"figures": []}}, [airflow(fitted)]) == []
