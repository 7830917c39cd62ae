"""What a study keeps of a room besides its outputs: feed intake by day, tasks by outcome, work by hour."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd

from farrowtide.outputs.rooms import PARITY_CLASSES, Columns, Rooms, labels_of, parity_class

STAFF_MIN = "staff_min"


class _Cells:
    """Rows by replicate and further keys, each an array of small whole numbers; cells that have rows are in order of them."""

    def __init__(self, replicate: np.ndarray, *keys: np.ndarray) -> None:
        self._first = int(replicate[0]) if len(replicate) else 0  # replicates are in order
        indices = (replicate - self._first, *keys)
        self._shape = tuple(int(key.max(initial=0)) + 1 for key in indices)
        self._cell = np.ravel_multi_index(indices, self._shape)
        counts = np.bincount(self._cell, minlength=math.prod(self._shape))
        self._filled = np.flatnonzero(counts)
        self.rows = counts[self._filled]

    def keys(self) -> tuple[np.ndarray, ...]:
        """The replicate and the further keys of each cell."""
        replicate, *keys = np.unravel_index(self._filled, self._shape)
        return replicate + self._first, *keys

    def total(self, values: np.ndarray) -> np.ndarray:
        """The sum of values, one per row, in each cell."""
        sums: np.ndarray = np.bincount(self._cell, weights=values, minlength=math.prod(self._shape))[self._filled]
        return sums


def intake_days(rooms: Rooms) -> Columns:
    """Mean feed intake per sow [kg] and number of sows, by replicate, parity class and lactation day from day 1."""
    day = rooms.values("sow_days", "day")
    chosen = day >= 1
    replicate, parity, eaten_kg = (
        rooms.values("sow_days", name)[chosen] for name in ("replicate", "parity", "eaten_kg")
    )
    cells = _Cells(replicate, parity_class(parity), day[chosen])
    of_replicate, of_class, of_day = cells.keys()
    return {
        "replicate": of_replicate,
        "parity_class": np.array(PARITY_CLASSES)[of_class],
        "day": of_day.astype(np.int32),
        "eaten_kg": cells.total(eaten_kg) / cells.rows,
        "sows": cells.rows,
    }


def room_days(rooms: Rooms, *, days_before_due: int) -> Columns:
    """The temperature wanted and reached [degC, mean of the hours], by replicate and day from the group's mean due date.

    `days_before_due`: on which a group is loaded. The mean is over the rooms and groups that have the day.
    """
    replicate, group, hour, wanted, reached = (
        rooms.values("rooms", name) for name in ("replicate", "group", "hour", "set_point_deg_c", "temperature_deg_c")
    )
    loaded = np.full(int(group.max(initial=0)) + 1, np.iinfo(np.int32).max, np.int32)
    np.minimum.at(loaded, group, hour)  # the first hour of each group's rooms, which is the same in every replicate
    day = (hour - loaded[group]) // 24
    cells = _Cells(replicate, day)
    of_replicate, of_day = cells.keys()
    return {
        "replicate": of_replicate,
        "group_day": (of_day - days_before_due).astype(np.int32),
        "wanted_deg_c": cells.total(wanted) / cells.rows,
        "reached_deg_c": cells.total(reached) / cells.rows,
    }


def farrowings(rooms: Rooms) -> Columns:
    """The duration of each farrowing [min]."""
    return {name: rooms.values("all_sows", name) for name in ("replicate", "sow", "parity", "farrowing_duration_min")}


def task_counts_of(rooms: Rooms) -> Columns:
    """As task_counts, of all tasks of rooms."""
    late, undone = (rooms.is_labelled("tasks", "outcome", name) for name in ("late", "undone"))
    replicate, kind = rooms.values("tasks", "replicate"), rooms.values("tasks", "kind")
    return _task_counts(replicate, kind, np.array(labels_of("tasks", "kind")), late, undone)


def task_counts(tasks: pd.DataFrame) -> pd.DataFrame:
    """How often each kind of task was requested, finished late and left undone, by replicate."""
    kind = tasks["kind"].astype("category").cat
    late, undone = ((tasks["outcome"] == name).to_numpy() for name in ("late", "undone"))
    names = kind.categories.to_numpy().astype(str)
    return pd.DataFrame(_task_counts(tasks["replicate"].to_numpy(), kind.codes.to_numpy(), names, late, undone))


def _task_counts(
    replicate: np.ndarray, kind: np.ndarray, names: np.ndarray, late: np.ndarray, undone: np.ndarray
) -> Columns:
    cells = _Cells(replicate, kind.astype(np.int64))
    of_replicate, of_kind = cells.keys()
    return {
        "replicate": of_replicate,
        "task": names[of_kind],
        "asked": cells.rows,
        "late": cells.total(late).astype(np.int64),
        "undone": cells.total(undone).astype(np.int64),
    }


def hours_in_use_of(rooms: Rooms) -> Columns:
    """As hours_in_use, of all hours of rooms."""
    return _hours_in_use(
        {name: rooms.values("work_hours", name) for name in ("replicate", "hour", "minutes")},
        {name: rooms.values("duty_hours", name) for name in ("replicate", "hour", "on_duty_min")},
    )


def hours_in_use(work_hours: pd.DataFrame, duty_hours: pd.DataFrame) -> pd.DataFrame:
    """Minutes worked and minutes on duty by replicate and hour of the day, summed over the days that count."""
    work, duty = ({str(name): frame[name].to_numpy() for name in frame} for frame in (work_hours, duty_hours))
    return pd.DataFrame(_hours_in_use(work, duty))


def _hours_in_use(work: Columns, duty: Columns) -> Columns:
    """An hour without work or without people on duty has 0."""
    worked = np.arange(len(work["hour"]) + len(duty["hour"])) < len(work["hour"])
    replicate, hour = (np.concatenate([work[name], duty[name]]) for name in ("replicate", "hour"))
    minutes = np.concatenate([work["minutes"], duty["on_duty_min"]])
    order = np.argsort(replicate, kind="stable")
    cells = _Cells(replicate[order], hour[order])
    of_replicate, of_hour = cells.keys()
    return {
        "replicate": of_replicate,
        "hour": of_hour.astype(np.int32),
        "worked_min": cells.total(np.where(worked, minutes, 0.0)[order]),
        "on_duty_min": cells.total(np.where(worked, 0.0, minutes)[order]),
    }


def sows_that_farrowed(sows: pd.DataFrame, tasks: pd.DataFrame) -> pd.DataFrame:
    """The rows of sows that farrowed here, with `staff_min`: minutes of the tasks that were for each alone."""
    sows = sows[sows["nurse"] == 0]
    minutes = tasks[tasks["sow"] > 0].groupby(["replicate", "sow"])["minutes"].sum()
    keys = pd.MultiIndex.from_frame(sows[["replicate", "sow"]])
    return sows.assign(**{STAFF_MIN: minutes.reindex(keys, fill_value=0.0).to_numpy()})
