"""The flat source of a kernel laid out for lanes: branches become selections, and the work is cut into short loops over lanes.

A name that depends on a lane array, or is assigned under a condition that does, holds one number for each lane; all others
stay single numbers outside the lane loops. Both sides of a branch are computed and each lane keeps its own; a long branch is
passed over when no lane takes it, which changes no lane's answer.
"""

import ast
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import cast

from airtrim.core.lanes.source import CannotLane, Statements, array_item, assign, load

#: A branch of at least this many operations is passed over when no lane takes it.
GUARDED_COST = 50
#: A loop over lanes is cut when it has gathered this many operations: longer ones spill registers and hide less latency.
SECTION_COST = 400
#: In additions: a division or a root takes the processor as long as several.
_CALL_COST = {"exp": 35, "log": 35, "power": 70, "tanh": 60, "sqrt": 8, "fma": 1}
_DIVISION_COST = 8


@dataclass(frozen=True)
class Operation:
    """target = value in every lane."""

    target: str
    value: ast.expr


@dataclass(frozen=True)
class Single:
    """A statement on single numbers."""

    statement: ast.stmt


@dataclass(frozen=True)
class Guard:
    """Items passed over when the mask is false in every lane."""

    mask: str
    items: "list[Item]"


@dataclass(frozen=True)
class Loop:
    target: ast.expr
    over: ast.expr
    items: "list[Item]"


@dataclass
class Section:
    """One loop over lanes, after the single numbers it needs."""

    singles: list[ast.stmt] = field(default_factory=list)
    operations: list[Operation] = field(default_factory=list)

    def needed(self) -> set[str]:
        """Names read before this section has written them."""
        written: set[str] = set()
        wanted: set[str] = set()
        for one in self.operations:
            wanted |= names_in(one.value) - written
            written.add(one.target)
        return wanted

    def written(self) -> set[str]:
        return {one.target for one in self.operations}


Item = Operation | Single | Guard | Loop | Section


def names_in(node: ast.AST) -> set[str]:
    return {one.id for one in ast.walk(node) if isinstance(one, ast.Name)}


def cost(node: ast.AST) -> int:
    total = 0
    for one in ast.walk(node):
        if isinstance(one, ast.Call) and isinstance(one.func, ast.Name):
            total += _CALL_COST.get(one.func.id, 1)
        elif isinstance(one, (ast.BinOp, ast.Compare, ast.IfExp)):
            total += _DIVISION_COST if isinstance(one, ast.BinOp) and isinstance(one.op, ast.Div) else 1
    return total


def lane_names(body: Statements, lane_arrays: frozenset[str]) -> set[str]:
    """All names that hold a number for each lane."""
    found: set[str] = set()
    for one in body:
        for name in names_in(one):
            if name.partition("__")[0] in lane_arrays:
                found.add(name)

    def spread(statements: Statements, under: bool) -> None:
        for one in statements:
            if isinstance(one, ast.Assign):
                target = cast(ast.Name, one.targets[0]).id
                if under or names_in(one.value) & (found | lane_arrays):
                    found.add(target)
            elif isinstance(one, ast.If):
                inner = under or bool(names_in(one.test) & found)
                spread(one.body, inner)
                spread(one.orelse, inner)
            elif isinstance(one, ast.For):
                if under:
                    raise CannotLane(f"a loop under a condition of the lanes: {ast.unparse(one)[:60]}")
                spread(one.body, under)

    before = -1
    while len(found) != before:
        before = len(found)
        spread(body, False)
    return found


def whole_number_choices(body: Statements) -> dict[str, set[int]]:
    """Names that only ever hold a few known whole numbers (places in a row of coefficients)."""
    assigned: dict[str, list[ast.expr]] = {}
    for one in body:
        for node in ast.walk(one):
            if isinstance(node, ast.Assign):
                assigned.setdefault(cast(ast.Name, node.targets[0]).id, []).append(node.value)
            elif isinstance(node, ast.For):
                assigned.setdefault(cast(ast.Name, node.target).id, []).append(node.iter)
    known: dict[str, set[int]] = {name: set() for name in assigned}

    def values(node: ast.expr) -> set[int] | None:
        match node:
            case ast.Constant(value=int() as value) if not isinstance(value, bool):
                return {value}
            case ast.Name(id=name):
                return known.get(name)
            case ast.BinOp(left=left, op=ast.Add(), right=right):
                first, second = values(left), values(right)
                return None if first is None or second is None else {a + b for a in first for b in second}
        return None

    changed = True
    while changed:
        changed = False
        for name, sources in assigned.items():
            if name not in known:
                continue
            sets = [values(one) for one in sources]
            joined = set().union(*(one for one in sets if one is not None))
            if None in sets or len(joined) > 16:
                del known[name]
                changed = True
            elif joined != known[name]:
                known[name] = joined
                changed = True
    return {name: found for name, found in known.items() if found}


