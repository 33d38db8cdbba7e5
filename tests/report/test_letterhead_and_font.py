"""The firm's letterhead on the papers, and one font on picture and paper: read back from the PDF and the SVG."""

import re

import pypdfium2
import pypdfium2.raw as pdfium
import pytest
from typer.testing import CliRunner

from airtrim.core.errors import InputError
from airtrim.report import fonts, look
from airtrim.report.letterhead import MOST, Letterhead, printed, read_letterhead
from airtrim.report.map import map_specification
from airtrim.report.months import months_specification
from airtrim.report.paper import paper_pdf
from airtrim.report.render import svgs
from tests.plans import demo_result, drive_result

FIRM = Letterhead(
    "Nine Pines Air & Heat", "12 Mill Road, Greensboro, NC 27401", "336-555-0142", 'licence #30412 "H-3" *a* $x$ _b_'
)
FILE = """[letterhead]
firm = "Nine Pines Air & Heat"
address = "12 Mill Road, Greensboro, NC 27401"
telephone = "336-555-0142"
licence = 'licence #30412 "H-3" *a* $x$ _b_'
"""


def texts(pdf):
    document = pypdfium2.PdfDocument(pdf)
    return [" ".join(page.get_textpage().get_text_range().split()) for page in document]


def fonts_of(pdf):
    """Base names, without the subset's tag, of the fonts that the pages' texts are set in."""
    import ctypes

    found = set()
    for page in pypdfium2.PdfDocument(pdf):
        for thing in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_TEXT], max_depth=15):
            font = pdfium.FPDFTextObj_GetFont(thing)
            assert pdfium.FPDFFont_GetIsEmbedded(font) == 1
            room = ctypes.create_string_buffer(200)
            pdfium.FPDFFont_GetBaseFontName(font, room, 200)
            found.add(room.value.decode().split("+")[-1])
    return found


@pytest.fixture(scope="module")
def pictures():
    result = drive_result()
    return svgs([map_specification(result), months_specification(result)])


def test_the_letterhead_stands_on_the_report_and_on_its_settings_sheet(pictures):
    pages = texts(paper_pdf(drive_result(), pictures[0], months_svg=pictures[1], letterhead=FIRM))
    body = next(number for number, page in enumerate(pages) if "Readings taken" in page)
    assert 2 <= body <= 5  # the letterhead and the drive's own sheet take a page more than the plain paper
    sheet = next(page for page in pages if "Settings sheet" in page)
    for page in (pages[0], sheet):  # letters that Typst's own language would take for marks stand as typed
        for text in (FIRM.firm, FIRM.address, FIRM.telephone, FIRM.licence):
            assert text in page


def test_without_a_letterhead_nothing_stands_there(pictures):
    bare = texts(paper_pdf(drive_result(), pictures[0]))
    assert bare[0].startswith("Airflow and humidity")
    assert texts(paper_pdf(drive_result(), pictures[0], letterhead=Letterhead())) == bare
    assert printed(Letterhead()) is None


def test_a_long_letterhead_wraps_and_moves_nothing_off_the_paper(pictures):
    long = Letterhead(
        *(" ".join(["longish"] * 40)[: MOST[name]] for name in ("firm", "address", "telephone", "licence"))
    )
    document = pypdfium2.PdfDocument(paper_pdf(demo_result(), pictures[0], letterhead=long))
    page = document[0]
    boxes = [thing.get_bounds() for thing in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_TEXT], max_depth=15)]
    assert boxes
    assert all(left >= 0 and bottom >= 0 and right <= page.get_width() for left, bottom, right, _ in boxes)


def test_a_settings_file_gives_the_letterhead(tmp_path):
    file = tmp_path / "shop.toml"
    file.write_text(FILE, encoding="utf-8")
    assert read_letterhead(file) == FIRM
    assert FIRM.mark != Letterhead("Nine Pines Air & Heat").mark and Letterhead().mark == ""


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "no table [letterhead]"),
        ("[letterhead", "is not TOML"),
        ('letterhead = "x"', "no table [letterhead]"),
        ('[letterhead]\nfax = "1"', "letterhead.fax is not known; known are firm"),
        ("[letterhead]\nfirm = 3", "must be a text in quotes"),
        (f'[letterhead]\nfirm = "{"x" * 121}"', "has 121 letters; at most 120"),
    ],
)
def test_a_wrong_settings_file_is_one_sentence(tmp_path, text, says):
    file = tmp_path / "shop.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_letterhead(file)
    assert says in str(caught.value) and str(file) in str(caught.value)


def test_plan_by_command_line_prints_the_letterhead(tmp_path, monkeypatch):
    """The plan itself is not computed here: what is tested is the way of the letterhead to the paper."""
    from airtrim.cli import commands
    from tests.plans import EXAMPLE

    monkeypatch.setattr(commands, "_computed", lambda *_: drive_result())
    (tmp_path / "shop.toml").write_text(FILE, encoding="utf-8")
    words = ["plan", str(EXAMPLE), "--out", str(tmp_path / "out"), "--letterhead", str(tmp_path / "shop.toml")]
    answer = CliRunner().invoke(commands.application, words)
    assert answer.exit_code == 0, answer.output
    assert FIRM.licence in texts((tmp_path / "out" / "report.pdf").read_bytes())[0]
    missing = CliRunner().invoke(commands.application, [*words[:-1], str(tmp_path / "none.toml")])
    assert isinstance(missing.exception, InputError) and "There is no settings file" in str(missing.exception)


@pytest.mark.parametrize("make", [demo_result, drive_result])
def test_the_paper_embeds_the_one_font_and_no_other(pictures, make):
    pdf = paper_pdf(make(), pictures[0], months_svg=pictures[1], letterhead=FIRM)
    assert {name.removesuffix("-Identity-H") for name in fonts_of(pdf)} == {
        "SourceSansPro-Regular",
        "SourceSansPro-Semibold",
    }


def test_pictures_are_set_in_the_one_font(pictures):
    for picture in pictures:
        families = re.findall(r'<text[^>]*font-family="([^"]+)"', picture)
        assert families
        assert all(one.replace("&apos;", "'").startswith(f"'{fonts.FAMILY}'") for one in families), families
    assert look.FONT.startswith(f"'{fonts.FAMILY}'")


def test_widths_are_those_of_the_font():
    """Against pdfium's own measure of a page that Typst set (independent-code)."""
    import typst

    source = '#set page(width: 400pt, height: 40pt, margin: 5pt)\n#set text(font: "Source Sans Pro", size: 20pt)\nmotor'
    folder = [str(fonts.folder())]
    page = pypdfium2.PdfDocument(typst.compile(source.encode(), font_paths=folder, ignore_system_fonts=True))[0]
    text = page.get_textpage()
    left, right = text.get_charbox(0, loose=True)[0], text.get_charbox(4, loose=True)[2]
    assert fonts.width_px("motor", 20.0) == pytest.approx(right - left, abs=0.6)
    assert fonts.width_px("motor", 20.0, 600) > fonts.width_px("motor", 20.0)
    assert fonts.wrapped("too near frost", fonts.width_px("too near", 14.0), 14.0) == ["too near", "frost"]
