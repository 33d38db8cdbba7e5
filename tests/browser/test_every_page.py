"""Every page: no violation of axe's rules, nothing wider than the screen, targets large enough, print in grey; the sliders."""

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import PAGES, PATIENCE_MS, address_of

pytestmark = [pytest.mark.browser, pytest.mark.slow]
expect.set_options(timeout=PATIENCE_MS)
#: WCAG 2.2 A and AA, enhanced contrast (7:1) and target size; `nothing` answers 404, which the browser itself reports.
RULES = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]},
         "rules": {"color-contrast-enhanced": {"enabled": True}, "target-size": {"enabled": True}}}  # fmt: skip
NAMES = [name for name in PAGES if name != "nothing"]


def opened(browse, name, job, width, scheme="light", height=800):
    page = browse(width, height, scheme)
    page.goto(address_of(name, job))
    if name == "trim":
        expect(page.locator("#year .strips")).to_be_visible()
    for summary in page.locator("details:not([open]) > summary").all():
        if summary.is_visible():
            summary.click()
    return page


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 768, 1440])
@pytest.mark.parametrize("name", NAMES)
def test_axe_finds_nothing(browse, worked_out, name, width, scheme):
    from axe_playwright_python.sync_playwright import Axe

    page = opened(browse, name, worked_out, width, scheme)
    found = Axe().run(page, options=RULES)
    told = [
        f"{one['id']}: {one['help']}: {[(node['target'], node['failureSummary'][:300]) for node in one['nodes'][:3]]}"
        for one in found.response["violations"]
    ]
    assert not told, "\n".join(told)


@pytest.mark.parametrize("width", [320, 360, 640, 768, 1440])
@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_wider_than_the_screen(browse, worked_out, name, width):
    """320 is 200 % zoom of 640 px, 640 that of 1280."""
    page = opened(browse, name, worked_out, width)
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("name", NAMES)
def test_letters_twice_as_large_still_fit(browse, worked_out, name):
    page = opened(browse, name, worked_out, 768)
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    assert page.evaluate("document.documentElement.scrollWidth") <= 768


def test_targets_are_large_on_a_phone(browse, worked_out):
    """At least 44 px high: buttons, links that lead on, fields and choices."""
    small = []
    for name in NAMES:
        page = opened(browse, name, worked_out, 360)
        small += page.evaluate(
            """name => [...document.querySelectorAll(
                'button, .main, .second, .way a, .bar a, input:not([type=hidden]), select, summary')]
              .filter(one => one.offsetParent && one.getBoundingClientRect().height < 43.5 && !one.closest('.pick, .choices'))
              .map(one => `${name}: ${one.outerHTML.slice(0, 80)} ${one.getBoundingClientRect().height}`)""",
            name,
        )
    assert not small, "\n".join(small)


def test_a_missing_page_is_a_page(browse, worked_out):
    page = browse()
    page.goto("/nothing/")
    expect(page.locator("h1")).to_have_text("That did not work")
    browse.complaints.clear()  # the browser reports the 404 itself


def test_printed_it_is_legible_in_grey(browse, worked_out):
    page = opened(browse, "owner", worked_out, 768)
    page.emulate_media(media="print")
    assert page.evaluate("getComputedStyle(document.querySelector('.strip .tick')).stroke") == "rgb(0, 0, 0)"
    assert page.locator(".bar").is_hidden()


def test_the_sliders_answer_sharpen_and_stop_at_the_wall(browse, worked_out):
    page = opened(browse, "trim", worked_out, 1440)
    airflow = page.locator("#t-least_flow")
    wall = float(airflow.get_attribute("data-wall"))
    airflow.focus()
    before = page.locator("#year .strips").inner_text()
    page.keyboard.press("End")
    expect(page.locator("#year .strips")).not_to_have_text(before)
    page.keyboard.press("Home")
    assert float(airflow.input_value()) >= wall
    expect(page.locator("#h-least_flow .wall")).to_contain_text("Wall at")
    page.keyboard.press("End")  # full airflow: as safe as now
    expect(page.locator('#year .year[data-sharp="1"]')).to_be_visible()
    expect(page.locator("#year .card")).to_be_visible()
    assert "least_flow=1" in page.url


def test_on_a_phone_the_answer_stays_in_sight(browse, worked_out):
    page = opened(browse, "trim", worked_out, 360)
    page.locator("#t-least_flow").scroll_into_view_if_needed()
    box = page.locator(".glance").bounding_box()
    assert box["y"] + box["height"] <= 801 and box["y"] > 0
