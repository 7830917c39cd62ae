"""A sweep laid out by its varied keys: where each combination stands, and from where on a key changes nothing more."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from farrowtide.analysis.sweep import SweepTables

MOST_KEYS = 3


@dataclass(frozen=True)
class Axis:
    """A varied key and its values, in the order in which they were given."""

    key: str
    values: list[Any]

    @property
    def name(self) -> str:
        """The last part of the key, or the last two where it is one word: "max moved", "window until"."""
        last = self.key.rpartition(".")[2]
        return (last if "_" in last else " ".join(self.key.split(".")[-2:])).replace("_", " ")


@dataclass(frozen=True)
class Series:
    """The combinations along the first key, at a value of each other key."""

    others: tuple[int, ...]  # the place of the value of each other key
    alternatives: list[str]
    same_from: int  # the first place from which on no room differs any more in what is shown; the last: all differ


def axes_of(sweep: SweepTables) -> list[Axis]:
    """The varied keys; the scenario as written, where it is no combination, has none and is left out."""
    axes: dict[str, list[Any]] = {}
    for values in sweep.alternatives.values():
        for key, value in values.items():
            if value not in axes.setdefault(key, []):
                axes[key].append(value)
    return [Axis(key, values) for key, values in axes.items()]


def series_of(sweep: SweepTables, case: str, outputs: Sequence[str]) -> list[Series]:
    """The series of a case, in the order of the values of the other keys."""
    first, *others = axes_of(sweep)
    rooms = sweep.replicates(outputs)
    of_alternative = {
        str(name): part[list(outputs)].reset_index(drop=True)
        for name, part in rooms[rooms["case"] == case].groupby("alternative", sort=False)
    }
    grouped: dict[tuple[int, ...], dict[int, str]] = {}
    for name, values in sweep.alternatives.items():
        if values:
            place = tuple(axis.values.index(values[axis.key]) for axis in others)
            grouped.setdefault(place, {})[first.values.index(values[first.key])] = name
    return [_series(place, grouped[place], of_alternative) for place in sorted(grouped)]


def _series(others: tuple[int, ...], by_place: Mapping[int, str], rooms: Mapping[str, pd.DataFrame]) -> Series:
    names = [by_place[place] for place in sorted(by_place)]
    same_from = len(names) - 1
    while same_from > 0 and rooms[names[same_from - 1]].equals(rooms[names[-1]]):
        same_from -= 1
    return Series(others, names, same_from)
