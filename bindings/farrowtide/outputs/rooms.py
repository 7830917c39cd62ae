"""The tables of rooms as columns, and sums, means and medians of them for each room."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache, cached_property

import numpy as np

from farrowtide import _core
from farrowtide.scenarios.prices import Prices
from farrowtide.statistics.intervals import ratio

LONG_FARROWING_MIN = 300  # first to last birth; a common alarm in practice
PARITY_CLASSES = ("P1", "P2", "P3+")
Columns = Mapping[str, np.ndarray]  # of a table, by name; categories as codes


def parity_class(parity: np.ndarray) -> np.ndarray:
    """The index into PARITY_CLASSES for each parity."""
    classes: np.ndarray = np.clip(parity, 1, len(PARITY_CLASSES)) - 1
    return classes


@cache
def labels_of(table: str, column: str) -> list[str]:
    """The words for the codes of a category, in the order of the codes."""
    return next(info.labels for info in _core.tables()[table] if info.name == column)


class Rooms:
    """The tables of `count` consecutive replicates from `first`, and the prices of their scenario. Methods return arrays of shape (count,): one value per
    replicate, NaN where there is none. `where` is a boolean array that selects rows of the table.

    A nurse sow did not farrow here: she counts for piglets and feed, in the table "all_sows", but not in "sows".
    """

    def __init__(self, tables: Mapping[str, Columns], *, first: int, count: int, prices: Prices | None = None) -> None:
        self._tables = {**tables, "all_sows": tables["sows"]}
        self._first = first
        self.count = count
        self.prices = prices
        self._read: dict[tuple[str, str], np.ndarray] = {}
        self._filled: dict[tuple[str, str], np.ndarray] = {}
        self._of_parity: dict[tuple[str, int], np.ndarray] = {}
        self._by_label: dict[tuple[str, str, str], np.ndarray] = {}

    def __contains__(self, table: str) -> bool:
        """Whether a table was recorded."""
        return table in self._tables

    def values(self, table: str, column: str) -> np.ndarray:
        """A column, one value per row; categories as codes."""
        return self._column(table, column)

    def is_labelled(self, table: str, column: str, label: str) -> np.ndarray:
        """Which rows have this word in a column of categories."""
        is_it: np.ndarray = self.values(table, column) == labels_of(table, column).index(label)
        return is_it

    def of_parity(self, table: str, parity: int) -> np.ndarray:
        """Which rows are of one of PARITY_CLASSES, by its index."""
        key = table, parity
        if key not in self._of_parity:
            self._of_parity[key] = parity_class(self.values(table, "parity")) == parity
        return self._of_parity[key]

    @cached_property
    def litters(self) -> np.ndarray:
        """The number of sows that farrowed; those that died before their first piglet did not."""
        return self.number("sows", self.values("sows", "total_born") > 0)

    @cached_property
    def staffed_min(self) -> np.ndarray:
        """Minutes on duty of all staff during the time that counts, without breaks and absences."""
        return self.total("duty_hours", "on_duty_min")

    def number(self, table: str, where: np.ndarray | None = None) -> np.ndarray:
        """The number of rows."""
        rooms = self._room(table)
        return np.bincount(rooms if where is None else rooms[where], minlength=self.count).astype(float)

    def total(self, table: str, column: str, where: np.ndarray | None = None) -> np.ndarray:
        """The sum of a column; missing values count as 0."""
        key = table, column
        if key not in self._filled:
            self._filled[key] = np.nan_to_num(self._column(table, column), nan=0.0)
        values, rooms = self._filled[key], self._room(table)
        if where is not None:
            rooms, values = rooms[where], values[where]
        return np.bincount(rooms, weights=values, minlength=self.count)

    def total_labelled(self, table: str, column: str, by: str, label: str) -> np.ndarray:
        """The sum of a column without missing values over the rows that have this word in the column of categories `by`."""
        key, labels = (table, column, by), labels_of(table, by)
        if key not in self._by_label:
            cells = self._room(table) * len(labels) + self._column(table, by)
            sums = np.bincount(cells, weights=self._column(table, column), minlength=self.count * len(labels))
            self._by_label[key] = sums.reshape(self.count, len(labels))
        return self._by_label[key][:, labels.index(label)]

    def sum_of(self, table: str, values: np.ndarray, where: np.ndarray) -> np.ndarray:
        """The sum over selected rows of `values`, which has one value per row of the table."""
        return np.bincount(self._room(table)[where], weights=values[where], minlength=self.count)

    def mean(self, table: str, column: str, where: np.ndarray | None = None) -> np.ndarray:
        """The mean of a column over the rows that have a value."""
        known = ~np.isnan(self._column(table, column))
        return ratio(self.total(table, column, where), self.number(table, known if where is None else known & where))

    def median(self, table: str, column: str) -> np.ndarray:
        """The median of a column over the rows that have a value."""
        values, rooms = self._column(table, column), self._room(table)
        known = ~np.isnan(values)
        values, rooms = values[known], rooms[known]
        ranked = values[np.lexsort((values, rooms))]
        counts = np.bincount(rooms, minlength=self.count)
        first, medians = np.cumsum(counts) - counts, np.full(self.count, np.nan)
        some = counts > 0
        below, above = first[some] + (counts[some] - 1) // 2, first[some] + counts[some] // 2
        medians[some] = (ranked[below] + ranked[above]) / 2
        return medians

    def _room(self, table: str) -> np.ndarray:
        key = table, "its index"
        if key not in self._read:
            self._read[key] = self._column(table, "replicate") - self._first
        return self._read[key]

    def _column(self, table: str, column: str) -> np.ndarray:
        key = table, column
        if key not in self._read:
            values = np.asarray(self._tables[table][column])
            self._read[key] = values[self._farrowed_here] if table == "sows" else values
        return self._read[key]

    @cached_property
    def _farrowed_here(self) -> np.ndarray:
        here: np.ndarray = np.asarray(self._tables["sows"]["nurse"]) == 0
        return here
