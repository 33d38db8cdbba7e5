"""The worker process: claims items from the table of work and has a spawned child compute them.

The child holds no database, so it may be killed at any moment: that is how an item is cancelled. This process beats while the
child computes; killed itself, its item goes stale and back into the queue, and the child ends when its pipe is closed.
"""

import logging
import os
import signal
import sys
import threading
import time
import traceback
from multiprocessing import get_context
from multiprocessing.connection import Connection
from typing import Any

log = logging.getLogger("airtrim.web.worker")
IDLE_S, BEAT_S = 0.3, 1.0


class Stopped(Exception):
    """The child was stopped because its item was cancelled or lost."""


def _child(pipe: Connection) -> None:
    """Compute what comes through the pipe until it is closed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    from airtrim.core.errors import AirtrimError
    from airtrim.web import tasks
    from airtrim.work import plan  # noqa: F401  (loaded before it is needed)

    def tell(share: float) -> None:
        pipe.send(("share", share))

    end_with_parent(os.getppid())
    while True:
        try:
            kind, arguments = pipe.recv()
        except EOFError:
            return
        try:
            answer: tuple[str, Any] = ("done", tasks.run(kind, arguments, tell))
        except AirtrimError as error:
            answer = ("refused", str(error))
        except BrokenPipeError:
            return
        except Exception:
            answer = ("broken", traceback.format_exc())
        pipe.send(answer)


def end_with_parent(parent: int) -> None:
    """End this process when its parent is gone."""

    def watch() -> None:
        while os.getppid() == parent:
            time.sleep(0.5)
        os.kill(os.getpid(), signal.SIGTERM)
        time.sleep(5.0)
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


class Computer:
    """The child and the pipe to it; made when first needed, and again after it was stopped."""

    def __init__(self) -> None:
        self.process: Any = None
        self.pipe: Connection | None = None

    def start(self) -> Connection:
        if self.pipe is None or not self.process.is_alive():
            context = get_context("spawn")
            self.pipe, far = context.Pipe()
            self.process = context.Process(target=_child, args=(far,), name="airtrim-computer")
            self.process.start()
            far.close()
        return self.pipe

    def stop(self) -> None:
        if self.process is not None:
            self.process.kill()
            self.process.join()
        self.process = self.pipe = None

    def compute(self, kind: str, arguments: dict[str, Any], beat: Any) -> tuple[str, Any]:
        """The child's answer: ('done', result), ('refused', sentence) or ('broken', trace); `beat(share)` says 'go on' or not."""
        pipe = self.start()
        pipe.send((kind, arguments))
        share, said = 0.0, 0.0
        while True:
            try:
                if pipe.poll(0.2):
                    what, value = pipe.recv()
                    if what != "share":
                        return what, value
                    share = float(value)
            except (EOFError, OSError):
                self.stop()
                return "broken", "The computing process ended."
            if time.monotonic() - said >= BEAT_S:
                said = time.monotonic()
                if beat(share) != "go on":
                    self.stop()
                    raise Stopped


def work_once(computer: Computer) -> bool:
    """Do the next item if there is one; False when there is nothing to do."""
    from airtrim.report.words import say
    from airtrim.web import keeping, queue
    from airtrim.web.models import WorkItem

    queue.give_back_stale()
    item = queue.claim()
    if item is None:
        return False
    try:
        arguments = keeping.arguments_of(item)
        what, value = computer.compute(item.kind, arguments, lambda share: queue.beat(item, share))
    except Stopped:
        queue.finish(item, WorkItem.CANCELLED)
        return True
    if what == "done":
        keeping.keep(item, value)
        queue.finish(item, WorkItem.DONE)
    elif what == "refused":
        queue.finish(item, WorkItem.FAILED, str(value))
    else:
        log.error("work %s (%s) broke: %s", item.pk, item.kind, value)
        queue.finish(item, WorkItem.FAILED, say("web.work.broke"))
    return True


def main() -> None:
    """Work until told to stop."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "airtrim.web.settings")
    import django

    django.setup()
    from django.db import OperationalError, close_old_connections

    computer = Computer()
    computer.start()
    stopping = threading.Event()

    def stop(*_: Any) -> None:
        stopping.set()
        computer.stop()
        sys.exit(0)

    signal.signal(signal.SIGTERM, stop)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    end_with_parent(os.getppid())
    while not stopping.is_set():
        try:
            busy = work_once(computer)
        except OperationalError as error:  # the database is away for a moment
            log.warning("the database did not answer: %s", error)
            close_old_connections()
            busy = False
        if not busy:
            time.sleep(IDLE_S)
