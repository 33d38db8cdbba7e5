"""The document as a whole, any subset of readings, instruments, bad input, words and the command."""

import json
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from airtrim.cli.failures import run_guarded
from airtrim.core.errors import JobError
from airtrim.job import job_text, load_job, parse_job
from airtrim.job.instruments import CLASSES, KIND_OF, accuracy_of
from airtrim.job.readings import Readings
from airtrim.report.readings import lines
from airtrim.report.units import value_text
from airtrim.report.words import catalogue, fields
from airtrim.work.readings import read_job
from tests.work.readings.readings_cases import FAN_TABLE, ids, job_with

ROOT = Path(__file__).resolve().parents[3]
FULL = """coil = "wet"
time = "2026-07-14 15:20"
running_for = "25 min"
airflow = "1200 cfm"
airflow_uncertainty = "8 %"
blower_speed = "1050 rpm"
static_before_filter = "-0.18 inH2O"
static_after_filter = "-0.42 inH2O"
static_after_coil = "-0.74 inH2O"
static_supply = "0.19 inH2O"
total_external_static = "0.61 inH2O"
closed_doors_static = "0.70 inH2O"
return_dry_bulb = "75.5 F"
return_wet_bulb = "64.5 F"
grille_dry_bulb = "75 F"
grille_wet_bulb = "64 F"
supply_dry_bulb = "57.2 F"
supply_wet_bulb = "55.6 F"
outdoor_dry_bulb = "86 F"
suction_pressure = "121 psi"
liquid_pressure = "300 psi"
suction_line = "55 F"
liquid_line = "86 F"
blower_power = "545 W"
blower_volts = "238 V"
blower_amps = "2.6 A"
power_factor = "88 %"
capacitor_volts = "388 V"
capacitor_amps = "0.98 A"
known_point = {airflow = "1250 cfm", speed = "1075 rpm", static = "0.65 inH2O"}
plate = {drop = "40 Pa", airflow_at_1_pa = "190 cfm", supply_static_with = "45 Pa", supply_static_without = "47 Pa"}
matching = {fan_airflow = "1180 cfm", reached = "46 Pa", wanted = "47 Pa"}
condensate = {volume = "0.35 gal", time = "20 min"}
rooms = [{name = "bedroom", pressure = "6 Pa", supply = "90 cfm"}, {name = "den", pressure = "8 Pa"}]
grilles = [{name = "hall", side = "return", airflow = "1100 cfm"}, {name = "all", side = "supply", airflow = "1050 cfm"}]
log = [{at = "0 min", supply_dry_bulb = "62 F"}, {at = "9 min", supply_dry_bulb = "57.3 F"}]
"""
SYSTEM = 'refrigerant = "R-410A"\nmetering_device = "fixed_orifice"\nplate_subcooling = "10 F"'
BLOWER = 'nameplate_amps = "4.3 A"\nnameplate_volts = "240 V"\nrun_capacitor = "7.5 uF"'


def full_job():
    return job_with(FULL, system=SYSTEM, blower=BLOWER, more=FAN_TABLE)


def every_figure(answers):
    yield from answers["airflow"]["figures"]
    yield from (way["figure"] for way in answers["airflow"]["ways"] if "figure" in way)
    for point in answers["points"]:
        yield from point["figures"]


def test_figures_are_finite_ordered_and_have_a_unit():
    answers = read_job(full_job())
    assert json.loads(json.dumps(answers, allow_nan=False)) == answers
    found = list(every_figure(answers))
    assert len(found) > 45
    for one in found:
        assert one["low"] <= one["mid"] <= one["high"] and one["unit"], one


@pytest.mark.parametrize(
    ("value", "unit", "system", "text"),
    [
        (0.0111658, "kg/kg", "inch_pound", "78.0 gr/lb"),
        (55306.0, "J/kg", "inch_pound", "31.5 Btu/lb"),  # 80/67 F: h 31.45 [field formulas], 55.306 kJ/kg (PsychroLib)
        (55306.0, "J/kg", "si", "55.3 kJ/kg"),
        (1059.44, "W/(m3/s)", "inch_pound", "0.50 W/cfm"),
    ],
)
def test_moisture_and_enthalpy_in_the_trades_units(value, unit, system, text):
    assert value_text(value, unit, system) == text


