"""The tables of the labour report from a few tasks and hours that are written down here."""

import math
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from farrowtide.analysis import labour
from farrowtide.outputs.catalogue import catalogue
from farrowtide.report.wording.labour import missed_in_words

NEVER = math.nan
FIRST, SECOND, IDLE = 3, 4, 5  # replicates; in the last one nothing is asked for
TASKS = [
    # replicate, kind, sow, minutes, outcome, asked_h, started_h, interruptions
    (FIRST, "feed by hand", 1, 4.0, "late", 7.0, 7.5, 1),
    (FIRST, "feed by hand", 2, 6.0, "done", 8.0, 8.0, 0),
    (SECOND, "feed by hand", 1, 10.0, "undone", 9.0, NEVER, 0),
    (SECOND, "wash", -1, 60.0, "done", 10.0, 11.0, 2),
]
COLUMNS = ["replicate", "kind", "sow", "minutes", "outcome", "asked_h", "started_h", "interruptions"]


def ran(tasks=TASKS, *, animals=60, busy=0.7, **tables):
    """A run of three rooms with 2, 4 and 1 litters; `animals`: the sows in each, of which an interval needs 120."""
    coefficient = SimpleNamespace(value=[busy], low=[0.65], high=[0.9], grade="C", source="assumption")
    known = {"staff.roster.busy_warning": coefficient}
    core = SimpleNamespace(coefficients=SimpleNamespace(find=known.__getitem__))
    return SimpleNamespace(
        tasks=pd.DataFrame(tasks, columns=COLUMNS),
        first_replicate=FIRST,
        replications=3,
        as_rooms=lambda: SimpleNamespace(litters=np.array([2, 4, 1])),
        scenario=SimpleNamespace(litters_per_replication=animals, _core=core),
        **tables,
    )


def test_a_task_has_minutes_of_every_room_and_shares_of_those_that_have_it():
    """Feeding: 10 min for 2 litters, 10 for 4 and none for 1. Washing: 60 min for 4 litters."""
    table = labour.by_task(ran())
    assert list(table["task"]) == ["wash", "feed by hand"]  # most work first
    wash, feed = table.to_dict(orient="records")
    assert (feed["min_per_litter"], wash["min_per_litter"]) == (pytest.approx(7.5 / 3), pytest.approx(15 / 3))
    assert (feed["asked_per_room"], wash["asked_per_room"]) == (1.5, 0.5)
    assert (feed["late_percent"], feed["undone_percent"], wash["late_percent"]) == (25, 50, 0)
    assert (feed["wait_median_min"], feed["wait_p95_min"]) == (15, pytest.approx(28.5))
    assert wash["wait_median_min"] == 60
    assert (feed["interruptions_per_task"], wash["interruptions_per_task"]) == (pytest.approx(1 / 3), 2)
    assert feed["cost_of_lateness"] == "appetite unmet, stale feed"


def test_intervals_of_tasks_are_there_or_have_a_reason():
    wash, feed = labour.by_task(ran()).to_dict(orient="records")
    assert feed["min_per_litter_reason"] == "2 of 3 rooms differ from 0"
    assert wash["min_per_litter_reason"] == "1 of 3 rooms differ from 0"
    assert feed["late_percent_reason"] == "1 of 2 rooms differ from 0 and 100 %"
    assert wash["late_percent_reason"] == "one room gives no interval"
    assert np.isnan([feed["min_per_litter_low"], feed["min_per_litter_high"], wash["late_percent_low"]]).all()


