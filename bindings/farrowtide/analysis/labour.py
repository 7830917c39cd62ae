"""Work: what people spend their time on, when they are busy, what is late or left undone, and who waited.

The room (a farm, where the scenario is one) is the unit of replication: intervals are over rooms, never over tasks.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd

from farrowtide import _core
from farrowtide.analysis.comparison import ComparisonTables
from farrowtide.analysis.differences import mean_reasons
from farrowtide.engine.result import Result
from farrowtide.outputs.catalogue import catalogue
from farrowtide.outputs.rooms import PARITY_CLASSES, parity_class
from farrowtide.outputs.summaries import hours_in_use, task_counts
from farrowtide.outputs.units import clock
from farrowtide.scenarios.scenario import Scenario
from farrowtide.statistics.inference import MEANS, interval, share_interval
from farrowtide.statistics.moments import Moments

# Every task is in one group, for pictures: there are too many kinds of task for a colour each.
TASK_GROUPS = _core.task_groups()
HOURS = range(24)
_BUSY = "staff.roster.busy_warning"
_MIN_PER_H = 60


def shares(counts: pd.DataFrame, *, animals: float = math.inf) -> pd.DataFrame:
    """The percentages of each task that are late and undone, with 95 % intervals, from `task_counts`.

    Rooms without the task are left out. `animals`: the sows whose mean a room is.
    """
    asked, late, undone = (
        counts.pivot(index="replicate", columns="task", values=name) for name in ("asked", "late", "undone")
    )
    columns = {"asked_per_room": asked.fillna(0).mean()}
    for name, part in (("late", late), ("undone", undone)):
        columns |= _with_interval(f"{name}_percent", 100 * part / asked, animals, share=True)
    return pd.DataFrame(columns)


def utilisation(hours: pd.DataFrame, *, animals: float) -> pd.DataFrame:
    """The percentage of the time on duty that is worked in each hour, with its 95 % interval, from `hours_in_use`.

    `animals`: the sows in a room. Missing where nobody is on duty. A task begun before a break or the end of a shift is finished in it, so that an
    hour of which people are on duty for only a part may exceed 100.
    """
    worked, on_duty = (
        hours.pivot(index="replicate", columns="hour", values=name).reindex(columns=HOURS).fillna(0.0)
        for name in ("worked_min", "on_duty_min")
    )
    percent = 100 * worked / on_duty.where(on_duty > 0)
    return pd.DataFrame(_with_interval("utilisation_percent", percent, animals)).rename_axis("hour")


def _with_interval(
    name: str, rooms: pd.DataFrame, animals: float = math.inf, *, share: bool = False
) -> dict[str, pd.Series]:
    """The mean and interval of each column of values that are not negative; where too few rooms give an interval its ends
    are NaN, and `_reason` says why.
    """
    moments = Moments.of(rooms.to_numpy(dtype=float), top=100.0 if share else math.inf)
    needs = MEANS.needs(animals)
    low, high = share_interval(moments, needs=needs) if share else interval(moments, needs=needs)
    reason = np.where(np.isnan(low), mean_reasons(moments, 100.0 if share else math.inf, needs=needs), "")
    values = {name: moments.mean, f"{name}_low": np.maximum(low, 0.0), f"{name}_high": high, f"{name}_reason": reason}
    return {label: pd.Series(value, rooms.columns) for label, value in values.items()}


def by_task(result: Result) -> pd.DataFrame:
    """One row per task that was requested, the one with most work first.

    min_per_litter           minutes of work per sow that farrowed, with its 95 % interval over rooms (_low, _high) or why there
                             is none (_reason)
    asked_per_room           how often it was requested
    late_percent             of those requested, done after they were due (_low, _high, _reason)
    undone_percent           of those requested, not completed (_low, _high, _reason)
    wait_median_min, _p95_   median and 95th percentile of the time from request to start, of those that were started
    interruptions_per_task   times that the person was called away or left the rest to the next shift
    cost_of_lateness         what lateness costs the animals in the model; empty where lateness is only reported
    """
    tasks = result.tasks.assign(task=result.tasks["kind"].astype(str), wait_min=waited_min(result.tasks))
    rooms = pd.RangeIndex(result.first_replicate, result.first_replicate + result.replications)
    worked = tasks.pivot_table(index="replicate", columns="task", values="minutes", aggfunc="sum").reindex(rooms)
    per_litter = worked.fillna(0.0).div(result.as_rooms().litters, axis=0)
    of_kind = tasks.groupby("task")
    table = pd.DataFrame(_with_interval("min_per_litter", per_litter, result.scenario.litters_per_replication))
    table = table.join(shares(task_counts(result.tasks), animals=result.scenario.litters_per_replication))
    table["wait_median_min"] = of_kind["wait_min"].median()
    table["wait_p95_min"] = of_kind["wait_min"].quantile(0.95)
    table["interruptions_per_task"] = of_kind["interruptions"].mean()
    table["cost_of_lateness"] = table.index.map(_core.costs_of_lateness())
    return table.sort_values("min_per_litter", ascending=False, kind="stable").reset_index(names="task")


def waited_min(tasks: pd.DataFrame) -> pd.Series:
    """Minutes from request to start; missing where the task was never started."""
    return _MIN_PER_H * (tasks["started_h"] - tasks["asked_h"])


def by_hour(result: Result) -> pd.DataFrame:
    """One row per hour of the day, over all days that count.

    people_on_duty           mean number of people present by the roster, without breaks and absences
    worked_min_per_day       by all people together
    utilisation_percent      share of the time on duty that is worked, with its 95 % interval over rooms (_low, _high, _reason)
    busy                     whether that is above the coefficient staff.roster.busy_warning
    """
    hours = hours_in_use(result.work_hours, result.duty_hours)
    room_days = result.duty_hours.groupby("replicate")["days"].first().sum()
    sums = hours.groupby("hour")[["worked_min", "on_duty_min"]].sum().reindex(HOURS, fill_value=0.0)
    table = pd.DataFrame(
        {
            "people_on_duty": sums["on_duty_min"] / room_days / _MIN_PER_H,
            "worked_min_per_day": sums["worked_min"] / room_days,
        }
    ).join(utilisation(hours, animals=result.scenario.litters_per_replication))
    table["busy"] = table["utilisation_percent"] > busy_percent(result)
    return table.reset_index()


def minutes_by_group(result: Result) -> pd.DataFrame:
    """Minutes worked per day by all people together, by hour of the day (rows) and group of tasks (columns)."""
    group = {task: name for name, tasks in TASK_GROUPS.items() for task in tasks}
    work = result.work_hours.assign(group=result.work_hours["kind"].astype(str).map(group))
    room_days = result.duty_hours.groupby("replicate")["days"].first().sum()
    minutes = work.pivot_table(index="hour", columns="group", values="minutes", aggfunc="sum", fill_value=0.0)
    return minutes.reindex(index=HOURS, columns=list(TASK_GROUPS), fill_value=0.0) / room_days


def _for_one_sow(result: Result) -> pd.DataFrame:
    """The tasks for one sow, with her parity class, which is missing where her group does not count."""
    tasks = result.tasks[result.tasks["sow"] > 0]
    sows = result.sows[["replicate", "sow"]].assign(
        parity_class=np.array(PARITY_CLASSES)[parity_class(result.sows["parity"].to_numpy())]
    )
    named = tasks.assign(task=tasks["kind"].astype(str), waited_min=waited_min(tasks))
    return named.merge(sows, on=["replicate", "sow"], how="left")


def longest_waits(result: Result, most: int = 10) -> pd.DataFrame:
    """The longest wait of each task for one sow: which sow, when it was requested and how long it waited [min].

    At most `most` rows, the longest first. Tasks that were never started are counted as undone and not listed here.
    """
    started = _for_one_sow(result).dropna(subset="waited_min")
    longest = started.loc[started.groupby("task")["waited_min"].idxmax()].nlargest(most, "waited_min")
    day, hour = np.divmod(longest["asked_h"].to_numpy(), 24)
    return longest.assign(day=day.astype(int), asked_at=[clock(at) for at in hour]).reset_index(drop=True)[
        ["task", "replicate", "sow", "parity_class", "day", "asked_at", "waited_min"]
    ]


def by_parity(result: Result) -> pd.DataFrame:
    """Delays of the tasks for one sow, by her parity class (P1: first farrowing); columns as in `by_task`."""
    tasks = _for_one_sow(result).dropna(subset="parity_class")
    counts = task_counts(tasks.assign(kind=tasks["parity_class"]))
    table = shares(counts, animals=result.scenario.litters_per_replication)
    waits = tasks.groupby("parity_class")["waited_min"]
    table["wait_median_min"], table["wait_p95_min"] = waits.median(), waits.quantile(0.95)
    return table.reset_index(names="parity_class")


@dataclass(frozen=True)
class BusyWarning:
    """The utilisation above which work begins to wait for people, and the evidence for it."""

    percent: float
    grounds: str


def busy_warning(result: Result) -> BusyWarning:
    """The warning by the coefficients of the scenario."""
    return busy_warning_of(result.scenario)


def busy_warning_of(scenario: Scenario) -> BusyWarning:
    """The same, of a scenario."""
    coefficient = scenario._core.coefficients.find(_BUSY)
    low, high = (f"{100 * end[0]:.0f}" for end in (coefficient.low, coefficient.high))
    return BusyWarning(
        100 * coefficient.value[0], f"{_BUSY}, grade {coefficient.grade}: {coefficient.source}; {low} to {high} %"
    )


def busy_percent(result: Result) -> float:
    """The utilisation of BusyWarning [%]."""
    return busy_warning(result).percent


def tables(result: Result) -> dict[str, pd.DataFrame]:
    """The tables that `farrowtide labour` shows, by name."""
    return {
        "tasks": by_task(result),
        "hours": by_hour(result),
        "longest_waits": longest_waits(result),
        "by_parity": by_parity(result),
    }


_LEAST_MINUTES = 0.5  # tasks with less than this in every alternative are drawn as one


def minutes_by_task(comparison: ComparisonTables) -> pd.DataFrame:
    """The mean minutes per litter with 95 % interval by case, alternative and task, largest first, small ones summed."""
    tasks = {name: output.label for name, output in catalogue().items() if output.group == "work by task"}
    rooms = comparison.replicates.set_index(["case", "alternative", "replicate"])[list(tasks)].rename(columns=tasks)
    means = rooms.groupby(level=["case", "alternative"], sort=False).mean()
    large = means.columns[means.max() >= _LEAST_MINUTES]
    ordered = means[large].mean().sort_values(ascending=False, kind="stable").index
    shown = rooms[ordered].copy()
    shown["All other tasks"] = rooms.drop(columns=ordered).sum(axis=1)
    parts = []
    for (case, name), part in shown.groupby(level=["case", "alternative"], sort=False):
        moments = Moments.of(part.to_numpy())
        low, high = interval(moments, needs=MEANS.needs(comparison.litters_per_replication))
        parts.append(
            pd.DataFrame(
                {
                    "case": case,
                    "alternative": name,
                    "task": shown.columns,
                    "minutes": moments.mean,
                    "ci_low": low,
                    "ci_high": high,
                }
            )
        )
    return pd.concat(parts, ignore_index=True)
