"""One font on every page and picture, no words over one another, and pictures that read in grey."""

import base64
import re

import pytest

from airtrim.report import fonts, look
from airtrim.report.map import detail_specification, map_specification
from airtrim.report.months import months_specification
from airtrim.report.render import svgs
from tests.browser.conftest import address_of
from tests.browser.test_every_page import NAMES
from tests.plans import demo_result, drive_result

pytestmark = [pytest.mark.browser, pytest.mark.slow]
#: Texts whose boxes meet by more than this many px in both directions, or that leave the picture.
MEET = """() => {
  const picture = document.querySelector('svg').getBoundingClientRect();
  const found = [...document.querySelectorAll('svg text')].filter(one => one.textContent.trim())
    .map(one => ({words: one.textContent, box: one.getBoundingClientRect()}));
  const wrong = found.filter(one => one.box.left < picture.left - 1 || one.box.right > picture.right + 1
    || one.box.top < picture.top - 1 || one.box.bottom > picture.bottom + 1).map(one => `outside: ${one.words}`);
  for (let i = 0; i < found.length; i++) for (let j = i + 1; j < found.length; j++) {
    const a = found[i].box, b = found[j].box;
    const across = Math.min(a.right, b.right) - Math.max(a.left, b.left);
    const down = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
    if (across > 1 && down > 4) wrong.push(`${found[i].words} / ${found[j].words}`);
  }
  return {count: found.length, wrong};
}"""


def with_font():
    """A style that gives the page the very files the pictures were measured with."""
    faces = [
        f"@font-face {{ font-family: '{fonts.FAMILY}'; font-weight: {weight};"
        f" src: url(data:font/otf;base64,{base64.b64encode((fonts.folder() / name).read_bytes()).decode()}) }}"
        for weight, name in fonts.FILES.items()
    ]
    return f"<style>{' '.join(faces)}</style>"


@pytest.mark.parametrize("width", [250, 520])
@pytest.mark.parametrize("system", ["inch_pound", "si"])
@pytest.mark.parametrize("make", [demo_result, drive_result])
def test_no_words_of_a_picture_lie_over_others_or_outside(chromium, make, system, width):
    result = make()
    wanted = [map_specification(result, system, width), detail_specification(result, system, width)]
    wanted.append(months_specification(result, width))
    page = chromium.new_context().new_page()
    for picture in svgs([one for one in wanted if one]):
        page.set_content(with_font() + picture)
        page.evaluate("document.fonts.ready")
        seen = page.evaluate(MEET)
        assert seen["count"] > 5 and not seen["wrong"], seen["wrong"]
    page.context.close()


def test_every_page_is_set_in_the_one_font(browse, worked_out):
    page = browse(360, 740)
    for name in NAMES:
        page.goto(address_of(name, worked_out), wait_until="networkidle")
        page.reload(wait_until="networkidle")
        told = page.evaluate(
            """() => {
              const all = [...document.querySelectorAll('body, main *')].filter(one => one.checkVisibility());
              return {families: [...new Set(all.map(one => getComputedStyle(one).fontFamily.split(',')[0]))],
                weights: [...new Set(all.map(one => getComputedStyle(one).fontWeight))],
                loaded: [...document.fonts].filter(one => one.status === 'loaded').map(one => one.weight)};
            }"""
        )
        families = told["families"]
        assert families == ['"Airtrim Sans"'], (name, told)
        assert set(told["weights"]) <= {"400", "600"}, (name, told)
        assert set(told["loaded"]) == {"400", "600"}, (name, told)
    tools = page.context.new_cdp_session(page)
    tools.send("DOM.enable")
    tools.send("CSS.enable")
    root = tools.send("DOM.getDocument")["root"]["nodeId"]
    for selector in (
        "h1",
        "main p",
        "main a",
    ):  # what the browser says it drew with: the page's own file, none of the machine's
        node = tools.send("DOM.querySelector", {"nodeId": root, "selector": selector})["nodeId"]
        used = tools.send("CSS.getPlatformFontsForNode", {"nodeId": node})["fonts"]
        assert used and all(one["isCustomFont"] for one in used), (selector, used)


def lightness(colour):
    """CIE L* of #rrggbb (CIE 15:2004), what a grey print keeps of a colour."""
    red, green, blue = (int(colour[at : at + 2], 16) / 255.0 for at in (1, 3, 5))
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in (red, green, blue)]
    y = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    return 116.0 * y ** (1 / 3) - 16.0 if y > 0.008856 else 903.3 * y


def test_lines_and_grounds_of_pictures_differ_in_grey():
    """Lines stand out from every ground by 30 of L* at least; where grounds meet, a line of ink runs between (map)."""
    assert lightness("#ffffff") == pytest.approx(100.0)
    for line in (look.INK, look.ACCENT, look.GREY):
        for ground in (look.PAPER, look.SAND, look.QUIET):
            assert abs(lightness(line) - lightness(ground)) > 30.0
    picture = map_specification(demo_result())
    heat = picture["vconcat"][1]["layer"]
    assert [one["mark"]["type"] for one in heat[:4]] == ["area", "area", "line", "line"]
    assert {one["mark"]["color"] for one in heat[2:4]} == {look.INK}
    months = months_specification(demo_result())
    dashes = [one for one in months["layer"] if "strokeDash" in one.get("encoding", {})]
    assert dashes and len({str(one) for one in dashes[0]["encoding"]["strokeDash"]["scale"]["range"]}) == 2


def test_text_of_pages_reaches_seven_to_one():
    """WCAG 2.2 SC 1.4.6 for ink, soft text and accent on every ground of the style sheet, light and dark."""
    from pathlib import Path

    import airtrim.web
    from tests.report.test_report import contrast

    style = (Path(airtrim.web.__file__).parent / "static/web/airtrim.css").read_text()
    light, dark = re.findall(r":root \{(.*?)\}", style, re.DOTALL)[:2]
    for block in (light, dark):
        colours = dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", block))
        for text in ("ink", "soft", "accent"):
            for ground in ("paper", "quiet"):
                assert contrast(colours[text], colours[ground]) >= 7.0, (text, ground)
        for text in ("ink", "soft"):
            for ground in ("sand", "accent-soft"):
                assert contrast(colours[text], colours[ground]) >= (7.0 if text == "ink" else 4.5), (text, ground)
