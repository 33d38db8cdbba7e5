"""A kernel's source read back and flattened: what it calls is pasted in, constants are filled in, early returns become branches.

What remains are assignments to names, `if`, `for` over ranges, and arithmetic: what `section` needs. Of Python it knows only
what kernels of physics use; anything else is refused with the line, never guessed.
"""

import ast
import builtins
import inspect
import math
import textwrap
from collections.abc import Callable
from typing import Any, NoReturn, cast

from airtrim.core import elementary
from airtrim.core.kernels import fma

Statements = list[ast.stmt]
#: Functions left as calls: arithmetic that the compiler turns into lanes by itself.
_LEAVES: dict[Any, str] = {builtins.max: "max", builtins.min: "min", builtins.abs: "abs", builtins.round: "round"} | {
    math.sqrt: "sqrt",
    fma: "fma",
    **{getattr(elementary, name): name for name in ("exp", "log", "power", "tanh")},
}


class CannotLane(Exception):
    """The readable source holds something that has no lane form (a fault of ours, never of the user)."""


def load(name: str) -> ast.Name:
    return ast.Name(name, ast.Load())


def array_item(array: str, index: int) -> str:
    """The name under which item `index` of a lane array goes about in the flattened source."""
    return f"{array}__{index}"


def flattened(function: Callable[..., Any], lane_arrays: frozenset[str]) -> tuple[list[str], Statements]:
    """Argument names and body of `function` (plain form); items of `lane_arrays` at constant places become names."""
    definition = _definition(function)
    arguments = [argument.arg for argument in definition.args.args]
    scope = _Scope(_Names(), function, lane_arrays, {name: load(name) for name in arguments}, "")
    body: Statements = []
    scope.block(definition.body, body)
    return arguments, body


def _definition(function: Callable[..., Any]) -> ast.FunctionDef:
    node = ast.parse(textwrap.dedent(inspect.getsource(function))).body[0]
    assert isinstance(node, ast.FunctionDef)
    return node


class _Names:
    """Counts the pasted calls, so that their names never meet."""

    def __init__(self) -> None:
        self.pasted = 0
        self.temporaries = 0

    def temporary(self) -> str:
        self.temporaries += 1
        return f"t{self.temporaries}"


def assigned_names(body: Statements) -> set[str]:
    return {node.id for one in body for node in ast.walk(one) if isinstance(node, ast.Name) and _is_store(node)}


def _is_store(node: ast.Name) -> bool:
    return isinstance(getattr(node, "ctx", None), ast.Store)


def assign(name: str, value: ast.expr) -> ast.stmt:
    return ast.Assign([ast.Name(name, ast.Store())], value, lineno=0)


