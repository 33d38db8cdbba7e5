"""The web application as people use it: answers under load, many jobs, memory, and what a phone and a slider feel.

`airtrim serve` runs with its three processes on the machine that also plays the people; the worker is kept busy meanwhile.
"""

import http.client
import os
import random
import re
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from tests.browser.conftest import ARGUMENTS, PAGES, Server, address_of
from tests.plans import EXAMPLE

TECHNICIANS, THINK_S, LOAD_S = 50, (3.0, 8.0), 60.0
MANY_JOBS, LOOKS = 10_000, 60
_FILL = """
import sys
from pathlib import Path
from airtrim.web.setup import with_database
with_database(Path(sys.argv[1]))
from django.db import transaction
from airtrim.web import services
text, count = Path(sys.argv[2]).read_text(), int(sys.argv[3])
places = ["Greensboro, NC", "Mobile, AL", "Savannah, GA", "Lafayette, LA", "Tampa, FL"]
with transaction.atomic():
    for number in range(count):
        changed = text.replace("7 Alder Court, the Fennimores", f"{number} Heron Lane, house {number % 97}")
        services.import_job(changed.replace("Greensboro, NC", places[number % 5]), "bench")
"""


def run() -> list[dict[str, Any]]:
    """Every figure in its own fresh folder; what needs a browser or PostgreSQL is left out where there is none, and it says so."""
    entries = [*_loads("web_load", {})]
    if not os.environ.get("AIRTRIM_POSTGRES"):
        print(
            "web_load_postgresql is left out: AIRTRIM_POSTGRES names no database that may be emptied.", file=sys.stderr
        )
    else:
        entries += _loads("web_load_postgresql", {"AIRTRIM_DATABASE": os.environ["AIRTRIM_POSTGRES"]})[:1]
    return [*entries, _many_jobs(), *_felt()]


def _entry(name: str, value: float, unit: str) -> dict[str, Any]:
    return {"bench": name, "value": value, "unit": unit, "better": "lower", "against": None, "ratio": None}


class _Served:
    """A server in a fresh folder with `count` jobs in it."""

    def __init__(self, count: int, told: dict[str, str] | None = None) -> None:
        self._folder = tempfile.TemporaryDirectory(prefix="airtrim-bench-")
        data, self._told = Path(self._folder.name), told or {}
        self._before = {name: os.environ.get(name) for name in self._told}
        environment = {
            name: value for name, value in os.environ.items() if not name.startswith("AIRTRIM_")
        } | self._told
        words = [sys.executable, "-c", _FILL, str(data), str(EXAMPLE), str(count)]
        subprocess.run(words, env=environment | {"PYTHONPATH": "src"}, check=True)
        self.server = Server(data, 8690, more=self._told)

    def __enter__(self) -> Server:
        self.server.start()
        return self.server

    def __exit__(self, *_: object) -> None:
        self.server.stop()
        self._folder.cleanup()


class _Person:
    """A browser without a screen: one connection, cookies, the token of forms."""

    def __init__(self, port: int) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        self.cookie, self.token = "", ""
        self.times: list[float] = []

    def ask(self, method: str, path: str, sent: dict[str, str] | None = None) -> tuple[int, str]:
        headers = {"Cookie": self.cookie, "X-CSRFToken": self.token, "HX-Request": "true" if sent else ""}
        if not sent:
            headers.pop("HX-Request")
        body = None
        if sent is not None:
            body = urlencode(sent)
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        began = time.perf_counter()
        self.connection.request(method, path, body, headers)
        answer = self.connection.getresponse()
        text = answer.read().decode()
        self.times.append(time.perf_counter() - began)
        for name, value in answer.getheaders():
            if name.lower() == "set-cookie" and value.startswith("csrftoken"):
                self.cookie = value.split(";")[0]
        found = re.search(r'"X-CSRFToken": "(\w+)"', text)
        self.token = found.group(1) if found else self.token
        return answer.status, text


def _technician(port: int, number: int, until: float, people: list[_Person], wrong: list[str]) -> None:
    """Look for a job, open it, enter readings, look at the pages; think between, as people do."""
    person, chance = _Person(port), random.Random(number)
    people.append(person)
    time.sleep(chance.uniform(0.0, THINK_S[1]))
    _, text = person.ask("GET", f"/?q=heron+{number}")
    job = re.findall(r"/job/([0-9a-f-]{36})/survey", text)[0]
    steps: list[Callable[[], tuple[int, str]]] = [
        lambda: person.ask("GET", f"/job/{job}/survey/"),
        lambda: person.ask("GET", f"/job/{job}/readings/"),
        lambda: _enter(person, job, chance),
        lambda: _enter(person, job, chance),
        lambda: person.ask("GET", f"/job/{job}/findings/"),
        lambda: person.ask("GET", f"/job/{job}/papers/"),
        lambda: person.ask("GET", "/"),
    ]
    turn = 0
    while time.monotonic() < until:
        time.sleep(chance.uniform(*THINK_S))
        status, text = steps[turn % len(steps)]()
        if status != 200:
            wrong.append(f"{status}: {text[:200]}")
        turn += 1


