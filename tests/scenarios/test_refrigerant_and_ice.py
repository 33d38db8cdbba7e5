"""S05 to S07: a starved coil, a coil in ice, a dirty coil. Every case is `secondary`: retold from forums [common-practice]."""

from functools import lru_cache

import pytest

from airtrim.cli.failures import run_guarded
from airtrim.core.errors import JobError
from airtrim.job.measured import Measured
from airtrim.report.readings import lines
from airtrim.report.site_steps import site_step_lines
from airtrim.work.findings.explain import explanations, fit_faults
from airtrim.work.findings.faults import AIRFLOW, FAULTS
from airtrim.work.findings.find import child_seed, find, return_leak_ends
from airtrim.work.findings.observed import observed
from airtrim.work.readings import SEA_LEVEL_PA, read_job
from tests.scenarios.cases import FOLDER, answers_of, job_of, point_ids, said, step_ids, steps_of, weather_of

F = 1.0 / 1.8
IN_WC = 249.0889
GROUPS = {one.explanation: one.group for one in FAULTS}


@lru_cache
def explained_of(case):
    """The explanations of a case that has no airflow yet, by a quick fit."""
    job = job_of(case)

    def child(purpose):
        return child_seed(1, purpose)

    fitted = fit_faults(job, observed(job, SEA_LEVEL_PA), return_leak_ends(job), 1.2, 128, child)
    return explanations(fitted, child)


def with_reading(case, **changes):
    """The readings' answers with one reading changed."""
    job = job_of(case)
    return read_job(job.model_copy(update={"readings": [job.readings[0].model_copy(update=changes)]}))


def line(fahrenheit):
    return Measured(text=f"{fahrenheit} F", si=(fahrenheit - 32.0) * F, unit="degC")


def test_s05_low_suction_with_low_superheat_stops_and_sends_to_the_air():
    """50 psig of R-22 is 26 F, where 41 F belongs; superheat 1 F: flooding, so the coil is starved or in ice."""
    told = point_ids(answers_of("S05"))
    assert told[:3] == ["stop.superheat", "stop.coil_freezing", "stop.starved"]
    assert "low_suction_starved" in told and "airflow_before_charge" in told
    assert answers_of("S05")["points"][0]["verdicts"]["superheat"] == "low"


def test_s05_no_line_of_it_says_that_refrigerant_is_added():
    spoken = [one for one in said("S05").splitlines() if "add refrigerant" in one or "refrigerant is added" in one]
    assert spoken and all("not add" in one or "no refrigerant" in one for one in spoken)


def test_s05_an_airflow_explanation_is_first_and_undercharge_is_none():
    told = explained_of("S05")
    chances = {one["id"]: one["probability"] for one in told["list"]}
    assert GROUPS[told["list"][0]["id"]] == AIRFLOW
    assert chances["undercharge"] < 0.10
    assert sum(chance for name, chance in chances.items() if GROUPS[name] == AIRFLOW) > 0.5
    assert told["answer"] != "undercharge"


def test_s05_the_same_suction_with_high_superheat_is_another_case():
    """Low charge gives high superheat on an orifice [secondary, two sources]: no flooding, and airflow still comes first."""
    told = point_ids(with_reading("S05", suction_line=line(66.0)))
    assert "low_suction_underfed" in told and "airflow_before_charge" in told
    assert not {"stop.superheat", "stop.starved", "low_suction_starved"} & set(told)


def test_s05_a_usual_suction_is_not_called_starved():
    """41 F with a superheat near the chart's."""
    usual = Measured(text="70 psi", si=70.0 * 6894.757, unit="Pa")
    told = point_ids(with_reading("S05", suction_pressure=usual, suction_line=line(56.0)))
    assert not [one for one in told if one.startswith(("stop.", "low_suction"))]


def test_s05_the_plan_asks_for_the_airflow_before_anything_is_computed():
    with pytest.raises(JobError, match="airflow is not known"):
        find(job_of("S05"), weather_of(job_of("S05")), count=2)


