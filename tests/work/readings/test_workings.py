"""Show your work: the formula shown, at the inputs shown, gives the figure shown; for every figure of every way of reading."""

import re
from pathlib import Path

import pytest

from airtrim.core.errors import InputError
from airtrim.report.words import catalogue
from airtrim.work.readings import read_job
from airtrim.work.readings.working import evaluated, working
from tests.work.readings.readings_cases import CFM, FAN_TABLE, job_with
from tests.work.readings.test_answers import BLOWER, FULL, SYSTEM, every_figure, full_job

ROOT = Path(__file__).resolve().parents[3]
TRAVERSE = (
    'traverses = [{shape = "round", diameter = "14 in", place = "return", rule = "log_linear", '
    'velocities = [["900 fpm", "1000 fpm", "1050 fpm", "1040 fpm", "990 fpm", "910 fpm"], '
    '["920 fpm", "1010 fpm", "1060 fpm", "1050 fpm", "1000 fpm", "915 fpm"]]}]\n'
)
HEATED = """operation = "heating"
tap = 2
return_dry_bulb = "70 F"
supply_dry_bulbs = ["94 F", "95 F", "96 F"]
strip_circuits = [{volts = "236 V", amps = "20 A"}, {volts = "235 V", amps = "19.5 A"}]
static_supply = "0.25 inH2O"
static_before_filter = "-0.2 inH2O"
"""
GAS = """operation = "heating"
return_dry_bulb = "70 F"
supply_dry_bulb = "118 F"
gas = {volume = "2 ft3", time = "93 s"}
static_before_coil = "0.55 inH2O"
static_supply = "0.20 inH2O"
static_after_filter = "-0.3 inH2O"
"""
TWO_TAPS = FAN_TABLE + FAN_TABLE.replace("tap = 1", "tap = 2").replace("1460", "1300").replace("1180", "1050").replace(
    "0.4 inH2O", "0.3 inH2O"
)
PROBES = """return_dry_bulb = "76 F"
return_relative_humidity = "55 %"
supply_dry_bulb = "58 F"
supply_place = "register"
airflow = "1100 cfm"
airflow_is = "standard"
saturated_suction = "42 F"
superheat = "12 F"
coil = "dry"
plate = {drop = "40 Pa", open_area = "1.5 ft2"}
blower_volts = "238 V"
blower_amps = "2.6 A"
outdoor_dry_bulb = "90 F"
"""
JOBS = {
    "full": full_job,
    "traverse": lambda: job_with(FULL + TRAVERSE, system=SYSTEM, blower=BLOWER, more=FAN_TABLE),
    "static by ports": lambda: job_with(re.sub("total_external_static.*\n|static_after_coil.*\n", "", FULL), system=SYSTEM),
    "no airflow": lambda: job_with('return_dry_bulb = "76 F"\nsupply_dry_bulb = "58 F"\nreturn_wet_bulb = "64 F"\n'),
    "strips and another tap": lambda: job_with(FULL, HEATED, system=SYSTEM, more=TWO_TAPS),
    "furnace": lambda: job_with(GAS, heat="furnace"),
    "probes": lambda: job_with(PROBES),
    "valve": lambda: job_with(FULL, system=SYSTEM.replace("fixed_orifice", "expansion_valve")),
}  # fmt: skip


@pytest.mark.parametrize("name", JOBS)
def test_the_formula_at_its_inputs_gives_the_figure(name):
    workings = read_job(JOBS[name]())["workings"]
    assert workings
    for one in workings:
        if "formula" in one:
            assert evaluated(one) == pytest.approx(one["figure"]["mid"], rel=1e-9, abs=1e-9), one["id"]


@pytest.mark.parametrize("name", JOBS)
def test_every_figure_has_its_working_once(name):
    answers = read_job(JOBS[name]())
    shown = [one["figure"]["id"] for one in answers["workings"]]
    assert sorted(shown) == sorted(one["id"] for one in every_figure(answers) if "mid" in one)
    identities = [one["id"] for one in answers["workings"]]
    assert len(set(identities)) == len(identities)


def test_all_ways_were_met():
    met = {one["id"].split(".")[-1] for make in JOBS.values() for one in read_job(make())["workings"]}
    ways = {name.removeprefix("reading.way.") for name in catalogue() if name.startswith("reading.way.")}
    assert ways - met == set()


def test_every_input_has_a_unit_every_source_an_entry_and_every_input_is_used():
    text = (ROOT / "REFERENCES.bib").read_text()
    for make in JOBS.values():
        for one in read_job(make())["workings"]:
            assert f"{{{one['source']}," in text, one["source"]
            for given in one["inputs"]:
                assert given["unit"] or isinstance(given["value"], str), (one["id"], given)
                assert re.search(rf"\b{given['name']}\b", one.get("formula", given["name"])), (one["id"], given)


def test_a_figure_worked_by_hand():
    """1100 cfm of standard air and a split of 18 F: 1.08 x cfm x dT [common-practice] to its two figures."""
    one = next(one for one in read_job(JOBS["probes"]())["workings"] if one["id"] == "airflow_by.1.stated")
    assert one["figure"]["mid"] == pytest.approx(1100 * CFM * 1.2013848 * dict(
        (given["name"], given["value"]) for given in one["inputs"])["volume_at_coil"])  # fmt: skip
    made = working("x", {"id": "x", "mid": 0.0}, "1.08 * airflow * (warm - cold)", "common-practice",
                   {"airflow": (1200.0, "cfm"), "warm": (75.0, "F"), "cold": (57.0, "F")})  # fmt: skip
    assert evaluated(made) == pytest.approx(23328.0)


@pytest.mark.parametrize("formula", ["airflow / size", "open(airflow)", "airflow.real", "airflow if 1 else 2"])
def test_a_formula_with_more_than_its_inputs_is_one_sentence(formula):
    with pytest.raises(InputError, match="not among its inputs"):
        evaluated(working("x", {"id": "x"}, formula, "common-practice", {"airflow": (1.0, "m3/s")}))
