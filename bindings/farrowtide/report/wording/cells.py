"""The differences of a comparison as the cells of printed tables, and tables as wide as there is room."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from farrowtide.analysis.comparison import ComparisonTables
from farrowtide.analysis.verdicts import NEGLIGIBLE, NO_CLEAR_DIFFERENCE, NO_DIFFERENCE, TOO_FEW
from farrowtide.outputs.output import Output


@dataclass(frozen=True)
class Cell:
    """One difference in a table: its size, its interval, and whether it is clear and large enough to matter."""

    first: str  # "-1.98 worse", "no clear difference" or another verdict
    second: str  # "-2.00 to -1.96"; empty where there is nothing to add
    clear: bool


@dataclass(frozen=True)
class Row:
    """One output in a table: the mean of the reference and a cell for every other alternative."""

    label: str
    unit: str
    reference: str
    cells: dict[str, Cell]


def table(comparison: ComparisonTables, case: str, outputs: list[Output], units: str) -> list[Row]:
    """The differences in a case as they are printed, a row for each of the outputs."""
    differences = comparison.differences[comparison.differences["case"] == case]
    means = comparison.means[comparison.means["case"] == case]
    table_rows = []
    for output in outputs:
        mean = means[means["output"] == output.name].set_index("alternative")["mean"]
        cells = {row.alternative: _cell(output, row, units) for row in rows(of_output(differences, output))}
        reference = output.shown(mean[comparison.reference], units=units)
        table_rows.append(Row(output.label, output.shown_unit(units), reference, cells))
    return table_rows


def rows(frame: pd.DataFrame) -> Iterator[Any]:
    """The rows of a table, with their columns as attributes."""
    return iter(frame.itertuples())


def of_output(frame: pd.DataFrame, output: Output) -> pd.DataFrame:
    """The rows of one output."""
    return frame[frame["output"] == output.name]


def _cell(output: Output, row: Any, units: str) -> Cell:
    difference = output.shown(row.difference, units=units, signed=True)
    if row.verdict == NO_DIFFERENCE:
        return Cell(NO_DIFFERENCE, "", clear=False)
    if row.verdict == TOO_FEW:
        return Cell(difference, TOO_FEW, clear=False)
    interval = output.shown_range(row.ci_low, row.ci_high, units=units, signed=True)
    if row.verdict in (NO_CLEAR_DIFFERENCE, NEGLIGIBLE):
        return Cell(row.verdict, interval, clear=False)
    return Cell(f"{difference} {judgement(row.verdict)}", interval, clear=True)


def pages(names: Sequence[str], at_once: int) -> list[list[str]]:
    """The names in groups of at most `at_once`, as many as fit side by side in a table."""
    return [list(names[first : first + at_once]) for first in range(0, len(names), at_once)]


def judgement(verdict: str) -> str:
    """ "better" or "worse"; "higher" or "lower" where the output declares neither."""
    return verdict.partition("(")[2].rstrip(")") or verdict
