"""What is wrong in the rows of a file, gathered while they are checked."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import Enum, auto
from functools import cache, lru_cache

import numpy as np
import pandas as pd

from farrowtide.delimited import Grid
from farrowtide.inert_text import visible_line
from farrowtide.records.tables import FINDINGS, LEFT_OUT, no_findings

_LONGEST_VALUE = 60


class Verdict(Enum):
    """What a finding means for its row."""

    REJECTED = auto()  # the row cannot be used
    LEFT_OUT = auto()  # the row is used without this value
    DOUBTFUL = auto()  # the row is used as it is


@dataclass
class Findings:
    """The findings in one table of one file. Rows are numbered from 0, as in the grid.

    `headings` has the heading of each column of the layout in the file, `cells` the texts that were read below it.
    """

    grid: Grid
    headings: dict[str, str]
    cells: dict[str, np.ndarray]
    rejected: np.ndarray  # of bool, by row
    _told: list[tuple[int, str, str, str, Verdict]] = field(default_factory=list)

    def add(self, rows: np.ndarray, column: str, reasons: str | Iterable[str], verdict: Verdict) -> None:
        """A finding in each of these rows, in a column of the layout ("" for the row as a whole)."""
        each = [reasons] * len(rows) if isinstance(reasons, str) else list(reasons)
        if verdict is Verdict.REJECTED:
            self.rejected[rows] = True
        if verdict is Verdict.LEFT_OUT:
            each = [f"{reason}{LEFT_OUT}" for reason in each]
        values = self.cells[column][rows] if column in self.cells else [""] * len(rows)
        heading = self.headings.get(column, column)
        self._told += [
            (int(row), heading, str(value), reason, verdict)
            for row, value, reason in zip(rows, values, each, strict=True)
        ]

    @property
    def rows_with_a_reason(self) -> int:
        """The number of rejected rows of which a reason is told."""
        return len({row for row, *_ in self._told if self.rejected[row]})

    def told(self, *, rejected: bool) -> pd.DataFrame:
        """The findings in rows that were rejected, or in those that are used, in order of line."""
        chosen = [
            (self.grid.file, self.grid.lines[row], _heading(heading), _short(value), reason)
            for row, heading, value, reason, _ in sorted(self._told, key=lambda finding: finding[0])
            if self.rejected[row] == rejected
        ]
        if not chosen:
            return no_findings()
        return pd.DataFrame(chosen, columns=list(FINDINGS)).astype(no_findings().dtypes.to_dict())


@cache
def _heading(text: str) -> str:
    return visible_line(text)


@lru_cache(maxsize=10_000)
def _short(value: str) -> str:
    text = visible_line(value)
    return text if len(text) <= _LONGEST_VALUE else f"{text[: _LONGEST_VALUE - 3]}..."
