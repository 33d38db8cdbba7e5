"""The compatibility list of a drive: each line's three states, the modes proven on site, and what the sheet makes of it."""

import json
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pypdfium2
import pytest

from airtrim.core.errors import JobError
from airtrim.report import words
from airtrim.report.paper import paper_data, paper_pdf
from airtrim.work.options.candidates import leave_as_is
from airtrim.work.settings.choose import choose_drive
from airtrim.work.settings.drive_check import drive_check, modes_wanted
from airtrim.work.settings.sheet import settings_sheet
from tests.plans import drive_result
from tests.work.heat_cases import drive_of, found_with, tap_of

STRIPS = 'kind = "electric_strip"\nstrip_power = "10 kW"'
PUMP = 'kind = "heat_pump"\nstrip_power = "5 kW"\nstrip_in_defrost = true'
BLOWER = '[blower]\nmotor = "psc"\nnameplate_amps = "3.9 A"\nnameplate_volts = "230 V"\nrun_capacitor = "7.5 uF"\n'
CARD = """[drive]
maker_approves = true
rated_volts = "240 V"
rated_amps = "6 A"
rated_ambient = "104 F"
mounting = "inside"
protector_in_circuit = true
lead = "black"
lead_approved = true
other_leads_capped = true
"""
WARM = np.full(200, 5.0)


def proven(*modes: str, airflow: str = "1200 cfm") -> str:
    return "".join(f'[[drive.modes]]\nmode = "{one}"\ndate = "2026-04-17"\nairflow = "{airflow}"\n' for one in modes)


ALL = proven("drive_fault", "sensor_loss", "heat_call")


def listed(more: str = "", heat: str = STRIPS, refrigerant: str = "R-410A"):
    check = drive_check(found_with(heat, more, refrigerant))
    return {one["id"]: one for one in check["items"]}, check


def test_nothing_looked_at_is_not_yet_known_everywhere_and_the_sheet_not_final():
    items, check = listed()
    assert {one["status"] for one in items.values()} == {"not_yet_known"}
    assert not check["refused"] and not check["complete"] and check["missing"] == list(items)
    sheet = settings_sheet(found_with(STRIPS), drive_of(found_with(STRIPS)), WARM, True)
    assert sheet["issued"] and not sheet["final"] and sheet["shown"] == "not_yet_shown"
    assert sheet["why"] == "settings.drive_not_proven"


def test_all_lines_met_and_all_modes_proven_make_it_final_on_a_large_sample():
    more = BLOWER + CARD + ALL
    items, check = listed(more)
    assert check["complete"], {one["id"]: one["why"] for one in items.values() if one["status"] != "met"}
    found = found_with(STRIPS, more)
    sheet = settings_sheet(found, drive_of(found), WARM, True)
    assert sheet["final"] and sheet["shown"] == "one_in_twenty"
    few = settings_sheet(found, drive_of(found), WARM[:32], True)
    assert few["issued"] and not few["final"] and few["why"] == "settings.few_systems"


@pytest.mark.parametrize("gone", ["drive_fault", "sensor_loss", "heat_call"])
def test_any_mode_untested_leaves_the_setting_not_final(gone):
    more = BLOWER + CARD + proven(*(one for one in ("drive_fault", "sensor_loss", "heat_call") if one != gone))
    items, check = listed(more)
    assert check["missing"] == [gone] and items[gone]["why"] == "drive_why.mode_untested"
    found = found_with(STRIPS, more)
    sheet = settings_sheet(found, drive_of(found), WARM, True)
    assert not sheet["final"] and sheet["drive"]["missing"] == [gone]


@pytest.mark.parametrize(
    ("old", "new", "line", "why"),
    [
        ("maker_approves = true", "maker_approves = false", "maker_approves", "maker_approves_not_met"),
        ('rated_volts = "240 V"', 'rated_volts = "120 V"', "volts", "volts_not_met"),
        ('rated_amps = "6 A"', 'rated_amps = "3 A"', "amps", "amps_not_met"),
        ('mounting = "inside"', 'mounting = "attic"', "ambient", "ambient_not_met"),
        ("protector_in_circuit = true", "protector_in_circuit = false", "protector", "protector_not_met"),
        ("lead_approved = true", "lead_approved = false", "one_lead", "one_lead_not_met"),
        ("other_leads_capped = true", "other_leads_capped = false", "leads_capped", "leads_capped_not_met"),
    ],
)
def test_a_line_not_met_refuses_the_drive_and_says_what_to_do(old, new, line, why):
    more = BLOWER + CARD.replace(old, new) + ALL
    assert old in CARD
    items, check = listed(more)
    assert check["not_met"] == [line] and check["refused"]
    assert items[line]["why"] == f"drive_why.{why}" and items[line]["do"] == f"drive_do.{line}"
    found = found_with(STRIPS, more)
    sheet = settings_sheet(found, drive_of(found), WARM, True)
    assert not sheet["issued"] and sheet["why"] == "settings.drive_refused" and sheet["card"] == []
    assert choose_drive(found, leave_as_is(found), None, lambda _: None).why_not == "option_why.drive_refused"


