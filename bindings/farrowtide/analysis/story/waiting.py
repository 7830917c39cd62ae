"""What the people did while somebody waited for them: read from the stretches of work and the roster."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd

_LEAST_MIN = 0.5  # less is not named


@dataclass(frozen=True)
class Occupation:
    """A kind of task on which people worked `minutes` in all, for these sows (none: empty crates or the room)."""

    kind: str
    sows: tuple[int, ...]
    minutes: float


@dataclass(frozen=True)
class Wait:
    """What the people did in periods of `minutes` in all.

    `nobody_min` of them nobody was on duty, `break_min` all were on break; in the rest there were `most_people` at the
    most, who worked `busy_min` of `on_duty_min` person-minutes. `occupations`: on what, the longest first.
    """

    minutes: float
    nobody_min: float
    break_min: float
    most_people: int
    on_duty_min: float
    busy_min: float
    occupations: tuple[Occupation, ...]


@dataclass(frozen=True)
class Moment:
    """The people at a moment: how many were at work, whether there was a break, and (kind, sow) of those who were busy."""

    people: int
    on_break: bool
    busy: tuple[tuple[str, int], ...]


class Staff:
    """What the people of a replicate did and when they were there, from its stretches of work and its roster."""

    def __init__(self, stretches: pd.DataFrame, roster: pd.DataFrame) -> None:
        self._from, self._until, self._sow = (stretches[name].to_numpy() for name in ("from_h", "until_h", "sow"))
        self._kind = stretches["kind"].astype(str).to_numpy()
        self._at_work = _periods(roster[roster["state"] == "at work"])
        self._on_break = _periods(roster[roster["state"] == "on break"])

    @property
    def end_h(self) -> float:
        """When the last of them leave."""
        return max((until for _, until, _ in self._at_work), default=0.0)

    def wait(self, periods: Iterable[tuple[float, float]]) -> Wait:
        """What they did in these periods [h, h], none of which overlap."""
        total = nobody = on_break = on_duty = 0.0
        most = 0
        worked: dict[str, dict[int, float]] = {}
        for from_h, until_h in periods:
            at_work = _cut(self._at_work, from_h, until_h)
            absent = _gaps(at_work, from_h, until_h)
            in_break = sum(end - begin for gap in absent for begin, end, _ in _cut(self._on_break, *gap))
            total += until_h - from_h
            on_break += in_break
            nobody += sum(end - begin for begin, end in absent) - in_break
            on_duty += sum((end - begin) * people for begin, end, people in at_work)
            most = max([most, *(people for _, _, people in at_work)])
            for index in np.flatnonzero((self._from < until_h) & (self._until > from_h)):
                hours = min(self._until[index], until_h) - max(self._from[index], from_h)
                of_kind, sow = worked.setdefault(self._kind[index], {}), int(self._sow[index])
                of_kind[sow] = of_kind.get(sow, 0.0) + 60 * float(hours)
        occupations = [
            Occupation(kind, tuple(sorted(sow for sow in sows if sow > 0)), sum(sows.values()))
            for kind, sows in worked.items()
        ]
        named = [occupation for occupation in occupations if occupation.minutes >= _LEAST_MIN]
        return Wait(
            60 * total,
            60 * nobody,
            60 * on_break,
            most,
            60 * on_duty,
            sum(occupation.minutes for occupation in occupations),
            tuple(sorted(named, key=lambda occupation: (-occupation.minutes, occupation.kind))),
        )

    def moment(self, time_h: float) -> Moment:
        """What they did at a moment."""
        busy = np.flatnonzero((self._from <= time_h) & (time_h < self._until))
        return Moment(
            sum(people for begin, end, people in self._at_work if begin <= time_h < end),
            any(begin <= time_h < end for begin, end, _ in self._on_break),
            tuple((str(self._kind[index]), int(self._sow[index])) for index in busy),
        )


Period = tuple[float, float, int]  # from [h], until [h], people


def _periods(roster: pd.DataFrame) -> list[Period]:
    return list(zip(*(roster[name].tolist() for name in ("from_h", "until_h", "people")), strict=True))


def _cut(periods: list[Period], from_h: float, until_h: float) -> list[Period]:
    """The parts of the periods that lie in another."""
    return [
        (max(begin, from_h), min(end, until_h), people)
        for begin, end, people in periods
        if begin < until_h and end > from_h
    ]


def _gaps(at_work: list[Period], from_h: float, until_h: float) -> list[tuple[float, float]]:
    """The parts of a period without anybody at work."""
    gaps, reached = [], from_h
    for begin, end, _ in at_work:
        if begin > reached:
            gaps.append((reached, begin))
        reached = max(reached, end)
    return [*gaps, (reached, until_h)] if until_h > reached else gaps
