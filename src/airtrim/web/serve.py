"""`airtrim serve`: one command that makes the database ready, starts web, worker and trim, and keeps them going."""

import ipaddress
import os
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from types import FrameType
from typing import Any

from airtrim.core.errors import InputError
from airtrim.report.words import say


@dataclass(frozen=True)
class Serving:
    """Where and how to serve."""

    address: str = "127.0.0.1"
    port: int = 8642
    data: Path | None = None
    certificate: Path | None = None
    key: Path | None = None
    behind_proxy: bool = False
    names: tuple[str, ...] = ()


def environment(serving: Serving) -> dict[str, str]:
    """What the processes are told; raises `InputError` where the address would be open to others without log-in and TLS."""
    told: dict[str, str] = {"DJANGO_SETTINGS_MODULE": "airtrim.web.settings"}
    if serving.data is not None:
        told["AIRTRIM_DATA"] = str(serving.data.resolve())
    own = is_loopback(serving.address) and not serving.behind_proxy
    told["AIRTRIM_OPEN"] = "1" if own else "0"
    told["AIRTRIM_PROXY"] = "1" if serving.behind_proxy else "0"
    names = ["127.0.0.1", "localhost", "[::1]"] if is_loopback(serving.address) else []
    names += [*serving.names] or ([] if own else [serving.address])
    told["AIRTRIM_HOSTS"] = ",".join(names)
    if (serving.certificate is None) != (serving.key is None):
        raise InputError(say("web.serve.half_tls"))
    for path in (serving.certificate, serving.key):
        if path is not None and not path.is_file():
            raise InputError(say("web.serve.no_file", {"path": path}))
    if not own and not serving.behind_proxy and serving.certificate is None:
        raise InputError(say("web.serve.needs_tls", {"address": serving.address, "port": serving.port}))
    return told


def is_loopback(address: str) -> bool:
    """Whether only this computer can reach `address`; raises `InputError` where it is no address."""
    if address == "localhost":
        return True
    try:
        return ipaddress.ip_address(address).is_loopback
    except ValueError as error:
        raise InputError(say("web.serve.no_address", {"address": address})) from error


def make_ready() -> None:
    """Bring the database up to date and collect fonts and static files; Django must not be set up before."""
    from airtrim.web.explore import write_program
    from airtrim.web.fonts import write_fonts
    from airtrim.web.settings import data_folder

    write_fonts(data_folder() / "fonts")
    write_program(data_folder() / "explore")
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0, interactive=False)
    call_command("collectstatic", verbosity=0, interactive=False, clear=True)


def serve(serving: Serving, tell: Callable[[str], Any]) -> None:
    """Serve until interrupted. A process that ends is started again; all end with this one."""
    os.environ.update(environment(serving))
    _check_port(serving)
    make_ready()
    if os.environ["AIRTRIM_OPEN"] != "1":
        from django.contrib.auth import get_user_model

        if not get_user_model().objects.filter(is_active=True).exists():
            raise InputError(say("web.serve.no_account"))
    from django.db import connections

    connections.close_all()
    with tempfile.TemporaryDirectory(prefix="airtrim-") as folder:
        os.environ["AIRTRIM_TRIM"] = str(Path(folder) / "trim")
        _watch(serving, tell)


def _check_port(serving: Serving) -> None:
    """Refuse a port that another program holds: the server would share it in silence."""
    family = socket.AF_INET6 if ":" in serving.address else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((serving.address, serving.port))
        except OSError as error:
            raise InputError(say("web.serve.port_taken", {"port": serving.port, "why": error.strerror})) from error


def _watch(serving: Serving, tell: Callable[[str], Any]) -> None:
    """Start the three processes and start again whichever ends."""
    commands = {
        "web": ["web", serving.address, str(serving.port), str(serving.certificate or ""), str(serving.key or "")],
        "worker": ["worker"],
        "trim": ["trim"],
    }
    running: dict[str, subprocess.Popen[bytes]] = {}
    stopping = False

    def stop(_signal: int, _frame: FrameType | None) -> None:
        nonlocal stopping
        stopping = True

    signal.signal(signal.SIGTERM, stop)
    signal.signal(signal.SIGINT, stop)
    scheme = "https" if serving.certificate is not None else "http"
    host = f"[{serving.address}]" if ":" in serving.address else serving.address
    tell(say("web.serve.at", {"address": f"{scheme}://{host}:{serving.port}/"}))
    if serving.behind_proxy:
        tell(say("web.serve.proxy"))
    try:
        while not stopping:
            for name, words in commands.items():
                process = running.get(name)
                if process is not None and process.poll() is None:
                    continue
                if process is not None:
                    tell(say("web.serve.again", {"name": name, "status": process.returncode}))
                    time.sleep(0.5)
                running[name] = subprocess.Popen(
                    [sys.executable, "-m", "airtrim.web", *words], stdin=subprocess.DEVNULL
                )
            time.sleep(0.3)
    finally:
        for process in running.values():
            process.terminate()
        for process in running.values():
            try:
                process.wait(timeout=5)
            except subprocess.TimeoutExpired:
                process.kill()