def truth_names(body: Statements) -> set[str]:
    """Names that only ever hold true or false."""
    assigned: dict[str, list[ast.expr]] = {}
    for one in body:
        for node in ast.walk(one):
            if isinstance(node, ast.Assign):
                assigned.setdefault(cast(ast.Name, node.targets[0]).id, []).append(node.value)
    found = set(assigned)
    before = -1
    while len(found) != before:
        before = len(found)
        found = {name for name in found if all(is_truth(one, found) for one in assigned[name])}
    return found


def is_truth(node: ast.expr, truths: set[str]) -> bool:
    match node:
        case ast.Compare() | ast.UnaryOp(op=ast.Not()):
            return True
        case ast.BinOp(left=left, op=ast.BitAnd() | ast.BitOr(), right=right):
            return is_truth(left, truths) and is_truth(right, truths)
        case ast.Name(id=name):
            return name in truths
    return False


class Layout:
    """Turns the flat body into items; see the module's head."""

    def __init__(self, body: Statements, lane_arrays: frozenset[str]) -> None:
        self.arrays = lane_arrays
        self.lanes = lane_names(body, lane_arrays)
        self.choices = {name: one for name, one in whole_number_choices(body).items() if name in self.lanes}
        self.defined = {name for name in self.lanes if name.partition("__")[0] in lane_arrays}
        self.truths = truth_names(body) & self.lanes
        self.fresh = 0
        self.items = self.gathered(self.block(body, None))

    def name(self, kind: str) -> str:
        self.fresh += 1
        return f"{kind}_{self.fresh}"

    # branches to selections

    def block(self, body: Statements, mask: str | None) -> list[Item]:
        items: list[Item] = []
        for one in body:
            if isinstance(one, ast.Assign):
                target = cast(ast.Name, one.targets[0]).id
                if target in self.lanes:
                    self.store(target, one.value, mask, items)
                else:
                    items.append(Single(one))
            elif isinstance(one, ast.If):
                self.branch(one, mask, items)
            elif isinstance(one, ast.For):
                items.append(Loop(one.target, one.iter, self.block(one.body, mask)))
            elif isinstance(one, ast.Return) and mask is None and not names_in(one) & self.lanes:
                items.append(Single(one))
            else:
                raise CannotLane(f"no lane form: {ast.unparse(one)}")
        return items

    def branch(self, one: ast.If, mask: str | None, items: list[Item]) -> None:
        written = {node.id for node in ast.walk(one) if isinstance(node, ast.Name)} & self.lanes
        if not names_in(one.test) & self.lanes and not written:
            items.append(Single(one))
            return
        test = self.name("test")
        self.truths.add(test)
        self.define(test, self.value(one.test, items), items)
        sides = [(one.body, load(test)), (one.orelse, ast.UnaryOp(ast.Not(), load(test)))]
        masks = [self.name("mask") for _ in sides]
        for inner, (body, taken) in zip(masks, sides, strict=True):
            if body:
                self.truths.add(inner)
                self.define(inner, taken if mask is None else ast.BinOp(load(mask), ast.BitAnd(), taken), items)
        for inner, (body, _) in zip(masks, sides, strict=True):
            branch = self.block(body, inner)
            if _total(branch) >= GUARDED_COST:
                items.append(Guard(inner, branch))
            else:
                items.extend(branch)

    def define(self, name: str, value: ast.expr, items: list[Item]) -> None:
        self.lanes.add(name)
        self.defined.add(name)
        items.append(Operation(name, value))

    def store(self, target: str, value: ast.expr, mask: str | None, items: list[Item]) -> None:
        if target in self.choices and isinstance(value, ast.Constant):
            value = ast.Constant(float(cast(int, value.value)))
        flat = self.value(value, items)
        if mask is None or target not in self.defined:
            self.define(target, flat, items)
        elif target in self.truths:
            kept = ast.BinOp(ast.UnaryOp(ast.Not(), load(mask)), ast.BitAnd(), load(target))
            self.define(target, ast.BinOp(ast.BinOp(load(mask), ast.BitAnd(), flat), ast.BitOr(), kept), items)
        else:
            self.define(target, self.selected(load(mask), flat, load(target), items), items)

    def selected(self, test: ast.expr, then: ast.expr, orelse: ast.expr, items: list[Item]) -> ast.expr:
        """A selection whose sides are already computed, so that the compiler needs no branch."""
        return ast.IfExp(test, self.simple(then, items), self.simple(orelse, items))

    def simple(self, node: ast.expr, items: list[Item]) -> ast.expr:
        if isinstance(node, (ast.Name, ast.Constant)):
            return node
        name = self.name("v")
        self.define(name, node, items)
        return load(name)

    # expressions

    def value(self, node: ast.expr, items: list[Item]) -> ast.expr:
        if isinstance(node, (ast.Constant, ast.Name)):
            return node
        if not names_in(node) & (self.lanes | self.arrays):
            if not names_in(node) or _is_number_call(node):
                return node
            single = self.name("u")  # the same in every lane: computed once, before the loop
            items.append(Single(assign(single, node)))
            return load(single)
        match node:
            case ast.BinOp(left=left, op=op, right=right):
                return ast.BinOp(self.value(left, items), op, self.value(right, items))
            case ast.UnaryOp(op=op, operand=operand):
                return ast.UnaryOp(op, self.value(operand, items))
            case ast.Compare(left=left, ops=ops, comparators=[right]):
                return ast.Compare(self.value(left, items), ops, [self.value(right, items)])
            case ast.Call(func=func, args=arguments):
                return ast.Call(func, [self.value(one, items) for one in arguments], [])
            case ast.IfExp(test=test, body=then, orelse=orelse):
                chosen, first, second = (self.value(one, items) for one in (test, then, orelse))
                return load(self.kept(self.selected(chosen, first, second, items), items))
            case ast.Subscript(value=ast.Name(id=array), slice=place):
                return self.chosen(array, place, items)
        raise CannotLane(f"no lane form: {ast.unparse(node)}")

    def kept(self, node: ast.expr, items: list[Item]) -> str:
        name = self.name("v")
        self.define(name, node, items)
        return name

    def chosen(self, array: str, place: ast.expr, items: list[Item]) -> ast.expr:
        """An item at one of a few known places: every one is read and the lane's own kept (cheaper than gathering)."""
        wanted = sorted(names_in(place))
        if array not in self.arrays or len(wanted) != 1 or wanted[0] not in self.choices:
            raise CannotLane(f"the place is not one of a few known ones: {array}[{ast.unparse(place)}]")
        code = compile(ast.fix_missing_locations(ast.Expression(place)), "<place>", "eval")
        options = sorted(self.choices[wanted[0]])
        found: ast.expr | None = None
        for option in options:
            item = load(array_item(array, eval(code, {wanted[0]: option})))
            self.lanes.add(item.id)
            self.defined.add(item.id)
            if found is None:
                found = item
            else:
                same = ast.Compare(load(wanted[0]), [ast.Eq()], [ast.Constant(float(option))])
                found = load(self.kept(self.selected(same, item, found, items), items))
        assert found is not None
        return found

    # cutting

    def gathered(self, items: list[Item]) -> list[Item]:
        """Runs of operations as sections of bounded cost."""
        result: list[Item] = []
        section, spent = Section(), 0

        def close() -> None:
            nonlocal section, spent
            if section.operations or section.singles:
                result.append(section)
            section, spent = Section(), 0

        for one in items:
            match one:
                case Operation():
                    if spent >= SECTION_COST:
                        close()
                    section.operations.append(one)
                    spent += cost(one.value)
                case Single(statement=statement):
                    if section.operations and not _moves_up(statement, section):
                        close()
                    section.singles.append(statement)
                case Guard(mask=mask, items=inner):
                    close()
                    result.append(Guard(mask, self.gathered(inner)))
                case Loop(target=target, over=over, items=inner):
                    close()
                    result.append(Loop(target, over, self.gathered(inner)))
        close()
        return result

    def kept_between_sections(self) -> list[str]:
        """Lane names that need a place in memory, in a stable order."""
        wanted: dict[str, None] = {}
        for one in walk(self.items):
            if isinstance(one, Section):
                wanted |= dict.fromkeys(sorted(one.needed() & self.lanes))
            elif isinstance(one, Guard):
                wanted[one.mask] = None
        return list(wanted)


def walk(items: list[Item]) -> Iterator[Item]:
    for one in items:
        yield one
        if isinstance(one, (Guard, Loop)):
            yield from walk(one.items)


def _total(items: list[Item]) -> int:
    return sum(cost(one.value) for one in walk(items) if isinstance(one, Operation))


def _is_number_call(node: ast.expr) -> bool:
    return isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "float"


def _moves_up(statement: ast.stmt, section: Section) -> bool:
    """Whether a single number may be computed before the section's loop: nothing in the loop reads an older value of it."""
    if not isinstance(statement, ast.Assign):
        return False
    target = cast(ast.Name, statement.targets[0]).id
    return all(target not in names_in(one.value) for one in section.operations)
