"""Ways to measure an output in rooms: the mean of a column, a share, an amount per litter."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from farrowtide.outputs.rooms import Rooms
from farrowtide.statistics.intervals import ratio


def mean(column: str, table: str = "sows", *, parity: int | None = None) -> Callable[[Rooms], np.ndarray]:
    """The mean of a column over the rows that have a value; `parity`: of one of PARITY_CLASSES, by its index."""
    return lambda rooms: rooms.mean(table, column, _of_class(rooms, table, parity))


def share(
    part: str, whole: str, table: str = "sows", *, parity: int | None = None, half_of: str = ""
) -> Callable[[Rooms], np.ndarray]:
    """The sum of the column `part` as a percentage of the sum of the column `whole`; `parity` as in mean.

    No value for a room in which that sum is less than half of the sum of the column `half_of`, if one is named.
    """

    def percent(rooms: Rooms) -> np.ndarray:
        where = _of_class(rooms, table, parity)
        among = rooms.total(table, whole, where)
        values = 100 * ratio(rooms.total(table, part, where), among)
        return np.where(among < rooms.total(table, half_of, where) / 2, np.nan, values) if half_of else values

    return percent


def per_litter(table: str, column: str) -> Callable[[Rooms], np.ndarray]:
    """The sum of a column per sow that farrowed."""
    return lambda rooms: ratio(rooms.total(table, column), rooms.litters)


def known(values: np.ndarray) -> np.ndarray:
    """Which values are not missing."""
    has_value: np.ndarray = ~np.isnan(values)
    return has_value


def sows_where(
    column: str, test: Callable[[np.ndarray], np.ndarray], among: str | None = None, *, parity: int | None = None
) -> Callable[[Rooms], np.ndarray]:
    """The percentage of sows that pass a test on a column, of all sows or those with a value in the column `among`;
    `parity` as in mean.
    """

    def percent(rooms: Rooms) -> np.ndarray:
        passed = test(rooms.values("sows", column))
        group = np.ones(len(passed), bool) if among is None else known(rooms.values("sows", among))
        if parity is not None:
            group = group & rooms.of_parity("sows", parity)
        return 100 * ratio(rooms.number("sows", passed & group), rooms.number("sows", group))

    return percent


def _of_class(rooms: Rooms, table: str, parity: int | None) -> np.ndarray | None:
    """Which rows of a table are of a parity class; None: all of them."""
    return None if parity is None else rooms.of_parity(table, parity)
