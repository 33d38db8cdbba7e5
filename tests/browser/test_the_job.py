"""The job by a person's steps, from an empty form to the PDF; what happens when processes die; two people at one job."""

import re
import time

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import PATIENCE_MS
from tests.plans import EXAMPLE

pytestmark = [pytest.mark.browser, pytest.mark.slow]
expect.set_options(timeout=PATIENCE_MS)


def kept(page, slug):
    """Wait until the server has said that a field is kept."""
    expect(page.locator(f"#a-{slug} .saved")).to_be_visible()


def enter(page, slug, text, unit=None):
    if unit is not None:
        page.locator(f"#f-{slug} select").select_option(unit)
    page.locator(f"#i-{slug}").fill(text)
    page.locator(f"#i-{slug}").press("Tab")
    kept(page, slug)


def begin(page, name):
    page.goto("/")
    page.get_by_label("Name", exact=True).fill(name)
    page.get_by_role("button", name="Begin").click()
    page.wait_for_url("**/survey/")
    return page.url.split("survey/")[0]


@pytest.mark.parametrize(("width", "height"), [(360, 740), (1440, 900)], ids=["phone", "laptop"])
def test_from_an_empty_form_to_the_pdf(browse, width, height):
    page = browse(width, height)
    begin(page, f"Heron Lane {width}")
    expect(page.locator(".known")).to_contain_text("Known: 0 of 8")
    enter(page, "house-place", "Greensboro, NC")
    enter(page, "house-floor-area", "153", "m2")
    enter(page, "house-year-built", "1988")
    enter(page, "system-outdoor-size", "3")
    page.locator("#f-heat-kind select").select_option("electric_strip")
    kept(page, "heat-kind")
    enter(page, "thermostat-set-point", "75")
    page.locator("#f-complaint-kinds").get_by_label("damp").check()
    kept(page, "complaint-kinds")
    expect(page.locator(".known")).to_contain_text("Known: 7 of 8")
    expect(page.locator(".next h2")).to_have_text("Next: Airflow")
    page.locator(".next a").click()
    page.wait_for_url("**/readings/*")
    enter(page, "readings-1-airflow", "1200")
    expect(page.locator(".known")).to_contain_text("Known: 8 of 8")
    expect(page.locator("#first .strips").first).to_be_visible()
    page.get_by_role("link", name="findings", exact=True).click()
    page.get_by_role("button", name="Work it out").click()
    expect(page.get_by_role("heading", name="What was found")).to_be_visible()
    expect(page.get_by_role("img")).to_have_count(1)  # the other width is hidden from sight and from reading
    page.locator(".next a").click()
    expect(page.get_by_role("heading", name=re.compile("^To dry the house:"))).to_be_visible()
    page.locator(".next a").click()
    expect(page.locator("h1")).to_have_text("Settings")
    page.locator(".next a").click()
    page.locator(".next").get_by_role("button", name="Make the PDF").click()
    expect(page.get_by_role("link", name="Take the PDF")).to_be_visible()
    with page.expect_download() as taken:
        page.get_by_role("link", name="Take the PDF").click()
    import pypdfium2

    report = pypdfium2.PdfDocument(taken.value.path().read_bytes())
    text = report[0].get_textpage().get_text_range()
    assert f"Heron Lane {width}" in text


def test_a_wrong_reading_stays_in_its_field_with_one_sentence(browse):
    page = browse()
    job = begin(page, "Wrong")
    page.goto(job + "readings/")
    page.locator("#i-readings-1-return-dry-bulb").fill("750")
    page.locator("#i-readings-1-return-dry-bulb").press("Tab")
    expect(page.locator("#a-readings-1-return-dry-bulb .wrong")).to_contain_text("must lie in")
    expect(page.locator("#i-readings-1-return-dry-bulb")).to_have_value("750")
    enter(page, "readings-1-return-dry-bulb", "75")
    expect(page.locator("#a-readings-1-return-dry-bulb .wrong")).to_have_count(0)


