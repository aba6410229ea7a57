"""Small wrong versions of a source file, one change each, for ``torture_mutate.py``.

Changed are: comparisons (edge moved, turned round), arithmetic, ``and``/``or`` and each of their
parts, ``not`` and signs, ``min``/``max``, numbers, truth values, strings without a blank,
answers, conditions, and statements left out. Left alone: docstrings, annotations, what a
``raise`` says, class bodies outside their methods, ``strict`` of a zip (the lists are as long as
each other wherever the tests pass), and lines marked ``pragma: no cover``.
"""

from __future__ import annotations

import ast
import copy
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

COMPARED: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE), ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE), ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,), ast.NotEq: (ast.Eq,), ast.Is: (ast.IsNot,), ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,), ast.NotIn: (ast.In,),
}  # fmt: skip
COUNTED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult, ast.Mod: ast.Mult, ast.Pow: ast.Mult,
    ast.BitOr: ast.BitAnd, ast.BitAnd: ast.BitOr,
}  # fmt: skip
OTHER_NAME = {"min": "max", "max": "min", "any": "all", "all": "any"}
CLOSE = 100
"""Whole numbers up to here are moved by one, others doubled and halved."""
Change = Callable[[ast.AST], ast.AST]


@dataclass(frozen=True, slots=True)
class Mutant:
    """One wrong version: where, what was changed, and the whole tree with line numbers kept."""

    line: int
    end: int
    """Last line of what was changed."""
    inside: bool
    """Whether it lies in a function's body, so that only tests which run the line matter."""
    words: str
    tree: ast.Module


def mutants_of(path: Path) -> Iterator[Mutant]:
    """Every mutant of one file, top down."""
    source = path.read_text()
    tree = ast.parse(source)
    spared = {
        i for i, text in enumerate(source.splitlines(), start=1) if "pragma: no cover" in text
    }
    for trail, inside in _places(tree, (), inside=False):
        node = _at(tree, trail)
        line = getattr(node, "lineno", 0)
        if line in spared:
            continue
        for make in _changes(node):
            whole = copy.deepcopy(tree)
            old = _at(whole, trail)
            new = make(copy.deepcopy(old))
            ast.copy_location(new, old)
            _put(whole, trail, new)
            ast.fix_missing_locations(whole)
            words = f"{_short(node)}  ->  {getattr(new, 'said', None) or _short(new)}"
            yield Mutant(line, getattr(node, "end_lineno", line), inside, words, whole)


Trail = tuple[tuple[str, int | None], ...]


def _places(node: ast.AST, trail: Trail, *, inside: bool) -> Iterator[tuple[Trail, bool]]:
    """Trails to every node that may be changed."""
    yield trail, inside
    for name, value in ast.iter_fields(node):
        if _left_alone(node, name):
            continue
        below = inside or (isinstance(node, ast.FunctionDef | ast.Lambda) and name == "body")
        children = value if isinstance(value, list) else [value]
        for i, child in enumerate(children):
            if isinstance(child, ast.AST) and not _is_docstring(child) and not (
                isinstance(node, ast.ClassDef) and not isinstance(child, ast.FunctionDef)
            ):  # fmt: skip
                step = (name, i if isinstance(value, list) else None)
                yield from _places(child, (*trail, step), inside=below)


def _left_alone(node: ast.AST, field: str) -> bool:
    says = isinstance(node, ast.Raise) or (isinstance(node, ast.Call) and _says(node))
    if field == "keywords":
        return says or not isinstance(node, ast.Call)
    if field in {"exc", "args", "cause"}:
        return says
    if isinstance(node, ast.keyword) and node.arg == "strict":
        return True
    if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__":
        return True
    return field in {"annotation", "returns", "decorator_list", "bases", "type_params"}


def _says(call: ast.Call) -> bool:
    """Tell whether the call only makes words for people."""
    name = call.func.id if isinstance(call.func, ast.Name) else getattr(call.func, "attr", "")
    return name.endswith(("Error", "Fault")) or name in {"cast", "TypeVar", "ParamSpec", "NewType"}


