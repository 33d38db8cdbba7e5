"""Lists of records by a person's steps: a row added, changed, taken out, by thumb, by keyboard and without script; axe on them."""

import pytest
from playwright.sync_api import expect

from airtrim.web import draft
from tests.browser.conftest import PATIENCE_MS
from tests.browser.test_every_page import RULES
from tests.browser.test_keyboard_and_policy import tab_to
from tests.plans import EXAMPLE

pytestmark = [pytest.mark.browser, pytest.mark.slow]
expect.set_options(timeout=PATIENCE_MS)
#: The list of a reading that the steps are made on.
AT = "readings-1-rooms"
LIST = f"#l-{AT}"
ROWS = {
    "readings.1.rooms": [{"name": "Den", "pressure": "3 Pa"}, {"name": "Study", "pressure": "1 Pa", "supply": "80 cfm"}],
    "readings.1.traverses": [
        {"shape": "round", "diameter": "14 in", "velocity_pressures": [["0.03 inH2O"] * 6] * 3},
    ],
    "tariff.seasons": [
        {"name": "summer", "start": "06-01", "end": "09-30"},
        {"name": "winter", "start": "10-01", "end": "05-31", "price_per_kwh": 0.11},
    ],
    "tariff.seasons.1.tiers": [{"up_to_kwh": 500, "price_per_kwh": 0.12}, {"price_per_kwh": 0.15}],
    "instruments": [{"id": "gauge", "kind": "refrigerant_gauge"}],
}  # fmt: skip


def with_rows():
    text = EXAMPLE.read_text()
    for place, rows in ROWS.items():
        for number, row in enumerate(rows, start=1):
            for key, one in row.items():
                text = draft.changed(text, f"{place}.{number}.{key}", one)
    return text


def brought_in(page, text):
    """The address of a job made from a job file."""
    page.goto("/")
    page.locator("input[type=file]").set_input_files(
        {"name": "job.toml", "mimeType": "text/plain", "buffer": text.encode()}
    )
    page.locator("form:has(input[type=file]) button").click()
    page.wait_for_url("**/survey/")
    return page.url.removesuffix("survey/")


def opened(page, job):
    page.goto(job + "readings/?at=readings.1.rooms")
    expect(page.locator(f"#s-rooms[open] {LIST}")).to_be_visible()


