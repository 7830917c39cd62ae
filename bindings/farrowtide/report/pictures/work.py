"""Where staff time goes, and when staff are busy."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from farrowtide.analysis import labour
from farrowtide.analysis.comparison import ComparisonTables
from farrowtide.engine.result import Result
from farrowtide.outputs.units import clock
from farrowtide.report.pictures.picture import Picture, look_of, panel_for_each, panels
from farrowtide.report.wording.cells import rows
from farrowtide.report.wording.study import case_title

_FILLS = ("#0072B2", "#E69F00", "#56B4E9", "#D55E00", "#CC79A7", "#BBBBBB")  # of bars, each with its hatching
_NAMES_PER_LINE = 5  # of a legend
_HATCHES = ("", "///", "...", "xx", "\\\\\\", "")


def work(comparison: ComparisonTables) -> Picture:
    """Staff minutes per litter by task: a panel for each case, a marker for each alternative."""
    minutes = labour.minutes_by_task(comparison)
    tasks = list(minutes.loc[minutes["case"] == comparison.cases[0], "task"].unique())
    height = 0.5 + len(tasks) * max(0.18, 0.05 * len(comparison.alternatives))
    with panel_for_each(comparison.cases, height, sharex=True, sharey=True) as (grid, panels):
        for axis, case in panels:
            _draw_minutes(axis, comparison, minutes[minutes["case"] == case], tasks)
            axis.set(title=case_title(comparison.scenario, case), xlabel="minutes per litter")
        grid.left[0].set_yticks(range(len(tasks)), tasks)
        grid.left[0].set_ylim(len(tasks) - 0.5, -0.5)
        grid.left[0].set_xlim(left=0)
        grid.legend_above(_NAMES_PER_LINE)
    caption = "Minutes of work per litter by task, without waiting; bars: 95 % confidence interval of each mean."
    return Picture(grid.figure, "Where staff time goes", caption, _minutes_in_words(comparison, minutes))


def differ(comparison: ComparisonTables) -> bool:
    """Whether any task takes longer under one alternative than under another."""
    minutes = labour.minutes_by_task(comparison).groupby(["case", "task"], sort=False)["minutes"]
    return bool((minutes.max() > minutes.min()).any())


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
    in_words = [
        f"{case_title(comparison.scenario, row.case)}, {row.alternative}: {row.minutes:.0f} minutes per litter in all"
        for row in rows(total.reset_index())
    ]
    longest = minutes[minutes["task"] != "All other tasks"].groupby("task")["minutes"].max().nlargest(3).index
    return f"Markers of minutes per litter by task. {'; '.join(in_words)}. The longest: {', '.join(longest).lower()}."


def utilisation(comparison: ComparisonTables) -> Picture:
    """Staff utilisation by hour of the day: a panel for each case, a line for each alternative."""
    in_words = []
    with panel_for_each(comparison.cases, 2.2, sharex=True, sharey=True) as (grid, panels):
        for axis, case in panels:
            for name in comparison.alternatives:
                hours = _staff_hours(comparison, case, name)
                _draw_hours(axis, hours, name, look_of(comparison, name))
                top = int(hours["utilisation_percent"].to_numpy().argmax())
                share = f"{hours['utilisation_percent'].iloc[top]:.0f} %"
                in_words.append(
                    f"{case_title(comparison.scenario, case)}, {name}: highest at {clock(hours.index[top])}, {share}"
                )
            axis.set(title=case_title(comparison.scenario, case), xlim=(0, 24), xticks=range(0, 25, 3))
        for axis in grid.left:
            axis.set_ylabel("worked, % of time on duty")
        for axis in grid.bottom:
            axis.set_xlabel("hour of the day")
        grid.left[0].set_ylim(bottom=0)
        grid.legend_above(_NAMES_PER_LINE)
    caption = (
        "Time worked as a share of the time on duty, breaks and absences left out, over all days; bars: 95 % confidence "
        "interval of each mean. Work begun before a break or the end of a shift is finished in it, so a partly staffed "
        "hour may exceed 100 %. No marker: nobody on duty."
    )
    alt = f"Markers of staff utilisation by hour. {'; '.join(in_words)}."
    return Picture(grid.figure, "When staff are busy", caption, alt)


def _staff_hours(comparison: ComparisonTables, case: str, name: str) -> pd.DataFrame:
    hours = comparison.staff_hours
    of_one = hours[(hours["case"] == case) & (hours["alternative"] == name)]
    return labour.utilisation(of_one, animals=comparison.litters_per_replication).dropna(subset="utilisation_percent")


def _draw_hours(axis: Axes, hours: pd.DataFrame, name: str, look: dict[str, Any]) -> None:
    """A marker in the middle of each hour; the line is interrupted where nobody is on duty."""
    mean = hours["utilisation_percent"]
    whole = mean.reindex(labour.HOURS)
    axis.plot(np.array(labour.HOURS) + 0.5, whole, label=name, markersize=3, **look)
    ends = hours[["utilisation_percent_low", "utilisation_percent_high"]]
    if ends.notna().to_numpy().any():  # there is none of few rooms
        low, high = (mean - ends.iloc[:, 0]).to_numpy(), (ends.iloc[:, 1] - mean).to_numpy()
        axis.errorbar(hours.index + 0.5, mean, yerr=[low, high], linestyle="none", color=look["color"], elinewidth=1)


def work_by_hour(result: Result) -> Picture:
    """Staff minutes by hour of the day and group of tasks, with the minutes on duty."""
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
        axis.stairs(on_duty_min, np.arange(25), color="black", linewidth=1.4, label="on duty")
        axis.set(xlim=(0, 24), xticks=range(0, 25, 3), xlabel="hour of the day", ylabel="staff minutes per day")
        axis.grid(axis="x", visible=False)
        figure.legend(loc="outside upper left", ncols=4)
    caption = (
        "Bars: minutes worked in each hour of the day by all staff together, mean of all counted days. Line: minutes on "
        "duty, breaks and absences left out; work above the line was finished in a break or after the end of a shift."
    )
    top = int(below.argmax())
    alt = (
        f"Stacked bars of staff minutes by hour of the day, highest at {clock(top)}: {below[top]:.0f} minutes per day of "
        f"{on_duty_min[top]:.0f} on duty. Per day by group: "
        f"{'; '.join(f'{group} {value:.0f} min' for group, value in minutes.sum().items())}."
    )
    return Picture(figure, "Where staff time goes, by hour", caption, alt)