class _Scope:
    """One function's body on its way into the flat one; `bound` gives a local name its flat expression."""

    def __init__(
        self,
        names: _Names,
        function: Callable[..., Any],
        arrays: frozenset[str],
        bound: dict[str, ast.expr],
        prefix: str,
    ) -> None:
        self.names, self.arrays, self.bound, self.prefix = names, arrays, bound, prefix
        self.function = function
        self.globals = function.__globals__

    def refuse(self, node: ast.AST, why: str) -> NoReturn:
        line = getattr(node, "lineno", 0)
        raise CannotLane(
            f"{self.function.__module__}.{self.function.__name__}, line {line}: {why}: {ast.unparse(node)}"
        )

    # statements

    def block(self, body: Statements, out: Statements) -> None:
        for one in body:
            self.statement(one, out)

    def statement(self, node: ast.stmt, out: Statements) -> None:
        match node:
            case ast.Expr(value=ast.Constant()) | ast.Pass():
                pass
            case ast.Assign(targets=[target], value=value):
                self.assignment(target, value, out)
            case ast.AnnAssign(target=target, value=ast.expr() as value):
                self.assignment(target, value, out)
            case ast.AugAssign(target=ast.Name() | ast.Subscript() as target, op=op, value=value):
                read = ast.parse(ast.unparse(target), mode="eval").body
                self.assignment(target, ast.copy_location(ast.BinOp(read, op, value), node), out)
            case ast.If(test=test, body=then, orelse=orelse):
                condition = self.expression(test, out)
                if isinstance(condition, ast.Constant):
                    self.block(then if condition.value else orelse, out)
                    return
                branches: tuple[Statements, Statements] = ([], [])
                self.block(then, branches[0])
                self.block(orelse, branches[1])
                if branches[0] or branches[1]:
                    out.append(ast.If(condition, *branches))
            case ast.For(target=ast.Name() as target, iter=iterated, body=inner, orelse=[]):
                looped: Statements = []
                over, counter = self.expression(iterated, out), ast.Name(self.local(target.id), ast.Store())
                self.block(inner, looped)
                out.append(ast.For(counter, over, looped, [], lineno=0))
            case ast.Return(value=ast.expr() as value):
                if isinstance(value, ast.Call) and (callee := self.pasteable(value)) is not None:
                    results = self.paste(value, callee, out)
                    out.append(ast.Return(results[0] if len(results) == 1 else ast.Tuple(results)))
                else:
                    out.append(ast.Return(self.expression(value, out)))
            case _:
                self.refuse(node, "this statement has no lane form")

    def assignment(self, target: ast.expr, value: ast.expr, out: Statements) -> None:
        if not isinstance(target, ast.Tuple):
            out.append(assign(self.stored(target), self.expression(value, out)))
            return
        if isinstance(value, ast.Tuple):
            results = [self.expression(one, out) for one in value.elts]
        elif isinstance(value, ast.Call) and (callee := self.pasteable(value)) is not None:
            results = self.paste(value, callee, out)
        else:
            self.refuse(value, "only a tuple or a kernel's results can be unpacked")
        if len(results) != len(target.elts):
            self.refuse(value, "the numbers of targets and values differ")
        names = [self.stored(one) for one in target.elts]
        read = {node.id for one in results for node in ast.walk(one) if isinstance(node, ast.Name)}
        if read & set(names):  # all are read before any is written
            for index, one in enumerate(results):
                temporary = self.names.temporary()
                out.append(assign(temporary, one))
                results[index] = load(temporary)
        out.extend(assign(name, one) for name, one in zip(names, results, strict=True))

    def local(self, name: str) -> str:
        flat = self.bound.setdefault(name, load(f"{self.prefix}{name}"))
        if not isinstance(flat, ast.Name):
            raise CannotLane(f"{name} of {self.function.__name__} is a constant and assigned to")
        return flat.id

    def stored(self, target: ast.expr) -> str:
        if isinstance(target, ast.Name):
            return self.local(target.id)
        flat = self.expression(target, [])
        if isinstance(flat, ast.Name) and isinstance(target, ast.Subscript):
            return flat.id
        self.refuse(target, "only names and constant places of lane arrays can be assigned to")

    # expressions

    def expression(self, node: ast.expr, out: Statements) -> ast.expr:
        match node:
            case ast.Constant():
                return node
            case ast.Name():
                return self.name(node)
            case ast.Tuple(elts=elements):
                return ast.Tuple([self.expression(one, out) for one in elements])
            case ast.BinOp(left=left, op=op, right=right):
                return _folded(ast.BinOp(self.expression(left, out), op, self.expression(right, out)))
            case ast.UnaryOp(op=op, operand=operand):
                return _folded(ast.UnaryOp(op, self.expression(operand, out)))
            case ast.Compare(left=left, ops=[op], comparators=[right]):
                return _folded(ast.Compare(self.expression(left, out), [op], [self.expression(right, out)]))
            case ast.BoolOp(op=op, values=values):
                joined = self.expression(values[0], out)
                for one in values[1:]:
                    both = ast.BitAnd() if isinstance(op, ast.And) else ast.BitOr()
                    joined = ast.BinOp(joined, both, self.expression(one, out))
                return joined
            case ast.IfExp(test=test, body=then, orelse=orelse):
                parts = [self.expression(one, out) for one in (test, then, orelse)]
                return ast.IfExp(*parts)
            case ast.Subscript(value=array, slice=place):
                return self.item(node, array, place, out)
            case ast.Attribute():
                return self.attribute(node)
            case ast.Call():
                return self.call(node, out)
        self.refuse(node, "this expression has no lane form")

    def name(self, node: ast.Name) -> ast.expr:
        if node.id in self.bound:
            return self.bound[node.id]
        value = self.globals.get(node.id)
        if isinstance(value, (int, float)):
            return ast.Constant(value)
        self.refuse(node, "neither a local name nor a number of the module")

    def attribute(self, node: ast.Attribute) -> ast.expr:
        if isinstance(node.value, ast.Name) and node.value.id in self.bound:
            return ast.Attribute(self.bound[node.value.id], node.attr)
        value = self.constant(node)
        if isinstance(value, (int, float)):
            return ast.Call(load("float"), [ast.Constant(str(value))], []) if value != value else ast.Constant(value)
        self.refuse(node, "not a number")

    def constant(self, node: ast.expr) -> Any:
        return eval(compile(ast.Expression(node), "<kernel>", "eval"), self.globals)

    def item(self, node: ast.Subscript, array: ast.expr, place: ast.expr, out: Statements) -> ast.expr:
        if any(isinstance(one, ast.Name) and one.id in self.bound for one in ast.walk(array)):
            flat, index = self.expression(array, out), self.expression(place, out)
            if isinstance(flat, ast.Name) and flat.id in self.arrays and isinstance(index, ast.Constant):
                return load(array_item(flat.id, int(cast(int, index.value))))
            return ast.Subscript(flat, index)
        value = self.constant(node)
        if isinstance(value, (int, float)):
            return ast.Constant(value)
        self.refuse(node, "not a number")

    def called(self, node: ast.Call) -> Any:
        if isinstance(node.func, ast.Name) and node.func.id in self.bound:
            self.refuse(node, "a local name is called")
        if isinstance(node.func, ast.Name):
            return self.globals.get(node.func.id, getattr(builtins, node.func.id, None))
        return self.constant(node.func)

    def pasteable(self, node: ast.Call) -> Callable[..., Any] | None:
        if (
            isinstance(node.func, ast.Attribute)
            and isinstance(node.func.value, ast.Name)
            and node.func.value.id in self.bound
        ):
            return None
        reference = getattr(self.called(node), "reference", None)
        return None if self.called(node) in _LEAVES else reference

    def call(self, node: ast.Call, out: Statements) -> ast.expr:
        if node.keywords:
            self.refuse(node, "arguments must go by place")
        if (
            isinstance(node.func, ast.Attribute)
            and isinstance(node.func.value, ast.Name)
            and node.func.value.id in self.bound
        ):
            return ast.Call(ast.Attribute(self.bound[node.func.value.id], node.func.attr), [], [])  # array.mean()
        callee = self.called(node)
        if callee in _LEAVES:
            return ast.Call(load(_LEAVES[callee]), [self.expression(one, out) for one in node.args], [])
        if callee is builtins.range:
            return ast.Call(load("range"), [self.expression(one, out) for one in node.args], [])
        if callee is builtins.float:
            return self.expression(node.args[0], out)
        reference = getattr(callee, "reference", None)
        if reference is None:
            self.refuse(node, "neither a kernel nor a function of core.elementary")
        results = self.paste(node, reference, out)
        return results[0] if len(results) == 1 else self.refuse(node, "several results where one is used")

    def paste(self, node: ast.Call, callee: Callable[..., Any], out: Statements) -> list[ast.expr]:
        """Put the callee's body into `out`; returns its results."""
        self.names.pasted += 1
        prefix = f"p{self.names.pasted}_"
        definition = _definition(callee)
        written = assigned_names(definition.body)
        bound: dict[str, ast.expr] = {}
        for argument, given in zip(definition.args.args, node.args, strict=True):
            value = self.expression(given, out)
            if argument.arg in written or not isinstance(value, (ast.Name, ast.Constant)):
                out.append(assign(f"{prefix}{argument.arg}", value))
                value = load(f"{prefix}{argument.arg}")
            bound[argument.arg] = value
        scope = _Scope(self.names, callee, self.arrays, bound, prefix)
        body: Statements = []
        scope.block(_without_early_returns(definition.body), body)
        if isinstance(body[-1], ast.Return) and not _returns(body[:-1]):
            out.extend(body[:-1])
            last = body[-1].value
            assert last is not None
            return list(last.elts) if isinstance(last, ast.Tuple) else [last]
        count = _replace_returns(body, f"{prefix}result")
        out.extend(body)
        return [load(f"{prefix}result{index}") for index in range(count)]


