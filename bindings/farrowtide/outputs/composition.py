"""From which columns an output is computed, found by measuring it on empty tables."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from farrowtide import _core
from farrowtide.outputs.output import Output
from farrowtide.outputs.rooms import Rooms
from farrowtide.scenarios.prices import Prices


class _RecordingRooms(Rooms):
    """Rooms without animals that record what an output computes from them."""

    def __init__(self, prices: Prices | None) -> None:
        self.read: list[str] = []
        self.computed: list[str] = []
        super().__init__({name: {} for name in _core.tables()}, first=0, count=1, prices=prices)

    def values(self, table: str, column: str) -> np.ndarray:
        self.read.append(f"{table}.{column}")
        return super().values(table, column)

    def _column(self, table: str, column: str) -> np.ndarray:
        return np.zeros(0, dtype=int)

    def _record(self, how: str, table: str, column: str | None, compute: Callable[[], np.ndarray]) -> np.ndarray:
        read_before, computed_before = list(self.read), len(self.computed)
        values = compute()
        # What the computation itself reads is part of it and not recorded again.
        self.read[:], self.computed[computed_before:] = read_before, []
        self.computed.append(f"{how}({table}.{column})" if column else f"{how}({table})")
        return values

    def number(self, table: str, where: np.ndarray | None = None) -> np.ndarray:
        how = "rows" if where is None else "rows where"
        return self._record(how, table, None, lambda: super(_RecordingRooms, self).number(table, where))

    def total(self, table: str, column: str, where: np.ndarray | None = None) -> np.ndarray:
        return self._record("sum", table, column, lambda: super(_RecordingRooms, self).total(table, column, where))

    def total_labelled(self, table: str, column: str, by: str, label: str) -> np.ndarray:
        def total() -> np.ndarray:
            return super(_RecordingRooms, self).total_labelled(table, column, by, label)

        totals = self._record("sum", table, column, total)
        self.read.append(f"{table}.{by}")
        return totals

    def mean(self, table: str, column: str, where: np.ndarray | None = None) -> np.ndarray:
        return self._record("mean", table, column, lambda: super(_RecordingRooms, self).mean(table, column, where))

    def median(self, table: str, column: str) -> np.ndarray:
        return self._record("median", table, column, lambda: super(_RecordingRooms, self).median(table, column))

    def sum_of(self, table: str, values: np.ndarray, where: np.ndarray) -> np.ndarray:
        return self._record("sum where", table, None, lambda: super(_RecordingRooms, self).sum_of(table, values, where))


def computed_from(output: Output, prices: Prices | None = None) -> str:
    """The quantities and columns from which an output is computed, such as "sum(tasks.minutes), rows where(sows)".

    `prices`: of the scenario, for outputs in money.
    """
    rooms = _RecordingRooms(prices)
    output.measure(rooms)
    by = f"; by {', '.join(dict.fromkeys(rooms.read))}" if rooms.read else ""
    return ", ".join(dict.fromkeys(rooms.computed)) + by
