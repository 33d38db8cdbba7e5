"""Heat under every setting: on its own lead or the cooling lead's, by rise, plate, limit switch and condensing pressure."""

from dataclasses import replace

import numpy as np
import pytest

from airtrim.core.errors import JobError
from airtrim.report import words
from airtrim.work.findings.parameters import CFM
from airtrim.work.options.heat import CANNOT_TELL, NOT_SAFE, SAFE, heat_of
from airtrim.work.options.limits import air_limits, heat_limit, is_safe
from airtrim.work.settings.heat_check import heat_check
from airtrim.work.settings.sheet import settings_sheet
from tests.work.heat_cases import auto_of, drive_of, found_with, row, tap_of

WARM = np.full(200, 5.0)
STRIPS = 'kind = "electric_strip"\nstrip_power = "10 kW"'
FURNACE = (
    'kind = "furnace"\nfurnace_output = "64 kBtu/h"\ngreatest_rise = "70 F"\nleast_rise = "40 F"\ncondensing = false'
)
PUMP = 'kind = "heat_pump"\nstrip_power = "5 kW"\ndefrost = "on_demand"\nstrip_in_defrost = true'


def test_ten_kilowatts_on_1200_cfm_rise_as_the_trade_reckons():
    """[common-practice] rise = 3412 x kW / (1.08 x cfm): 26.3 F on 1,200 cfm; a filter part-loaded takes 5 % of it away.

    The strips' own range is 0.84 to 1.05 of the plate, so the middle is 0.945 of that; the trade's factor is for dry air, a
    humidity ratio of 0.005 lowers the rise by 0.9 % and its rounding adds 0.2.
    """
    found = found_with(STRIPS)
    flow = np.full(found.system.count, 1200.0 * 0.075 * 0.45359237 / 60.0)  # 0.075 lb/ft3
    found = replace(found, system=replace(found.system, full_flow_kg_s=flow))
    check = heat_of(found, auto_of(found))
    read = row(check, "greatest_rise").figure
    assert read["mid"] * 1.8 == pytest.approx(3412.0 * 10.0 / (1.08 * 1200.0) / 0.95 * 0.945, rel=0.012)
    assert read["low"] < read["mid"] < read["high"]
    assert check.verdict == SAFE and not check.changes
    assert row(check, "greatest_rise").greatest == pytest.approx(50.0 / 1.8)


def test_a_lower_tap_shares_its_air_with_heat_unless_heat_has_its_own_lead():
    """Shared, the rise grows as the airflow falls; on its own lead heat keeps the airflow of its own tap."""
    shared = found_with(STRIPS + "\nown_lead = false")
    own = found_with(STRIPS + "\ntap = 2", "[blower]\ntaps = 3\ntap_in_use = 1\n")
    now = heat_of(shared, auto_of(shared))
    moved = heat_of(shared, tap_of(shared))
    kept = heat_of(own, tap_of(own))
    assert moved.changes and not kept.changes
    ratio = tap_of(shared).program.cooling_flow
    assert moved.airflow["mid"] == pytest.approx(now.airflow["mid"] * ratio)
    rises = [row(one, "greatest_rise").figure["mid"] for one in (now, moved)]
    assert rises[1] == pytest.approx(rises[0] / ratio)
    assert kept.airflow == heat_of(own, auto_of(own)).airflow


def test_a_plates_least_airflow_breaks_a_shared_tap_and_leaves_an_unseen_lead_open():
    listed = STRIPS + '\nleast_airflow = "1250 cfm"'
    shared, unseen = found_with(listed + "\nown_lead = false"), found_with(listed)
    assert heat_of(shared, tap_of(shared)).verdict == NOT_SAFE
    sheet = settings_sheet(shared, tap_of(shared), WARM, True)
    assert not sheet["issued"] and sheet["why"] == "settings.heat_not_safe"
    open_one = heat_of(unseen, tap_of(unseen))
    assert open_one.verdict == CANNOT_TELL and "heat.own_lead" in open_one.missing
    sheet = settings_sheet(unseen, tap_of(unseen), WARM, True)
    assert not sheet["issued"] and sheet["why"] == "settings.heat_not_told" and sheet["card"] == []