@pytest.mark.parametrize(("case", "last"), [("S05", "the airflow is not known"), ("S06", "the coil was in ice")])
def test_s05_and_s06_a_plan_that_is_refused_still_tells_what_comes_first(case, last, tmp_path, capsys):
    assert run_guarded(["plan", str(FOLDER / "jobs" / f"{case}.toml"), "--out", str(tmp_path)]) == 2
    told = capsys.readouterr().err
    assert told.lstrip().startswith("STOP: ")
    assert told.rindex("STOP: ") < told.index(last)
    assert ("System off at the thermostat" in told) is (case == "S06")


def test_s06_it_is_thawed_first_with_the_time_to_look_again():
    answers = answers_of("S06")
    assert "stop.frost" in point_ids(answers)
    assert step_ids(answers, "thaw") == ["off", "no_force", "pan", "look_from", "bare", "causes", "charge_last"]
    # half an hour after 13:10 at the soonest
    assert steps_of(answers, "thaw")[3]["values"] == {"time": "13:40", "day": "2026-07-14"}
    text = "\n".join(site_step_lines(answers))
    for word in ("System off", "fan ON", "heat off", "Watch pan", "suction line are bare", "drained"):
        assert word in text
    places = [text.index(word) for word in ("filter,", "dirt", "static pressure", "airflow", "Charge, restriction")]
    assert places == sorted(places)


def test_s06_nothing_is_figured_from_a_coil_in_ice():
    answers = answers_of("S06")
    point = answers["points"][0]
    assert point["figures"] == [] and point["verdicts"] == {} and answers["airflow"]["figures"] == []
    assert "held.frosted" in point_ids(answers)
    job = job_of("S06")
    assert observed(job, SEA_LEVEL_PA).rows == ()
    with pytest.raises(JobError, match="in ice at every cooling reading"):
        find(job, weather_of(job), count=2)


@pytest.mark.parametrize(
    ("coil", "time", "held"),
    [
        ("unknown", "2026-07-14 16:00", "not_seen_bare"),
        ("wet", "2026-07-14 13:30", "too_soon"),
        ("frosted", "2026-07-14 16:00", "frosted"),
        ("wet", "2026-07-14 16:00", ""),
        ("dry", None, ""),
    ],
)
def test_s06_readings_are_held_back_until_the_coil_was_seen_bare(coil, time, held):
    job = job_of("S06")
    later = job.readings[0].model_copy(update={"coil": coil, "time": time, "id": None})
    answers = read_job(job.model_copy(update={"readings": [job.readings[0], later]}))
    told = [one for one in point_ids(answers, 2) if one.startswith("held.")]
    assert told == ([f"held.{held}"] if held else [])
    assert bool(answers["points"][1]["figures"]) is (held == "")
    assert bool(answers["airflow"]["figures"]) is (held == "")
    assert bool(answers["site_steps"]) is (held != "")


def test_s07_the_coil_is_the_restriction_and_is_cleaned_and_read_again():
    """A coil above 0.50 in w.c. is suspect; usual is 0.10 to 0.35 dry [secondary]."""
    answers = answers_of("S07")
    point = answers["points"][0]
    assert point["restriction"] == "coil"
    told = point_ids(answers)
    assert told.index("coil_suspect") < told.index("coil_clean_and_read")
    assert "maker's curve" in said("S07")


def test_s07_the_budget_shows_every_part_and_that_the_coil_was_dry():
    drops = {one["id"]: one["mid"] / IN_WC for one in answers_of("S07")["points"][0]["figures"]}
    expected = {"return_duct_drop": 0.08, "filter_drop": 0.10, "coil_drop": 0.67, "supply_duct_drop": 0.09}
    for name, drop in expected.items():
        assert drops[name] == pytest.approx(drop, abs=0.005)
    text = said("S07")
    for part in ("Return duct drop", "Filter drop", "Coil drop", "Supply duct drop"):
        assert f"{part} (dry)" in text
    wet = "\n".join(lines(with_reading("S07", coil="wet", operation="cooling")))
    assert "Coil drop (wet)" in wet and "(dry)" not in wet
