"""What the sheet says of a dehumidifier and of a thermostat that dries: set-point and band, drain, meter, how to go back."""

import numpy as np
import pytest

from airtrim.report.words import known, say
from airtrim.work.options.candidates import leave_as_is
from airtrim.work.options.drying import (
    OVERCOOL_K,
    WANTED,
    ducted_dehumidifier,
    free_standing_dehumidifier,
    thermostat_that_dries,
)
from airtrim.work.options.house_side import set_point_higher
from airtrim.work.settings.sheet import settings_sheet
from tests.work.heat_cases import found_with

NO_HEAT = 'kind = "none"'


@pytest.fixture(scope="module")
def found():
    return found_with(NO_HEAT)


def sheet_of(found, candidate):
    sheet = settings_sheet(found, candidate, np.full(found.system.count, 5.0), True)
    assert sheet["issued"], sheet["why"]
    for row in sheet["card"]:
        assert known(f"setting.{row['id']}") and known(f"setting_why.{row['id']}"), row["id"]
    assert known(f"back.{candidate.id}")
    return {row["id"]: row for row in sheet["card"]}, sheet


@pytest.mark.parametrize("make", [free_standing_dehumidifier, ducted_dehumidifier])
def test_a_dehumidifier_is_set_by_its_humidity_with_drain_and_meter(found, make):
    """Practice in the humid South holds 45 to 55 % (common-practice)."""
    rows, sheet = sheet_of(found, make(found, leave_as_is(found)))
    held = rows["dehumidifier_set"]
    assert held["value"] == held["high"] == WANTED and held["low"] == 0.45 and held["unit"] == "fraction"
    assert say(rows["dehumidifier_drain"]["value"]) and say(rows["humidity_meter"]["value"])
    assert "condensate" in sheet["cautions"] and "permit" in sheet["cautions"]


def test_a_thermostat_that_dries_is_set_by_humidity_and_how_much_lower_it_may_cool(found):
    candidate = thermostat_that_dries(found, leave_as_is(found))
    rows, sheet = sheet_of(found, candidate)
    assert rows["humidity_set"]["value"] == WANTED
    assert rows["overcool"]["value"] == pytest.approx(OVERCOOL_K) and rows["overcool"]["low"] == 0.0
    assert "frost" in sheet["cautions"]


def test_a_set_point_alone_has_no_such_rows(found):
    rows, _ = sheet_of(found, set_point_higher(found, leave_as_is(found)))
    assert "set_point" in rows and not rows.keys() & {"dehumidifier_set", "humidity_set", "humidity_meter"}
