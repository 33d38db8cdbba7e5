"""From search to sheet: one page, its figures, the owner's advice; trimming by hand."""

import math
from dataclasses import replace

import numpy as np
import pypdfium2
import pytest

from airtrim.core.errors import InputError
from airtrim.report.settings_page import settings_data, settings_lines, settings_pdf, trim_lines
from airtrim.work.findings.parameters import CFM
from airtrim.work.settings.choose import choose_settings
from airtrim.work.settings.effects import advice
from airtrim.work.settings.issue import issue_settings
from airtrim.work.settings.trim import BEGIN, Values, read_values, ready, run_trimmed, trimmed
from tests.work.settings.settings_cases import SMALL, prepared


@pytest.fixture(scope="module")
def issued():
    found, now, years = prepared()
    return issue_settings(found, now, "drive_coil_feedback", years.typical, effort=SMALL)


def test_the_sheet_is_one_page_in_the_hardwares_terms(issued):
    pages = pypdfium2.PdfDocument(settings_pdf(issued))
    assert len(pages) == 1
    text = pages[0].get_textpage().get_text_range()
    for words in ("Least frequency", "Hz", "cfm", "On site", "Read then", "When something fails", "How to go back"):
        assert words in text
    assert len(pypdfium2.PdfDocument(settings_pdf(issued, "si", "a4"))) == 1


def test_the_proof_counts_every_limit_over_all_systems(issued):
    chances = {one["limit"]: one for one in issued["choice"]["chances"]}
    assert set(chances) == {"coil", "frost", "set_point", "sweat"}
    assert all(one["systems"] == 8 and not one["claimed"] for one in chances.values())
    data = settings_data(issued)
    assert "not claimed" in data["chances"]
    assert any("Hz" in line for line in settings_lines(issued, "inch_pound"))


def test_turning_a_setting_shows_the_sign_physics_asks_for(issued):
    """Less air over the coil makes it colder and dries more (ordering facts of humid houses) [common-practice]."""
    changes = {(one["id"], one["way"]): {f["id"]: f for f in one["figures"]} for one in issued["effects"]}
    if ("least_airflow", "down") in changes:  # not where the card ends there
        down = changes["least_airflow", "down"]
        assert down["damp_hours"]["mid"] < 0.0 and down["least_icing_margin_k"]["mid"] < 0.0
    up = changes["least_airflow", "up"]
    assert up["damp_hours"]["mid"] > 0.0 and up["least_icing_margin_k"]["mid"] > 0.0
    if ("off_delay", "up") in changes:  # water on the coil goes back to the house
        assert changes["off_delay", "up"]["damp_hours"]["mid"] > 0.0


def test_an_owner_hears_of_the_mild_wet_week_and_of_dates(issued):
    ids = [one["id"] for one in issued["advice"]]
    assert ids[0] == "owner.mild_wet_week"
    found, _, _ = prepared()
    assert [one["id"] for one in advice(found.job, [], "drive_coil_feedback")][1] == "owner.one_set"


def test_limits_that_no_airflow_keeps_issue_nothing_and_say_which():
    found, now, years = prepared("1700 cfm")
    result = issue_settings(found, now, "drive_coil_feedback", years.typical, effort=SMALL)
    assert not result["sheet"]["issued"] and result["sheet"]["card"] == []
    lines = settings_lines(result, "inch_pound")
    assert any("1,700 cfm" in line for line in lines)


def test_an_option_without_settings_is_refused():
    found, now, years = prepared()
    from airtrim.core.errors import JobError

    with pytest.raises(JobError, match="no settings to search"):
        choose_settings(found, now, "dehumidifier", years.typical)


def test_trimming_one_system_is_the_samples_first():
    found, _, years = prepared()
    values = Values(0.85, 13.0, 30.0, 30.0)
    _, one = run_trimmed(ready(found, years.typical, 1), values, 1, 60.0)
    _, four = run_trimmed(ready(found, years.typical, 4), values, 4, 60.0)
    assert one.damp_hours[0].tolist() == four.damp_hours[0].tolist()
    answer = trimmed(ready(found, years.typical, 4), values, 4, 60.0)
    assert answer["systems"] == 4
    lines = trim_lines(answer, found.airflow.m3_s, "inch_pound")
    least = math.ceil(0.85 * found.airflow.m3_s / CFM / 10.0) * 10  # shown on the safe side
    assert f"least airflow {least:,} cfm" in lines[0]


def test_trimmed_values_are_read_with_their_units():
    read = read_values({"least_airflow": "930 cfm", "coil_sensor_drop": "27 F"}, BEGIN, 1240.0 * 0.0004719474432)
    assert read.least_flow == pytest.approx(0.75) and read.sensor_drop_k == pytest.approx(15.0)
    assert read.off_delay_s == BEGIN.off_delay_s
    with pytest.raises(InputError, match="cannot be trimmed; known here: least_airflow"):
        read_values({"airflow": "900 cfm"}, BEGIN, 0.5)
    with pytest.raises(InputError, match="between 30 and 100 %"):
        read_values({"least_airflow": "2000 cfm"}, BEGIN, 0.5)


def test_an_off_delay_that_a_search_cannot_see_is_chosen_at_a_finer_step(issued):
    rows = {one["id"]: one["value"] for one in issued["sheet"]["card"]}
    assert rows["off_delay"] in (0.0, 15.0)  # longer gives water back, Shirey and Henderson
    assert np.isfinite(issued["worst_margin"])
    assert replace(BEGIN, least_flow=0.7).least_flow == 0.7
