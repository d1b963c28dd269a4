"""Single changes to a module, as a careless hand might make them: a comparison turned, a guard left out, two arguments
swapped. What only words a sentence is left alone: text, f-strings, what is joined to them, the texts of errors; so is
what only asserts."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

COMPARED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
}
CALCULATED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.BitOr: ast.BitAnd,
    ast.BitAnd: ast.BitOr,
}
NAMES = {
    "min": "max",
    "max": "min",
    "any": "all",
    "all": "any",
    "earliest": "latest",
    "latest": "earliest",
    "low": "high",
    "high": "low",
}
WORDS = {
    "yes": "no",
    "no": "yes",
    "destroys": "endangers",
    "endangers": "untested",
    "untested": "stood",
    "stood": "clear",
    "clear": "stood",
    "approval": "work",
    "work": "approval",
}
"""Each severity to the next milder; any other word of a list becomes a word of none."""
WORD = re.compile(r"[a-z]+( [a-z]+){0,3}")
CARRIED = frozenset({"facts", "policy", "reference", "db", "path"})
"""Arguments of one type alone: swapping one of them breaks every call, which is no test of anything."""
SYMMETRIC = frozenset(
    {
        "min",
        "max",
        "same_agent",
        "_same_side",
        "_alike",
        "overlap",
        "one_side_of_7",
        "is_alike",
        "differences",
        "only_difference",
    }
)
"""Functions that give the same whatever the order of their arguments."""
LEFT_OUT = "(left out)"
SHOWN = 100


@dataclass(frozen=True)
class Mutation:
    """One change: where it is, what stood there and what stands there instead; `number` tells it from the others of its
    file."""

    file: str
    line: int
    column: int
    function: str
    old: str
    new: str
    number: int

    @property
    def change(self) -> str:
        return f"{self.old} → {self.new}"

    def __str__(self) -> str:
        return f"{self.file}:{self.line} {self.function}: {self.change}"


@dataclass(frozen=True)
class _Edit:
    """Another value for one field of a node; `old` and `new` say it where the node itself would not."""

    at: Any
    holder: ast.AST
    field: str
    value: object
    old: str | None = None


def mutations(root: Path, file: str) -> list[Mutation]:
    """Every change that can be made to a file, in the order of its syntax."""
    tree = ast.parse((root / file).read_text(encoding="utf-8"))
    parents = _parents(tree)
    found = []
    for number, edit in enumerate(_edits(tree, parents)):
        old, new = edit.old, LEFT_OUT
        if old is None:
            shown = _shown(edit.holder, parents)
            old = _text(shown, edit)
            was = getattr(edit.holder, edit.field)
            setattr(edit.holder, edit.field, edit.value)
            new = _text(shown, edit)
            setattr(edit.holder, edit.field, was)
        if old != new:
            found.append(
                Mutation(file, edit.at.lineno, edit.at.col_offset, _function(edit.at, parents), old, new, number)
            )
    return found


def mutated(source: str, number: int) -> ast.Module:
    """The tree of a source with one of its changes made."""
    tree = ast.parse(source)
    edit = next(edit for at, edit in enumerate(_edits(tree, _parents(tree))) if at == number)
    setattr(edit.holder, edit.field, edit.value)
    return ast.fix_missing_locations(tree)


def _parents(tree: ast.AST) -> dict[ast.AST, ast.AST]:
    return {child: node for node in ast.walk(tree) for child in ast.iter_child_nodes(node)}


def _shown(node: ast.AST, parents: dict[ast.AST, ast.AST]) -> ast.AST:
    """The largest expression around a node that is still short, so that a reader understands the change."""
    while isinstance(up := parents.get(node), ast.expr | ast.comprehension | ast.keyword) and (
        len(ast.unparse(up)) <= SHOWN
    ):
        node = up
    return node


def _text(shown: ast.AST, edit: _Edit) -> str:
    if not isinstance(shown, ast.stmt | ast.ExceptHandler | ast.arguments):
        return " ".join(ast.unparse(shown).split())
    if isinstance(shown, ast.AugAssign):
        return ast.unparse(shown)
    held = getattr(shown, edit.field)
    each = held if isinstance(held, list) else [held]
    text = " ".join(ast.unparse(node) for node in each if isinstance(node, ast.AST))
    return f"return {text}" if isinstance(shown, ast.Return) else " ".join(text.split())


def _function(node: ast.AST, parents: dict[ast.AST, ast.AST]) -> str:
    names = []
    up: ast.AST | None = node
    while up is not None:
        if isinstance(up, ast.FunctionDef | ast.ClassDef):
            names.append(up.name)
        up = parents.get(up)
    return ".".join(reversed(names)) or "module"


def _edits(tree: ast.Module, parents: dict[ast.AST, ast.AST]) -> Iterator[_Edit]:
    for node in _reached(tree):
        yield from _of_statement(node)
        yield from _of_test(node, parents)
        yield from _of_operator(node, parents)
        yield from _of_value(node, parents)


def _reached(node: ast.AST) -> Iterator[ast.AST]:
    """The nodes whose change is more than another wording: no annotations, decorators, docstrings or sentences."""
    yield node
    for field, held in ast.iter_fields(node):
        if field in ("annotation", "returns", "decorator_list"):
            continue
        for child in held if isinstance(held, list) else [held]:
            if isinstance(child, ast.AST) and not _only_words(child):
                yield from _reached(child)


def _only_words(node: ast.AST) -> bool:
    if isinstance(node, ast.Expr):
        return isinstance(node.value, ast.Constant)
    if isinstance(node, ast.keyword):
        return node.arg in ("why", "wanting", "remedy", "strict")
    if isinstance(node, ast.Raise | ast.Assert | ast.Import | ast.ImportFrom | ast.JoinedStr):
        return True
    if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
        return True
    inside = [each for each in ast.walk(node) if isinstance(each, ast.JoinedStr)]
    if isinstance(node, ast.IfExp | ast.AugAssign):
        return bool(inside)
    return (
        isinstance(node, ast.BinOp)
        and isinstance(node.op, ast.Add)
        and (
            bool(inside)
            or any(isinstance(each, ast.Constant) and isinstance(each.value, str) for each in ast.walk(node))
        )
    )


def _put(node: ast.AST, new: ast.AST, parents: dict[ast.AST, ast.AST]) -> _Edit:
    """Another node in the place of this one."""
    holder = parents[node]
    for field, held in ast.iter_fields(holder):
        if held is node:
            return _Edit(node, holder, field, new)
        if isinstance(held, list) and any(each is node for each in held):
            return _Edit(node, holder, field, [new if each is node else each for each in held])
    raise AssertionError("a node stands in a field of its parent")


def _without(held: list[ast.expr], at: int) -> list[ast.expr]:
    return held[:at] + held[at + 1 :]


def _of_statement(node: ast.AST) -> Iterator[_Edit]:
    """Guards and calls left out, and another value returned."""
    for field in ("body", "orelse"):
        held: Any = getattr(node, field, None)
        for at, each in enumerate(held if isinstance(held, list) else []):
            if (isinstance(each, ast.If) and not each.orelse) or (
                isinstance(each, ast.Expr) and isinstance(each.value, ast.Call)
            ):
                told = f"if {ast.unparse(each.test)}: …" if isinstance(each, ast.If) else ast.unparse(each)
                yield _Edit(each, node, field, [*held[:at], ast.Pass(), *held[at + 1 :]], told)
    if (
        isinstance(node, ast.Return)
        and node.value is not None
        and not _only_words(node.value)
        and not (isinstance(node.value, ast.Constant) and node.value.value is None)
    ):
        yield _Edit(node, node, "value", ast.Constant(None))
        if isinstance(node.value, ast.ListComp | ast.List):
            yield _Edit(node, node, "value", ast.List([], ast.Load()))
        elif isinstance(node.value, ast.BinOp):
            yield _Edit(node, node, "value", node.value.left)
    if isinstance(node, ast.comprehension):
        for at, each in enumerate(node.ifs):
            yield _Edit(each, node, "ifs", _without(node.ifs, at))


def _of_test(node: ast.AST, parents: dict[ast.AST, ast.AST]) -> Iterator[_Edit]:
    """A question turned round, or asked of less."""
    if isinstance(node, ast.If | ast.IfExp | ast.While):
        yield _Edit(
            node.test,
            node,
            "test",
            node.test.operand
            if isinstance(node.test, ast.UnaryOp) and isinstance(node.test.op, ast.Not)
            else ast.UnaryOp(ast.Not(), node.test),
        )
    if isinstance(node, ast.BoolOp):
        yield _Edit(node, node, "op", ast.Or() if isinstance(node.op, ast.And) else ast.And())
        for at in range(len(node.values)):
            left = _without(node.values, at)
            yield _put(node, left[0], parents) if len(left) == 1 else _Edit(node, node, "values", left)


def _of_operator(node: ast.AST, parents: dict[ast.AST, ast.AST]) -> Iterator[_Edit]:
    if isinstance(node, ast.Compare):
        for at, op in enumerate(node.ops):
            yield _Edit(node, node, "ops", [*node.ops[:at], COMPARED[type(op)](), *node.ops[at + 1 :]])
    # A list less a list is an error, which is no test of anything.
    if (
        isinstance(node, ast.BinOp | ast.AugAssign)
        and type(node.op) in CALCULATED
        and not any(isinstance(each, ast.List | ast.ListComp) for each in ast.iter_child_nodes(node))
    ):
        yield _Edit(node, node, "op", CALCULATED[type(node.op)]())
    if (
        isinstance(node, ast.UnaryOp)
        and isinstance(node.op, ast.Not | ast.USub)
        and not isinstance(parents[node], ast.If | ast.IfExp | ast.While)
    ):
        yield _put(node, node.operand, parents)


def _of_value(node: ast.AST, parents: dict[ast.AST, ast.AST]) -> Iterator[_Edit]:
    if isinstance(node, ast.Name) and node.id in NAMES and isinstance(parents[node], ast.Call):
        yield _Edit(node, node, "id", NAMES[node.id])
    if isinstance(node, ast.Attribute) and node.attr in NAMES:
        yield _Edit(node, node, "attr", NAMES[node.attr])
    if isinstance(node, ast.Constant):
        for value in _others(node.value):
            yield _Edit(node, node, "value", value)
    if isinstance(node, ast.Call) and ast.unparse(node.func).split(".")[-1] not in SYMMETRIC:
        for at, (one, two) in enumerate(zip(node.args, node.args[1:], strict=False)):
            if (
                type(one) is type(two)
                and isinstance(one, ast.Name | ast.Attribute)
                and not any(isinstance(each, ast.Name) and each.id in CARRIED for each in (one, two))
            ):
                yield _Edit(one, node, "args", [*node.args[:at], two, one, *node.args[at + 2 :]])


def _others(value: object) -> list[object]:
    if isinstance(value, bool):
        return [not value]
    if isinstance(value, int | float):
        return [1 - value] if value in (0, 1) else [value + 1, value - 1]
    if isinstance(value, str) and WORD.fullmatch(value):
        return [WORDS.get(value, "another word")]
    return []
