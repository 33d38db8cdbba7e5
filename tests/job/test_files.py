"""Job files: eight values, both unit systems, and one sentence for everything that is wrong."""

import re
from pathlib import Path
from uuid import UUID

import pytest

from airtrim.core.errors import JobError
from airtrim.job import airflow_known, check_job, job_text, json_schema, load_job, new_job_text, parse_job
from airtrim.job.checks import filter_area_m2, heating_power_w, recorded_only
from airtrim.job.document import from_text

TEXT = new_job_text()
EXAMPLES = sorted((Path(__file__).resolve().parents[2] / "examples").glob("*/job.toml"))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.parent.name)
def test_examples_can_be_read(path):
    job = load_job(path)
    assert job.readings and all(reading.id for reading in job.readings)


def test_inch_pound_and_si_mean_the_same():
    si = (
        TEXT.replace('"1650 ft2"', '"153.290016 m2"')
        .replace('"75 F"', '"23.888889 C"')
        .replace('"1200 cfm"', '"566.3369 L/s"')
    )
    ours, theirs = parse_job(TEXT, "a"), parse_job(si, "b")
    assert ours.house.floor_area.si == pytest.approx(theirs.house.floor_area.si, rel=1e-6)
    assert ours.thermostat.set_point.si == pytest.approx(theirs.thermostat.set_point.si, rel=1e-6)
    assert airflow_known(ours).m3_s == pytest.approx(airflow_known(theirs).m3_s, rel=1e-6)
    assert ours.house.floor_area.text == "1650 ft2"


BROKEN = [
    ('"1650 ft2"', "1650", r"line 7, house.floor_area: .*unit written out in quotes, such as \"1650 ft2\", got 1650"),
    ('"1650 ft2"', '"1650"', r"line 7, house.floor_area: .*a number and a unit"),
    ('"1650 ft2"', '"1650 psi"', r"line 7, house.floor_area: .*must be convertible to m², got 1650"),
    ('"1650 ft2"', '"-5 ft2"', r"line 7, house.floor_area: .*must lie in 107.6 to 2.153e\+04 ft², got -5"),
    ('"3 tons"', '"3 tans"', r"unknown unit \"tans\""),
    ('"60 %"', '"140 %"', r"line 25, complaint.relative_humidity: .*0 to 100 %, got 140 %"),
    ("floor_area", "flor_area", r"line 7, house.flor_area: this key is not known; did you mean \"floor_area\"\?"),
    ("[heat]", "[heet]", r"heet: this key is not known; did you mean \"heat\"\?"),
    ("year_built = 1988", "", r"house.year_built: this value is missing"),
    ('fan = "auto"', "fan = auto", r"not readable TOML: Invalid value \(at line 20"),
    ('fan = "auto"', 'fan = "sometimes"', r"line 20, thermostat.fan: 'sometimes' is not known; known here: auto, on"),
    ("airtrim_job = 1", "airtrim_job = 2", r"airtrim_job: Input should be 1"),
    (
        'airflow = "1200 cfm"',
        'return_dry_bulb = "75 F"\nsupply_dry_bulb = "80 F"',
        r"line 33, readings.1.supply_dry_bulb: supply 80 F is not colder than return 75 F",
    ),
    (
        'airflow = "1200 cfm"',
        'return_dry_bulb = "64 F"\nreturn_wet_bulb = "75 F"',
        r"readings.1.return_wet_bulb: 75 F wet-bulb is above 64 F dry-bulb",
    ),
    (
        'airflow = "1200 cfm"',
        'supply_dry_bulb = "50 F"\nsaturated_suction = "55 F"',
        r"readings.1.saturated_suction: saturated suction 55 F is warmer than supply air 50 F",
    ),
]


@pytest.mark.parametrize(("good", "bad", "sentence"), BROKEN)
def test_what_is_wrong_is_said_in_one_sentence_with_its_place(good, bad, sentence):
    with pytest.raises(JobError, match=sentence) as caught:
        parse_job(TEXT.replace(good, bad, 1), "x.toml")
    assert "\n" not in str(caught.value).strip()


