"""What a study keeps of rooms besides outputs, of tables of a few rows."""

import numpy as np
import pandas as pd

from farrowtide.outputs.rooms import Rooms, labels_of, parity_class
from farrowtide.outputs.summaries import (
    farrowings,
    hours_in_use,
    hours_in_use_of,
    intake_days,
    room_days,
    sows_that_farrowed,
    task_counts,
    task_counts_of,
)


def rooms_with(first, count, **tables):
    tables = {"sows": {"nurse": []}, **tables}
    return Rooms(
        {name: {column: np.array(values) for column, values in rows.items()} for name, rows in tables.items()},
        first=first,
        count=count,
    )


def as_lists(columns):
    return {name: np.asarray(values).tolist() for name, values in columns.items()}


def test_parities_fall_into_three_classes():
    assert parity_class(np.array([1, 2, 3, 4, 9])).tolist() == [0, 1, 2, 2, 2]
    assert parity_class(np.array([0])).tolist() == [0]


def test_intake_is_the_mean_of_the_sows_of_a_class_on_a_day():
    """Sows of parity 3 and 5 are one class; days before day 1 do not count."""
    days = {
        "replicate": [4, 4, 4, 4, 4, 4, 6, 6],
        "parity": [1, 1, 3, 3, 5, 5, 2, 2],
        "day": [0, 1, 1, 2, 1, 2, 1, 3],
        "eaten_kg": [9.0, 2.0, 4.0, 5.0, 6.0, 8.0, 3.0, 7.0],
    }
    assert as_lists(intake_days(rooms_with(4, 3, sow_days=days))) == {
        "replicate": [4, 4, 4, 6, 6],
        "parity_class": ["P1", "P3+", "P3+", "P2", "P2"],
        "day": [1, 1, 2, 1, 3],
        "eaten_kg": [2.0, 5.0, 6.5, 3.0, 7.0],
        "sows": [1, 2, 2, 1, 1],
    }
    empty = intake_days(rooms_with(4, 3, sow_days={name: np.zeros(0, int) for name in days}))
    assert as_lists(empty) == {"replicate": [], "parity_class": [], "day": [], "eaten_kg": [], "sows": []}


def test_temperatures_are_means_of_days_counted_from_the_due_date_of_each_group():
    """Group 0 is loaded at hour 10 and group 1 at hour 34, each 4 days before it is due; a day has 24 hours."""
    hours = {
        "replicate": [2, 2, 2, 2, 3],
        "group": [0, 0, 1, 0, 1],
        "hour": [10, 33, 34, 34, 58],
        "set_point_deg_c": [22.0, 21.0, 23.0, 20.0, 19.0],
        "temperature_deg_c": [23.0, 22.0, 27.0, 18.0, 20.0],
    }
    assert as_lists(room_days(rooms_with(2, 2, rooms=hours), days_before_due=4)) == {
        "replicate": [2, 2, 3],
        "group_day": [-4, -3, -3],
        "wanted_deg_c": [22.0, 20.0, 19.0],
        "reached_deg_c": [24.0, 18.0, 20.0],
    }
    none = room_days(rooms_with(2, 2, rooms={name: np.zeros(0, int) for name in hours}), days_before_due=4)
    assert as_lists(none)["group_day"] == []


def test_farrowings_are_those_of_all_sows():
    sows = {
        "replicate": [0, 0],
        "sow": [1, 2],
        "parity": [3, 1],
        "farrowing_duration_min": [200.0, 310.0],
        "nurse": [0, 1],
    }
    assert as_lists(farrowings(rooms_with(0, 1, sows=sows))) == {
        "replicate": [0, 0], "sow": [1, 2], "parity": [3, 1], "farrowing_duration_min": [200.0, 310.0]
    }  # fmt: skip


TASKS = pd.DataFrame(
    [(3, "wean", "done"), (3, "wash", "undone"), (3, "wean", "late"), (3, "wean", "undone"), (5, "wash", "late")],
    columns=["replicate", "kind", "outcome"],
)


def test_tasks_are_counted_by_kind_and_outcome():
    """Kinds are in the order of the engine's list, in which weaning comes before washing; or by the alphabet."""
    coded = {name: [labels_of("tasks", name).index(word) for word in TASKS[name]] for name in ("kind", "outcome")}
    rooms = rooms_with(3, 3, tasks={"replicate": TASKS["replicate"], **coded})
    assert as_lists(task_counts_of(rooms)) == {
        "replicate": [3, 3, 5],
        "task": ["wean", "wash", "wash"],
        "asked": [3, 1, 1],
        "late": [1, 0, 1],
        "undone": [1, 1, 0],
    }
    counted = task_counts(TASKS)
    assert counted.to_dict("list") == {
        "replicate": [3, 3, 5],
        "task": ["wash", "wean", "wash"],
        "asked": [1, 3, 1],
        "late": [0, 1, 1],
        "undone": [1, 1, 0],
    }


def test_a_first_replicate_of_one_row_is_counted():
    counted = task_counts(TASKS.iloc[3:])
    assert counted.to_dict("list") == {
        "replicate": [3, 5], "task": ["wean", "wash"], "asked": [1, 1], "late": [0, 1], "undone": [1, 0]
    }  # fmt: skip


WORK = {"replicate": [1, 1, 1, 2], "hour": [7, 7, 20, 7], "minutes": [10.0, 5.0, 3.0, 8.0]}
DUTY = {"replicate": [1, 1, 2, 2], "hour": [7, 8, 7, 8], "on_duty_min": [60.0, 60.0, 60.0, 30.0]}
IN_USE = {
    "replicate": [1, 1, 1, 2, 2],
    "hour": [7, 8, 20, 7, 8],
    "worked_min": [15.0, 0.0, 3.0, 8.0, 0.0],
    "on_duty_min": [60.0, 60.0, 0.0, 60.0, 30.0],
}


def test_an_hour_without_work_or_without_people_has_none():
    assert as_lists(hours_in_use_of(rooms_with(1, 2, work_hours=WORK, duty_hours=DUTY))) == IN_USE
    assert hours_in_use(pd.DataFrame(WORK), pd.DataFrame(DUTY)).to_dict("list") == IN_USE


def test_hours_in_which_nobody_worked_are_kept():
    idle = hours_in_use(pd.DataFrame(WORK).iloc[:0], pd.DataFrame(DUTY))
    assert idle.to_dict("list") == {**DUTY, "worked_min": [0.0] * 4}


def test_staff_minutes_are_those_of_tasks_for_one_sow_alone():
    """Tasks for several sows have sow -1; sow 1 of another room is another sow, and a nurse sow did not farrow here."""
    sows = pd.DataFrame({"replicate": [0, 0, 0, 1], "sow": [1, 2, 3, 1], "nurse": [0, 0, 1, 0]})
    tasks = pd.DataFrame({"replicate": [0, 0, 0, 0, 1], "sow": [1, 1, -1, 3, 1], "minutes": [4.0, 6.0, 50.0, 7.0, 2.0]})
    assert sows_that_farrowed(sows, tasks).to_dict("list") == {
        "replicate": [0, 0, 1], "sow": [1, 2, 1], "nurse": [0, 0, 0], "staff_min": [10.0, 0.0, 2.0]
    }  # fmt: skip
