"""Draw a chart specification to SVG in a spawned worker process: the renderer holds the interpreter while it draws and
does not survive a fork."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from typing import Any


def _draw(specification: dict[str, Any]) -> str:
    import vl_convert

    from airtrim.report.fonts import folder

    vl_convert.register_font_directory(str(folder()))  # texts are measured with it

    return str(vl_convert.vegalite_to_svg(specification, vl_version="6.4"))


def svg(specification: Mapping[str, Any], time_limit_s: float = 60.0) -> str:
    """The picture as SVG text; raises TimeoutError when the worker gives no answer in `time_limit_s`."""
    return svgs([specification], time_limit_s)[0]


def svgs(specifications: Sequence[Mapping[str, Any]], time_limit_s: float = 60.0) -> list[str]:
    """Several pictures from one worker."""
    with ProcessPoolExecutor(max_workers=1, mp_context=get_context("spawn")) as pool:
        drawn = [pool.submit(_draw, dict(one)) for one in specifications]
        return [one.result(timeout=time_limit_s) for one in drawn]
