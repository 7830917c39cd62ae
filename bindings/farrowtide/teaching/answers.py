"""The answers in a student's homework. They are read as values: nothing in the file is run."""

from __future__ import annotations

import ast
import re
import warnings
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from farrowtide.errors import FileError, FileMistake, UserError
from farrowtide.own_files import checked, json_in
from farrowtide.whole_files import read_bytes

_LARGEST_BYTES = 16 << 20
_CELL = re.compile(r"^# %%.*$", re.MULTILINE)  # where a cell of a percent file begins
_REMEDY = "correct it, save it again from where you wrote it, or take a new copy with `farrowtide lessons`"
# Of Jupyter, which is no Python: %matplotlib, !ls, files = !ls, ?name, name?; and cells of which nothing is Python.
_COMMAND = re.compile(r"^([ \t]*)(?:(?:\w+[ \t]*=[ \t]*)?[%!].*|\?.*|[\w.]+\?{1,2}[ \t]*)$", re.MULTILINE)
_OTHER_LANGUAGE = re.compile(r"\s*%%(?!(?:time|capture)\b)")


class NoValueError(ValueError):
    """What is assigned to an answer is to be computed, not a value."""


class _Cell(BaseModel):
    cell_type: str
    source: list[str] | str = ""

    @property
    def code(self) -> str:
        return self.source if isinstance(self.source, str) else "".join(self.source)


class _Notebook(BaseModel):
    cells: list[_Cell]


class Answers:
    """What a file assigns to each name at the top level of its cells; the last assignment counts."""

    def __init__(self, assigned: dict[str, ast.expr | Any]) -> None:
        self._assigned = assigned

    def value(self, name: str) -> Any:
        """The value assigned to `name`; None if there is none. Raises NoValueError where it would have to be computed."""
        assigned = self._assigned.get(name)
        if not isinstance(assigned, ast.expr):
            return assigned
        try:
            return ast.literal_eval(assigned)
        except (ValueError, TypeError, SyntaxError, MemoryError, RecursionError):
            raise NoValueError from None


def read_answers(file: Path) -> Answers:
    """The answers in a notebook (.ipynb), a percent file (.py) or a JSON object of names and values (.json).

    Raises UserError where the file cannot be read, and FileError with every cell that is not Python.
    """
    text = _text(file)
    if file.suffix == ".json":
        values = json_in(text, file, _REMEDY)
        if not isinstance(values, dict):
            raise UserError(f"{file}: is not a JSON object with a value for each answer")
        return Answers(values)
    cells = list(_notebook_cells(text, file) if file.suffix == ".ipynb" else _percent_cells(text, file))
    return Answers(_assignments(cells))


def _text(file: Path) -> str:
    try:
        return read_bytes(file, _LARGEST_BYTES).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise UserError(
            f"{file}: byte {error.start:,} is not UTF-8 text, so this is no homework (.py, .ipynb)"
        ) from None


def _percent_cells(text: str, file: Path) -> Iterator[tuple[str, int, str]]:
    """Of each cell of a percent file: the name of its source, the number of lines above it, and its code."""
    starts = [0, *(found.start() for found in _CELL.finditer(text)), len(text)]
    for start, end in pairwise(starts):
        yield str(file), text.count("\n", 0, start), text[start:end]


def _notebook_cells(text: str, file: Path) -> Iterator[tuple[str, int, str]]:
    """The same of the code cells of a notebook, each of which is a source of its own."""
    cells = checked(_Notebook, json_in(text, file, _REMEDY), file, _REMEDY).cells
    for number, cell in enumerate(cells, start=1):
        if cell.cell_type == "code":
            yield f"{file}, cell {number}", 0, _without_commands(cell.code)


def _without_commands(code: str) -> str:
    """The code of a cell, with `pass` in place of commands of Jupyter unless all of it is Python as it is."""
    try:
        _parsed(code)
    except SyntaxError:
        return "" if _OTHER_LANGUAGE.match(code) else _COMMAND.sub(r"\1pass", code)
    return code


def _assignments(cells: list[tuple[str, int, str]]) -> dict[str, ast.expr]:
    assigned: dict[str, ast.expr] = {}
    mistakes = []
    for source, lines_above, code in cells:
        try:
            statements = _parsed(code).body
        except SyntaxError as error:
            mistakes.append(_mistake(error, source, lines_above))
            continue
        for statement in statements:
            if isinstance(statement, ast.Assign):
                targets, value = statement.targets, statement.value
            elif isinstance(statement, ast.AnnAssign) and statement.value is not None:
                targets, value = [statement.target], statement.value
            else:
                continue
            assigned |= {target.id: value for target in targets if isinstance(target, ast.Name)}
    if mistakes:
        raise FileError(mistakes)
    return assigned


def _parsed(code: str) -> ast.Module:
    """The code as a tree. Raises SyntaxError."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # about the student's style
            return ast.parse(code)
    except SyntaxError:
        raise
    except (ValueError, MemoryError, RecursionError) as error:  # NUL, or nested too deeply
        raise SyntaxError(str(error) or "it is nested too deeply") from None


def _mistake(error: SyntaxError, source: str, lines_above: int) -> FileMistake:
    return FileMistake(
        source=source,
        line=lines_above + (error.lineno or 1),
        column=error.offset or 1,
        key="",
        value="",
        problem=f"this is not Python ({error.msg})",
        excerpt=(error.text or "").rstrip("\n"),
    )