def test_static_alone_gives_no_airflow():
    job = parse_job(TEXT.replace('airflow = "1200 cfm"', 'total_external_static = "0.5 inH2O"'), "x.toml")
    with pytest.raises(
        JobError, match=r"static pressure 0.5 inH2O alone gives no airflow; add the maker's fan table for tap 1"
    ):
        airflow_known(job)


def test_static_with_the_taps_rows_gives_airflow():
    rows = """
[[blower.fan_table]]
tap = 1
static = "0.4 inH2O"
airflow = "1460 cfm"
[[blower.fan_table]]
tap = 1
static = "0.6 inH2O"
airflow = "1330 cfm"
"""
    text = TEXT.replace('airflow = "1200 cfm"', 'total_external_static = "0.5 inH2O"') + rows
    found = airflow_known(parse_job(text, "x.toml"))
    assert found.method == "fan_table"
    assert found.m3_s == pytest.approx(1395 * 0.0004719474432, rel=1e-6)
    with pytest.raises(JobError, match="off the fan table"):
        airflow_known(parse_job(text.replace("0.5 inH2O", "0.9 inH2O"), "x.toml"))


def test_much_cooling_for_little_floor_is_questioned_not_refused():
    remarks = check_job(parse_job(TEXT.replace("1650 ft2", "400 ft2"), "x.toml"))
    assert any("3 tons for 400 ft2" in remark for remark in remarks)


def test_a_new_job_has_nothing_odd_in_it():
    assert not check_job(parse_job(TEXT, "x.toml"))


def test_unknown_heat_is_said():
    text = TEXT.replace('kind = "electric_strip"', 'kind = "unknown"')
    assert any("no setting" in remark for remark in check_job(parse_job(text, "x.toml")))


def without_id(text):
    return "\n".join(line for line in text.splitlines() if not line.startswith("id = ")) + "\n"


def test_a_reading_without_an_id_keeps_the_one_it_gets():
    bare = without_id(TEXT)
    assert parse_job(bare, "a").readings[0].id == parse_job(bare, "b").readings[0].id
    twice = bare + '[[readings]]\nairflow = "1210 cfm"\n'
    first, second = parse_job(twice, "a").readings
    assert first.id != second.id


def test_a_new_job_carries_a_uuid_of_its_own():
    one, other = (parse_job(new_job_text(), "x").readings[0].id for _ in range(2))
    assert str(UUID(one)) == one != other


def test_two_readings_with_one_id_are_refused_with_both_places():
    line = next(line for line in TEXT.splitlines() if line.startswith("id = "))
    with pytest.raises(JobError, match=r"line 34, readings.2.id: .* is the id of readings.1 as well"):
        parse_job(TEXT + f'[[readings]]\n{line}\nairflow = "1 cfm"\n'.replace("1 cfm", "1100 cfm"), "x.toml")
    with pytest.raises(JobError, match="needs a UUID"):
        parse_job(TEXT.replace(line, 'id = "first"'), "x.toml")


def test_a_document_keeps_every_byte_it_does_not_change():
    document = from_text(TEXT, "x.toml")
    assert document.text == TEXT
    changed = document.with_value("house.floor_area", "1700 ft2")
    assert changed.text == TEXT.replace("1650 ft2", "1700 ft2")
    assert changed.job.house.floor_area.text == "1700 ft2"
    added = changed.with_value("readings.2.airflow", "1100 cfm").with_value("safe_limits.least_frequency", "35 Hz")
    assert added.text.startswith(changed.text.split("[[readings]]")[0])
    assert added.job.readings[1].airflow.text == "1100 cfm" and added.job.safe_limits.least_frequency.si == 35.0
    with pytest.raises(JobError, match="must lie in"):
        document.with_value("house.floor_area", "-3 ft2")
    with pytest.raises(JobError, match="count from 1"):
        document.with_value("readings.7.airflow", "1100 cfm")