def test_ten_ways_are_joined_and_narrower_than_the_best_alone():
    ways = read_job(full_job())["airflow"]
    used = [way for way in ways["ways"] if way["weight"] > 0.0]
    assert len(ways["ways"]) == 10 and sum(way["weight"] for way in used) == pytest.approx(1.0)
    width = [way["figure"]["high"] / way["figure"]["low"] for way in ways["ways"]]
    assert ways["figures"][0]["high"] / ways["figures"][0]["low"] < min(width)
    for way in ways["ways"]:
        assert way["formula"] and way["source"] and way["inputs"] and way["largest"]


def test_any_subset_of_readings_works():
    """Half of a full set drawn at random, fifty times; and each reading alone."""
    rng = np.random.default_rng(2)
    rows = [line for line in FULL.splitlines() if line]
    chosen = [[row for row in rows if rng.random() < 0.5] for _ in range(50)] + [[row] for row in rows]
    for some in chosen:
        answers = read_job(job_with("\n".join(some), system=SYSTEM, blower=BLOWER, more=FAN_TABLE))
        json.dumps(answers, allow_nan=False)
        list(lines(answers))
    assert ids(read_job(job_with())["messages"]) == ["no_readings"]


@pytest.mark.parametrize("refrigerant", ["R-22", "R-32", "R-454B", "R-407C", "R-134a"])
def test_every_refrigerant_is_read(refrigerant):
    text = 'return_dry_bulb = "75 F"\nsuction_pressure = "60 psi"\nsuction_line = "60 F"\n'
    point = read_job(job_with(text, system=f'refrigerant = "{refrigerant}"'))["points"][0]
    assert any(one["id"] == "superheat" for one in point["figures"])


def test_pressures_off_the_refrigerants_table_are_no_traceback():
    text = 'suction_pressure = "-14.4 psi"\nliquid_pressure = "850 psi"\nsuction_line = "60 F"\nliquid_line = "90 F"\n'
    answers = read_job(job_with(text, system=SYSTEM))
    json.dumps(answers, allow_nan=False)
    assert ids(answers["points"][0]["messages"])[:2] == ["ask.off_refrigerant_table"] * 2
    list(lines(answers))


def test_the_examples_readings_have_answers():
    for path in (ROOT / "examples").glob("*/job.toml"):
        assert read_job(load_job(path))["airflow"]["figures"]


def test_a_job_written_out_again_reads_the_same():
    job = full_job()
    again = parse_job(job_text(job), "x.toml")
    assert again.readings == job.readings and again.instruments == job.instruments


@pytest.mark.parametrize(
    ("reading", "sentence"),
    [
        ('time = "yesterday"', r"needs a date and time such as \"2026-07-14 15:20\", got \"yesterday\""),
        (
            'log = [{at = "5 min", superheat = "8 F"}, {at = "5 min"}]',
            r"line \d+, readings.1.log: two rows stand at 5 min",
        ),
        ('log = [{at = "5 min"}, {at = "2 min"}]', r"2 min comes after 5 min; write the rows in the order of time"),
        ('supply_dry_bulb = "55 F"\nsupply_dry_bulbs = ["55 F"]', r"supply_dry_bulb is given as well"),
        (
            'traverses = [{shape = "round", width = "9 in", velocities = [["500 ft/min"]]}]',
            r"needs diameter inside; add diameter",
        ),
        ('traverses = [{shape = "round", diameter = "9 in"}]', r"give velocities or velocity_pressures"),
        ('grilles = [{name = "hall", side = "return", velocity = "400 fpm"}]', r"hall has no airflow"),
        ('plate = {drop = "40 Pa"}', r"give airflow_at_1_pa, or open_area"),
        (
            'plate = {drop = "40 Pa", open_area = "1 ft2", supply_static_with = "40 Pa"}',
            r"go together; add the other one",
        ),
        ('known_point = {airflow = "1200 cfm"}', r"scales to nothing; add its speed or its static"),
        ('suction_pressure = "120"', r"needs a number and a unit, such as \"130 psi\""),
        ('condensate = {volume = "0.3 gal", time = "20 F"}', r"must be convertible to s"),
        (
            'operation = "heating"\nreturn_dry_bulb = "70 F"\nsupply_dry_bulb = "60 F"',
            r"is not warmer than return 70 F",
        ),
    ],
)
def test_what_is_wrong_is_one_sentence(reading, sentence):
    with pytest.raises(JobError, match=sentence) as caught:
        job_with(reading)
    assert "\n" not in str(caught.value)


