"""The texts of a table's cells as values of the types that its layout names; what cannot be one is told."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np
import pandas as pd

from farrowtide.inert_text import visible_line
from farrowtide.records.findings import Findings, Verdict
from farrowtide.records.layout import Column, Layout
from farrowtide.records.mapping import UNITS, TableMapping

_NUMBER = {mark: re.compile(rf"[+-]?(\d+({re.escape(mark)}\d*)?|{re.escape(mark)}\d+)") for mark in ".,"}
_ISO_DATE = re.compile(r"\d{4}-\d{2}-\d{2}([T ]\d{2}:\d{2}(:\d{2}(\.\d+)?)?)?")
_DATE_FORMATS = (  # that are suggested; a mapping file may name others
    *("%d.%m.%Y", "%d.%m.%y"),
    *("%m/%d/%Y", "%d/%m/%Y", "%Y/%m/%d", "%m/%d/%y", "%d/%m/%y"),
    *("%d-%m-%Y", "%m-%d-%Y", "%d-%m-%y", "%m-%d-%y"),
)
_MARKS = {"point": ".", "comma": ","}


def decimal_mark(findings: Findings, layout: Layout, mapping: TableMapping) -> str:
    """The decimal mark of the numbers: as the mapping says, or else the one that more of them have."""
    if mapping.decimal:
        return _MARKS[mapping.decimal]
    numbers = [cells for name, cells in findings.cells.items() if layout.columns[name].type in ("number", "integer")]
    counts = {
        mark: sum(int(_of_each(cells, partial(_is_written_with, mark)).sum()) for cells in numbers) for mark in ".,"
    }
    return max(counts, key=lambda mark: counts[mark])


def _is_written_with(mark: str, cell: str) -> bool:
    return mark in cell and _NUMBER[mark].fullmatch(cell) is not None


def _of_each(cells: np.ndarray, function: Callable[[str], Any]) -> np.ndarray:
    """The function's value of each cell, computed once of each distinct text: most columns hold few."""
    codes, distinct = pd.factorize(cells)
    return np.array([function(str(text)) for text in distinct])[codes]


def typed(findings: Findings, layout: Layout, mapping: TableMapping) -> pd.DataFrame:
    """Every column of the layout: numbers as float64, dates as datetime64, text as objects; missing ones as NaN or None.

    Rows without a required value, or whose value cannot be read, are rejected; other values that cannot be are left out.
    """
    mark = decimal_mark(findings, layout, mapping)
    rows = len(findings.rejected)
    columns = {}
    for name, column in layout.columns.items():
        if name not in findings.cells:
            columns[name] = _empty(column, rows)
        elif column.type == "string":
            columns[name] = _texts(findings, column)
        elif column.type == "date":
            columns[name] = _dates(findings, column, mapping.date_format)
        else:
            heading = mapping.columns.get(name)
            columns[name] = _numbers(findings, column, mark, (heading.unit if heading else None) or column.unit)
    return pd.DataFrame(columns)


def _empty(column: Column, rows: int) -> pd.Series:
    if column.type == "string":
        return pd.Series([None] * rows, dtype="object")
    return (
        pd.Series(np.full(rows, np.nan)) if column.type != "date" else pd.Series([pd.NaT] * rows, dtype="datetime64[s]")
    )


def _texts(findings: Findings, column: Column) -> pd.Series:
    cells = findings.cells[column.name]
    most = column.constraints.maxLength or 0
    _require(findings, column, cells != "")
    longer = _of_each(cells, len) > most
    _wrong(findings, column, longer, f"is longer than {most} characters")
    active = _of_each(cells, lambda cell: visible_line(cell) != cell)
    _wrong(findings, column, active, "holds control characters")
    return pd.Series(cells, dtype="object").mask((cells == "") | longer | active, None)


