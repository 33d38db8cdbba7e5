"""Steps at the house stand on terminal and paper with their figures, numbered in their order."""

import io

import pypdfium2
import pytest
from rich.console import Console

from airtrim.report.paper import paper_pdf
from airtrim.report.terminal import print_summary
from tests.plans import demo_result
from tests.scenarios.cases import answers_of


@pytest.fixture(scope="module")
def result():
    made = demo_result()
    made["readings"]["site_steps"] = answers_of("S09")["site_steps"]
    return made


def test_the_terminal_tells_them(result):
    out = io.StringIO()
    print_summary(result, Console(file=out, width=300))
    said = out.getvalue()
    assert "At the house: which part wails." in said
    assert said.index("  1. Blower on: hold a tissue") < said.index("  4. 1,200 cfm in all wants 432 in²")


def test_the_paper_tells_them_in_the_readers_units(result):
    text = "".join(
        page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(paper_pdf(result, None, "si"))
    )
    flat = " ".join(text.split())
    assert flat.index("1. Blower on") < flat.index("5. Take every tissue off again")
    assert "2,785 cm²" in flat


def test_a_job_without_signs_has_none():
    out = io.StringIO()
    print_summary(demo_result(), Console(file=out, width=300))
    assert "At the house" not in out.getvalue()