def _is_docstring(node: ast.AST) -> bool:
    return (
        isinstance(node, ast.Expr)
        and isinstance(node.value, ast.Constant)
        and isinstance(node.value.value, str)
    )


def _at(tree: ast.AST, trail: Trail) -> ast.AST:
    node: ast.AST = tree
    for name, i in trail:
        value = getattr(node, name)
        node = value if i is None else value[i]
    return node


def _put(tree: ast.AST, trail: Trail, new: ast.AST) -> None:
    holder = _at(tree, trail[:-1])
    name, i = trail[-1]
    if i is None:
        setattr(holder, name, new)
    else:
        getattr(holder, name)[i] = new


def _short(node: ast.AST) -> str:
    return " ".join(ast.unparse(node).split())[:90]


def _changes(node: ast.AST) -> list[Change]:  # noqa: PLR0911 - one answer for each kind of node
    match node:
        case ast.Compare():
            return [_compared(i, to) for i, op in enumerate(node.ops) for to in COMPARED[type(op)]]
        case ast.BinOp() | ast.AugAssign() if type(node.op) in COUNTED:
            to = COUNTED[type(node.op)]
            less: list[Change] = [_passed] if isinstance(node, ast.AugAssign) else []
            return [_with("op", to()), *less]
        case ast.BoolOp():
            other = ast.Or() if isinstance(node.op, ast.And) else ast.And()
            return [_with("op", other), *(_without_part(i) for i in range(len(node.values)))]
        case ast.UnaryOp(op=ast.Not() | ast.USub()):
            return [_operand]
        case ast.Constant():
            return _constants(node)
        case ast.Name(id=name, ctx=ast.Load()) if name in OTHER_NAME:
            return [_with("id", OTHER_NAME[name])]
        case ast.Return(value=value) if value is not None and not isinstance(value, ast.Constant):
            return [_with("value", ast.Constant(None))]
        case ast.If() | ast.While() | ast.IfExp() if not isinstance(
            node.test, ast.Compare | ast.BoolOp | ast.UnaryOp
        ):
            return [_with("test", ast.UnaryOp(ast.Not(), node.test))]
        case ast.Expr() | ast.Raise() | ast.Assert():
            return [_passed]
        case ast.Continue():
            return [lambda _: ast.Break()]
        case ast.Break():
            return [lambda _: ast.Continue()]
    return []


def _constants(node: ast.Constant) -> list[Change]:
    value = node.value
    if isinstance(value, bool):
        return [lambda _: ast.Constant(not value)]
    if isinstance(value, int):
        near = (value + 1, value - 1) if abs(value) <= CLOSE else (2 * value, value // 2)
        return [_constant(other) for other in near]
    if isinstance(value, float):
        return [lambda _: ast.Constant(value * 1.5 + (value == 0.0))]
    if isinstance(value, str) and " " not in value:
        return [lambda _: ast.Constant("XX" + value)]
    return []


def _constant(value: int) -> Change:
    return lambda _: ast.Constant(value)


def _with(field: str, value: object) -> Change:
    def make(node: ast.AST) -> ast.AST:
        setattr(node, field, copy.deepcopy(value))
        return node

    return make


def _compared(i: int, to: type[ast.cmpop]) -> Change:
    def make(node: ast.AST) -> ast.AST:
        assert isinstance(node, ast.Compare)
        node.ops[i] = to()
        return node

    return make


def _without_part(i: int) -> Change:
    def make(node: ast.AST) -> ast.AST:
        assert isinstance(node, ast.BoolOp)
        rest = [*node.values[:i], *node.values[i + 1 :]]
        new = rest[0] if len(rest) == 1 else ast.BoolOp(node.op, rest)
        new.said = f"without {_short(node.values[i])}"  # type: ignore[attr-defined] # for people
        return new

    return make


def _operand(node: ast.AST) -> ast.AST:
    assert isinstance(node, ast.UnaryOp)
    return node.operand


def _passed(_: ast.AST) -> ast.AST:
    return ast.Pass()
