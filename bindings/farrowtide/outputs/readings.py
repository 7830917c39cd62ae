"""Ways to measure an output in rooms: the mean of a column, a share, an amount per litter."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd

from farrowtide.outputs.rooms import Rooms
from farrowtide.statistics.intervals import ratio


def mean(column: str, table: str = "sows") -> Callable[[Rooms], np.ndarray]:
    """The mean of a column over the rows that have a value."""
    return lambda rooms: rooms.mean(table, column)


def share(part: str, whole: str, table: str = "sows") -> Callable[[Rooms], np.ndarray]:
    """The sum of the column `part` as a percentage of the sum of the column `whole`."""
    return lambda rooms: 100 * ratio(rooms.total(table, part), rooms.total(table, whole))


def per_litter(table: str, column: str) -> Callable[[Rooms], np.ndarray]:
    """The sum of a column per sow that farrowed."""
    return lambda rooms: ratio(rooms.total(table, column), rooms.litters)


def sows_where(
    column: str, test: Callable[[pd.Series], pd.Series], among: str | None = None
) -> Callable[[Rooms], np.ndarray]:
    """The percentage of sows that pass a test on a column, of all sows or those with a value in the column `among`."""

    def percent(rooms: Rooms) -> np.ndarray:
        sows = rooms.tables["sows"]
        group = np.ones(len(sows), bool) if among is None else sows[among].notna().to_numpy()
        return 100 * ratio(rooms.number("sows", test(sows[column]).to_numpy() & group), rooms.number("sows", group))

    return percent
