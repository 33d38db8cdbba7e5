"""The lane form of a kernel written as a module beside the compiled code, and loaded from there.

The folder is named by the hash of the kernel's sources and ours (core/kernels.py), so a module once written is right for good, and
the compiled code kept beside it too. Nothing is written before the first call.
"""

import ast
import copy
import importlib.util
import inspect
import os
import sys
import tempfile
import textwrap
import threading
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from airtrim.core.kernels import cache_folder
from airtrim.core.lanes.section import Guard, Item, Layout, Loop, Section, Single
from airtrim.core.lanes.source import flattened, load

#: Scenarios side by side. A group is always padded to it, so that results do not depend on how many are run together.
LANES = 8

_HEAD = '''"""Written by airtrim.core.lanes from {source}: do not edit, it is written anew from there."""

import numpy as np

from airtrim.core.elementary import exp, log, power, sqrt, tanh
from airtrim.core.kernels import fma, kernel, select

ROWS = {rows}


@kernel
def {name}({arguments}):
'''


@dataclass(frozen=True)
class LaneKernel:
    """`function(single arguments ..., block)`: block is flat, `rows` x LANES; `first` gives each lane array's first row.

    `around` is the kernel that calls it, calling the lane form in its stead.
    """

    function: Callable[..., Any]
    rows: int
    first: Mapping[str, int]
    around: Callable[..., Any]


def lane_source(kernel: Callable[..., Any], lane_arrays: Mapping[str, int], lanes: int = LANES) -> tuple[str, int]:
    """Text of the module with the lane form of `kernel`, and the rows its block needs.

    `lane_arrays` names the array arguments that hold one row for each scenario, with their lengths; they become one block.
    """
    plain = kernel.reference  # type: ignore[attr-defined]
    arrays = frozenset(lane_arrays)
    arguments, body = flattened(plain, arrays)
    layout = Layout(body, arrays)
    rows = {
        f"{array}__{index}": first + index
        for array, first in _firsts(lane_arrays).items()
        for index in range(lane_arrays[array])
    }
    for name in layout.kept_between_sections():
        rows.setdefault(name, len(rows))
    lines: list[str] = []
    _emit(layout, layout.items, rows, lanes, "    ", Counter(), lines)
    head = _HEAD.format(
        source=f"{plain.__module__}.{plain.__name__}",
        rows=len(rows),
        name=f"{plain.__name__}_lanes",
        arguments=", ".join([*(one for one in arguments if one not in arrays), "block"]),
    )
    return head + "\n".join(lines) + "\n", len(rows)


def around_source(
    around: Callable[..., Any], kernel: Callable[..., Any], lane_arrays: Mapping[str, int]
) -> tuple[str, str]:
    """Imports and text of `around` with its calls of `kernel` turned to the lane form: the lane arrays' arguments become `block`.

    Beside `kernel` it may call kernels that are the same for any number of lanes, and read no other names of its module than in
    what becomes `block`.
    """
    plain, inner = around.reference, kernel.reference  # type: ignore[attr-defined]
    definition = ast.parse(textwrap.dedent(inspect.getsource(plain))).body[0]
    assert isinstance(definition, ast.FunctionDef)
    arguments = list(inspect.signature(inner).parameters)
    for node in ast.walk(definition):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == inner.__name__:
            kept = [given for name, given in zip(arguments, node.args, strict=True) if name not in lane_arrays]
            node.func, node.args = load(f"{inner.__name__}_lanes"), [*kept, load("block")]
    definition.name = f"{plain.__name__}_lanes"
    definition.decorator_list = [load("kernel")]
    for argument in definition.args.args:
        argument.annotation = None
    definition.returns = None
    imports = [
        f"from {called.reference.__module__} import {name}"
        for name, called in sorted(plain.__globals__.items())
        if hasattr(called, "reference")
        and name in {one.id for one in ast.walk(definition) if isinstance(one, ast.Name)}
    ]
    return "\n".join(imports), ast.unparse(ast.fix_missing_locations(definition))


def lane_kernel(
    kernel: Callable[..., Any], lane_arrays: Mapping[str, int], around: Callable[..., Any] | None = None
) -> LaneKernel:
    """The lane form of `kernel`, written at first use, and the kernel `around` it. May be called from several threads."""
    with _LOADING:
        return _lane_kernel(kernel, lane_arrays, around)


_LOADING = threading.Lock()


