"""The whole job by keyboard alone; the strict policy on every page; requests no browser would send."""

import socket

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import PAGES, PATIENCE_MS, address_of

pytestmark = [pytest.mark.browser, pytest.mark.slow]
expect.set_options(timeout=PATIENCE_MS)
NAMES = [name for name in PAGES if name != "nothing"]
#: Whether what has the focus (or nothing, when it comes round) can be seen: within the screen, marked by a line around it.
SEEN = """() => {
  const one = document.activeElement, box = one.getBoundingClientRect();
  const marked = [one, one.nextElementSibling].filter(Boolean).some(each => getComputedStyle(each).outlineStyle !== 'none');
  return one === document.body || marked && box.bottom > 0 && box.top < innerHeight;
}"""


def tab_to(page, selector, most=150):
    """Press Tab until the focus stands on `selector`; each stop on the way must be seen."""
    way = []
    for _ in range(most):
        page.keyboard.press("Tab")
        way.append(page.evaluate("document.activeElement.outerHTML.slice(0, 90)"))
        page.wait_for_function(SEEN, timeout=5000)  # the browser scrolls to it in its next frame
        if page.evaluate("selector => document.activeElement.matches(selector)", selector):
            return
    raise AssertionError(f"{selector} is not reached by Tab: {way}")


def kept(page, slug):
    expect(page.locator(f"#a-{slug} .saved")).to_be_visible()


def test_the_whole_job_by_keyboard_alone(browse):
    page = browse(1440, 900)
    page.goto("/")
    tab_to(page, "#name")
    page.keyboard.type("Keys all the way")
    page.keyboard.press("Enter")
    page.wait_for_url("**/survey/")
    for slug, typed in (("house-place", "Greensboro, NC"), ("house-floor-area", "1650"), ("house-year-built", "1988"),
                        ("system-outdoor-size", "3")):  # fmt: skip
        tab_to(page, f"#i-{slug}")
        page.keyboard.type(typed)
        page.keyboard.press("Enter")
        kept(page, slug)
    tab_to(page, "#f-heat-kind select")
    page.keyboard.type("electric strip")
    page.keyboard.press("Tab")
    kept(page, "heat-kind")
    tab_to(page, "#i-thermostat-set-point")
    page.keyboard.type("75")
    page.keyboard.press("Enter")
    kept(page, "thermostat-set-point")
    tab_to(page, "#f-complaint-kinds input[value=damp]")
    page.keyboard.press("Space")
    kept(page, "complaint-kinds")
    expect(page.locator(".known")).to_contain_text("Known: 7 of 8")
    page.reload()
    tab_to(page, ".next a")
    page.keyboard.press("Enter")
    page.wait_for_url("**/readings/*")
    tab_to(page, "#i-readings-1-airflow")
    page.keyboard.type("1200")
    page.keyboard.press("Enter")
    kept(page, "readings-1-airflow")
    page.reload()
    tab_to(page, ".way a[href$='/findings/']")
    page.keyboard.press("Enter")
    page.wait_for_url("**/findings/")
    tab_to(page, "main button")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="What was found")).to_be_visible()
    for step in ("options", "settings", "papers"):
        page.goto(page.url)  # the page came anew meanwhile: the focus begins at its head
        tab_to(page, ".next a")
        page.keyboard.press("Enter")
        page.wait_for_url(f"**/{step}/")
    tab_to(page, ".next button")
    page.keyboard.press("Enter")
    expect(page.get_by_role("link", name="Take the PDF")).to_be_visible()
    page.goto(page.url)
    tab_to(page, "a[href$='report.pdf']")
    with page.expect_download() as taken:
        page.keyboard.press("Enter")
    assert taken.value.path().read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize("name", NAMES)
def test_no_page_breaks_the_policy_and_the_policy_holds(browse, worked_out, name):
    page = browse(768, 900)
    page.add_init_script(
        "window.broken = []; addEventListener('securitypolicyviolation', one => window.broken.push(one.violatedDirective))"
    )
    answer = page.goto(address_of(name, worked_out), wait_until="networkidle")
    assert "default-src 'none'" in answer.headers["content-security-policy"]
    for summary in page.locator("details:not([open]) > summary").all():
        if summary.is_visible():
            summary.click()
    explore = page.get_by_role("button", name="Explore it")
    if explore.count():
        explore.first.click()
        expect(page.locator(".explored svg").first).to_be_visible()
    assert page.evaluate("window.broken") == []
    page.evaluate(
        """() => { const one = document.createElement('script'); one.textContent = 'window.ran = true';
             document.body.append(one);
             const two = document.createElement('p'); two.setAttribute('onclick', 'window.ran = true');
             document.body.append(two); two.click(); }"""
    )
    page.wait_for_function("window.broken.length > 0")
    assert page.evaluate("window.ran") is None
    browse.complaints.clear()  # the browser reports what it refused


RAW = {
    "no host": (b"GET / HTTP/1.1\r\n\r\n", (400,)),
    "foreign host": (b"GET / HTTP/1.1\r\nHost: elsewhere.example\r\nConnection: close\r\n\r\n", (400,)),
    "no http": (b"\x16\x03\x01\x00\xa5\x01\x00\x00\xa1\x03\x03" + b"\x00" * 60 + b"\r\n\r\n", (None, 400)),
    "path up": (b"GET /static/../../secret.txt HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n", (400, 404)),
    "path coded": (b"GET /static/%2e%2e/%2e%2e/secret.txt HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n", (404,)),
    "long line": (b"GET /" + b"x" * 900_000 + b" HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n", (None, 400, 404, 414, 431)),
    "many heads": (b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n" + b"X-A: 1\r\n" * 5000 + b"\r\n", (None, 400, 431)),
    "length forged": (b"POST /new/ HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: -5\r\n\r\n", (None, 400, 413)),
    "too long": (b"POST /new/ HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 99999999\r\nConnection: close\r\n\r\n", (413,)),
    "in pieces": (
        b"POST /new/ HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/x-www-form-urlencoded\r\n"
        b"Transfer-Encoding: chunked\r\nConnection: close\r\n\r\n"
        + b"100000\r\n" + b"x" * 0x100000 + b"\r\n" + b"100000\r\n" + b"x" * 0x100000 + b"\r\n0\r\n\r\n",
        (None, 400, 403, 411, 413),
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", RAW)
def test_a_request_no_browser_would_send_harms_nothing(server, worked_out, kind):
    sent, expected = RAW[kind]
    with socket.create_connection(("127.0.0.1", server.port), timeout=20) as line:
        head = b""
        try:
            line.sendall(sent)
            line.settimeout(5)
            while b"\r\n\r\n" not in head and (part := line.recv(65536)):
                head += part
        except (TimeoutError, ConnectionError):
            pass  # cut off by the server, or still waited for: no answer
    status = int(head.split()[1]) if head.startswith(b"HTTP/") else None
    assert status in expected, head[:200]
    assert (server.data / "secret.txt").read_bytes().strip() not in head
    import urllib.request

    with urllib.request.urlopen(f"{server.url}{worked_out}survey/", timeout=30) as answer:
        assert answer.status == 200


def test_the_server_wrote_down_what_it_refused(server, worked_out):
    for path, host in (("/", "elsewhere.example"), ("/job/1/survey/", "127.0.0.1")):
        with socket.create_connection(("127.0.0.1", server.port), timeout=20) as line:
            line.sendall(f"GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n".encode())
            line.recv(65536)
    log = server.log.read_text()
    assert "refused '/'" in log and "elsewhere.example" in log and "Not Found: /job/1/survey/" in log
