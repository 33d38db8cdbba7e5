"""A limit is shown rounded to its safe side, wherever it is shown: who keeps to what he reads keeps the limit."""

import re

import pytest

from airtrim.report.map import binding, suction_sentence
from airtrim.report.paper import paper_data
from airtrim.report.settings_page import unmet_sentence
from airtrim.report.units import allowed_text, display, limit_text, number_text, setting_text
from airtrim.report.words import label
from airtrim.report.workings import working_lines
from tests.plans import drive_result

CFM = 0.0004719474432


@pytest.mark.parametrize(
    ("value_si", "unit", "at_least", "text"),
    [
        (31.18, "Hz", True, "31.5 Hz"),
        (31.18, "Hz", False, "31.0 Hz"),
        (31.0, "Hz", True, "31.0 Hz"),
        (681.0 * CFM, "m3/s", True, "690 cfm"),
        (689.0 * CFM, "m3/s", False, "680 cfm"),
        (350.0 * CFM / 3516.8528, "m3/s/W", True, "350 cfm/ton"),  # a step stays a step, both ways
        (350.0 * CFM / 3516.8528, "m3/s/W", False, "350 cfm/ton"),
        (0.0, "degC", True, "32.0 °F"),
        (-0.03, "degC", True, "32.0 °F"),
        (-0.03, "degC", False, "31.9 °F"),
        (1.2345, "bar", True, "1.24 bar"),  # a unit without a rule: three figures
        (1.2345, "bar", False, "1.23 bar"),
    ],
)
def test_a_least_limit_goes_up_and_a_greatest_down(value_si, unit, at_least, text):
    assert limit_text(value_si, unit, at_least) == text


def test_settings_that_are_limits_and_bands_go_inwards():
    assert setting_text("least_hertz", 31.18, "Hz") == "31.5 Hz"
    assert setting_text("coil_sensor_drop", 10.04, "K") == "18.0 °F"  # 18.07 °F: a larger drop is a colder coil
    assert setting_text("ramp_time", 30.6, "s") == "31 s"
    assert allowed_text(31.18, 59.7, "Hz") == "31.5 to 59.5 Hz"
    assert allowed_text(31.1, 31.4, "Hz") == ""


def numbers(text):
    return [float(one.replace(",", "")) for one in re.findall(r"\d[\d,]*\.?\d*", text)]


@pytest.mark.parametrize("system", ["inch_pound", "si"])
def test_every_limit_of_a_plan_is_shown_on_its_safe_side(system):
    """Odd values put under each limit and setting, read again from map, PDF, settings sheet and workings."""
    result = drive_result()
    odd = 1.000123
    option = next(one for one in result["options"] if any(x["id"].startswith("frequency_") for x in one["limits"]))
    for limit in option["limits"]:
        if limit["bound"]:
            limit["bound"] *= odd
    for row in result["settings"]["card"]:
        for name in ("value", "low", "high"):
            if isinstance(row[name], float) and row["unit"] != "tap":
                row[name] *= odd
    data = paper_data(result, None, system)
    texts = {row[0].rsplit(", ", 1)[0]: row[0] for row in data["limits"]}
    seen = 0
    for limit in option["limits"]:
        text = texts.get(label(limit["id"], "limit"))
        if text is None or limit["bound"] is None or not limit["figure"]:
            continue
        how = display(limit["figure"]["unit"], system)
        exact, shown = limit["bound"] * how.factor + how.offset, numbers(text)[-1]
        others = [x["bound"] for one in result["options"] for x in one["limits"] if x["id"] == limit["id"]]
        if others[0] != limit["bound"]:
            continue  # the row shows the first option's
        assert shown >= exact - 1e-5 * how.step if limit["at_least"] else shown <= exact + 1e-5 * how.step
        seen += 1
    assert seen >= 2
    for row, shown in zip(result["settings"]["card"], data["card"], strict=True):
        if not shown["band"]:
            continue
        how = display(row["unit"], system)
        low, high = numbers(shown["band"])[:2]
        assert low >= row["low"] * how.factor + how.offset - 1e-5 * how.step
        assert high <= row["high"] * how.factor + how.offset + 1e-5 * how.step
    found = binding(result["map"])
    if found is not None:
        how = display("m3/s", system)
        assert numbers(suction_sentence(result, system))[-1] >= found["airflow"] * how.factor - 1e-5 * how.step


def test_workings_and_the_unmet_pair_show_bounds_on_the_safe_side():
    unmet = {"first": "least_frequency", "second": "", "relaxed": "least_frequency", "by": 2.0, "bound": 31.18, "to": 29.0,
             "unit": "Hz", "at_least": True}  # fmt: skip
    assert "31.5 Hz" in unmet_sentence(unmet, "inch_pound")
    result = drive_result()
    one = next(w for w in result["workings"] if any(g["name"] == "least_allowed" for g in w["inputs"]))
    for given in one["inputs"]:
        if given["name"] == "least_allowed":
            given["value"] += 1e-4 * abs(given["value"])
            how = display(given["unit"], "inch_pound")
            wanted = number_text(given["value"] * how.factor + how.offset, how.step, "least")
    assert any("least allowed" in line and wanted in line for line in working_lines(one))
