"""What the people did while somebody waited for them: read from the stretches of work and the roster."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

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


def wait(stretches: pd.DataFrame, roster: pd.DataFrame, periods: Iterable[tuple[float, float]]) -> Wait:
    """What the people did in these periods [h, h], none of which overlap."""
    total = nobody = on_break = on_duty = 0.0
    most = 0
    worked: dict[str, dict[int, float]] = {}
    for from_h, until_h in periods:
        total += until_h - from_h
        at_work, breaks = (_overlapping(roster[roster["state"] == s], from_h, until_h) for s in ("at work", "on break"))
        staffed = float(at_work["overlap_h"].sum())
        idle = _without(_gaps(at_work, from_h, until_h), breaks)
        on_break += until_h - from_h - staffed - idle
        nobody += idle
        on_duty += float((at_work["overlap_h"] * at_work["people"]).sum())
        most = max(most, int(at_work["people"].max()) if len(at_work) else 0)
        stretch: Any
        for stretch in _overlapping(stretches, from_h, until_h).itertuples(index=False):
            of_kind = worked.setdefault(str(stretch.kind), {})
            of_kind[int(stretch.sow)] = of_kind.get(int(stretch.sow), 0.0) + 60 * stretch.overlap_h
    occupations = [
        Occupation(kind, tuple(sorted(sow for sow, spent in sows.items() if sow > 0 and spent > 0)), sum(sows.values()))
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


@dataclass(frozen=True)
class Moment:
    """The people at a moment: how many were at work, whether there was a break, and (kind, sow) of those who were busy."""

    people: int
    on_break: bool
    busy: tuple[tuple[str, int], ...]


def moment(stretches: pd.DataFrame, roster: pd.DataFrame, time_h: float) -> Moment:
    """The people at a moment."""
    now = roster[(roster["from_h"] <= time_h) & (time_h < roster["until_h"])]
    at_work = now.loc[now["state"] == "at work", "people"].sum()
    busy = stretches[(stretches["from_h"] <= time_h) & (time_h < stretches["until_h"])]
    pairs = tuple((str(kind), int(sow)) for kind, sow in zip(busy["kind"], busy["sow"], strict=True))
    return Moment(int(at_work), bool((now["state"] == "on break").any()), pairs)


def _overlapping(table: pd.DataFrame, from_h: float, until_h: float) -> pd.DataFrame:
    """The rows that overlap a period, cut to it, with the length of the overlap."""
    rows = table[(table["from_h"] < until_h) & (table["until_h"] > from_h)]
    begin, end = np.maximum(rows["from_h"], from_h), np.minimum(rows["until_h"], until_h)
    return rows.assign(from_h=begin, until_h=end, overlap_h=end - begin)


def _gaps(at_work: pd.DataFrame, from_h: float, until_h: float) -> list[tuple[float, float]]:
    """The parts of a period without anybody at work."""
    gaps, reached = [], from_h
    for begin, end in zip(at_work["from_h"], at_work["until_h"], strict=True):
        if begin > reached:
            gaps.append((reached, begin))
        reached = max(reached, end)
    return [*gaps, (reached, until_h)] if until_h > reached else gaps


def _without(gaps: list[tuple[float, float]], breaks: pd.DataFrame) -> float:
    """The length of the gaps outside breaks."""
    length = sum(end - begin for begin, end in gaps)
    for begin, end in gaps:
        for break_from, break_until in zip(breaks["from_h"], breaks["until_h"], strict=True):
            length -= max(0.0, min(end, break_until) - max(begin, break_from))
    return length
