"""What stands on the sheets of a room: a crate, a task, a day."""

from __future__ import annotations

from dataclasses import dataclass

from farrowtide.report.protocol.phrases import BLANK


@dataclass(frozen=True)
class Crate:
    """A crate and the sow in it, as far as they are known."""

    number: int
    sow: str = BLANK
    parity: int | None = None
    due: int | None = None  # day of the group


@dataclass(frozen=True)
class Work:
    """A task of the day. `sows`: how many it is about, as far as known; `minutes`: of all of them, or of each."""

    time: str
    task: str
    text: str
    sows: int | None
    minutes: float
    keys: tuple[str, ...]


@dataclass(frozen=True)
class CrateOfDay:
    """What a crate needs on a day."""

    crate: Crate
    state: str
    feed: str
    to_do: tuple[str, ...]


@dataclass(frozen=True)
class Day:
    """The sheet of a day."""

    day: int  # of the group
    date: str
    weekday: str
    set_point: str
    on_duty: tuple[str, ...]
    due: tuple[str, ...]
    work: tuple[Work, ...]
    crates: tuple[CrateOfDay, ...]
    minutes: float | None  # of the work whose number of sows is known; None where the herd is not known