def _returns(body: Statements) -> bool:
    return any(isinstance(node, ast.Return) for one in body for node in ast.walk(one))


def _without_early_returns(body: Statements) -> Statements:
    """The same function where a return is always a branch's last statement: what follows a branch moves into it."""
    for index, one in enumerate(body):
        if isinstance(one, ast.Return):
            return body[: index + 1]
        if isinstance(one, ast.If) and _returns([one]):
            rest = body[index + 1 :]
            then, orelse = (_without_early_returns([*branch, *rest]) for branch in (one.body, one.orelse))
            return [*body[:index], ast.copy_location(ast.If(one.test, then, orelse), one)]
    return body


def _replace_returns(body: Statements, name: str) -> int:
    """Turn each return into assignments to name0, name1 ...; gives how many."""
    count = 0
    for index, one in enumerate(body):
        if isinstance(one, ast.If):
            count = max(count, _replace_returns(one.body, name), _replace_returns(one.orelse, name))
        elif isinstance(one, ast.Return):
            assert one.value is not None
            values = list(one.value.elts) if isinstance(one.value, ast.Tuple) else [one.value]
            body[index:] = [assign(f"{name}{place}", value) for place, value in enumerate(values)]
            return len(values)
    return count


def _folded(node: ast.expr) -> ast.expr:
    parts = [child for child in ast.iter_child_nodes(node) if isinstance(child, ast.expr)]
    if all(isinstance(part, ast.Constant) for part in parts):
        value = eval(compile(ast.fix_missing_locations(ast.Expression(node)), "<constant>", "eval"))
        return ast.Constant(value)
    return node