def test_a_lead_nobody_looked_at_is_told_where_heat_is_safe_on_the_cooling_lead():
    found = found_with(STRIPS)
    check = heat_check(found, tap_of(found))
    assert check["verdict"] == SAFE and check["notes"] == ["heat_note.lead_not_seen"]
    assert settings_sheet(found, tap_of(found), WARM, True)["issued"]


@pytest.mark.parametrize(
    ("output", "rise_id", "verdict"),
    [
        ("64 kBtu/h", "greatest_rise", SAFE),  # 49 F on 1,200 cfm: inside 40 to 70
        ("110 kBtu/h", "greatest_rise", NOT_SAFE),  # 85 F: the limit trips
        ("40 kBtu/h", "least_rise", NOT_SAFE),  # 31 F: a furnace not made to condense does
    ],
)
def test_a_furnace_is_judged_against_its_plate_both_ways(output, rise_id, verdict):
    """[common-practice] cfm = output / (1.08 rise)."""
    found = found_with(FURNACE.replace("64 kBtu/h", output))
    check = heat_of(found, auto_of(found))
    assert check.verdict == verdict and row(check, rise_id).verdict == verdict
    assert "heat_note.dry_furnace" in heat_check(found, auto_of(found))["notes"]


def test_a_furnace_without_its_plate_cannot_be_told_and_gets_no_lower_tap():
    found = found_with('kind = "furnace"\nfurnace_output = "64 kBtu/h"\nown_lead = false')
    check = heat_of(found, tap_of(found))
    assert check.verdict == CANNOT_TELL and check.missing == ["heat.greatest_rise"]
    assert not settings_sheet(found, tap_of(found), WARM, True)["issued"]
    nothing = found_with('kind = "furnace"')
    assert heat_of(nothing, tap_of(nothing)).missing == ["heat.furnace_output"]
    by_input = found_with(
        'kind = "furnace"\nfurnace_input = "80 kBtu/h"\nefficiency = "80 %"\ngreatest_rise = "70 F"\nown_lead = false'
    )
    assert heat_of(by_input, tap_of(by_input)).verdict == SAFE


def test_a_rise_read_on_site_settles_what_the_plate_left_open():
    """76 F is above 70 whatever the reckoning says; 55 F is not, and carried to a slower tap it grows as the air falls."""
    hot = found_with(FURNACE + '\nown_lead = false\nrise_read = "76 F"')
    assert heat_of(hot, auto_of(hot)).verdict == NOT_SAFE
    mild = found_with(FURNACE + '\nown_lead = false\nrise_read = "55 F"')
    moved = row(heat_of(mild, tap_of(mild)), "greatest_rise").figure["mid"]
    assert moved * 1.8 == pytest.approx(55.0 / tap_of(mild).program.cooling_flow / 0.95, rel=0.02)


def test_heat_not_safe_as_it_runs_is_told_but_does_not_hold_back_what_leaves_it_alone():
    found = found_with(FURNACE.replace("64 kBtu/h", "110 kBtu/h"), fan="on")
    check = heat_check(found, auto_of(found))
    assert check["verdict"] == NOT_SAFE and not check["blocks"] and check["why"] == "heat_why.not_safe_as_now"
    assert heat_limit(heat_of(found, auto_of(found)))["status"] == "warn"
    assert settings_sheet(found, auto_of(found), WARM, True)["issued"]
    limits = air_limits(found.job, found.system, found.airflow.m3_s, 0.05, 0.9, watches_coil=False)
    assert next(one for one in limits if one["id"] == "heat_airflow")["status"] == "unknown" and is_safe(
        [one for one in limits if one["id"] == "heat_airflow"]
    )


