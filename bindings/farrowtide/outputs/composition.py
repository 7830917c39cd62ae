"""What an output is made of, found by measuring it on empty tables."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, cast

import numpy as np
import pandas as pd

from farrowtide import _core
from farrowtide.outputs.output import Output
from farrowtide.outputs.rooms import Rooms


class _Columns:
    """An empty table that notes which of its columns are read."""

    def __init__(self, name: str, read: list[str]) -> None:
        self._name, self._read = name, read

    def __getitem__(self, key: Any) -> Any:
        if not isinstance(key, str):
            return self  # some of its rows
        self._read.append(f"{self._name}.{key}")
        return pd.Series([], dtype=int if key == "replicate" else float)

    def __len__(self) -> int:
        return 0


class _Noting(Rooms):
    """Rooms that note what an output asks of them."""

    def __init__(self) -> None:
        self.read: list[str] = []
        self.asked: list[str] = []
        tables = {name: cast(pd.DataFrame, _Columns(name, self.read)) for name in _core.tables()}
        super().__init__(tables, first=0, count=1)
        self.read.clear()

    def _ask(self, how: str, table: str, column: str | None, answer: Callable[[], np.ndarray]) -> np.ndarray:
        before = list(self.read), len(self.asked)
        found = answer()
        self.read[:], self.asked[before[1] :] = before[0], []  # what it needs for this is no news
        self.asked.append(f"{how}({table}.{column})" if column else f"{how}({table})")
        return found

    def number(self, table: str, where: np.ndarray | None = None) -> np.ndarray:
        how = "rows" if where is None else "rows where"
        return self._ask(how, table, None, lambda: super(_Noting, self).number(table, where))

    def total(self, table: str, column: str, where: np.ndarray | None = None) -> np.ndarray:
        return self._ask("sum", table, column, lambda: super(_Noting, self).total(table, column, where))

    def mean(self, table: str, column: str, where: np.ndarray | None = None) -> np.ndarray:
        return self._ask("mean", table, column, lambda: super(_Noting, self).mean(table, column, where))

    def median(self, table: str, column: str) -> np.ndarray:
        return self._ask("median", table, column, lambda: super(_Noting, self).median(table, column))

    def sum_of(self, table: str, values: np.ndarray, where: np.ndarray) -> np.ndarray:
        return self._ask("sum where", table, None, lambda: super(_Noting, self).sum_of(table, values, where))


def computed_from(output: Output) -> str:
    """What an output is made of, found by measuring it on empty tables: "sum(tasks.minutes), rows(sows)"."""
    rooms = _Noting()
    output.measure(rooms)
    by = f"; by {', '.join(dict.fromkeys(rooms.read))}" if rooms.read else ""
    return ", ".join(rooms.asked) + by
