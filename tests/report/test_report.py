"""Words, units, pictures and paper of the report, made from an invented result."""

import re
from pathlib import Path

import pypdfium2
import pytest

from airtrim.core.errors import InputError
from airtrim.report import look, words
from airtrim.report.map import (
    DETAILS,
    answer,
    binding,
    detail_specification,
    map_specification,
    map_table,
    suction_sentence,
)
from airtrim.report.months import months_specification
from airtrim.report.paper import paper_pdf
from airtrim.report.render import svg, svgs
from airtrim.report.units import figure_text, limit_text, value_text
from tests.plans import demo_result, drive_result

SOURCE = Path(__file__).resolve().parents[2] / "src" / "airtrim"


@pytest.fixture
def result():
    return drive_result()


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
        (1.13, "kg", "inch_pound", "2.5 lb"),
        (1064.0, "kg", "inch_pound", "2,346 lb"),
        (12345.6, "kWh", "si", "12,350 kWh"),
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
    proposed = value_text(result["map"]["proposed"], "m3/s")
    assert " ".join(specification["title"]["text"]) == f"{proposed} dries best within the limits"
    assert len(specification["vconcat"]) == 2
    result["map"]["proposed"] = None
    assert proposed not in answer(result["map"])


def test_map_without_a_series_is_refused(result):
    result["map"]["series"] = result["map"]["series"][:1]
    with pytest.raises(InputError, match="lacks a series"):
        map_specification(result)


def drawn_width(picture):
    return float(re.search(r'width="([\d.]+)"', picture).group(1))


def test_pictures_fit_a_phone_and_no_text_is_small(result):
    pictures = svgs([map_specification(result), detail_specification(result)])
    for picture in pictures:
        assert drawn_width(picture) <= 360
        assert min(float(size) for size in re.findall(r'font-size="([\d.]+)px"', picture)) >= 12
    assert "too near frost" in pictures[0]
    assert "Superheat" in pictures[1]
    assert months_specification(result) is not None


def luminance(colour):
    """Relative luminance of #rrggbb (WCAG 2.2, definition of relative luminance)."""
    channels = [int(colour[at : at + 2], 16) / 255.0 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_text_in_pictures_stands_out_from_what_it_lies_on(result):
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)  # WCAG 2.2, SC 1.4.3
    picture = svg(map_specification(result))
    texts = set(re.findall(r'<text[^>]*fill="(#[0-9a-fA-F]{6})"', picture))
    assert texts
    assert texts <= {look.INK, look.GREY}
    assert min(contrast(look.INK, ground) for ground in (look.PAPER, look.SAND, look.QUIET)) >= 7.0
    assert contrast(look.GREY, look.PAPER) >= 4.5  # titles of axes and what stands under a title: never on a fill


def test_the_limit_that_binds_is_hatched_and_named(result):
    limits = result["map"]["limits"]
    for one in limits:
        one["airflow"] = None
    assert binding(result["map"]) is None
    assert ">motor" not in svg(map_specification(result))
    x = result["map"]["series"][0]["x"]
    next(one for one in limits if one["id"] == "least_frequency")["airflow"] = x[8]
    next(one for one in limits if one["id"] == "coil_saturation")["airflow"] = x[4]
    assert binding(result["map"])["id"] == "least_frequency"
    assert ">motor" in svg(map_specification(result))
    assert f"Below {limit_text(x[8], 'm3/s', at_least=True)} a limit binds: Least frequency" in suction_sentence(result)


@pytest.mark.parametrize("system", ["inch_pound", "si"])
def test_the_table_behind_the_map_has_every_quantity_with_its_range(result, system):
    heading, *rows = map_table(result, system)
    assert [name.split(" (")[-1] for name in heading[2:4]] == ["proposed)", "now)"]
    assert len(rows) == 3 + len(DETAILS)
    first = result["map"]["series"][0]
    assert first["id"] == "saturated_suction"
    assert rows[0][1].startswith(value_text(first["mids"][0], "degC", system).split()[0])
    for row in rows:
        assert len(row) == len(heading)
        assert all(" to " in cell or cell == words.say("map.not_known") for cell in row[1:])
    # straight between neighbours: a series that is its own airflow says the airflow
    first["mids"] = first["lows"] = first["highs"] = list(first["x"])
    first["unit"] = "m3/s"
    at = map_table(result, system)
    assert [cell.split(" (")[0] for cell in at[1][1:]] == [name.split()[0] for name in at[0][1:]]


