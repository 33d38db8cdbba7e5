"""A real server (`airtrim serve`, all three processes) and Debian's Chromium, once for all browser tests."""

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from tests.plans import EXAMPLE

ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
#: Systems of a plan in these tests: what is tested is the way to it, not its figures.
SYSTEMS = "2"
#: The machine may be shared by many; nothing is measured with this.
PATIENCE_MS = 100_000


@dataclass
class Server:
    """`airtrim serve` in a folder of its own."""

    data: Path
    port: int
    process: subprocess.Popen | None = None
    log: Path = field(default=Path())
    more: dict[str, str] | None = None

    @property
    def url(self):
        return f"http://127.0.0.1:{self.port}"

    def start(self):
        told = {name: value for name, value in os.environ.items() if not name.startswith(("AIRTRIM_", "DJANGO_"))}
        told |= {"PYTHONPATH": "src"} | ({"AIRTRIM_SYSTEMS": SYSTEMS} if self.more is None else self.more)
        self.log = self.data / "serve.log"
        with self.log.open("ab") as log:
            words = [sys.executable, "-m", "airtrim.cli", "serve", "--data", str(self.data), "--port", str(self.port)]
            self.process = subprocess.Popen(words, env=told, stdout=log, stderr=log)
        for _ in range(600):
            if self.process.poll() is not None:
                break
            try:
                urllib.request.urlopen(self.url + "/alive/", timeout=5)
                return
            except OSError:
                time.sleep(0.2)
        raise RuntimeError(f"the server did not start: {self.log.read_text()[-2000:]}")

    def stop(self):
        if self.process is not None:
            self.process.terminate()
            self.process.wait(30)
            self.process = None

    def child(self, role):
        """Process id of the child that plays a role: web, worker or trim."""
        parent = str(self.process.pid)
        for folder in Path("/proc").iterdir():
            if folder.name.isdigit():
                try:
                    stat = (folder / "stat").read_text().rsplit(")", 1)[1].split()
                    words = (folder / "cmdline").read_bytes().split(b"\0")
                except OSError:
                    continue
                if stat[1] == parent and role.encode() in words:
                    return int(folder.name)
        raise RuntimeError(f"no {role} process")

    def kill(self, role):
        os.kill(self.child(role), signal.SIGKILL)


@pytest.fixture(scope="session")
def server(tmp_path_factory):
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    made = Server(tmp_path_factory.mktemp("served"), port)
    made.start()
    yield made
    made.stop()


@pytest.fixture(scope="session")
def chromium():
    from playwright.sync_api import sync_playwright

    path = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture
def browse(chromium, server):
    """Open a page of a certain width; whatever the browser complains of fails the test at its end."""
    contexts, complaints = [], []

    def opened(width=360, height=740, scheme="light", **more):
        context = chromium.new_context(
            viewport={"width": width, "height": height}, color_scheme=scheme, base_url=server.url, **more
        )
        context.set_default_timeout(PATIENCE_MS)
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: complaints.append(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        return page

    opened.complaints = complaints
    yield opened
    for context in contexts:
        context.close()
    assert not complaints, complaints


@pytest.fixture(scope="session")
def worked_out(server, chromium):
    """Address of the example job with its plan and its PDF."""
    page = chromium.new_context(base_url=server.url).new_page()
    page.set_default_timeout(PATIENCE_MS)
    page.goto("/")
    page.set_input_files("#file", str(EXAMPLE))
    page.get_by_role("button", name="Bring it in").click()
    page.wait_for_url("**/survey/")
    address = page.url.removeprefix(server.url).removesuffix("survey/")
    page.goto(address + "findings/")
    page.get_by_role("button", name="Work it out").click()
    page.locator(".strips").first.wait_for()
    page.goto(address + "papers/")
    page.get_by_role("button", name="Make the PDF").first.click()
    page.get_by_role("link", name="Take the PDF").wait_for()
    page.context.close()
    return address


#: Every page: its name and its address below the job's, or of its own.
PAGES = {
    "jobs": "/",
    "shop": "/shop/",
    "survey": "survey/",
    "readings": "readings/",
    "findings": "findings/",
    "workings": "findings/workings/",
    "options": "options/",
    "ranked": "options/?aim=quiet",
    "settings": "settings/",
    "trim": "settings/trim/",
    "papers": "papers/",
    "compare": "papers/compare/?before=1&after=1",
    "owner": "papers/owner/",
    "nothing": "/nothing/",
}


def address_of(name, job):
    path = PAGES[name]
    return path if path.startswith("/") else job + path