def test_two_browsers_at_one_job_lose_nothing_and_show_the_clash(browse):
    ana, ben = browse(), browse()
    job = begin(ana, "Two")
    ben.goto(job + "survey/")
    enter(ana, "house-floor-area", "1650")
    enter(ben, "house-year-built", "1988")
    ben.locator("#i-house-floor-area").fill("1700")
    ben.locator("#i-house-floor-area").press("Tab")
    expect(ben.locator("#a-house-floor-area .wrong")).to_contain_text("Two people wrote here")
    expect(ben.locator("#i-house-floor-area")).to_have_value("1700")
    ben.get_by_role("button", name="Use mine").click()
    kept(ben, "house-floor-area")
    ana.reload()
    expect(ana.locator("#i-house-floor-area")).to_have_value("1700")
    expect(ana.locator("#i-house-year-built")).to_have_value("1988")


def test_undo_brings_the_last_change_back(browse):
    page = browse()
    begin(page, "Undo")
    enter(page, "house-floor-area", "1650")
    enter(page, "house-floor-area", "1700")
    page.reload()
    page.get_by_role("button", name="Undo the last change").click()
    expect(page.locator("#i-house-floor-area")).to_have_value("1650")


def test_a_worker_killed_in_mid_job_is_no_loss(browse, server):
    page = browse()
    page.goto("/")
    page.set_input_files("#file", str(EXAMPLE))
    page.get_by_role("button", name="Bring it in").click()
    page.wait_for_url("**/survey/")
    job = page.url.split("survey/")[0]
    page.locator("#i-house-people").evaluate("field => field.closest('details').open = true")
    enter(page, "house-people", "5")  # another key than the other tests' plan
    page.goto(job + "findings/")
    page.get_by_role("button", name="Work it out").click()
    bar = page.locator("progress")
    for _ in range(600):
        if float(bar.get_attribute("value") or 0) > 0:
            break
        time.sleep(0.2)
    before = server.child("worker")
    server.kill("worker")
    expect(page.locator(".strips").first).to_be_visible()
    assert server.child("worker") != before


def test_the_server_restarted_shows_the_same(browse, server):
    page = browse()
    job = begin(page, "Restart")
    enter(page, "house-floor-area", "1650")
    server.stop()
    server.start()
    page.goto(job + "survey/")
    expect(page.locator("#i-house-floor-area")).to_have_value("1650")


def test_work_can_be_stopped(browse):
    page = browse()
    page.goto("/")
    page.set_input_files("#file", str(EXAMPLE))
    page.get_by_role("button", name="Bring it in").click()
    page.wait_for_url("**/survey/")
    job = page.url.split("survey/")[0]
    page.locator("#i-house-people").evaluate("field => field.closest('details').open = true")
    enter(page, "house-people", "6")
    page.goto(job + "findings/")
    page.get_by_role("button", name="Work it out").click()
    page.get_by_role("button", name="Stop it").click()
    expect(page.get_by_text("stopped before it was finished")).to_be_visible()


def test_by_keyboard_alone(browse):
    page = browse(1440, 900)
    page.goto("/")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the page"
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.id") == "name":
            break
    page.keyboard.type("Keys")
    page.keyboard.press("Enter")
    page.wait_for_url("**/survey/")
    for _ in range(60):
        if page.evaluate("document.activeElement.id") == "i-house-floor-area":
            break
        page.keyboard.press("Tab")
    page.keyboard.type("1650")
    page.keyboard.press("Enter")
    kept(page, "house-floor-area")
    for _ in range(60):
        if page.evaluate("document.activeElement.value") == "auto":
            break
        page.keyboard.press("Tab")
    page.keyboard.press("ArrowRight")
    kept(page, "thermostat-fan")
    ring = page.evaluate("getComputedStyle(document.activeElement.nextElementSibling).outlineStyle")
    assert ring == "solid"
