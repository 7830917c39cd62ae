"""What people's time goes to, and when they are busy."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from farrowtide.analysis import labour
from farrowtide.analysis.comparison import ComparisonTables
from farrowtide.engine.result import Result
from farrowtide.report.pictures.picture import PER_ROW, Picture, look_of, panels
from farrowtide.report.wording.study import case_title

_FILLS = ("#0072B2", "#E69F00", "#56B4E9", "#D55E00", "#CC79A7", "#BBBBBB")  # of bars, each with its hatching
_HATCHES = ("", "///", "...", "xx", "\\\\\\", "")


def work(comparison: ComparisonTables) -> Picture:
    """Staff minutes per litter by task, one panel per case, a mark with its interval per alternative."""
    minutes = labour.minutes_by_task(comparison)
    tasks = list(minutes.loc[minutes["case"] == comparison.cases[0], "task"].unique())
    columns = min(len(comparison.cases), PER_ROW)
    rows = -(-len(comparison.cases) // columns)
    height = 0.5 + len(tasks) * max(0.18, 0.05 * len(comparison.alternatives))
    with panels(rows, columns, height, sharex=True, sharey=True) as (figure, axes):
        for axis, case in zip(axes.flat, comparison.cases, strict=False):
            _draw_minutes(axis, comparison, minutes[minutes["case"] == case], tasks)
            axis.set(title=case_title(case), xlabel="minutes per litter")
        for axis in axes.flat[len(comparison.cases) :]:
            axis.set_axis_off()
        axes[0, 0].set_yticks(range(len(tasks)), tasks)
        axes[0, 0].set_ylim(len(tasks) - 0.5, -0.5)
        axes[0, 0].set_xlim(left=0)
        handles, names = axes[0, 0].get_legend_handles_labels()
        figure.legend(handles, names, loc="outside upper left", ncols=min(5, len(names)))
    caption = "Minutes of work per litter by task, waiting left out; bars: 95 % interval of each mean."
    return Picture(figure, "What the staff's time goes to", caption, _minutes_in_words(comparison, minutes))


def _draw_minutes(axis: Axes, comparison: ComparisonTables, minutes: pd.DataFrame, tasks: list[str]) -> None:
    offsets = np.linspace(-0.28, 0.28, len(comparison.alternatives)) if len(comparison.alternatives) > 1 else [0.0]
    for name, offset in zip(comparison.alternatives, offsets, strict=True):
        part = minutes[minutes["alternative"] == name].set_index("task").loc[tasks]
        look = look_of(comparison, name) | {"linestyle": "none"}
        error = np.array([part["minutes"] - part["ci_low"], part["ci_high"] - part["minutes"]])
        known = None if np.isnan(error).any() else error  # one room has no interval
        axis.errorbar(
            part["minutes"],
            np.arange(len(tasks)) + offset,
            xerr=known,
            label=name,
            markersize=3.2,
            elinewidth=1,
            **look,
        )
    axis.grid(axis="y", visible=False)
    for edge in np.arange(0.5, len(tasks) - 1):
        axis.axhline(edge, color="0.9", linewidth=0.6)


def _minutes_in_words(comparison: ComparisonTables, minutes: pd.DataFrame) -> str:
    total = minutes.groupby(["case", "alternative"], sort=False)["minutes"].sum()
    told = [
        f"{case_title(case)}, {name}: {value:.0f} minutes per litter in all" for (case, name), value in total.items()
    ]
    longest = minutes[minutes["task"] != "All other tasks"].groupby("task")["minutes"].max().nlargest(3).index
    return f"Marks of minutes per litter by task. {'; '.join(told)}. The longest: {', '.join(longest).lower()}."


def utilisation(comparison: ComparisonTables) -> Picture:
    """Share of the time on duty that is worked by hour of the day, one panel per case, a line per alternative."""
    columns = min(len(comparison.cases), PER_ROW)
    rows = -(-len(comparison.cases) // columns)
    told = []
    with panels(rows, columns, 2.2, sharex=True, sharey=True) as (figure, axes):
        for axis, case in zip(axes.flat, comparison.cases, strict=False):
            for name in comparison.alternatives:
                hours = _staff_hours(comparison, case, name)
                _draw_hours(axis, hours, name, look_of(comparison, name))
                top = hours["utilisation_percent"].idxmax()
                told.append(f"{case_title(case)}, {name}: most at {top}:00, {hours['utilisation_percent'][top]:.0f} %")
            axis.set(title=case_title(case), xlim=(0, 24), xticks=range(0, 25, 3))
        for axis in axes.flat[len(comparison.cases) :]:
            axis.set_axis_off()
        for axis in axes[:, 0]:
            axis.set_ylabel("worked, % of time on duty")
        for axis in axes[-1]:
            axis.set_xlabel("hour of the day")
        axes[0, 0].set_ylim(bottom=0)
        handles, names = axes[0, 0].get_legend_handles_labels()
        figure.legend(handles, names, loc="outside upper left", ncols=min(5, len(names)))
    caption = (
        "Time worked of the time people are on duty, breaks and the absent left out, over all days; bars: 95 % interval of "
        "each mean. Work begun before a break or a shift's end is finished in it, so a part of an hour may have over 100 %. "
        "No mark: nobody on duty."
    )
    return Picture(figure, "When people are busy", caption, f"Marks of time in use by hour. {'; '.join(told)}.")


def _staff_hours(comparison: ComparisonTables, case: str, name: str) -> pd.DataFrame:
    hours = comparison.staff_hours
    return labour.utilisation(hours[(hours["case"] == case) & (hours["alternative"] == name)]).dropna(
        subset="utilisation_percent"
    )


def _draw_hours(axis: Axes, hours: pd.DataFrame, name: str, look: dict[str, Any]) -> None:
    """A mark in the middle of each hour; the line breaks where nobody is on duty."""
    mean = hours["utilisation_percent"]
    whole = mean.reindex(labour.HOURS)
    axis.plot(np.array(labour.HOURS) + 0.5, whole, label=name, markersize=3, **look)
    ends = hours[["utilisation_percent_low", "utilisation_percent_high"]]
    if not ends.isna().to_numpy().any():  # one room has no interval
        low, high = (mean - ends.iloc[:, 0]).to_numpy(), (ends.iloc[:, 1] - mean).to_numpy()
        axis.errorbar(hours.index + 0.5, mean, yerr=[low, high], linestyle="none", color=look["color"], elinewidth=1)


def work_by_hour(result: Result) -> Picture:
    """People's minutes by hour of the day and group of tasks, against the minutes that people are on duty."""
    minutes, hours = labour.minutes_by_group(result), labour.by_hour(result)
    on_duty_min = 60 * hours["people_on_duty"].to_numpy()
    with panels(1, 1, 3.0) as (figure, axes):
        axis = axes[0, 0]
        below = np.zeros(len(minutes))
        for group, fill, hatch in zip(minutes.columns, _FILLS, _HATCHES, strict=True):
            bars = minutes[group].to_numpy()
            axis.bar(
                np.array(minutes.index) + 0.5,
                bars,
                0.86,
                below,
                label=group,
                color=fill,
                hatch=hatch,
                edgecolor="white",
                linewidth=0.4,
            )
            below += bars
        axis.stairs(on_duty_min, np.arange(25), color="black", linewidth=1.4, label="people on duty")
        axis.set(xlim=(0, 24), xticks=range(0, 25, 3), xlabel="hour of the day", ylabel="people's minutes a day")
        axis.grid(axis="x", visible=False)
        figure.legend(loc="outside upper left", ncols=4)
    caption = (
        "Bars: minutes worked in each hour of the day, mean of all days that count, all people together. Line: minutes that "
        "people are on duty, breaks and the absent left out; what stands above it is finished after a break or shift began."
    )
    top = int(below.argmax())
    alt = (
        f"Stacked bars of people's minutes by hour of the day, most at {top}:00: {below[top]:.0f} minutes a day of "
        f"{on_duty_min[top]:.0f} on duty. By group a day: "
        f"{'; '.join(f'{group} {value:.0f} min' for group, value in minutes.sum().items())}."
    )
    return Picture(figure, "What people's hours go to", caption, alt)
