"""The list of cases is whole: each has its job, a status, and tests that name it; the documents' table is made from it."""

import re

import pytest

from airtrim.report.words import known
from tests.scenarios.cases import FOLDER, answers_of, job_of, listed

IDS = [f"S{number:02d}" for number in range(1, 18)]


def test_all_seventeen_are_listed_once_as_secondary():
    assert [one["id"] for one in listed()] == IDS
    assert {one["status"] for one in listed()} == {"secondary"}
    assert all(one["met"] == "whole" or (one["met"] == "part" and one["lacks"]) for one in listed())


@pytest.mark.parametrize("case", IDS)
def test_each_has_a_job_that_names_it_and_tests_of_its_own(case):
    head = (FOLDER / "jobs" / f"{case}.toml").read_text(encoding="utf-8").splitlines()[0]
    assert head.startswith(f"# {case}, secondary: ")
    assert job_of(case).complaint.kinds
    names = next(one["tests"] for one in listed() if one["id"] == case)
    text = "".join((FOLDER / name).read_text(encoding="utf-8") for name in names)
    assert len(re.findall(rf"^def test_{case.lower()}_", text, re.MULTILINE)) >= 2


@pytest.mark.parametrize("case", IDS)
def test_every_step_and_reason_has_its_words(case):
    for one in answers_of(case)["site_steps"]:
        assert known(f"site.name.{one['id']}")
        assert all(known(step["id"]) for step in [one["because"], *one["steps"]])