def test_a_limit_switch_of_known_temperature_is_judged_and_of_unknown_told():
    low = found_with(STRIPS + '\nlimit_temperature = "90 F"')
    assert row(heat_of(low, auto_of(low)), "limit_switch").verdict == NOT_SAFE
    high = found_with(STRIPS + '\nlimit_temperature = "150 F"')
    assert row(heat_of(high, auto_of(high)), "limit_switch").verdict == SAFE
    much = found_with('kind = "electric_strip"\nstrip_power = "25 kW"\nleast_airflow = "800 cfm"')
    told = row(heat_of(much, auto_of(much)), "limit_switch_chance")
    assert told.verdict == "told" and 0.0 < told.figure["mid"] < 1.0
    assert heat_of(much, auto_of(much)).verdict == SAFE  # the plate's least airflow governs


def test_a_heat_pump_is_judged_by_its_condensing_and_its_strips_by_their_rise():
    found = found_with(PUMP)
    check = heat_of(found, auto_of(found))
    assert check.verdict == SAFE
    assert [one.id for one in check.rows][:3] == ["condensing", "defrost_supply", "greatest_rise"]
    slow = found_with(PUMP + "\nown_lead = false")
    moved = heat_of(slow, tap_of(slow))
    assert row(moved, "condensing").figure["mid"] > row(check, "condensing").figure["mid"]
    assert row(moved, "defrost_supply").verdict == "told"


def test_a_heat_pump_short_of_air_meets_its_high_pressure_switch():
    """common-practice: 5 tons of heat on 3 tons of air trips; a switch labelled low trips sooner than the usual one."""
    found = found_with(PUMP.replace("heat_pump", "heat_pump", 1) + '\nheat_pump_output = "80 kBtu/h"')
    assert row(heat_of(found, auto_of(found)), "condensing").verdict == NOT_SAFE
    low = found_with(PUMP + '\nhigh_pressure_switch = "400 psi"')
    usual = row(heat_of(found_with(PUMP), auto_of(found_with(PUMP))), "condensing")
    judged = row(heat_of(low, auto_of(low)), "condensing")
    assert judged.greatest < usual.greatest and judged.figure == usual.figure and judged.verdict != SAFE


STRIP_STAGES = """kind = "heat_pump"
strip_in_defrost = true
heat_pump_output = "{output}"
[[heat.stages]]
kind = "electric_strip"
power = "{strips}"
"""


@pytest.mark.parametrize("strips", ["5 kW", "15 kW"])
def test_the_high_pressure_check_is_of_the_heat_pumps_own_output(strips):
    """Only strips were listed as stages: the pump is there all the same, with its own heat whatever the strips give."""
    plain = found_with('kind = "heat_pump"\nstrip_in_defrost = true\nheat_pump_output = "34 kBtu/h"')
    staged = found_with(STRIP_STAGES.format(output="34 kBtu/h", strips=strips))
    wanted, read = (row(heat_of(one, auto_of(one)), "condensing") for one in (plain, staged))
    assert read.figure == wanted.figure and read.verdict == wanted.verdict == SAFE
    large = found_with(STRIP_STAGES.format(output="80 kBtu/h", strips=strips))
    assert row(heat_of(large, auto_of(large)), "condensing").verdict == NOT_SAFE


def test_strips_on_a_slower_tap_leave_the_heat_pump_less_air_and_it_is_judged_there_too():
    stages = """kind = "heat_pump"
strip_in_defrost = true
[[heat.stages]]
kind = "heat_pump"
power = "34 kBtu/h"
tap = 1
[[heat.stages]]
kind = "electric_strip"
power = "5 kW"
tap = 3
"""
    found = found_with(stages, "[blower]\ntaps = 3\ntap_in_use = 1\n")
    check = heat_of(found, auto_of(found))
    assert row(check, "condensing", 2).figure["mid"] > row(check, "condensing", 1).figure["mid"] + 1.0


def test_stages_are_judged_each_on_its_own_tap_and_power():
    stages = """kind = "heat_pump"
strip_in_defrost = true
[[heat.stages]]
kind = "heat_pump"
power = "34 kBtu/h"
tap = 1
[[heat.stages]]
kind = "electric_strip"
power = "5 kW"
tap = 2
"""
    found = found_with(stages, "[blower]\ntaps = 3\ntap_in_use = 1\n")
    check = heat_of(found, tap_of(found))
    assert not check.changes and {one.stage for one in check.rows} == {1, 2}
    assert row(check, "greatest_rise", 2).kind == "electric_strip"


