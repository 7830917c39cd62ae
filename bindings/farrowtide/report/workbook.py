"""The tables of a comparison as one Excel workbook."""

from __future__ import annotations

import datetime
import io
import math
from numbers import Real
from typing import Any

import xlsxwriter

from farrowtide.analysis.comparison import ComparisonTables
from farrowtide.analysis.doubt import DoubtTables
from farrowtide.inert_text import visible
from farrowtide.report.shown_tables import in_units
from farrowtide.report.wording.study import case_title
from farrowtide.report.wording.verdict import verdict

_NO_DATE = datetime.datetime(1980, 1, 1)  # the same comparison gives the same bytes
_DIGITS = ".8g"  # as in the CSV tables
_WIDTH = 14  # of a column, in characters
_WIDEST = 90


def workbook(comparison: ComparisonTables, units: str = "si", *, doubt: DoubtTables | None = None) -> bytes:
    """Sheets: verdict, differences and means in these units, with doubt its intervals and causes, provenance.

    The same tables give the same bytes. Text is never a formula.
    """
    out = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(out, options) as book:
        book.set_properties({"created": _NO_DATE})
        bold = book.add_format({"bold": True, "bottom": 1})
        verdicts = [
            (case_title(comparison.scenario, case), label, sentence)
            for case in comparison.cases
            for label, sentence in verdict(comparison, case, units, doubt=doubt)
        ]
        _write(book, bold, "verdict", ["case", "", "verdict"], verdicts)
        tables = {"differences": comparison.differences, "means": comparison.means}
        shown = {name: in_units(table, comparison.outputs, units) for name, table in tables.items()}
        if doubt:
            shown |= {"doubt": in_units(doubt.intervals, comparison.outputs, units), "causes": doubt.causes}
        for name, table in shown.items():
            _write(book, bold, name, list(table.columns), list(table.itertuples(index=False)))
        _write(book, bold, "provenance", ["", "value"], list(_flat((doubt or comparison).provenance)))
    return out.getvalue()


def _write(book: Any, bold: Any, name: str, headings: list[str], rows: list[Any]) -> None:
    sheet = book.add_worksheet(name)
    sheet.write_row(0, 0, headings, bold)
    widths = [min(_WIDEST, max(_WIDTH, *(len(str(row[i])) for row in rows))) for i in range(len(headings))]
    for column, width in enumerate(widths):
        sheet.set_column(column, column, width)
    for number, row in enumerate(rows, start=1):
        for column, value in enumerate(row):
            _write_cell(sheet, number, column, value)
    sheet.freeze_panes(1, 0)


def _write_cell(sheet: Any, row: int, column: int, value: Any) -> None:
    """An unknown number leaves its cell empty."""
    if isinstance(value, Real) and not isinstance(value, bool):
        if math.isfinite(value):
            sheet.write_number(row, column, float(f"{value:{_DIGITS}}"))
    elif value is not None:
        sheet.write_string(row, column, visible(str(value)))


def _flat(values: Any, path: str = "") -> list[tuple[str, str]]:
    """The entries of nested mappings by dotted path."""
    if not isinstance(values, dict) or not values:
        return [(path, str(values))]
    return [entry for key, value in values.items() for entry in _flat(value, f"{path}.{key}" if path else str(key))]