@pytest.mark.parametrize(("animals", "reason"), [(40, ""), (39, "an interval needs 4 rooms")])
def test_an_interval_needs_120_sows(animals, reason):
    """Three rooms of 40, or four of 39. 2, 3 and 4 min a litter: Student's interval, which ends below 0."""
    tasks = [(FIRST, "wash", -1, 4.0, "done", 7.0, 7.0, 0), (SECOND, "wash", -1, 12.0, "done", 7.0, 7.0, 0)]
    tasks.append((IDLE, "wash", -1, 4.0, "done", 7.0, 7.0, 0))
    (row,) = labour.by_task(ran(tasks, animals=animals)).to_dict(orient="records")
    assert row["min_per_litter"] == 3
    assert row["min_per_litter_reason"] == reason
    low, high = stats.t.interval(0.95, 2, loc=3, scale=stats.sem([2, 3, 4]))
    expected = [math.nan, math.nan] if reason else [low, high]
    np.testing.assert_allclose([row["min_per_litter_low"], row["min_per_litter_high"]], expected)


def test_minutes_of_work_are_not_below_zero():
    tasks = [(FIRST, "wash", -1, 2.0, "done", 7.0, 7.0, 0), (SECOND, "wash", -1, 12.0, "done", 7.0, 7.0, 0)]
    tasks.append((IDLE, "wash", -1, 5.0, "done", 7.0, 7.0, 0))
    (row,) = labour.by_task(ran(tasks)).to_dict(orient="records")  # 1, 3 and 5 min a litter
    assert (row["min_per_litter"], row["min_per_litter_low"]) == (3, 0)
    assert row["min_per_litter_high"] == pytest.approx(3 + stats.t.ppf(0.975, 2) * stats.sem([1, 3, 5]))


def test_a_share_is_of_the_rooms_that_have_the_task_and_stays_below_100():
    counts = pd.DataFrame(
        {
            "replicate": [0, 1, 2, 3, 4, 5, 0], "task": ["a"] * 6 + ["b"], "asked": [10] * 6 + [4],
            "late": [8, 9, 8, 9, 8, 9, 1], "undone": [0, 0, 0, 0, 0, 1, 3],
        }
    )  # fmt: skip
    table = labour.shares(counts)
    assert list(table.index) == ["a", "b"]
    assert list(table["asked_per_room"]) == [10, pytest.approx(4 / 6)]
    np.testing.assert_allclose(table["late_percent"], [85, 25])
    np.testing.assert_allclose(table["undone_percent"], [10 / 6, 75])
    assert 0 < table.at["a", "late_percent_low"] < 85 < table.at["a", "late_percent_high"] < 100
    assert list(table["late_percent_reason"]) == ["", "one room gives no interval"]
    assert table.at["a", "undone_percent_reason"] == "1 of 6 rooms differ from 0 and 100 %"
    assert labour.shares(counts, animals=10).at["a", "late_percent_reason"] == "an interval needs 12 rooms"
    low = counts.assign(late=counts["asked"] - counts["late"])
    assert 0 < labour.shares(low).at["a", "late_percent_low"] < 15


def test_rooms_in_which_all_is_late_say_nothing_of_the_spread():
    late = [10, 10, 10, 5, 6, 7]
    counts = pd.DataFrame({"replicate": range(6), "task": "a", "asked": 10, "late": late, "undone": [1, 2, 3, 4, 5, 6]})
    (row,) = labour.shares(counts).to_dict(orient="records")
    assert (row["late_percent"], row["late_percent_reason"]) == (80, "3 of 6 rooms differ from 0 and 100 %")
    assert (row["undone_percent"], row["undone_percent_reason"]) == (35, "")


def hours(busy=0.7):
    """One room of 10 and one of 20 days that count; hour 9 is worked in without anybody on duty."""
    duty = pd.DataFrame(
        {
            "replicate": [FIRST, FIRST, SECOND, SECOND], "hour": [7, 8, 7, 8], "on_duty_min": [600.0, 600.0, 1200.0, 600.0],
            "days": [10, 10, 20, 20],
        }
    )  # fmt: skip
    work = pd.DataFrame(
        [
            (FIRST, 7, "feed by hand", 500.0), (FIRST, 7, "wash", 40.0), (SECOND, 7, "feed by hand", 600.0),
            (FIRST, 8, "wash", 480.0), (SECOND, 8, "wash", 480.0), (SECOND, 9, "wash", 30.0),
        ],
        columns=["replicate", "hour", "kind", "minutes"],
    )  # fmt: skip
    return ran(work_hours=work, duty_hours=duty, busy=busy)