def _lane_kernel(
    kernel: Callable[..., Any], lane_arrays: Mapping[str, int], around: Callable[..., Any] | None
) -> LaneKernel:
    plain = kernel.reference  # type: ignore[attr-defined]
    name = f"airtrim_lanes_{plain.__name__}"
    if name not in sys.modules:
        callers = [] if around is None else [around.reference.__module__]  # type: ignore[attr-defined]
        path = cache_folder(plain.__module__, *callers, __name__) / "lanes" / f"{name}.py"
        if not path.exists():
            text = lane_source(kernel, lane_arrays)[0]
            if around is not None:
                imports, caller = around_source(around, kernel, lane_arrays)
                text = text.replace("\nROWS =", f"{imports}\n\nROWS =", 1) + f"\n\n{caller}\n"
            _put(path, text)
        spec = importlib.util.spec_from_file_location(name, path)
        assert spec is not None and spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        spec.loader.exec_module(module)
    module = sys.modules[name]
    function = getattr(module, f"{plain.__name__}_lanes")
    outer = function if around is None else getattr(module, f"{around.__name__}_lanes")
    return LaneKernel(function, module.ROWS, _firsts(lane_arrays), outer)


def _put(path: Path, text: str) -> None:
    """All of the file or none, and the first writer's stays: its time stamp is part of the compiled code's key."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.NamedTemporaryFile("w", dir=path.parent, suffix=".part", delete=False) as file:
        file.write(text)
    try:
        os.link(file.name, path)
    except FileExistsError:
        pass  # another process was first
    finally:
        os.unlink(file.name)


def _firsts(lane_arrays: Mapping[str, int]) -> dict[str, int]:
    first, result = 0, {}
    for name, length in lane_arrays.items():
        result[name] = first
        first += length
    return result


def _emit(
    layout: Layout,
    items: list[Item],
    rows: Mapping[str, int],
    width: int,
    indent: str,
    counted: Counter[str],
    out: list[str],
) -> None:
    for one in items:
        match one:
            case Single(statement=statement):
                out.extend(indent + line for line in ast.unparse(statement).splitlines())
            case Section():
                _emit_section(layout, one, rows, width, indent, counted, out)
            case Guard(mask=mask, items=inner):
                out += [
                    f"{indent}taken = 0",
                    f"{indent}for j in range({width}):",
                    f"{indent}    taken |= np.float64(block[{rows[mask] * width} + j]).view(np.int64)",
                    f"{indent}if taken != 0:",
                ]
                _emit(layout, inner, rows, width, indent + "    ", counted, out)
            case Loop(target=target, over=over, items=inner):
                out.append(f"{indent}for {ast.unparse(target)} in {ast.unparse(over)}:")
                _emit(layout, inner, rows, width, indent + "    ", counted, out)


def _emit_section(
    layout: Layout,
    section: Section,
    rows: Mapping[str, int],
    width: int,
    indent: str,
    counted: Counter[str],
    out: list[str],
) -> None:
    for single in section.singles:
        out.extend(indent + line for line in ast.unparse(ast.fix_missing_locations(single)).splitlines())
    if not section.operations:
        return
    out.append(f"{indent}for j in range({width}):")
    inner = indent + "    "
    versions = _Versions(counted)
    for name in sorted(section.needed() & layout.lanes, key=lambda one: rows[one]):
        place = f"block[{rows[name] * width} + j]"
        out.append(
            f"{inner}{versions.new(name)} = {place} != 0.0"
            if name in layout.truths
            else f"{inner}{versions.new(name)} = {place}"
        )
    for one in section.operations:
        value = ast.unparse(ast.fix_missing_locations(versions.visit(copy.deepcopy(one.value))))
        out.append(f"{inner}{versions.new(one.target)} = {value}")
    for name in sorted(section.written() & rows.keys(), key=lambda one: rows[one]):
        now = versions.now[name]
        out.append(
            f"{inner}block[{rows[name] * width} + j] = {f'select({now}, 1.0, 0.0)' if name in layout.truths else now}"
        )


class _Versions(ast.NodeTransformer):
    """A new name for every assignment, and selections as calls: the compiler's front end is slow on anything else."""

    def __init__(self, counted: Counter[str]) -> None:
        self.counted = counted
        self.now: dict[str, str] = {}

    def new(self, name: str) -> str:
        self.counted[name] += 1
        self.now[name] = f"{name}_{self.counted[name]}x" if self.counted[name] > 1 else name
        return self.now[name]

    def visit_Name(self, node: ast.Name) -> ast.Name:
        return load(self.now.get(node.id, node.id))

    def visit_IfExp(self, node: ast.IfExp) -> ast.Call:
        return ast.Call(load("select"), [self.visit(one) for one in (node.test, node.body, node.orelse)], [])
