"""The differences of a comparison as the cells of printed tables, and tables as wide as there is room."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from farrowtide.analysis.comparison import ComparisonTables
from farrowtide.analysis.verdicts import IDENTICAL, NOT_KNOWN, TOO_FEW, TOO_FEW_FOR_SIZE, TOO_SMALL
from farrowtide.outputs.output import Output
from farrowtide.statistics.inference import LEAST_APART

NONE_SEEN = "no difference seen"  # and a rare one is not excluded
NO_VALUE = "no value"


@dataclass(frozen=True)
class Cell:
    """One difference in a table: its size, its interval, and whether it is clear and large enough to matter."""

    first: str  # "-1.98 worse", "-0.02 too small to matter", "too few rooms to tell" or another verdict
    second: str  # "-2.00 to -1.96", and how many rooms would tell; empty where there is nothing to add
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
    named = {output.name: output for output in outputs}
    cells: dict[str, dict[str, Cell]] = {name: {} for name in named}
    differences = comparison.differences
    for row in rows(differences[(differences["case"] == case) & differences["output"].isin(list(named))]):
        cells[row.output][row.alternative] = _cell(named[row.output], row, units)
    means = comparison.means
    of_reference = means[(means["case"] == case) & (means["alternative"] == comparison.reference)]
    mean = of_reference.set_index("output")["mean"].to_dict()
    return [
        Row(output.label, output.shown_unit(units), output.shown(mean[name], units=units), cells[name])
        for name, output in named.items()
    ]


def rows(frame: pd.DataFrame) -> Iterator[Any]:
    """The rows of a table, with their columns as attributes."""
    return iter(frame.itertuples())


def of_output(frame: pd.DataFrame, output: Output) -> pd.DataFrame:
    """The rows of one output."""
    return frame[frame["output"] == output.name]


def _cell(output: Output, row: Any, units: str) -> Cell:
    difference = output.shown(row.difference, units=units, signed=True)
    interval = interval_of(output, row, units)
    if row.verdict == IDENTICAL:
        return Cell(IDENTICAL, "", clear=False)
    if row.verdict == NOT_KNOWN:
        return Cell(unclear(row), f"{row.n_differing} of {row.n} differ" if row.n else "", clear=False)
    if row.verdict == TOO_FEW:
        rare = row.n_differing < min(LEAST_APART, row.n)
        seen = interval or (f"{row.n_differing} of {row.n} differ" if rare else difference)
        return Cell(TOO_FEW, seen + _needed(row), clear=False)
    if row.verdict == TOO_FEW_FOR_SIZE:
        return Cell(f"{difference} {judgement(row.reason)}, {TOO_FEW_FOR_SIZE}", interval + _needed(row), clear=False)
    if row.verdict == TOO_SMALL:
        return Cell(f"{difference} {TOO_SMALL}", interval or "in every room", clear=False)
    return Cell(f"{difference} {judgement(row.verdict)}", interval or "in every room", clear=True)


def unclear(row: Any) -> str:
    """The verdict of a row that is not clear, in words."""
    if row.verdict != NOT_KNOWN:
        return str(row.verdict)
    return NO_VALUE if not row.n else NOT_KNOWN if row.n_differing else NONE_SEEN


def _needed(row: Any) -> str:
    return "" if math.isnan(row.rooms_needed) else f"; needs {about(row.rooms_needed)}"


def interval_of(output: Output, row: Any, units: str = "si") -> str:
    """The interval of a row of differences as printed; empty where there is none."""
    if math.isnan(row.ci_low):
        return ""
    return output.shown_range(row.ci_low, row.ci_high, units=units, signed=True)


def why_no_interval(n: int, differing: int) -> str:
    """What stands in place of an interval that is not known."""
    return f"{differing} of {n} rooms differ" if differing < min(LEAST_APART, n) else "too few rooms"


def about(rooms: float) -> str:
    """A number of rooms that is an estimate, as printed."""
    return f"about {rooms:,.0f}"


def pages(names: Sequence[str], at_once: int) -> list[list[str]]:
    """The names in groups of at most `at_once`, as many as fit side by side in a table."""
    return [list(names[first : first + at_once]) for first in range(0, len(names), at_once)]


def judgement(verdict: str) -> str:
    """ "better" or "worse"; "higher" or "lower" where the output declares neither."""
    return verdict.partition("(")[2].rstrip(")") or verdict