def printed(result, *, pictures=False, **how):
    """The text of each page of the paper, and whether it is tagged for screen readers."""
    drawn = svg(map_specification(result, how.get("system", "inch_pound"))) if pictures else None
    document = pypdfium2.PdfDocument(paper_pdf(result, drawn, **how))
    pages = [page.get_textpage().get_text_range() for page in document]
    return [page.replace("\r", "") for page in pages], document.is_tagged()


def in_one_line(pages):
    return " ".join("\n".join(pages).split())


@pytest.mark.parametrize("make", [demo_result, drive_result])
@pytest.mark.parametrize("system", ["inch_pound", "si"])
def test_paper_has_two_to_four_pages_and_the_key_figures(make, system):
    result = make()
    pages, tagged = printed(result, pictures=True, system=system)
    text = "\n".join(pages)
    body = next(number for number, page in enumerate(pages) if "Readings taken" in page)
    assert 2 <= body <= 4 and len(pages) <= body + 3  # readings and appendix behind
    assert tagged
    for figure in result["findings"]["figures"]:
        assert figure_text(figure, system) in text
    assert "Drive with coil feedback" in text
    for mark in ("{", "}", "None", "nan", "°F" if system == "si" else "°C)"):
        assert mark not in text.replace("32 °F (0 °C)", "").replace("5 °F (3 K)", "")


def test_the_settings_sheet_is_one_page_with_its_band_and_readings(result):
    pages, _ = printed(result)
    sheets = [page for page in pages if "Settings sheet" in page]
    assert len(sheets) == 1
    for wanted in ("Coil sensor drop", "Allowed", "What to read", "To go back", "not yet shown", "Disconnect, lock"):
        assert wanted in sheets[0]


def test_every_option_limit_and_reason_is_printed():
    text = in_one_line(printed(demo_result())[0])
    for wanted in (
        "Maker's least airflow",
        "Air for the heat",
        "Icing margin, least of the year",
        "Fan on AUTO: The fan switch is on",
    ):
        assert wanted in text


def test_settings_not_issued_are_not_printed(result):
    result["settings"].update(issued=False, why="settings.heat_unknown", card=[], expected=[])
    text = in_one_line(printed(result)[0])
    assert "No settings are issued. The heat kind is not known" in text
    assert "Coil sensor drop" not in text


@pytest.mark.parametrize("make", [demo_result, drive_result])
def test_every_id_of_a_result_has_its_word(make):
    """No id of work/ reaches a screen or paper as an id."""
    result = make()
    wanted = {f"figure.{f['id']}" for f in result["findings"]["figures"] + result["settings"]["expected"]}
    wanted |= {f"assumed.{one['id']}" for one in result["findings"]["assumed"]}
    wanted |= {one["value"] for one in result["findings"]["assumed"] if isinstance(one["value"], str)}
    wanted |= {f"caution.{one}" for one in result["cautions"] + result["settings"]["cautions"]}
    wanted |= {message["id"] for message in result["findings"]["messages"]}
    wanted |= {result["recommendation"]["why"]["id"], result["settings"]["why"]}
    for option in result["options"]:
        wanted |= {f"option.{option['id']}", *([option["why"]] if option["why"] else [])}
        wanted |= {f"figure.{f['id']}" for f in option["figures"]} | {f"limit.{one['id']}" for one in option["limits"]}
        wanted |= {f"status.{one['status']}" for one in option["limits"]}
    for row in result["settings"]["card"]:
        wanted |= {f"setting.{row['id']}", row["why"]}
    assert sorted(wanted - words.catalogue().keys()) == []


def test_every_id_written_in_work_has_its_sentence():
    """Ids that only some jobs reach, found in the sources."""
    said = set()
    for path in SOURCE.glob("work/**/*.py"):
        text = path.read_text(encoding="utf-8")
        said |= set(re.findall(r'"((?:option_why|settings|setting_why|value|finding)\.[a-z_0-9]+)"', text))
        said |= {f"finding.{one}" for one in re.findall(r'\bsay\(\s*"([a-z_]+)"', text)}
    assert len(said) > 15
    assert sorted(said - words.catalogue().keys()) == []