def test_through_a_drive_heat_runs_at_line_speed_or_at_what_was_proven():
    found = found_with(STRIPS)
    check = heat_of(found, drive_of(found))
    assert check.airflow == heat_of(found, auto_of(found)).airflow and not check.changes
    proven = found_with(
        STRIPS, '[drive]\n[[drive.modes]]\nmode = "heat_call"\ndate = "2026-04-17"\nairflow = "900 cfm"\n'
    )
    ratio = heat_of(proven, drive_of(proven)).airflow["mid"] / check.airflow["mid"]
    assert ratio == pytest.approx(900.0 * CFM / proven.airflow.m3_s)
    own = found_with(STRIPS + "\ntap = 3", "[blower]\ntaps = 3\ntap_in_use = 1\n")
    assert heat_of(own, drive_of(own)).changes  # its own lead is capped: it runs on the drive's


def test_no_heat_is_safe_and_unknown_heat_issues_nothing():
    none, unknown = found_with('kind = "none"'), found_with('kind = "unknown"')
    assert heat_check(none, tap_of(none))["why"] == "heat_why.none"
    assert settings_sheet(none, tap_of(none), WARM, True)["issued"]
    for option in (tap_of(unknown), drive_of(unknown)):
        sheet = settings_sheet(unknown, option, WARM, True)
        assert not sheet["issued"] and sheet["why"] == "settings.heat_unknown"
        assert sheet["heat"]["missing"] == ["heat.kind"]


def test_an_electronic_blowers_own_heat_tap_cannot_be_reckoned():
    found = found_with(STRIPS + "\ntap = 2", '[blower]\nmotor = "constant_torque"\ntap_in_use = 1\ntaps = 5\n')
    assert heat_of(found, auto_of(found)).missing == ["heat.tap"]


@pytest.mark.parametrize(
    ("heat", "more", "sentence"),
    [
        (FURNACE.replace("70 F", "35 F"), "", r"heat: least_rise \"40 F\" is not below greatest_rise \"35 F\""),
        (
            FURNACE + '\nfurnace_input = "60 kBtu/h"',
            "",
            r"furnace_output \"64 kBtu/h\" is above furnace_input \"60 kBtu/h\", which cannot be",
        ),
        (FURNACE + '\nefficiency = "8 %"', "", r"efficiency \"8 %\" is below 50 %"),
        (FURNACE + '\nlimit_temperature = "400 F"', "", r"heat.limit_temperature: the value must lie in 86 to 302 °F"),
        (FURNACE + "\ntap = 4", "[blower]\ntaps = 3\n", r"heat runs on tap 4 but blower.taps is 3"),
        (FURNACE + "\ntap = 2\nown_lead = false", "", r"two taps need two leads, look at the wiring"),
        (FURNACE + "\nown_lead = 2", "", r"heat.own_lead: Input should be a valid boolean"),
    ],
)
def test_bad_heat_is_one_sentence(heat, more, sentence):
    with pytest.raises(JobError, match=sentence) as raised:
        found_with(heat, more)
    assert "\n" not in str(raised.value)


@pytest.mark.parametrize("heat", [STRIPS, FURNACE, PUMP, 'kind = "none"', 'kind = "unknown"', 'kind = "furnace"'])
def test_every_id_of_the_heat_check_has_its_word(heat):
    found = found_with(heat)
    known = words.catalogue().keys()
    for option in (auto_of(found), tap_of(found), drive_of(found)):
        check = heat_check(found, option)
        wanted = {check["why"], *check["notes"], *(f"caution.{one}" for one in check["cautions"])}
        wanted |= {f"heat_missing.{one}" for one in check["missing"]} | {f"heat_verdict.{check['verdict']}"}
        for one in check["rows"]:
            wanted |= {f"heat_row.{one['id']}", f"heat_kind.{one['kind']}", f"heat_verdict.{one['verdict']}"}
            wanted.add(f"figure.{one['figure']['id']}")
        assert sorted(wanted - known) == []
