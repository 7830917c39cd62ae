"""Excel workbooks (.xlsx), a sheet as cells of text with the row of each."""

from __future__ import annotations

import datetime
import io
import re
import warnings
import zipfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import openpyxl

from farrowtide import _core
from farrowtide.delimited import Grid, grid_in
from farrowtide.errors import UserError, quoted
from farrowtide.inert_text import visible_line
from farrowtide.whole_files import read_bytes

_ZIP, _OLD_EXCEL = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"
_MOST_UNPACKED_BYTES = 1 << 30
_FORMULA = re.compile(rb"<f[ >/]")


def read_grid(file: Path, table: str, *, sheet: str | None, encoding: str | None, separator: str | None) -> Grid:
    """Reads a file for the table "farrowings" or "days": a workbook by its content, else delimited text.

    Without `sheet`, a workbook's sheet of the table's name is read, or its only one. Raises UserError.
    """
    name = visible_line(str(file))
    content = read_bytes(file)
    if content.startswith(_OLD_EXCEL):
        raise UserError(f"{name}: is a workbook of an old kind (.xls); save it as .xlsx or CSV")
    if not content.startswith(_ZIP):
        if sheet is not None:
            raise UserError(f"{name}: is not a workbook (.xlsx), and has no sheet '{visible_line(sheet)}'")
        return grid_in(content, name, encoding=encoding, separator=separator)
    _require_readable(content, name)
    cells, of_sheet = _cells(content, name, table, sheet)
    rows = [(number, row) for number, row in enumerate(cells, 1) if any(map(str.strip, row))]
    while rows and rows[0][1][0].startswith("#"):
        rows.pop(0)
    if not rows:
        raise UserError(f"{name}, sheet '{of_sheet}': is empty; a row of headings and rows below it are needed")
    (heading_line, headings), *below = rows
    headings = [heading.strip() for heading in headings]
    while headings and not headings[-1]:
        headings.pop()
    return Grid(
        file=name,
        written_in=f"Excel workbook, sheet '{of_sheet}'",
        heading_line=heading_line,
        headings=headings,
        lines=[number for number, _ in below],
        rows=[row + [""] * (len(headings) - len(row)) for _, row in below],  # empty cells at the end may be left out
    )


def _require_readable(content: bytes, name: str) -> None:
    """Raises UserError where it is no archive, or unpacks to more than there is room for."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            if sum(part.file_size for part in archive.infolist()) > _MOST_UNPACKED_BYTES:
                raise UserError(f"{name}: unpacks to more than {_MOST_UNPACKED_BYTES >> 20:,} MB")
    except (zipfile.BadZipFile, NotImplementedError):
        raise UserError(f"{name}: is not a workbook (.xlsx), or is damaged") from None


def _cells(content: bytes, name: str, table: str, sheet: str | None) -> tuple[Iterable[list[str]], str]:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of features of the workbook that are not read
            book = openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=True)
            chosen = _chosen(book.sheetnames, name, table, sheet)
            page = book[chosen]
            page.reset_dimensions()  # which other programs write wrongly
            cells = [[_text(value) for value in row] for row in page.iter_rows(values_only=True)]
    except UserError:
        raise
    except Exception as error:  # openpyxl raises whatever a damaged part leads to
        raise UserError(f"{name}: is not a workbook (.xlsx), or is damaged ({type(error).__name__})") from None
    _require_values(content, name, chosen, cells)
    return cells, chosen


def _require_values(content: bytes, name: str, sheet: str, cells: list[list[str]]) -> None:
    """Raises UserError where a formula has no value: its cell would be read as if nothing were recorded.

    Programs that write workbooks without computing them leave such cells.
    """
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        parts = [part for part in archive.namelist() if part.startswith("xl/worksheets/")]
        if not any(_FORMULA.search(archive.read(part)) for part in parts):
            return
    formulas = openpyxl.load_workbook(io.BytesIO(content), read_only=True)[sheet]
    formulas.reset_dimensions()
    for number, (row, values) in enumerate(zip(formulas.iter_rows(values_only=True), cells, strict=False), 1):
        for column, (cell, value) in enumerate(zip(row, values, strict=False)):
            if isinstance(cell, str) and cell.startswith("=") and not value:
                place = f"{openpyxl.utils.get_column_letter(column + 1)}{number}"
                raise UserError(
                    f"{name}, sheet '{sheet}': cell {place} holds a formula whose value is not in the file; open it in a "
                    "spreadsheet program and save it, or save it as CSV"
                )


def _chosen(names: list[str], file: str, table: str, sheet: str | None) -> str:
    shown = quoted(map(visible_line, names))
    if sheet is not None:
        if sheet not in names:
            near = _core.closest(sheet, names)
            suggested = f" Did you mean '{visible_line(near)}'?" if near else ""
            raise UserError(f"{file}: has no sheet '{visible_line(sheet)}' (it has {shown}).{suggested}")
        return sheet
    named = [name for name in names if name.strip().lower() == table]
    if len(names) > 1 and not named:
        raise UserError(f"{file}: has the sheets {shown}; name the one of {table} in a mapping file (sheet: ...)")
    return named[0] if named else names[0]


def _text(value: Any) -> str:
    match value:
        case None:
            return ""
        case bool():
            return str(value).upper()
        case float():
            return f"{value:.15g}"
        case datetime.datetime():
            return value.date().isoformat() if value.time() == datetime.time() else value.isoformat(" ")
        case datetime.date() | datetime.time():
            return value.isoformat()
    return str(value)