@pytest.mark.parametrize(
    "motor", ["capacitor_start", "split_phase", "shaded_pole", "constant_torque", "constant_airflow"]
)
def test_never_on_any_motor_but_a_psc(motor):
    """common-practice: starting windings and centrifugal switches burn on a drive; electronic motors have their own."""
    more = BLOWER.replace('"psc"', f'"{motor}"') + CARD + ALL
    items, check = listed(more)
    assert check["not_met"] == ["motor"] and items["motor"]["why"] == f"drive_why.motor_{motor}"
    found = found_with(STRIPS, more)
    assert drive_of(found).program is None


def test_a_psc_nobody_saw_is_not_yet_known_though_it_is_reckoned_with():
    items, _ = listed(BLOWER.replace('motor = "psc"\n', "") + CARD + ALL)
    assert items["motor"]["status"] == "not_yet_known"
    items, _ = listed(BLOWER.replace('run_capacitor = "7.5 uF"\n', "") + CARD + ALL)
    assert items["motor"]["status"] == "not_yet_known"


def test_a_hot_attic_is_refused_or_derated_by_the_drives_own_card():
    """common-practice: attics pass 120 F. At the derated surroundings the derated amps count."""
    attic = BLOWER + CARD.replace('mounting = "inside"', 'mounting = "attic"') + ALL
    items, _ = listed(attic)
    assert items["ambient"]["status"] == "not_met" and items["ambient"]["figure"]["mid"] > (120.0 - 32.0) / 1.8
    derated = attic.replace("lead =", 'derated_ambient = "149 F"\nderated_amps = "4.5 A"\nlead =')
    items, check = listed(derated)
    assert items["ambient"]["why"] == "drive_why.ambient_derated" and check["complete"]
    items, _ = listed(derated.replace("4.5 A", "3.5 A"))
    assert items["ambient"]["status"] == "met" and items["amps"]["status"] == "not_met"
    items, _ = listed(attic.replace('mounting = "attic"', 'mounting = "attic"\nmounting_ambient = "100 F"'))
    assert items["ambient"]["status"] == "met"


def test_modes_wanted_follow_heat_and_refrigerant():
    """A2L refrigerants (R-32, R-454B) have a leak signal; only a heat pump defrosts."""
    assert modes_wanted(found_with('kind = "none"').job) == ["drive_fault", "sensor_loss"]
    assert modes_wanted(found_with(STRIPS).job) == ["drive_fault", "sensor_loss", "heat_call"]
    assert modes_wanted(found_with(PUMP).job)[2:] == ["heat_call", "defrost"]
    for refrigerant in ("R-32", "R-454B"):
        assert modes_wanted(found_with(PUMP, refrigerant=refrigerant).job)[-1] == "leak_signal"
    assert "leak_signal" in modes_wanted(found_with(STRIPS, refrigerant="unknown").job)


def test_too_little_air_is_not_met_unless_compressor_and_heat_locked_out():
    short = BLOWER + CARD + proven("sensor_loss", "heat_call") + proven("drive_fault", airflow="700 cfm")
    items, _ = listed(short)
    assert items["drive_fault"]["why"] == "drive_why.mode_short_of_air"
    items, check = listed(short + "locked_out = true\n")
    assert items["drive_fault"]["why"] == "drive_why.mode_locked_out" and check["complete"]
    ran_on = BLOWER + CARD + '[[drive.modes]]\nmode = "sensor_loss"\ndate = "2026-04-17"\nlocked_out = false\n'
    assert listed(ran_on)[0]["sensor_loss"]["why"] == "drive_why.mode_not_locked_out"


def test_a_heat_call_may_do_with_less_air_where_heat_is_safe_on_it():
    """10 kW on 900 cfm rises 37 F, within 50; on 500 cfm it does not."""
    faults = BLOWER + CARD + proven("drive_fault", "sensor_loss")
    assert listed(faults + proven("heat_call", airflow="900 cfm"))[0]["heat_call"]["status"] == "met"
    assert listed(faults + proven("heat_call", airflow="500 cfm"))[0]["heat_call"]["status"] == "not_met"


