"""The tables of rooms, and what is read off them room by room."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

import numpy as np
import pandas as pd

from farrowtide.statistics.intervals import ratio

LONG_FARROWING_MIN = 300  # the trade's alarm: first to last birth over five hours
PARITY_CLASSES = ("P1", "P2", "P3+")


def parity_class(parity: pd.Series) -> np.ndarray:
    """0 for a first farrowing, 1 for a second, 2 for the third and later."""
    classes: np.ndarray = np.clip(parity.to_numpy(), 1, len(PARITY_CLASSES)) - 1
    return classes


class Rooms:
    """The tables of consecutive replicates. Methods return one value per replicate, shape (count,), NaN where none."""

    def __init__(self, tables: Mapping[str, pd.DataFrame], *, first: int, count: int) -> None:
        self.tables = dict(tables)
        # A nurse sow did not farrow here: she counts for piglets and feed, and not among the sows.
        self.tables["all_sows"] = tables["sows"]
        self.tables["sows"] = tables["sows"][tables["sows"]["nurse"] == 0]
        self.count = count
        self._rooms = {name: table["replicate"].to_numpy() - first for name, table in self.tables.items()}

    @cached_property
    def litters(self) -> np.ndarray:
        """Sows that farrowed."""
        return self.number("sows")

    @cached_property
    def staffed_min(self) -> np.ndarray:
        """Minutes of people on duty in the time that counts, breaks and the absent left out."""
        return self.total("duty_hours", "on_duty_min")

    def number(self, table: str, where: np.ndarray | None = None) -> np.ndarray:
        """Rows."""
        rooms = self._rooms[table]
        return np.bincount(rooms if where is None else rooms[where], minlength=self.count).astype(float)

    def total(self, table: str, column: str, where: np.ndarray | None = None) -> np.ndarray:
        """Sum of a column, missing values left out."""
        values = np.nan_to_num(self.tables[table][column].to_numpy(), nan=0.0)
        rooms = self._rooms[table]
        if where is not None:
            rooms, values = rooms[where], values[where]
        return np.bincount(rooms, weights=values, minlength=self.count)

    def sum_of(self, table: str, values: np.ndarray, where: np.ndarray) -> np.ndarray:
        """Sum of one value per row over the rows `where`."""
        return np.bincount(self._rooms[table][where], weights=values[where], minlength=self.count)

    def mean(self, table: str, column: str, where: np.ndarray | None = None) -> np.ndarray:
        """Mean of a column over the rows that have it."""
        known = ~np.isnan(self.tables[table][column].to_numpy())
        return ratio(self.total(table, column, where), self.number(table, known if where is None else known & where))

    def median(self, table: str, column: str) -> np.ndarray:
        """Median of a column over the rows that have it."""
        medians = self.tables[table][column].groupby(self._rooms[table]).median()
        return medians.reindex(range(self.count)).to_numpy(dtype=float)
