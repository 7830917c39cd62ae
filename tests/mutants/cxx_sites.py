"""Where the engine's C++ can be changed by one small mistake: found by libclang, in bodies of functions only.

Left out are constexpr code, default arguments, messages of exceptions, and bounds in declarations of keys, which
`.ci/write_key_reference.py --check` holds.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from clang.cindex import Cursor, CursorKind, Index, TypeKind

SWAPPED = {
    "<": "<=", "<=": "<", ">": ">=", ">=": ">", "==": "!=", "!=": "==", "&&": "||", "||": "&&",
    "+": "-", "-": "+", "*": "/", "/": "*", "+=": "-=", "-=": "+=", "*=": "/=", "/=": "*=",
}  # fmt: skip
FUNCTIONS = {
    CursorKind.FUNCTION_DECL, CursorKind.CXX_METHOD, CursorKind.CONSTRUCTOR, CursorKind.DESTRUCTOR,
    CursorKind.CONVERSION_FUNCTION, CursorKind.FUNCTION_TEMPLATE,
}  # fmt: skip
INTEGERS = {TypeKind.INT, TypeKind.UINT, TypeKind.LONG, TypeKind.ULONG, TypeKind.LONGLONG, TypeKind.ULONGLONG}
NUMBERS = INTEGERS | {TypeKind.DOUBLE, TypeKind.FLOAT}
NO_EFFECT_ON_RESULTS = {"reserve", "shrink_to_fit"}


BATCH = 8  # sources of a folder that are read together, as the build joins them


@dataclass(frozen=True)
class Site:
    """A piece of source that one mistake replaces: `{0}` in `code` stands for "is this mutant active"."""

    file: str  # from the root of the repository
    line: int
    start: int  # in bytes
    end: int
    change: str
    code: str


def arguments(root: Path) -> list[str]:
    """Options by which libclang, which comes without headers of its own, reads the engine."""
    compiler = max(Path("/usr/lib/gcc/x86_64-linux-gnu").glob("*"), key=lambda folder: int(folder.name))
    return [
        "-x", "c++", "-std=c++20", "-ferror-limit=0", f"-I{root}", f"-isystem{compiler}/include", "-isystem/usr/include/eigen3",
    ]  # fmt: skip


def sites(root: Path, folders: list[str]) -> list[Site]:
    """All sites below some folders of the repository, by file and place."""
    index, found = Index.create(), {}
    for batch in _batches(root, folders):
        together = "".join(f'#include "{source}"\n' for source in batch)
        unit = index.parse("together.cpp", arguments(root), unsaved_files=[("together.cpp", together)])
        # Compilers' own headers may hold what libclang does not know.
        broken = [str(d) for d in unit.diagnostics if d.severity >= 3 and str(root) in str(d.location.file)]
        if broken:
            raise RuntimeError(broken[0])
        for site in _Unit(root, folders).of(unit.cursor):
            found[site.file, site.start, site.end, site.change] = site
    return [found[key] for key in sorted(found)]


def _batches(root: Path, folders: list[str]) -> Iterator[list[Path]]:
    for folder in sorted({source.parent for each in folders for source in (root / each).rglob("*.cpp")}):
        sources = sorted(folder.glob("*.cpp"))
        yield from (sources[first : first + BATCH] for first in range(0, len(sources), BATCH))


class _Unit:
    """The sites of one translation unit, headers included."""

    def __init__(self, root: Path, folders: list[str]):
        self._root = root
        self._folders = tuple(str(root / folder) + "/" for folder in folders)
        self._bytes: dict[str, bytes] = {}

    def of(self, unit: Cursor) -> Iterator[Site]:
        for cursor in unit.get_children():
            file = cursor.location.file
            if file is not None and file.name.startswith(self._folders):
                yield from self._declared(cursor)

    def _declared(self, cursor: Cursor) -> Iterator[Site]:
        if cursor.kind in FUNCTIONS:
            head = self._text(cursor).split("{")[0]
            if cursor.is_definition() and not re.search(r"\b(constexpr|consteval)\b|= default", head):
                for child in cursor.get_children():
                    # Initialisers of members, and not what stands in a type.
                    if child.kind == CursorKind.COMPOUND_STMT or (
                        cursor.kind == CursorKind.CONSTRUCTOR and child.kind != CursorKind.PARM_DECL
                    ):
                        yield from self._below(child, [cursor])
        else:
            for child in cursor.get_children():
                if cursor.kind != CursorKind.VAR_DECL and cursor.kind != CursorKind.FIELD_DECL:
                    yield from self._declared(child)

    def _below(self, cursor: Cursor, above: list[Cursor]) -> Iterator[Site]:
        if cursor.kind in {CursorKind.CXX_THROW_EXPR, CursorKind.STATIC_ASSERT}:
            return
        if (
            cursor.kind in {CursorKind.DECL_STMT, CursorKind.IF_STMT}
            and "constexpr" in self._text(cursor).split("(")[0]
        ):
            return
        changes = self._changes(cursor, above) if cursor.extent.start.file else ()
        for change, start, end, code in changes:
            text = self._slice(cursor, start, end)
            if "co_await" in text and not code.startswith("if (!"):
                continue  # the compiler is not to be trusted with a wait inside of an expression
            file = str(Path(cursor.extent.start.file.name).relative_to(self._root))
            yield Site(file, cursor.extent.start.line, start, end, change, code)
        for child in cursor.get_children():
            if child.kind not in {CursorKind.PARM_DECL, CursorKind.TYPE_REF}:
                yield from self._below(child, [*above, cursor])

    def _changes(self, cursor: Cursor, above: list[Cursor]) -> Iterator[tuple[str, int, int, str]]:
        start, end = _extent(cursor)
        text, kind, parent = self._text(cursor), cursor.kind, above[-1]
        if "#define" in text or not text:
            return
        yield from self._operator(cursor, text, start, end)
        if kind in {CursorKind.INTEGER_LITERAL, CursorKind.FLOATING_LITERAL}:
            yield from self._literal(cursor, above, text, start, end)
        if kind in {CursorKind.IF_STMT, CursorKind.CONDITIONAL_OPERATOR}:
            condition = next(iter(cursor.get_children()), None)
            if condition is not None and condition.kind.is_expression():
                first, last = _extent(condition)
                inner = self._slice(cursor, first, last)
                yield f"not ({inner})", first, last, f"(static_cast<bool>({inner}) != {{0}})"
        if kind == CursorKind.RETURN_STMT:
            yield from self._returned(cursor)
        if (
            kind == CursorKind.CALL_EXPR
            and cursor.spelling in {"min", "max"}
            and text.startswith(f"std::{cursor.spelling}(")
        ):
            other = {"min": "max", "max": "min"}[cursor.spelling]
            swapped = f"std::{other}{text[8:]}"
            yield f"{cursor.spelling} to {other}", start, end, f"({{0}} ? ({swapped}) : ({text}))"
        if parent.kind == CursorKind.COMPOUND_STMT and self._is_action(cursor, text):
            yield "statement removed", start, end, f"if (!{{0}}) {text}"

    def _operator(self, cursor: Cursor, text: str, start: int, end: int) -> Iterator[tuple[str, int, int, str]]:
        children = list(cursor.get_children())
        kind = cursor.kind
        if kind == CursorKind.UNARY_OPERATOR and len(children) == 1 and text[0] in "-!":
            yield f"{text[0]} removed", start, end, self._unary(text)
        if kind in {CursorKind.BINARY_OPERATOR, CursorKind.COMPOUND_ASSIGNMENT_OPERATOR} and len(children) == 2:
            left, right = children
        elif kind == CursorKind.CALL_EXPR and cursor.spelling.startswith("operator") and len(children) == 3:
            left, _, right = sorted(children, key=lambda child: child.extent.start.offset)
        else:
            return
        between = self._slice(cursor, left.extent.end.offset, right.extent.start.offset).strip()
        if between not in SWAPPED or not self._can_swap(cursor, left, right, between) or "{" in text or "[&" in text:
            return
        one = self._slice(cursor, start, left.extent.end.offset)
        other = self._slice(cursor, right.extent.start.offset, end)
        swapped = SWAPPED[between]
        yield f"{between} to {swapped}", start, end, f"({{0}} ? ({one} {swapped} {other}) : ({text}))"

    @staticmethod
    def _unary(text: str) -> str:
        bare = f"static_cast<bool>({text[1:]})" if text[0] == "!" else f"({text[1:]})"
        return f"({{0}} ? {bare} : ({text}))"

    def _can_swap(self, cursor: Cursor, left: Cursor, right: Cursor, operator: str) -> bool:
        types = [side.type.get_canonical() for side in (left, right)]
        if operator in {"==", "!=", "&&", "||"}:
            return True
        if operator in {"<", "<=", ">", ">="}:
            return True
        if all(kind.kind in NUMBERS for kind in types):
            return True
        return operator in "+-" and all("Duration" in kind.spelling or "Time" in kind.spelling for kind in types)

    def _literal(
        self, cursor: Cursor, above: list[Cursor], text: str, start: int, end: int
    ) -> Iterator[tuple[str, int, int, str]]:
        parent = above[-1]
        wrapped = parent.kind == CursorKind.UNEXPOSED_EXPR and _extent(parent) == (start, end)
        holder = above[-2] if wrapped and len(above) > 1 else parent
        plain = re.fullmatch(r"\d[\d']*(\.\d*)?(e[-+]?\d+)?[uUlLzZ]*", text)
        in_list = any(node.kind == CursorKind.INIT_LIST_EXPR for node in above) and self._named_before(cursor, start)
        template = holder.kind in {CursorKind.DECL_REF_EXPR, CursorKind.MEMBER_REF_EXPR, CursorKind.CASE_STMT}
        before = self._slice(cursor, max(0, start - 1), start)
        if (
            not plain
            or in_list
            or template
            or before in "<["
            or any(n.kind == CursorKind.CASE_STMT and _extent(n)[0] == start - 5 for n in above)
        ):
            return
        if holder.kind == CursorKind.VAR_DECL and holder.location.offset > start:
            return
        as_double = (
            wrapped
            and parent.type.get_canonical().kind == TypeKind.DOUBLE
            and cursor.kind == CursorKind.INTEGER_LITERAL
        )
        value = f"{text}.0" if as_double else text
        yield f"{text} to {text} + 1", start, end, f"({{0}} ? ({value} + 1) : ({value}))"

    def _named_before(self, cursor: Cursor, start: int) -> bool:
        return re.search(r"\.\w+ = -?\{?$", self._slice(cursor, max(0, start - 60), start)) is not None

    def _returned(self, cursor: Cursor) -> Iterator[tuple[str, int, int, str]]:
        value = next(iter(cursor.get_children()), None)
        if value is None or not value.kind.is_expression():
            return
        first, last = _extent(value)
        text, kind = self._slice(cursor, first, last), value.type.get_canonical().kind
        if kind == TypeKind.BOOL:
            yield f"returns not ({text})", first, last, f"(static_cast<bool>({text}) != {{0}})"
        elif kind == TypeKind.DOUBLE and text not in {"0", "0.0"}:
            yield "returns 0", first, last, f"({{0}} ? 0.0 : ({text}))"

    def _is_action(self, cursor: Cursor, text: str) -> bool:
        if cursor.kind == CursorKind.CALL_EXPR or text.startswith("co_await "):
            return cursor.spelling not in NO_EFFECT_ON_RESULTS and not text.startswith("assert")
        if cursor.kind == CursorKind.BINARY_OPERATOR:
            left = next(iter(cursor.get_children()))
            return self._slice(cursor, left.extent.end.offset, cursor.extent.end.offset).lstrip().startswith("= ")
        if cursor.kind == CursorKind.UNARY_OPERATOR:
            return text.startswith(("++", "--"))
        return cursor.kind == CursorKind.COMPOUND_ASSIGNMENT_OPERATOR

    def _text(self, cursor: Cursor) -> str:
        if cursor.extent.start.file is None:
            return ""
        return self._slice(cursor, *_extent(cursor))

    def _slice(self, cursor: Cursor, start: int, end: int) -> str:
        name = cursor.extent.start.file.name
        if name not in self._bytes:
            self._bytes[name] = Path(name).read_bytes()
        return self._bytes[name][start:end].decode(errors="replace")


def _extent(cursor: Cursor) -> tuple[int, int]:
    return cursor.extent.start.offset, cursor.extent.end.offset
