"""What counts is changed on the spot: the order moves under the thumb, nothing is worked out, the keyboard does it too."""

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import PATIENCE_MS

pytestmark = [pytest.mark.browser, pytest.mark.slow]
expect.set_options(timeout=PATIENCE_MS)


@pytest.mark.parametrize("width", [360, 1440])
def test_another_aim_reorders_without_working_out(browse, worked_out, width):
    page = browse(width)
    page.goto(worked_out + "options/")
    asked = []
    page.on("request", lambda request: asked.append((request.method, request.url)))
    page.locator("label", has_text="quiet").click()
    expect(page.locator("#choice")).to_contain_text("For a quieter blower")
    expect(page.locator("input[value=quiet]")).to_be_checked()
    assert asked and all(method == "GET" for method, _ in asked) and "aim=quiet" in page.url
    assert page.locator(".stale").count() == 0 and page.locator(".work").count() == 0
    page.reload()
    expect(page.locator("#choice")).to_contain_text("For a quieter blower")


def test_the_keyboard_changes_the_aim_and_keeps_its_place(browse, worked_out):
    page = browse(1440)
    page.goto(worked_out + "options/")
    page.locator("input[name=aim][value=dry]").focus()
    page.keyboard.press("ArrowRight")
    expect(page.locator("#choice")).to_contain_text("For a quieter blower")
    assert page.evaluate("document.activeElement.value") == "quiet"


def test_without_script_a_button_does_it(chromium, server, worked_out):
    context = chromium.new_context(base_url=server.url, java_script_enabled=False)
    page = context.new_page()
    page.goto(worked_out + "options/")
    page.locator("input[value=cheap_to_run]").check(force=True)
    page.get_by_role("button", name="Rank by it").click()
    expect(page.locator("#choice")).to_contain_text("To run cheaper")
    context.close()