def test_readings_out_of_order_or_twice_are_one_sentence():
    first = 'time = "2026-07-14 15:20"\nsupply_dry_bulb = "57 F"\n'
    with pytest.raises(JobError, match=r"readings.2.time: 2026-07-14 15:10 lies before the reading above it"):
        job_with(first, first.replace("15:20", "15:10"))
    with pytest.raises(JobError, match=r"readings.2.time: supply_dry_bulb stand twice at 2026-07-14 15:20"):
        job_with(first, first)
    job_with(first, first.replace("supply_dry_bulb", "return_dry_bulb"))


INSTRUMENT = '\n[[instruments]]\nid = "blue"\nkind = "manometer"\n'


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        (INSTRUMENT + 'least = "0.2 F"\n', r"instruments.1.least: .*must be convertible to Pa"),
        (
            INSTRUMENT + 'used_for = ["static"]\n',
            r'instruments.1.used_for: "static" is no reading; use one of total_external',
        ),
        (
            INSTRUMENT + 'used_for = ["supply_dry_bulb"]\n',
            r"supply_dry_bulb is read with a thermometer, not with a manometer",
        ),
        (INSTRUMENT + INSTRUMENT, r'instruments.2.id: "blue" is listed twice'),
        (INSTRUMENT + 'last_checked = "May"\n', r'needs a day such as "2026-04-17", got "May"'),
        (
            INSTRUMENT + 'used_for = ["rooms"]\n' + INSTRUMENT.replace("blue", "red") + 'used_for = ["rooms"]\n',
            r"rooms is claimed by 2 instruments",
        ),
    ],
)
def test_a_wrong_instrument_is_one_sentence(more, sentence):
    with pytest.raises(JobError, match=sentence):
        job_with(FULL, more=more)


def test_accuracies_are_the_stated_defaults_and_can_be_changed():
    """Manometer the greater of 1 % and 0.2 Pa, thermometer 0.1 % + 1.3 F, gauges 3.5 and 7 psi [title24ra3]."""
    job = job_with()
    assert accuracy_of(job, "total_external_static", 10.0).limit == 0.2
    assert accuracy_of(job, "total_external_static", 100.0).limit == pytest.approx(1.0)
    assert accuracy_of(job, "supply_dry_bulb", 0.0).limit * 1.8 == pytest.approx(1.3)
    assert accuracy_of(job, "suction_pressure", 1e6).limit / 6894.757 == pytest.approx(3.5)
    assert accuracy_of(job, "liquid_pressure", 1e6).limit / 6894.757 == pytest.approx(7.0)
    own = job_with(more=INSTRUMENT + 'part_of_reading = "3 %"\n')
    assert accuracy_of(own, "total_external_static", 100.0).limit == pytest.approx(3.0)


def test_every_class_reads_something_and_has_a_source():
    text = (ROOT / "REFERENCES.bib").read_text()
    for kind, one in CLASSES.items():
        assert kind in set(KIND_OF.values()) | {"powered_hood"}
        assert f"{{{one.source}," in text
    for way in read_job(full_job())["airflow"]["ways"]:
        assert f"{{{way['source']}," in text, way["source"]