def test_hours_are_those_of_all_rooms_over_all_days():
    """Hour 7: 1800 min on duty and 1140 worked in 30 days, 90 % in one room and 50 % in the other."""
    table = labour.by_hour(hours())
    assert list(table["hour"]) == list(range(24))
    seven, eight, nine, ten = (table.loc[hour] for hour in (7, 8, 9, 10))
    assert (seven["people_on_duty"], seven["worked_min_per_day"], seven["utilisation_percent"]) == (1, 38, 70)
    assert (eight["people_on_duty"], eight["worked_min_per_day"]) == (pytest.approx(2 / 3), 32)
    assert (nine["people_on_duty"], nine["worked_min_per_day"], ten["worked_min_per_day"]) == (0, 1, 0)
    assert np.isnan(nine["utilisation_percent"])
    assert list(table.loc[table["busy"], "hour"]) == [8]  # above 70 %
    assert list(labour.by_hour(hours(busy=0.65)).query("busy")["hour"]) == [7, 8]
    assert nine["utilisation_percent_reason"] == "no room has a value"


def test_an_hour_without_work_has_a_utilisation_of_0():
    table = labour.utilisation(
        pd.DataFrame({"replicate": [0, 1], "hour": 7, "worked_min": [0.0, 30.0], "on_duty_min": [60.0, 0.5]}),
        animals=24,
    )
    assert table.index.name == "hour"
    assert table.at[7, "utilisation_percent"] == (0 + 100 * 30 / 0.5) / 2
    assert np.isnan(table.at[6, "utilisation_percent"])


def test_minutes_a_day_are_summed_by_group_of_tasks():
    groups = labour.minutes_by_group(hours())
    assert list(groups.columns) == list(labour.TASK_GROUPS)
    assert list(groups.index) == list(range(24))
    of = {task: group for group, tasks in labour.TASK_GROUPS.items() for task in tasks}
    assert groups.at[7, of["feed by hand"]] == pytest.approx(1100 / 30)
    assert groups.at[7, of["wash"]] == pytest.approx(40 / 30)
    assert groups.at[8, of["wash"]] == 32
    assert groups.to_numpy().sum() == pytest.approx((1140 + 960 + 30) / 30)


def with_sows():
    """Sow 3 is of a group that does not count; the last task is for no sow."""
    tasks = [
        (FIRST, "feed by hand", 1, 4.0, "late", 31.5, 32.0, 0),
        (FIRST, "feed by hand", 2, 4.0, "done", 7.0, 7.25, 0),
        (FIRST, "treat sow", 3, 4.0, "late", 50.0, 52.0, 0),
        (SECOND, "daily look", 1, 4.0, "undone", 20.0, NEVER, 0),
        (SECOND, "daily look", 2, 4.0, "done", 20.0, 20.1, 0),
        (SECOND, "wash", -1, 60.0, "late", 0.0, 40.0, 0),
    ]
    sows = pd.DataFrame({"replicate": [FIRST, FIRST, SECOND, SECOND], "sow": [1, 2, 1, 2], "parity": [4, 2, 1, 2]})
    return ran(tasks, sows=sows)


def test_the_longest_wait_of_each_task_names_its_sow_and_time():
    table = labour.longest_waits(with_sows())
    assert list(table["task"]) == ["treat sow", "feed by hand", "daily look"]
    assert list(table["waited_min"]) == [120, 30, pytest.approx(6)]
    assert list(zip(table["replicate"], table["sow"], strict=True)) == [(FIRST, 3), (FIRST, 1), (SECOND, 2)]
    assert list(table["day"]) == [2, 1, 0]
    assert list(table["asked_at"]) == ["02:00", "07:30", "20:00"]
    assert list(table["parity_class"].fillna("")) == ["", "P3+", "P2"]
    assert list(labour.longest_waits(with_sows(), most=2)["task"]) == ["treat sow", "feed by hand"]


