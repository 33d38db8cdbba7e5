"""A picture explored: drawn in the browser on demand under the strict policy, and not loaded before."""

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import PATIENCE_MS

pytestmark = [pytest.mark.browser, pytest.mark.slow]


@pytest.mark.parametrize("width", [360, 1440])
def test_a_picture_is_drawn_to_be_explored_without_eval(browse, worked_out, width):
    page = browse(width, 800)
    asked = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(worked_out + "findings/", wait_until="networkidle")
    assert not [one for one in asked if "vega" in one]
    page.get_by_role("button", name="Explore it").first.click()
    expect(page.locator("#p-map .explored svg")).to_be_visible(timeout=PATIENCE_MS)
    assert [one for one in asked if "vega" in one]
    assert page.locator("#p-map .explored svg path").count() > 10
    assert page.evaluate("document.documentElement.scrollWidth") <= width
