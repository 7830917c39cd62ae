"""Outputs of staff work."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from farrowtide.outputs.output import Output
from farrowtide.outputs.readings import per_litter
from farrowtide.outputs.rooms import Rooms
from farrowtide.statistics.intervals import ratio

_LABOUR = "Task times are published values where there are any and trade practice otherwise; they include walking."


def _tasks_with(outcome: str) -> Callable[[Rooms], np.ndarray]:
    def percent(rooms: Rooms) -> np.ndarray:
        outcomes = rooms.is_labelled("tasks", "outcome", outcome)
        return 100 * ratio(rooms.number("tasks", outcomes), rooms.number("tasks"))

    return percent


def _minutes_of(kind: str) -> Callable[[Rooms], np.ndarray]:
    def minutes(rooms: Rooms) -> np.ndarray:
        return ratio(rooms.total_labelled("tasks", "minutes", "kind", kind), rooms.litters)

    return minutes


LABOUR = Output(
    "labour_min_per_litter",
    "min",
    "Labour per litter",
    per_litter("tasks", "minutes"),
    good="lower",
    decimals=1,
    negligible=1.0,
    note=_LABOUR,
    table="tasks",
    phrases=("staff work {} more per litter", "staff work {} less per litter"),
)
UTILISATION = Output(
    "staff_utilisation_percent",
    "%",
    "Staff utilisation",
    lambda rooms: ratio(100 * rooms.total("work_hours", "minutes"), rooms.staffed_min),
    decimals=1,
    negligible=1.0,
    note=f"{_LABOUR} Minutes worked over minutes on duty; breaks and absences are not duty.",
    table="work_hours",
    group="further",
    phrases=("staff utilisation is {} higher", "staff utilisation is {} lower"),
)
LATE = Output(
    "tasks_late_percent",
    "%",
    "Tasks finished late",
    _tasks_with("late"),
    good="lower",
    decimals=1,
    negligible=0.5,
    note=_LABOUR,
    table="tasks",
    group="further",
    share=True,
)
UNDONE = Output(
    "tasks_undone_percent",
    "%",
    "Tasks left undone",
    _tasks_with("undone"),
    good="lower",
    decimals=1,
    negligible=0.5,
    note=_LABOUR,
    table="tasks",
    group="further",
    share=True,
)


def by_task(kinds: Sequence[str]) -> list[Output]:
    """Minutes of work per litter for each kind of task, in the given order."""
    return [
        Output(
            f"labour_{kind.replace(' ', '_').replace('-', '_')}_min_per_litter",
            "min",
            kind.capitalize(),
            _minutes_of(kind),
            good="lower",
            decimals=1,
            negligible=0.5,
            note=_LABOUR,
            table="tasks",
            group="work by task",
            phrases=(f"{kind} takes {{}} more per litter", f"{kind} takes {{}} less per litter"),
        )
        for kind in kinds
    ]
