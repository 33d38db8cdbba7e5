"""Job files: eight values, both unit systems, and one sentence for everything that is wrong."""

from pathlib import Path

import pytest

from airtrim.core.errors import JobError
from airtrim.job import airflow_known, check_job, json_schema, load_job, new_job_text, parse_job

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
    ('fan = "auto"', 'fan = "sometimes"', r"line 20, thermostat.fan: Input should be 'auto' or 'on', got 'sometimes'"),
    ("airtrim_job = 1", "airtrim_job = 2", r"airtrim_job: Input should be 1"),
    (
        'airflow = "1200 cfm"',
        'return_dry_bulb = "75 F"\nsupply_dry_bulb = "80 F"',
        r"line 32, readings.1.supply_dry_bulb: supply 80 F is not colder than return 75 F",
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


def test_unknown_heat_is_said():
    text = TEXT.replace('kind = "electric_strip"', 'kind = "unknown"')
    assert any("no setting" in remark for remark in check_job(parse_job(text, "x.toml")))


def test_a_reading_keeps_its_identity():
    assert parse_job(TEXT, "a").readings[0].id == parse_job(TEXT, "b").readings[0].id


def test_schema_shows_texts_with_units():
    schema = json_schema()
    assert schema["$defs"]["Measured"]["type"] == "string"
    assert "house" in schema["required"]


def test_missing_file_is_named(tmp_path):
    with pytest.raises(JobError, match="cannot be read"):
        load_job(tmp_path / "none.toml")