def test_a_leak_signal_wants_air_and_no_lock_out_serves():
    """common-practice: a leak signal of a flammable refrigerant means the listed mitigation airflow."""
    locked = '[[drive.modes]]\nmode = "leak_signal"\ndate = "2026-04-17"\nlocked_out = true\n'
    assert (
        listed(BLOWER + CARD + ALL + locked, refrigerant="R-454B")[0]["leak_signal"]["why"]
        == "drive_why.leak_needs_air"
    )
    moved = BLOWER + CARD + ALL + proven("leak_signal", airflow="1180 cfm")
    items, check = listed(moved, refrigerant="R-454B")
    assert items["leak_signal"]["status"] == "met" and check["complete"]
    assert items["leak_signal"]["bound"] < items["leak_signal"]["figure"]["mid"]


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        (proven("magic"), r"drive.modes.1.mode: 'magic' is not known; known here: drive_fault"),
        (
            proven("heat_call").replace("2026-04-17", "last week"),
            r"needs a day such as \"2026-04-17\", got \"last week\"",
        ),
        ('[[drive.modes]]\nmode = "defrost"\ndate = "2026-04-17"\n', r"mode defrost needs airflow, or locked_out"),
        ("[drive]\n" + proven("heat_call", "heat_call"), r"drive: modes name heat_call more than once"),
        ('[drive]\nderated_amps = "4 A"\n', r"derated_ambient and derated_amps belong together"),
        ('[drive]\nrated_amps = "4 V"\n', r"drive.rated_amps: the value must be convertible to"),
        ('[drive]\nmounting = "roof"\n', r"drive.mounting: 'roof' is not known; known here: attic"),
    ],
)
def test_bad_drive_is_one_sentence(more, sentence):
    with pytest.raises(JobError, match=sentence) as raised:
        found_with(STRIPS, more)
    assert "\n" not in str(raised.value)


def test_every_id_the_list_can_say_has_its_word():
    """All reasons and actions, those in the source and those made of a line's id and its state."""
    source = Path(__file__).resolve().parents[2] / "src" / "airtrim" / "work" / "settings" / "drive_check.py"
    said = set(re.findall(r'"((?:mode|leak|ambient|motor)_[a-z_]+)"', source.read_text())) & {
        "mode_untested", "mode_airflow", "mode_short_of_air", "mode_locked_out", "mode_not_locked_out", "leak_needs_air",
        "ambient_derated",
    }  # fmt: skip
    assert len(said) == 7
    wanted = {f"drive_why.{one}" for one in said}
    known = words.catalogue().keys()
    for one in ("maker_approves", "volts", "amps", "ambient", "protector", "one_lead", "leads_capped"):
        wanted |= {f"drive_why.{one}_{status}" for status in ("met", "not_met", "not_yet_known")}
    wanted |= {
        f"drive_why.motor_{one}" for one in ("met", "not_yet_known", "capacitor_start", "split_phase", "shaded_pole")
    }
    items, _ = listed(heat=PUMP, refrigerant="R-454B")
    wanted |= {f"drive_item.{one}" for one in items} | {f"drive_do.{one}" for one in items}
    wanted |= {f"drive_status.{one}" for one in ("met", "not_met", "not_yet_known")}
    assert sorted(wanted - known) == []


@pytest.mark.parametrize("system", ["inch_pound", "si"])
def test_the_longest_sheet_stays_on_one_page(system):
    """A heat pump with strips and a flammable refrigerant: every line and mode of the list, every row of heat."""
    found = found_with(PUMP, refrigerant="R-454B")
    found = replace(
        found, airflow=replace(found.airflow, m3_s=0.75)
    )  # four digits of cfm make the card's widest column
    result = drive_result()
    result["settings"] = json.loads(json.dumps(settings_sheet(found, drive_of(found), WARM, True)))
    data = paper_data(result, None, system)
    assert len(data["drive_list"]["rows"]) == 13 and len(data["heat"]) >= 4
    document = pypdfium2.PdfDocument(paper_pdf(result, None, system))
    pages = [page.get_textpage().get_text_range() for page in document]
    body = next(number for number, page in enumerate(pages) if "Readings taken" in page)
    sheet = [text for text in pages if "Settings sheet" in text]
    assert len(sheet) == 1 and body <= 4
    for wanted in ("Before the drive may stay", "Proven: refrigerant-leak signal", "Wire a drive by its maker's"):
        assert wanted in " ".join(sheet[0].split())


def test_a_refused_drive_prints_its_list_beside_the_setting_that_was_chosen():
    more = BLOWER + CARD.replace("protector_in_circuit = true", "protector_in_circuit = false") + ALL
    found = found_with(STRIPS, more)
    result = drive_result()
    result["settings"] = settings_sheet(found, tap_of(found), WARM, True)
    refused = choose_drive(found, leave_as_is(found), None, lambda _: None)
    result["settings_of_drive"] = settings_sheet(found, refused, None, False)
    data = paper_data(result, None)
    name, state, reason = data["drive_list"]["rows"][0]
    assert name == words.say("drive_item.protector") and state == "not met" and "put it back in circuit" in reason
    assert data["drive"] == "" and data["card"]