def test_identities_are_written_once():
    written = from_text(without_id(TEXT), "x").with_reading_identities()
    assert written.text.count("\nid = ") == 1
    assert written.with_reading_identities().text == written.text


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.parent.name)
def test_a_job_written_out_means_the_same_job(path):
    job = load_job(path)
    assert parse_job(job_text(job), "again") == job
    assert job_text(parse_job(job_text(job), "again")) == job_text(job)


FULL_SURVEY = """
[[heat.stages]]
kind = "heat_pump"
power = "34 kBtu/h"
[[heat.stages]]
kind = "electric_strip"
power = "5 kW"
tap = 1
[ducts]
place = "crawl_space"
filter_size = "16x25x4"
filters = 2
cabinet_leakage = "2 %"
zones = 2
bypass_damper = true
outdoor_air_duct = "60 cfm"
[[habits.exhausts]]
kind = "dryer"
airflow = "150 cfm"
hours_a_day = 0.8
[[thermostat.set_backs]]
start = "22:00"
end = "06:30"
set_point = "72 F"
[options]
consider = ["lower_tap"]
[safe_limits]
coil_floor = "37 F"
least_airflow_per_ton = "320 cfm/ton"
"""


def test_all_the_trade_asks_can_be_written_down():
    text = TEXT.replace('fan = "auto"', 'fan = "auto"\nhumidity_terminals = true\novercool_limit = "2 F"').replace(
        'kind = "electric_strip"', 'kind = "heat_pump"\ndefrost = "on_demand"\nstrip_in_defrost = true'
    )
    text = text.replace(
        'coil_size = "3 tons"', 'coil_size = "3 tons"\ndrain_trap = true\nfloat_switch = false\nstages = 2'
    )
    text = text.replace("year_built = 1988", 'year_built = 1988\ncombustion_appliances = ["water heater, draft hood"]')
    text += 'grille_dry_bulb = "74 F"\ngrille_wet_bulb = "63 F"\n' + FULL_SURVEY
    job = parse_job(text, "x.toml")
    assert heating_power_w(job) == pytest.approx(5000.0)  # the strips; a heat pump heats by its own balance
    assert filter_area_m2(job) == pytest.approx(2 * 16 * 25 * 0.0254**2)
    assert job.safe_limits.least_airflow_per_ton.si == pytest.approx(320 * 0.0004719474432 / 3516.8528, rel=1e-4)
    assert {"system.stages", "thermostat.set_backs", "ducts.zones"} <= set(recorded_only(job))
    assert parse_job(job_text(job), "again") == job


@pytest.mark.parametrize(
    ("bad", "sentence"),
    [
        ('[ducts]\nfilter_size = "large"', r"ducts.filter_size: the value needs width x height x depth"),
        ('[[thermostat.set_backs]]\nstart = "25:00"\nend = "06:00"\nset_point = "72 F"', r"needs a time of day"),
        ('[safe_limits]\nleast_airflow_per_ton = "350 cfm"', r"must be convertible to"),
        ('[options]\nconsider = ["magic"]', r"'magic' is not known; known here: leave_as_is"),
    ],
)
def test_bad_survey_values_are_one_sentence(bad, sentence):
    with pytest.raises(JobError, match=sentence):
        parse_job(TEXT + bad + "\n", "x.toml")


def test_schema_shows_texts_with_units():
    schema = json_schema()
    assert "house" in schema["required"] and "Measured" not in schema["$defs"]
    for definition in schema["$defs"].values():
        for field in definition["properties"].values():
            for written in (one for one in field.get("anyOf", [field]) if "pattern" in one):
                assert re.match(written["pattern"], written["examples"][0])
                assert not re.match(written["pattern"], "1650")


def test_missing_file_is_named(tmp_path):
    with pytest.raises(JobError, match="cannot be read"):
        load_job(tmp_path / "none.toml")


@pytest.mark.parametrize(
    "text", ["x = " + "[" * 40 + "]" * 40, "x = " + "[" * 5000 + "]" * 5000, "[" + "a." * 40 + "b]\n"]
)
def test_what_nests_without_end_is_refused_in_one_sentence(text):
    with pytest.raises(JobError, match=r"^deep.toml has more than 12 tables or lists within one another: it cannot be"):
        parse_job(text, "deep.toml")
