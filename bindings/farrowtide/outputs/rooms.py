"""The tables of rooms, and sums, means and medians of their columns for each room."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

import numpy as np
import pandas as pd

from farrowtide.statistics.intervals import ratio

LONG_FARROWING_MIN = 300  # first to last birth; a common alarm in practice
PARITY_CLASSES = ("P1", "P2", "P3+")


def parity_class(parity: pd.Series) -> np.ndarray:
    """The index into PARITY_CLASSES for each parity."""
    classes: np.ndarray = np.clip(parity.to_numpy(), 1, len(PARITY_CLASSES)) - 1
    return classes


class Rooms:
    """The tables of `count` consecutive replicates from `first`. Methods return arrays of shape (count,): one value per
    replicate, NaN where there is none. `where` is a boolean array that selects rows of the table.
    """

    def __init__(self, tables: Mapping[str, pd.DataFrame], *, first: int, count: int) -> None:
        self.tables = dict(tables)
        # A nurse sow did not farrow here: she counts for piglets and feed but not among the sows.
        self.tables["all_sows"] = tables["sows"]
        self.tables["sows"] = tables["sows"][tables["sows"]["nurse"] == 0]
        self.count = count
        self._rooms = {name: table["replicate"].to_numpy() - first for name, table in self.tables.items()}

    @cached_property
    def litters(self) -> np.ndarray:
        """The number of sows that farrowed; those that died before their first piglet did not."""
        return self.number("sows", (self.tables["sows"]["total_born"] > 0).to_numpy())

    @cached_property
    def staffed_min(self) -> np.ndarray:
        """Minutes on duty of all staff during the time that counts, without breaks and absences."""
        return self.total("duty_hours", "on_duty_min")

    def number(self, table: str, where: np.ndarray | None = None) -> np.ndarray:
        """The number of rows."""
        rooms = self._rooms[table]
        return np.bincount(rooms if where is None else rooms[where], minlength=self.count).astype(float)

    def total(self, table: str, column: str, where: np.ndarray | None = None) -> np.ndarray:
        """The sum of a column; missing values count as 0."""
        values = np.nan_to_num(self.tables[table][column].to_numpy(), nan=0.0)
        rooms = self._rooms[table]
        if where is not None:
            rooms, values = rooms[where], values[where]
        return np.bincount(rooms, weights=values, minlength=self.count)

    def sum_of(self, table: str, values: np.ndarray, where: np.ndarray) -> np.ndarray:
        """The sum over selected rows of `values`, which has one value per row of the table."""
        return np.bincount(self._rooms[table][where], weights=values[where], minlength=self.count)

    def mean(self, table: str, column: str, where: np.ndarray | None = None) -> np.ndarray:
        """The mean of a column over the rows that have a value."""
        known = ~np.isnan(self.tables[table][column].to_numpy())
        return ratio(self.total(table, column, where), self.number(table, known if where is None else known & where))

    def median(self, table: str, column: str) -> np.ndarray:
        """The median of a column over the rows that have a value."""
        medians = self.tables[table][column].groupby(self._rooms[table]).median()
        return medians.reindex(range(self.count)).to_numpy(dtype=float)
