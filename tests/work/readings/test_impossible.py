"""Readings that cannot stand together: which two, what each would imply; duplicates, order, units; any subset of readings works.

What cannot be is physics (saturation bounds the wet-bulb, heat flows from warm to cold, power is not above volts times amps).
"""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airtrim.core.errors import JobError
from airtrim.report.readings import lines, sentence
from airtrim.report.workings import working_lines
from airtrim.work.readings import read_job
from airtrim.work.readings.working import evaluated
from tests.work.readings.readings_cases import FAN_TABLE, ids, job_with
from tests.work.readings.test_answers import BLOWER, FULL, SYSTEM
from tests.work.readings.test_workings import TRAVERSE


@pytest.mark.parametrize(
    ("reading", "first", "second", "implies"),
    [
        ('return_dry_bulb = "75 F"\nreturn_wet_bulb = "80 F"', "80 F wet-bulb", "75 F dry-bulb",
         ("the wet-bulb is 75 F at most", "the dry-bulb is 80 F at least")),
        ('return_dry_bulb = "75 F"\nsupply_dry_bulb = "80 F"', "supply 80 F", "return 75 F",
         ("the supply is below it or nothing cools", "the return is above 80 F")),
        ('operation = "heating"\nreturn_dry_bulb = "70 F"\nsupply_dry_bulb = "60 F"', "supply 60 F", "return 70 F",
         ("the supply is above it or nothing heats", "the return is below 60 F")),
        ('saturated_suction = "60 F"\nsupply_dry_bulb = "55 F"', "saturated suction 60 F", "supply air 55 F",
         ("the supply air is 60 F at least", "saturated suction is below 55 F")),
        ('suction_pressure = "300 psi"\nliquid_pressure = "120 psi"', "liquid pressure 120 psi", "suction 300 psi",
         ("the high side is above 300 psi", "the suction is below it")),
        ('liquid_pressure = "340 psi"\ndischarge_pressure = "300 psi"', "liquid 340 psi", "discharge 300 psi",
         ("the liquid line has 300 psi at most", "the discharge has 340 psi at least")),
        ('blower_power = "900 W"\nblower_volts = "240 V"\nblower_amps = "2 A"', "900 W", "240 V times 2 A",
         ("the watts are 480 at most", "the amps are 3.8 A at least")),
    ],
)  # fmt: skip
def test_two_that_cannot_both_be(reading, first, second, implies):
    with pytest.raises(JobError, match="cannot be") as caught:
        job_with(reading)
    said = str(caught.value)
    assert "line " in said and "\n" not in said
    for part in (first, second, *implies):
        assert part in said


def test_each_of_the_two_alone_is_read():
    for reading in (
        'return_wet_bulb = "80 F"',
        'suction_pressure = "300 psi"',
        'blower_power = "900 W"\nblower_volts = "240 V"',
    ):
        job_with(reading)


def test_wet_bulb_and_probe_of_the_same_air():
    """75 F and 62.5 F wet-bulb are 50 % RH (chart reading, common-practice); the probe at 70 % means 68 F wet-bulb."""
    text = 'return_dry_bulb = "75 F"\nreturn_wet_bulb = "62.5 F"\nreturn_relative_humidity = "PROBE"\n'
    far = read_job(job_with(text.replace("PROBE", "70 %")))["points"][0]["messages"]
    asked = next(one for one in far if one["id"] == "reading.ask.humidity_twice")
    said = sentence(asked)
    assert "Return air: wet-bulb 62.5 °F and probe 70 %" in said
    assert asked["values"]["by_wet"]["value"] == pytest.approx(0.50, abs=0.01)
    assert 1.8 * asked["values"]["by_probe"]["value"] + 32.0 == pytest.approx(68.0, abs=0.4)
    near = read_job(job_with(text.replace("PROBE", "51 %")))["points"][0]["messages"]
    assert "ask.humidity_twice" not in ids(near)


@pytest.mark.parametrize(
    ("readings", "sentence"),
    [
        (
            ('supply_dry_bulb = "57 F"', 'supply_dry_bulb = "57 F"'),
            "every value is that of the reading above it; leave one",
        ),
        (('supply_dry_bulb = "57 F"\nsupply_dry_bulb = "58 F"',), r"supply_dry_bulb|[Oo]verwrite|twice"),
        (('supply_dry_bulb = "57"',), r'needs a number and a unit, such as "75 F"'),
        (("supply_dry_bulb = 57",), r'needs a number and a unit|"75 F"'),
        (('time = "2026-07-14 15:20"', 'time = "2026-07-14 15:10"'), "put them in the order of time"),
    ],
)
def test_duplicate_order_and_unit_are_one_sentence(readings, sentence):
    with pytest.raises(JobError, match=sentence) as caught:
        job_with(*readings)
    assert "\n" not in str(caught.value)


def test_the_same_values_at_two_times_or_on_two_taps_are_two_readings():
    one = 'supply_dry_bulb = "57 F"\n'
    job_with(one + 'time = "2026-07-14 15:10"', one + 'time = "2026-07-14 15:20"')
    job_with(one + "tap = 1", one + "tap = 2")


ROWS = [row for row in (FULL + TRAVERSE).splitlines() if row]


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.sets(st.sampled_from(ROWS)), st.sampled_from(["", SYSTEM]), st.sampled_from(["", FAN_TABLE]))
def test_any_subset_of_a_full_set_is_read_and_shown(rows, system, table):
    answers = read_job(
        job_with("\n".join(row for row in ROWS if row in rows), system=system, blower=BLOWER, more=table)
    )
    json.dumps(answers, allow_nan=False)
    list(lines(answers))
    for one in answers["workings"]:
        working_lines(one)
        if "formula" in one:
            assert evaluated(one) == pytest.approx(one["figure"]["mid"], rel=1e-9, abs=1e-9), one["id"]