def test_the_instruments_behind_the_readings_are_listed():
    listed = {one["kind"]: one for one in read_job(job_with(FULL, more=INSTRUMENT))["instruments"]}
    assert listed["manometer"]["yours"] == ["blue"] and listed["thermometer"]["yours"] == []
    assert {"hood", "flow_plate", "calibrated_fan", "bucket", "wattmeter", "tachometer"} <= listed.keys()
    strip = read_job(job_with('strip_circuits = [{volts = "230 V", amps = "20 A"}]'))["instruments"]
    assert {one["kind"] for one in strip} == {"voltmeter", "clamp_meter"}


def test_an_instrument_long_unchecked_is_said():
    """Gauges monthly, thermometers yearly [title24ra3]."""
    gauge = '\n[[instruments]]\nid = "gauges"\nkind = "refrigerant_gauge"\nlast_checked = 2026-05-01\n'
    told = ids(read_job(job_with(FULL, system=SYSTEM, more=gauge))["points"][0]["messages"])
    assert "instrument_check_old" in told
    fresh = gauge.replace("05-01", "07-01")
    assert "instrument_check_old" not in ids(
        read_job(job_with(FULL, system=SYSTEM, more=fresh))["points"][0]["messages"]
    )
    never = gauge.replace("last_checked = 2026-05-01\n", "")
    assert "instrument_never_checked" in ids(
        read_job(job_with(FULL, system=SYSTEM, more=never))["points"][0]["messages"]
    )
    later = gauge.replace("05-01", "12-01")
    assert "ask.checked_later" in ids(read_job(job_with(FULL, system=SYSTEM, more=later))["points"][0]["messages"])


def test_every_message_named_in_the_room_has_its_words_and_its_values():
    sources = [path.read_text() for path in (ROOT / "src" / "airtrim" / "work" / "readings").glob("*.py")]
    named = set()
    for text in sources:
        named |= {f"reading.{one}" for one in re.findall(r'message\(\s*"([a-z_.]+)"', text)}
        named |= set(re.findall(r'"(reading\.(?:why|invalid)\.[a-z_]+)"', text))
        named |= {f"reading.assumption.{one}" for one in re.findall(r'\(\s*"([a-z_]+)",\s*(?:state\(|KEPT|NOT_KNOWN|"kept")', text)
                  if one not in ("superheat", "subcooling")}  # fmt: skip
    assert len(named) > 100
    assert sorted(named - catalogue().keys()) == []
    for way in read_job(full_job())["airflow"]["ways"]:
        assert f"reading.way.{way['id']}" in catalogue()
        assert all(f"reading.assumption.{one['id']}" in catalogue() for one in way["assumptions"])
    for name in Readings.model_fields:
        if name in ("supply_dry_bulb", "return_dry_bulb", "outdoor_dry_bulb", "airflow", "liquid_line"):
            assert f"reading.{name}" in catalogue()
    assert fields("reading.ways_disagree") == {"first", "second", "part", "allowed"}


def test_figures_have_labels():
    answers = read_job(full_job())
    for point in answers["points"]:
        for one in point["figures"]:
            assert f"reading.{one['id']}" in catalogue(), one["id"]


def test_the_command_prints_and_speaks_json(tmp_path, capsys):
    path = tmp_path / "job.toml"
    path.write_text(job_text(full_job()))
    assert run_guarded(["readings", str(path), "--json"]) == 0
    answers = json.loads(capsys.readouterr().out)
    assert answers["schema"] == "airtrim-readings-1"
    assert run_guarded(["readings", str(path), "--units", "si"]) == 0
    printed = capsys.readouterr().out
    assert "L/s" in printed and "cfm" not in printed.replace("cfm/ton", "").split("Reading 1")[0]
    assert run_guarded(["readings", str(tmp_path / "none.toml")]) == 2


def test_reading_a_job_opens_no_weather_and_no_season():
    """An hour's readings are answered at once: the season, pandas and pvlib stay out."""
    code = (
        "import sys; from airtrim.job import load_job; from airtrim.work.readings import read_job; "
        f"read_job(load_job({str(ROOT / 'examples/alder-court/job.toml')!r})); "
        "print([name for name in ('pandas', 'pvlib', 'airtrim.physics.season.year') if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        env={"PYTHONPATH": str(ROOT / "src"), "HOME": str(Path.home())},
    )
    assert done.stdout.strip() == "[]"
