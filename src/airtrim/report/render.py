"""Draw chart specifications to SVG in a spawned worker process: the renderer holds the interpreter while it draws and
does not survive a fork."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import get_context
from typing import Any, TypeVar

Answer = TypeVar("Answer")
TIME_LIMIT_S = 60.0


def _ready() -> None:
    """Load what drawing needs; the first picture takes longest."""
    import altair  # noqa: F401
    import vl_convert

    from airtrim.report.fonts import folder

    vl_convert.register_font_directory(str(folder()))  # texts are measured with it
    draw({"mark": "point", "data": {"values": []}})


def draw(specification: Mapping[str, Any]) -> str:
    """A specification as SVG text; in the worker only."""
    import vl_convert

    return str(vl_convert.vegalite_to_svg(dict(specification), vl_version="6.4"))


class Drawing:
    """A worker that draws. Raises TimeoutError where it gives no answer in `time_limit_s`."""

    def __init__(self, pool: ProcessPoolExecutor, time_limit_s: float) -> None:
        self._pool, self._time_limit_s = pool, time_limit_s

    def svgs(self, specifications: Sequence[Mapping[str, Any]]) -> list[str]:
        """Several pictures as SVG text."""
        drawn = [self._pool.submit(draw, dict(one)) for one in specifications]
        return [one.result(timeout=self._time_limit_s) for one in drawn]

    def made(self, make: Callable[..., Answer], *given: Any) -> Answer:
        """What a function of a module, which may call `draw`, returns in the worker."""
        return self._pool.submit(make, *given).result(timeout=self._time_limit_s)


@contextmanager
def drawing(time_limit_s: float = TIME_LIMIT_S) -> Iterator[Drawing]:
    """A worker that makes itself ready at once, while the caller goes on with other work."""
    with ProcessPoolExecutor(max_workers=1, mp_context=get_context("spawn"), initializer=_ready) as pool:
        pool.submit(int)  # starts it
        yield Drawing(pool, time_limit_s)


def svg(specification: Mapping[str, Any], time_limit_s: float = TIME_LIMIT_S) -> str:
    """The picture as SVG text; raises TimeoutError when the worker gives no answer in `time_limit_s`."""
    return svgs([specification], time_limit_s)[0]


def svgs(specifications: Sequence[Mapping[str, Any]], time_limit_s: float = TIME_LIMIT_S) -> list[str]:
    """Several pictures from one worker."""
    with drawing(time_limit_s) as worker:
        return worker.svgs(specifications)
