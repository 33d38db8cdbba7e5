"""Words, units, pictures and paper of the report, made from an invented result."""

import json
import re
import subprocess
from pathlib import Path

import pytest

from airtrim.core.errors import InputError
from airtrim.report import words
from airtrim.report.map import answer, map_specification
from airtrim.report.months import months_specification
from airtrim.report.paper import paper_pdf
from airtrim.report.render import svg
from airtrim.report.units import figure_text, value_text

SOURCE = Path(__file__).resolve().parents[2] / "src" / "airtrim"


@pytest.fixture
def result():
    return json.loads(Path(__file__).with_name("sample_result.json").read_text(encoding="utf-8"))


def test_every_sentence_said_in_the_report_is_in_the_catalogue():
    said = set()
    for path in [*SOURCE.glob("report/*.py"), *SOURCE.glob("cli/*.py")]:
        said |= set(re.findall(r'\bsay\(\s*"([^"]+)"', path.read_text(encoding="utf-8")))
    assert said
    assert sorted(said - words.catalogue().keys()) == []


def test_a_missing_sentence_or_field_is_an_error():
    with pytest.raises(InputError, match=r"no_such_id"):
        words.say("no_such_id")
    with pytest.raises(InputError, match="airflow"):
        words.say("map.answer", {})


# Factors: international foot and pound, Btu(IT), conventional inch of water (own-derivation from these definitions).
@pytest.mark.parametrize(
    ("value_si", "unit", "system", "text"),
    [
        (0.0004719474432 * 690, "m3/s", "inch_pound", "690 cfm"),
        (0.3256, "m3/s", "si", "325 L/s"),
        (0.0, "degC", "inch_pound", "32.0 °F"),
        (2.0, "K", "inch_pound", "3.6 °F"),
        (124.544, "Pa", "inch_pound", "0.50 in w.c."),
        (0.55, "fraction", "si", "55 %"),
        (float("nan"), "Pa", "si", "not known Pa"),
    ],
)
def test_value_text(value_si, unit, system, text):
    assert value_text(value_si, unit, system) == text


def test_figure_text_has_its_range_or_its_reason():
    assert figure_text({"low": 650.0, "mid": 690.0, "high": 730.0, "unit": "h"}) == "690 h (650 to 730)"
    assert figure_text({"id": "x", "status": "not_known", "why": "no reading"}) == "no reading"


def test_map_says_its_answer_in_its_title(result):
    specification = map_specification(result)
    assert specification["title"]["text"] == "690 cfm dries best without icing"
    assert len(specification["vconcat"]) == 2
    result["map"]["proposed"] = None
    assert "690" not in answer(result["map"])


def test_map_without_a_series_is_refused(result):
    result["map"]["series"] = result["map"]["series"][:1]
    with pytest.raises(InputError, match="lacks a series"):
        map_specification(result)


def test_pictures_fit_a_phone_and_no_text_is_small(result):
    picture = svg(map_specification(result))
    assert float(re.search(r'width="([\d.]+)"', picture).group(1)) <= 360
    assert min(float(size) for size in re.findall(r'font-size="([\d.]+)px"', picture)) >= 12
    assert "too near frost" in picture
    assert months_specification(result) is not None


def test_paper_has_two_to_four_pages_and_the_key_figures(result, tmp_path):
    path = tmp_path / "report.pdf"
    path.write_bytes(paper_pdf(result, svg(map_specification(result))))
    information = subprocess.run(["pdfinfo", path], capture_output=True, text=True, check=True).stdout
    assert 2 <= int(re.search(r"Pages:\s+(\d+)", information).group(1)) <= 4
    assert "Tagged:          yes" in information
    text = subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True).stdout
    assert "690 cfm" in text and "Drive with coil feedback" in text


def test_settings_not_issued_are_not_printed(result, tmp_path):
    result["settings"].update(issued=False, why="The coil would be too near frost.")
    path = tmp_path / "report.pdf"
    path.write_bytes(paper_pdf(result, None))
    text = " ".join(subprocess.run(["pdftotext", path, "-"], capture_output=True, text=True, check=True).stdout.split())
    assert "No settings are issued. The coil would be too near frost." in text
    assert "keeps the coil clear of frost" not in text
