"""The resident process: one thread computes, always the newest request of each hand; the others are told they are out of date."""

import json
import logging
import os
import signal
import sys
import threading
import time
from collections import OrderedDict
from dataclasses import dataclass, field
from multiprocessing.connection import Connection, Listener
from typing import Any

from airtrim.core.errors import AirtrimError, Cancelled
from airtrim.web.worker import end_with_parent

log = logging.getLogger("airtrim.web.trim")
PREPARED_KEPT, ANSWERS_KEPT = 12, 200


@dataclass
class Request:
    """Something asked: its key (what would have the same answer), whose hand it comes from, and the answer when there."""

    key: str
    hand: str
    asked: dict[str, Any]
    done: threading.Event = field(default_factory=threading.Event)
    answer: dict[str, Any] = field(default_factory=dict)
    out_of_date: bool = False


class Resident:
    """Requests in, answers out; `ask` may be called from many threads."""

    def __init__(self) -> None:
        self._lock = threading.Condition()
        self._waiting: OrderedDict[str, Request] = OrderedDict()  # by hand: one each
        self._running: Request | None = None
        self._answers: OrderedDict[str, dict[str, Any]] = OrderedDict()
        self._prepared: OrderedDict[str, Any] = OrderedDict()

    def ask(self, asked: dict[str, Any], wait_s: float) -> dict[str, Any]:
        """The answer, or {'state': 'working'} when it takes longer than `wait_s`; ask the same again to wait on."""
        hand = str(asked.pop("hand", ""))
        key = json.dumps(asked, sort_keys=True)
        with self._lock:
            kept = self._answers.get(key)
            if kept is not None:
                self._answers.move_to_end(key)
                return kept
            request = self._join(key, hand, asked)
        if not request.done.wait(wait_s):
            return {"state": "working"}
        return request.answer

    def _join(self, key: str, hand: str, asked: dict[str, Any]) -> Request:
        for one in (self._running, *self._waiting.values()):
            if one is not None and one.key == key and not one.out_of_date:
                return one
        older = self._waiting.pop(hand, None)
        if older is not None:
            older.answer = {"state": "out_of_date"}
            older.done.set()
        if self._running is not None and self._running.hand == hand:
            self._running.out_of_date = True
        request = Request(key, hand, asked)
        self._waiting[hand] = request
        self._lock.notify()
        return request

    def compute_for_ever(self) -> None:
        """Take the newest request, answer it, again; what every answer needs is loaded before the first is asked for."""
        from airtrim.web.trim import answers  # noqa: F401

        while True:
            with self._lock:
                while not self._waiting:
                    self._lock.wait()
                _, request = self._waiting.popitem(last=True)
                self._running = request
            answer = self._computed(request)
            with self._lock:
                self._running = None
                if answer.get("state") == "done":
                    self._answers[request.key] = answer
                    while len(self._answers) > ANSWERS_KEPT:
                        self._answers.popitem(last=False)
                request.answer = answer
                request.done.set()

    def _computed(self, request: Request) -> dict[str, Any]:
        started = time.perf_counter()
        try:
            answer = self._answer(request)
        except Cancelled:
            return {"state": "out_of_date"}
        except AirtrimError as error:
            return {"state": "done", "refused": str(error)}
        except Exception:
            log.exception("the trim broke on %s", request.asked.get("kind"))
            return {"state": "broken"}
        return {"state": "done", "ms": round(1000.0 * (time.perf_counter() - started), 1)} | answer

    def _answer(self, request: Request) -> dict[str, Any]:
        from airtrim.job import parse_job
        from airtrim.web.tasks import with_weather
        from airtrim.web.trim import answers

        asked = request.asked
        job = with_weather(parse_job(asked["text"], "job.toml"), asked["weather"])
        if asked["kind"] == "first":
            return answers.what_readings_say(job)
        prepared = self._prepared_for(asked, job)
        if asked["kind"] == "ready":
            wall = prepared.least_wall
            return {
                "airflow_m3_s": prepared.found.airflow.m3_s,
                "why_not": prepared.why_not,
                "wall": None if wall is None else {"at": wall.at, "sentence": wall.sentence},
                "off_delay_s": prepared.now.program.off_delay_s,
            }
        values = answers.Values(**asked["values"])
        return answers.year(prepared, values, bool(asked["sharp"]), lambda _: request.out_of_date)

    def _prepared_for(self, asked: dict[str, Any], job: Any) -> Any:
        from airtrim.web.trim import answers

        key = asked["text"] + asked["units"]
        if key not in self._prepared:
            self._prepared[key] = answers.prepare(job, asked["units"])
            while len(self._prepared) > PREPARED_KEPT:
                self._prepared.popitem(last=False)
        self._prepared.move_to_end(key)
        return self._prepared[key]


def _serve(resident: Resident, connection: Connection) -> None:
    with connection:
        try:
            asked = json.loads(connection.recv_bytes())
            answer = resident.ask(asked["asked"], float(asked["wait_s"]))
            connection.send_bytes(json.dumps(answer, allow_nan=False).encode())
        except (EOFError, OSError, ValueError, KeyError) as error:
            log.warning("a request was not answered: %s", error)


def main(address: str, key: bytes) -> None:
    """Listen at `address` until told to stop."""
    from multiprocessing import AuthenticationError

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))
    end_with_parent(os.getppid())
    resident = Resident()
    threading.Thread(target=resident.compute_for_ever, daemon=True).start()
    if os.path.exists(address):
        os.unlink(address)
    with Listener(address, family="AF_UNIX", authkey=key) as listener:
        while True:
            try:
                connection = listener.accept()
            except (AuthenticationError, EOFError, ConnectionError) as error:
                log.warning("refused a caller: %s", error)
                continue
            threading.Thread(target=_serve, args=(resident, connection), daemon=True).start()