def _enter(person: _Person, job: str, chance: random.Random) -> tuple[int, str]:
    """Write a new superheat over the one that stands there."""
    _, page = person.ask("GET", f"/job/{job}/readings/")
    was = re.search(r'name="w:readings.1.superheat" value="([^"]*)"', page)
    sent = {"v:readings.1.superheat": f"{chance.uniform(6, 14):.1f}", "u:readings.1.superheat": "F"}
    return person.ask(
        "POST", f"/job/{job}/readings/set/", sent | {"w:readings.1.superheat": was.group(1) if was else ""}
    )


def _loads(name: str, told: dict[str, str]) -> list[dict[str, Any]]:
    with _Served(TECHNICIANS * 2, told) as server:
        busy = _Person(server.port)
        _, text = busy.ask("GET", "/")
        for job in re.findall(r"/job/([0-9a-f-]{36})/survey", text)[:20]:
            busy.ask("POST", f"/job/{job}/compute/", {"go": "1"})
        people: list[_Person] = []
        wrong: list[str] = []
        until = time.monotonic() + LOAD_S
        threads = [
            threading.Thread(target=_technician, args=(server.port, number, until, people, wrong))
            for number in range(TECHNICIANS)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        if wrong:
            raise RuntimeError(f"{len(wrong)} answers were errors, the first: {wrong[0]}")
        times = sorted(one for person in people for one in person.times)
        return [_entry(name, 1000.0 * _part(times, 0.95), "ms"), _entry("web_memory", _memory_mb(server), "MB")]


def _part(times: list[float], share: float) -> float:
    return times[min(int(share * len(times)), len(times) - 1)]


def _memory_mb(server: Server) -> float:
    """Proportional set size of the server's processes together: shared pages counted once."""
    assert server.process is not None
    parents = {server.process.pid}
    total = 0.0
    while parents:
        children = set()
        for folder in Path("/proc").iterdir():
            if folder.name.isdigit():
                try:
                    stat = (folder / "stat").read_text().rsplit(")", 1)[1].split()
                    if int(stat[1]) in parents:
                        children.add(int(folder.name))
                except OSError:
                    continue
        for pid in parents:
            rollup = Path(f"/proc/{pid}/smaps_rollup").read_text()
            total += sum(int(line.split()[1]) for line in rollup.splitlines() if line.startswith("Pss:")) / 1024.0
        parents = children
    return total


def _many_jobs() -> dict[str, Any]:
    with _Served(MANY_JOBS) as server:
        person = _Person(server.port)
        person.ask("GET", "/")
        person.times.clear()
        chance = random.Random(1)
        for _ in range(LOOKS):
            number = chance.randrange(MANY_JOBS)
            for path in (f"/?page={1 + number % 300}", f"/?q={number}+heron", "/?q=savannah+house", "/?q=nobody"):
                status, _ = person.ask("GET", path)
                if status != 200:
                    raise RuntimeError(f"{path} answered {status}")
        return _entry("web_many_jobs", 1000.0 * _part(sorted(person.times), 0.95), "ms")


def _felt() -> list[dict[str, Any]]:
    import shutil

    path = os.environ.get("CHROMIUM") or shutil.which("chromium")
    if path is None:
        print("page_weight, first_paint and slider are left out: no Chromium (CHROMIUM names it).", file=sys.stderr)
        return []
    from playwright.sync_api import sync_playwright

    from tests.browser.test_budgets import visited

    with _Served(1) as server, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)

        def browse(width: int, height: int) -> Any:
            context = browser.new_context(viewport={"width": width, "height": height}, base_url=server.url)
            context.set_default_timeout(150_000)
            return context.new_page()

        page = browse(1440, 900)
        page.goto("/")
        page.locator(".jobs a").first.click()
        page.wait_for_url("**/survey/")
        job = page.url.removeprefix(server.url).removesuffix("survey/")
        page.goto(job + "findings/")
        page.get_by_role("button", name="Work it out").click()
        page.locator(".strips").first.wait_for()
        names = [name for name in PAGES if name != "nothing"]
        slider = _slider_ms(page, job)  # makes the trim ready for the visits too
        weight = max(visited(browse, name, job, slow=False)[0] for name in names)
        paint = max(visited(browse, name, job, slow=True)[1] for name in names)
        browser.close()
    return [_entry("page_weight", weight, "kB"), _entry("first_paint", paint, "ms"), _entry("slider", slider, "ms")]


def _slider_ms(page: Any, job: str) -> float:
    """Median over 25 moves from the browser's event to the next frame that shows the answer."""
    page.goto(address_of("trim", job))
    page.locator("#year .strips").wait_for()
    page.wait_for_timeout(3000)
    times = []
    for turn in range(25):
        times.append(
            page.evaluate(
                """value => new Promise(done => {
                  const slider = document.getElementById('t-least_flow'), year = document.getElementById('year');
                  const began = performance.now();
                  const seen = new MutationObserver(() => requestAnimationFrame(() => {
                    seen.disconnect(); done(performance.now() - began);
                  }));
                  seen.observe(year, {childList: true});
                  slider.value = value;
                  slider.dispatchEvent(new Event('input', {bubbles: true}));
                })""",
                str(0.70 + 0.01 * turn),
            )
        )
        page.wait_for_timeout(200)
    return sorted(times)[len(times) // 2]
