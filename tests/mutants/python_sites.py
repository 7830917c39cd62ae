"""Where a Python module can be changed by one small mistake, and the module with chosen mistakes built in.

A changed module holds both: `_is_active(7)`, which the import hook provides, says at each place which of them counts.
"""

from __future__ import annotations

import ast
import copy
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

COMPARED = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
COMPUTED = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Div,
    ast.Pow: ast.Mult, ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd,
}  # fmt: skip
CALLED = {"min": "max", "max": "min", "any": "all", "all": "any", "floor": "ceil", "ceil": "floor"}
ASKED = "_is_active"


@dataclass(frozen=True)
class Site:
    """One possible mistake: its number in the module, and what it changes."""

    number: int
    line: int
    change: str


def sites(source: str) -> list[Site]:
    """Every possible mistake of a module."""
    mutator = _Mutator({})
    mutator.visit(ast.parse(source))
    return mutator.sites


def changed(source: str, wanted: Mapping[int, int]) -> ast.Module:
    """A module with some mistakes built in: the mutant of each number of a site."""
    tree = _Mutator(wanted).visit(ast.parse(source))
    return ast.fix_missing_locations(tree)


class _Mutator(ast.NodeTransformer):
    def __init__(self, wanted: Mapping[int, int]):
        self.sites: list[Site] = []
        self._wanted = wanted

    def visit(self, node: ast.AST) -> ast.AST:
        changes = list(_changes(node))
        mutants = []
        for change, mutated in changes:
            number = len(self.sites)
            self.sites.append(Site(number, node.lineno, change))
            if number in self._wanted:
                mutants.append((self._wanted[number], mutated))
        visited = self._below(node)
        for mutant, mutated in mutants:
            visited = _chosen(mutant, mutated, visited)
        return visited

    def _below(self, node: ast.AST) -> ast.AST:
        for name, value in ast.iter_fields(node):
            if _is_left_out(node, name):
                continue
            if isinstance(value, list):
                value[:] = [self.visit(entry) if isinstance(entry, ast.AST) else entry for entry in value]
            elif isinstance(value, ast.AST):
                setattr(node, name, self.visit(value))
        return node


def _is_left_out(node: ast.AST, field: str) -> bool:
    """Annotations, decorators, patterns, and what only makes text: messages of exceptions, f-strings."""
    if isinstance(node, ast.Raise | ast.JoinedStr | ast.Assert):
        return True
    if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
        return True
    return field in {"annotation", "returns", "decorator_list", "pattern", "op", "ops", "ctx"}


def _chosen(mutant: int, mutated: ast.AST, original: ast.AST) -> ast.AST:
    asked = ast.Call(ast.Name(ASKED, ast.Load()), [ast.Constant(mutant)], [])
    if isinstance(original, ast.stmt):
        return ast.copy_location(ast.If(asked, [mutated], [original]), original)
    return ast.copy_location(ast.IfExp(asked, mutated, original), original)


def _changes(node: ast.AST) -> Iterator[tuple[str, ast.AST]]:
    """Each change of this very node, in words and as a node that takes its place."""
    if isinstance(node, ast.Compare):
        for place, operator in enumerate(node.ops):
            if type(operator) in COMPARED:
                yield _with(node, lambda twin, p=place: twin.ops.__setitem__(p, COMPARED[type(twin.ops[p])]()))
    elif isinstance(node, ast.BinOp | ast.AugAssign) and type(node.op) in COMPUTED and not _makes_text(node):
        yield _with(node, lambda twin: setattr(twin, "op", COMPUTED[type(twin.op)]()))
    elif isinstance(node, ast.BoolOp):
        other = ast.Or if isinstance(node.op, ast.And) else ast.And
        yield _with(node, lambda twin: setattr(twin, "op", other()))
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub | ast.Invert):
        yield f"{_words(node)} becomes {_words(node.operand)}", copy.deepcopy(node.operand)
    elif isinstance(node, ast.IfExp):
        yield _with(node, lambda twin: setattr(twin, "test", ast.UnaryOp(ast.Not(), twin.test)))
    elif isinstance(node, ast.If) and "TYPE_CHECKING" not in ast.unparse(node.test):
        twin = copy.deepcopy(node)
        twin.test = ast.UnaryOp(ast.Not(), twin.test)
        yield f"if {_words(node.test)} becomes if not", twin
    elif isinstance(node, ast.Constant) and isinstance(node.value, bool | int | float):
        value = not node.value if isinstance(node.value, bool) else node.value + 1
        yield f"{node.value} becomes {value}", ast.copy_location(ast.Constant(value), node)
    elif isinstance(node, ast.Call):
        yield from _other_call(node)
    elif isinstance(node, ast.Expr) and isinstance(node.value, ast.Call):
        yield f"{_words(node)} is left out", ast.copy_location(ast.Pass(), node)


def _with(node: ast.AST, change: Callable[[ast.AST], None]) -> tuple[str, ast.AST]:
    twin = copy.deepcopy(node)
    change(twin)
    return f"{_words(node)} becomes {_words(ast.fix_missing_locations(twin))}", twin


def _other_call(node: ast.Call) -> Iterator[tuple[str, ast.AST]]:
    if isinstance(node.func, ast.Name) and node.func.id in CALLED:
        yield _with(node, lambda twin: setattr(twin.func, "id", CALLED[twin.func.id]))
    elif isinstance(node.func, ast.Attribute) and node.func.attr in CALLED:
        yield _with(node, lambda twin: setattr(twin.func, "attr", CALLED[twin.func.attr]))


def _makes_text(node: ast.BinOp | ast.AugAssign) -> bool:
    """Strings that are joined, and unions of types."""
    sides = [node.value] if isinstance(node, ast.AugAssign) else [node.left, node.right]
    text = any(isinstance(side, ast.JoinedStr) or isinstance(getattr(side, "value", 0), str | None) for side in sides)
    return text and not any(isinstance(side, ast.Attribute | ast.Subscript) for side in sides)


def _words(node: ast.AST) -> str:
    text = " ".join(ast.unparse(node).split())
    return text if len(text) <= 80 else f"{text[:77]}..."
