"""A reading's range in the unit it was written in: a bucket in fluid ounces, Celsius on an inch-pound page."""

import pytest

from airtrim.job.measured import as_written, measured
from airtrim.report.workings import taken_rows
from airtrim.work.readings import read_job
from tests.work.readings.readings_cases import job_with

LINES = 'condensate = {volume = "37 floz", time = "20 min"}\nreturn_dry_bulb = "24.0 C"'


@pytest.mark.parametrize(
    ("text", "unit", "si", "expected"),
    [
        ("37 floz", "m**3", 0.001, 33.814),  # NIST SP 811: 1 US fl oz is 29.57353 mL
        ("24 C", "degC", 25.0, 25.0),
        ("75.0 F", "degC", 25.0, 77.0),
        ("8 F", "delta_degC", 5.0, 9.0),
        ("0.44 in. w.c.", "Pa", 249.08891, 1.0),
    ],
)
def test_an_si_value_goes_back_into_the_unit_that_was_written(text, unit, si, expected):
    value, spelled = as_written(measured(text, unit, -1e9, 1e9, "it", text), si)
    assert value == pytest.approx(expected, rel=1e-4) and text.endswith(spelled)


def test_every_range_stands_in_the_unit_of_its_figure():
    read = read_job(job_with(LINES), 101325.0)
    rows = {row[1]: row[2] for point in taken_rows({"readings": read}) for row in point["rows"]}
    assert rows["37 floz"] == "35.9 to 38.1 floz"
    assert rows["24.0 C"].endswith(" C") and float(rows["24.0 C"].split()[0]) < 24.0