def test_at_most_ten_waits_are_listed():
    tasks = [(FIRST, f"task {i}", 1, 1.0, "done", 7.0, 7.0 + i, 0) for i in range(12)]
    sows = pd.DataFrame({"replicate": [FIRST], "sow": [1], "parity": [1]})
    assert list(labour.longest_waits(ran(tasks, sows=sows))["task"]) == [f"task {i}" for i in range(11, 1, -1)]


def test_delays_are_counted_by_parity_class():
    table = labour.by_parity(with_sows()).set_index("parity_class")
    assert list(table.index) == ["P1", "P2", "P3+"]
    assert table.loc["P2", ["asked_per_room", "late_percent", "undone_percent"]].to_list() == [1, 0, 0]
    assert table.loc["P1", ["asked_per_room", "late_percent", "undone_percent"]].to_list() == [0.5, 0, 100]
    assert table.at["P3+", "late_percent"] == 100
    assert table.at["P2", "wait_median_min"] == pytest.approx((15 + 6) / 2)
    assert table.at["P2", "wait_p95_min"] == pytest.approx(6 + 0.95 * 9)
    assert np.isnan(table.at["P1", "wait_median_min"])


def test_the_warning_has_its_grounds():
    warning = labour.busy_warning(ran(busy=0.75))
    assert warning.percent == 75
    assert warning.grounds == "staff.roster.busy_warning, grade C: assumption; 65 to 90 %"


def test_small_tasks_are_summed_and_the_others_are_in_order():
    """Of 0.5 min or more under one alternative."""
    tasks = {name: output.label for name, output in catalogue().items() if output.group == "work by task"}
    small, large, half, *rest = tasks
    arms = {"a": {small: 0.4, large: 8.0, half: 0.5}, "b": {small: 0.3, large: 6.0, half: 0.1}}
    rows = [
        {"case": "c", "alternative": name, "replicate": i}
        | dict.fromkeys(tasks, 0.0)
        | minutes
        | {large: minutes[large] + i}
        for name, minutes in arms.items()
        for i in range(5)
    ]
    rooms = pd.DataFrame(rows)
    rooms[rest[0]] = 0.05
    comparison = SimpleNamespace(replicates=rooms, litters_per_replication=24)
    table = labour.minutes_by_task(comparison)
    assert list(table["case"].unique()) == ["c"]
    assert list(table.index) == list(range(6))
    shown = table.pivot(index="task", columns="alternative", values="minutes")
    assert list(table["task"].unique()) == [tasks[large], tasks[half], "All other tasks"]
    np.testing.assert_allclose(
        shown.loc[[tasks[large], tasks[half], "All other tasks"]], [[10, 8], [0.5, 0.1], [0.45, 0.35]]
    )
    first = table.iloc[0]
    expected = stats.t.interval(0.95, 4, loc=10, scale=stats.sem(np.arange(5)))
    np.testing.assert_allclose([first["ci_low"], first["ci_high"]], expected)
    assert labour.minutes_by_task(SimpleNamespace(replicates=rooms, litters_per_replication=23))["ci_low"].isna().all()


def test_washing_that_the_end_of_the_run_cuts_off_is_not_told_as_work_left_undone():
    """The room of the second replicate is still being washed when the next group may come; feeding is really late."""
    cut_off = [*TASKS[:3], (SECOND, "wash", -1, 60.0, "undone", 10.0, 11.0, 2)]
    feed, wash = missed_in_words(labour.by_task(ran(cut_off)))
    assert feed == "Feed by hand: 25.0 % late, 50.0 % undone; cost in the model: appetite unmet, stale feed."
    assert wash == (
        "Wash: not finished in 100.0 % of rooms when the run ended, on the day by which the next group could arrive; the "
        "minutes worked until then count."
    )
    only_wash = missed_in_words(labour.by_task(ran(cut_off[3:])))
    assert only_wash == ["No task is late or undone in 1 % of cases or more.", wash]
    assert missed_in_words(labour.by_task(ran(TASKS[3:]))) == only_wash[:1]
