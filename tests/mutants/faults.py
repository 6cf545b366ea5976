"""Small faults to plant in a module, one at a time: another operator, number, limit, branch or argument."""

from __future__ import annotations

import ast
import copy
from collections.abc import Iterator
from itertools import islice
from typing import Any, NamedTuple

OTHERS: dict[type[ast.AST], tuple[type[ast.AST], ...]] = {
    ast.Add: (ast.Sub,), ast.Sub: (ast.Add,), ast.Mult: (ast.Div,), ast.Div: (ast.Mult,), ast.Pow: (ast.Mult,),
    ast.Mod: (ast.Mult,), ast.FloorDiv: (ast.Div,), ast.BitOr: (ast.BitAnd,), ast.BitAnd: (ast.BitOr,),
    ast.And: (ast.Or,), ast.Or: (ast.And,), ast.Eq: (ast.NotEq,), ast.NotEq: (ast.Eq,), ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,), ast.Is: (ast.IsNot,), ast.IsNot: (ast.Is,), ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt), ast.Gt: (ast.GtE, ast.LtE), ast.GtE: (ast.Gt, ast.Lt),
    ast.Break: (ast.Continue,), ast.Continue: (ast.Break,),
}  # fmt: skip
OPPOSITES = {"min": "max", "any": "all", "minimum": "maximum", "floor": "ceil"}
OPPOSITES |= {other: name for name, other in OPPOSITES.items()}


class Fault(NamedTuple):
    """A node in the place of another; `function` is the outermost one around it, "" where it runs with the import."""

    place: tuple[ast.AST, str, int | None]
    old: ast.AST
    new: ast.AST
    function: str

    @property
    def line(self) -> int:
        return int(getattr(self.old, "lineno", 0))

    def __str__(self) -> str:
        return f"{ast.unparse(self.old)[:70]}  ->  {ast.unparse(self.new)[:70]}"


def faults(source: str) -> Iterator[Fault]:
    """Every fault that this source can have, in one order."""
    return _within(ast.parse(source), (), "")


def planted(source: str, number: int) -> ast.Module:
    """The source with the fault of that number in it."""
    tree = ast.parse(source)
    (parent, name, at), _, new, _ = next(islice(_within(tree, (), ""), number, None))
    if at is None:
        setattr(parent, name, new)
    else:
        getattr(parent, name)[at] = new
    return ast.fix_missing_locations(tree)


def _within(node: ast.AST, scope: tuple[str, ...], function: str) -> Iterator[Fault]:
    scope = (*scope, node.name) if isinstance(node, ast.ClassDef | ast.FunctionDef) else scope
    for name, value in ast.iter_fields(node):
        inside = function or (".".join(scope) if isinstance(node, ast.FunctionDef) and name == "body" else "")
        for at, child in enumerate(value) if isinstance(value, list) else [(None, value)]:
            computes = name not in {"annotation", "returns", "decorator_list"} and not _only_says(child)
            if isinstance(child, ast.AST) and computes:
                yield from (Fault((node, name, at), child, new, inside) for new in _changes(child))
                yield from _within(child, scope, inside)


def _only_says(node: object) -> bool:
    """Whether it is for readers and type checkers: docstrings, types and the words of errors."""
    match node:
        case ast.Expr(value=ast.Constant()) | ast.Raise() | ast.Assert() | ast.JoinedStr():
            return True
        case ast.Subscript(value=ast.Name(id="Literal" | "NDArray" | "Callable" | "Mapping")):
            return True
        case ast.Assign(targets=[ast.Name(id="__all__")]) | ast.Call(func=ast.Name(id="TypeVar" | "cast")):
            return True
    return False


def _changes(node: Any) -> Iterator[ast.AST]:
    match node:
        case ast.BinOp() | ast.AugAssign() | ast.BoolOp():
            yield from (_with(node, op=other()) for other in OTHERS.get(type(node.op), ()))
        case ast.Compare(ops=ops):
            for at, comparison in enumerate(ops):
                yield from (_with(node, ops=[*ops[:at], other(), *ops[at + 1 :]]) for other in OTHERS[type(comparison)])
        case ast.UnaryOp(op=ast.USub() | ast.Not()):
            yield node.operand
        case ast.Constant(value=bool() | int() | float() | str() as known):
            yield _with(node, value=_another(known))
        case ast.If(test=ast.Name() | ast.Call() | ast.Attribute() as test) | ast.IfExp(test=ast.Name() as test):
            yield _with(node, test=ast.copy_location(ast.UnaryOp(ast.Not(), test), test))
        case ast.Call(keywords=keywords, func=ast.Name(id=name) | ast.Attribute(attr=name)):
            if name in OPPOSITES:
                yield _with(node, func=_with(node.func, id=OPPOSITES[name], attr=OPPOSITES[name]))
            for at in range(len(keywords)):
                yield _with(node, keywords=[*keywords[:at], *keywords[at + 1 :]])
        case ast.Break() | ast.Continue():
            yield from (ast.copy_location(other(), node) for other in OTHERS[type(node)])


def _another(known: bool | float | str) -> bool | float | str:
    if isinstance(known, bool):
        return not known
    if isinstance(known, str):
        return f"XX{known}"
    return known + 1 if isinstance(known, int) else known * 1.1 or 1.0


def _with(node: Any, **fields: object) -> Any:
    changed = copy.copy(node)
    for name, value in fields.items():
        setattr(changed, name, value)
    return changed