@pytest.mark.parametrize("width", [360, 1440])
def test_rows_by_thumb(browse, width):
    page = browse(width)
    job = brought_in(page, EXAMPLE.read_text())
    opened(page, job)
    for number, (room, pressure) in enumerate([("Den", "3"), ("Study", "1")], start=1):
        page.locator(f"#i-{AT}-{number}-name").fill(room)
        page.locator(f"#i-{AT}-{number}-pressure").fill(pressure)
        page.locator(f"#f-{AT}-{number}-pressure select").select_option("Pa")
        page.locator(f"#n-{AT} button").click()
        expect(page.locator(f"#t-{AT}-{number}")).to_have_text(f"{room} · {pressure} Pa")
        expect(page.locator(f"#i-{AT}-{number + 1}-name")).to_be_focused()  # ready for the next
    assert page.locator(f"#f-{AT}-3-pressure select").input_value() == "Pa"  # as it was last
    page.locator(f"#i-{AT}-3-name").fill("Nursery")
    page.locator(f"#i-{AT}-3-pressure").fill("5000")
    page.locator(f"#n-{AT} button").click()
    expect(page.locator(f"#a-{AT}-3-pressure .wrong")).to_contain_text("must lie in")
    expect(page.locator(f"#i-{AT}-3-name")).to_have_value("Nursery")
    expect(page.locator(f"#i-{AT}-3-pressure")).to_be_focused()
    page.locator(f"#t-{AT}-1").click()
    page.locator(f"#i-{AT}-1-supply").fill("90")
    page.locator(f"#i-{AT}-1-supply").press("Enter")
    expect(page.locator(f"#t-{AT}-1")).to_have_text("Den · 3 Pa · 90 cfm")
    page.locator(f"#r-{AT}-1 form:has(input[name=remove]) button").click()
    expect(page.locator(f"{LIST} [role=status]")).to_contain_text("Row 1 taken out")
    expect(page.locator(f"#t-{AT}-1")).to_have_text("Study · 1 Pa")
    page.reload()
    expect(page.locator(f"{LIST} li")).to_have_count(1)
    page.locator("form.undo button").click()
    opened(page, job)
    expect(page.locator(f"{LIST} li")).to_have_count(2)
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_rows_by_keyboard_alone(browse):
    page = browse(1440, 900)
    opened(page, brought_in(page, EXAMPLE.read_text()))
    for number, room in ((1, "Den"), (2, "Study")):
        if number == 1:
            tab_to(page, f"#i-{AT}-1-name")
        expect(page.locator(".htmx-request, .htmx-swapping, .htmx-settling, .htmx-added")).to_have_count(0)
        page.keyboard.type(room)
        tab_to(page, f"#i-{AT}-{number}-pressure")
        page.keyboard.type("0.02")
        page.keyboard.press("Enter")
        expect(page.locator(f"#t-{AT}-{number}")).to_contain_text(f"{room} · 0.02")
        expect(page.locator(f"#i-{AT}-{number + 1}-name")).to_be_focused()
    page.goto(page.url)
    tab_to(page, f"#r-{AT}-1 summary")
    page.keyboard.press("Enter")
    tab_to(page, f"#r-{AT}-1 form:has(input[name=remove]) button")
    page.keyboard.press("Enter")
    expect(page.locator(f"{LIST} [role=status]")).to_be_focused()
    expect(page.locator(f"#t-{AT}-1")).to_contain_text("Study")


def test_rows_without_script(chromium, server):
    context = chromium.new_context(
        base_url=server.url, java_script_enabled=False, viewport={"width": 360, "height": 740}
    )
    context.set_default_timeout(PATIENCE_MS)
    page = context.new_page()
    opened(page, brought_in(page, EXAMPLE.read_text()))
    page.locator(f"#i-{AT}-1-pressure").fill("0.02")
    page.locator(f"#n-{AT} button").click()
    expect(page.locator(f"#a-{AT}-1-name .wrong")).to_have_text("This is needed.")
    expect(page.locator(f"#i-{AT}-1-pressure")).to_have_value("0.02")
    page.locator(f"#i-{AT}-1-name").fill("Den")
    page.locator(f"#n-{AT} button").click()
    expect(page.locator(f"#t-{AT}-1")).to_contain_text("Den · 0.02")
    page.locator(f"#t-{AT}-1").click()
    page.locator(f"#i-{AT}-1-name").fill("Bedroom")
    page.locator(f"#f-{AT}-1-name button").click()
    expect(page.locator(f"#t-{AT}-1")).to_contain_text("Bedroom · 0.02")
    page.locator(f"#r-{AT}-1 form:has(input[name=remove]) button").click()
    expect(page.locator(f"{LIST} li")).to_have_count(0)
    context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1440])
def test_axe_finds_nothing_on_lists_with_rows(browse, width, scheme):
    from axe_playwright_python.sync_playwright import Axe

    page = browse(width, 800, scheme)
    job = brought_in(page, with_rows())
    for address in ("readings/", "survey/"):
        page.goto(job + address)
        page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")
        found = Axe().run(page, options=RULES).response["violations"]
        assert not found, [(one["id"], [node["target"] for node in one["nodes"][:3]]) for one in found]
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        small = page.evaluate(
            """[...document.querySelectorAll('.rows :is(button, input:not([type=hidden]), select, textarea, summary), .points a')]
              .filter(one => one.offsetParent && one.getBoundingClientRect().height < 43.5 && !one.closest('.choices'))
              .map(one => one.outerHTML.slice(0, 90))"""
        )
        assert not small, small