def _dates(findings: Findings, column: Column, date_format: str | None) -> pd.Series:
    cells = findings.cells[column.name]
    present = cells != ""
    _require(findings, column, present)
    iso = _of_each(cells, lambda cell: _ISO_DATE.fullmatch(cell) is not None)
    days = pd.Series(pd.NaT, index=range(len(cells)), dtype="datetime64[s]")
    days[iso] = pd.to_datetime(
        pd.Series([cell[:10] for cell in cells[iso]]), format="%Y-%m-%d", errors="coerce"
    ).to_numpy()
    other = present & ~iso
    if date_format:
        days[other] = pd.to_datetime(pd.Series(cells[other]), format=date_format, errors="coerce").to_numpy()
    unread = days.isna().to_numpy()
    _wrong(findings, column, iso & unread, "there is no such day")
    said = (
        f"is neither {date_format} nor year-month-day"
        if date_format
        else (
            "is not year-month-day; if the file writes dates in another order, name it in a mapping file "
            f"(date_format: {_formats_that_read(cells[other & unread])})"
        )
    )
    _wrong(findings, column, other & unread, said)
    earliest = str(column.constraints.minimum)
    early = (days < pd.Timestamp(earliest)).to_numpy()
    _wrong(findings, column, early, f"is before {earliest}")
    return days.mask(unread | early)


def _formats_that_read(cells: np.ndarray) -> str:
    """The formats in which most of the cells are dates, as a mapping file names them: '"%m/%d/%Y" or "%d/%m/%Y"'."""
    distinct = pd.Series(pd.unique(cells), dtype="object")
    read = {each: pd.to_datetime(distinct, format=each, errors="coerce").notna().sum() for each in _DATE_FORMATS}
    most = max(read.values())
    return " or ".join(f'"{each}"' for each, number in read.items() if number == most) if most else "..."


def _numbers(findings: Findings, column: Column, mark: str, unit: str) -> pd.Series:
    cells = findings.cells[column.name]
    present = cells != ""
    _require(findings, column, present)
    readable = _of_each(cells, lambda cell: _NUMBER[mark].fullmatch(cell) is not None)
    other = _NUMBER["," if mark == "." else "."]
    other_mark = ~readable & _of_each(cells, lambda cell: other.fullmatch(cell) is not None)
    _wrong(findings, column, present & other_mark, f"has another decimal mark than the rest of the file ('{mark}')")
    _wrong(findings, column, present & ~readable & ~other_mark, f"is not a number ({column.allowed})")
    values = _of_each(np.where(readable, cells, "nan"), lambda cell: float(cell.replace(mark, ".")))
    factor, offset = UNITS[column.unit][unit] if column.unit in UNITS else (1.0, 0.0)
    values = factor * values + offset
    if column.type == "integer":
        fraction = readable & (values % 1 != 0)
        _wrong(findings, column, fraction, "is not a whole number")
        readable = readable & ~fraction
    low, high = column.constraints.minimum, column.constraints.maximum
    below = readable & (values < low)
    above = readable & (values > high)
    negative = below & (values < 0) & (low >= 0)
    _wrong(findings, column, negative, f"is negative ({column.allowed})")
    _wrong(findings, column, below & ~negative, f"is out of range ({column.allowed})")
    _wrong(findings, column, above, f"is out of range ({column.allowed}){_other_unit(column, values[above])}")
    return pd.Series(np.where(readable & ~below & ~above, values, np.nan))


def _other_unit(column: Column, values: np.ndarray) -> str:
    """ "; lb?" if the values would all be in range in another unit."""
    low, high = column.constraints.minimum, column.constraints.maximum
    for name, (factor, offset) in UNITS.get(column.unit, {}).items():
        converted = factor * values + offset
        if len(values) and name != column.unit and ((converted >= low) & (converted <= high)).all():
            return f"; it looks like {name} (a mapping file names the unit of a column)"
    return ""


def _require(findings: Findings, column: Column, present: np.ndarray) -> None:
    if column.constraints.required:
        findings.add(np.flatnonzero(~present), column.name, f"is missing ({column.allowed})", Verdict.REJECTED)


def _wrong(findings: Findings, column: Column, where: np.ndarray, reason: str) -> None:
    verdict = Verdict.REJECTED if column.constraints.required else Verdict.LEFT_OUT
    findings.add(np.flatnonzero(where), column.name, reason, verdict)
