"""`Records`: a farm's records as two tables, with what was wrong in the files that they were read from."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pandas as pd

from farrowtide.errors import UserError
from farrowtide.inert_text import write_csv
from farrowtide.outputs.units import count
from farrowtide.records.layout import layout
from farrowtide.whole_files import make_folder

LEFT_OUT = "; the value is left out"  # ends a reason for which a value is not used, but its row is
_NOTHING_USED = {"farrowings": "no farrowing can be used", "days": "no row of the days can be used"}
FINDINGS = ("file", "line", "column", "value", "reason")


def no_findings() -> pd.DataFrame:
    """A table of findings without a row."""
    return pd.DataFrame({name: pd.Series(dtype="Int64" if name == "line" else "str") for name in FINDINGS})


@dataclass(frozen=True)
class Source:
    """A file that a table was read from: what it is written in, its rows and what became of them."""

    table: str  # "farrowings" or "days"
    file: str
    written_in: str  # as "CSV, UTF-8, separated by commas"
    rows: int
    used: int
    rejected: int
    headings: dict[str, str]  # of the columns that were found, by their names in the layout
    passed_over: tuple[str, ...]  # headings of columns that are not in the layout


@dataclass(frozen=True)
class Records:
    """The records of a farm.

    `farrowings` has one row per sow and farrowing, `days` one per sow or room and day; their columns are those of the
    layout (`farrowtide.records.layout`), dates as datetime64, a missing value as NA. `rejected` lists every reason for
    which a row of a file was not used, `doubtful` everything that is probably wrong in the rows that were: both have
    the columns file, line, column, value and reason. `sources` says which files were read and how many rows were used.
    """

    farrowings: pd.DataFrame
    days: pd.DataFrame
    rejected: pd.DataFrame = field(default_factory=no_findings)
    doubtful: pd.DataFrame = field(default_factory=no_findings)
    sources: tuple[Source, ...] = ()

    def __repr__(self) -> str:
        days = f", {count(len(self.days), 'day')}" if len(self.days) else ""
        return (
            f"<Records of {count(len(self.farrowings), 'farrowing')}{days}; "
            f"rejected rows {sum(source.rejected for source in self.sources):,}>"
        )

    def require(self, table: str) -> None:
        """Raises UserError where no row of "farrowings" or "days" can be used, with the first reason for which one was not."""
        if len(self.farrowings if table == "farrowings" else self.days):
            return
        problem = _NOTHING_USED[table]
        sources = [source for source in self.sources if source.table == table]
        told = self.rejected[self.rejected["file"].isin([source.file for source in sources])]
        told = told[~told["reason"].str.endswith(LEFT_OUT)]
        if told.empty:
            raise UserError(problem)
        first = told.iloc[0]
        rejected = count(sum(source.rejected for source in sources), "row")
        subject = " = ".join(filter(None, (first["column"], first["value"])))
        raise UserError(
            f"{problem}: {rejected} rejected; {first['file']}:{first['line']}: {subject}: {first['reason']} "
            "(`farrowtide records check` lists every reason)"
        )

    def write(self, folder: Path, *, remark: str = "") -> list[Path]:
        """Writes farrowings.csv and, where there are days, days.csv; `remark` is their first line, after "# "."""
        make_folder(folder)
        written = []
        for name, table in (("farrowings", self.farrowings), ("days", self.days)):
            if len(table) or name == "farrowings":
                write_csv(_in_text(table), folder / f"{name}.csv", remark=remark)
                written.append(folder / f"{name}.csv")
        return written


def in_layout(table: pd.DataFrame, name: str) -> pd.DataFrame:
    """The table with exactly the columns of the layout, each of its type; those that it does not have are empty."""
    typed: dict[str, pd.Series[Any]] = {}
    for column in layout(name).columns.values():
        dtype: Any = column.dtype
        values = table[column.name] if column.name in table else pd.Series(pd.NA, index=table.index, dtype="object")
        typed[column.name] = values.astype(dtype)
    return pd.DataFrame(typed, index=table.index).reset_index(drop=True)


def _in_text(table: pd.DataFrame) -> pd.DataFrame:
    """The table with dates as year-month-day."""
    dates = table.select_dtypes("datetime").columns
    return table.assign(**{name: table[name].dt.strftime("%Y-%m-%d") for name in dates})
