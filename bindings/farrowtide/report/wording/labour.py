"""What the labour tables say: who was there, which hours are busy, and which tasks suffer."""

from __future__ import annotations

import numpy as np
import pandas as pd

from farrowtide.analysis.labour import busy_warning, by_hour, by_task
from farrowtide.engine.result import Result
from farrowtide.outputs.units import MISSING, clock
from farrowtide.statistics.intervals import interval

_WORTH_NAMING_PERCENT = 1.0  # late and undone together: below it a task is not named in words; our own choice


def findings(result: Result) -> list[str]:
    """Who was there, which hours are busy, and which tasks suffer, a sentence each."""
    return [_time_in_use(result), busy_hours_in_words(result), *missed_in_words(by_task(result))]


def _time_in_use(result: Result) -> str:
    mean, _, low, high, _ = (
        float(value[0]) for value in interval(result.outputs[["staff_utilisation_percent"]].to_numpy())
    )
    there = 100 * result.as_rooms().staffed_min.mean() / result.scenario._core.staffed_minutes
    known = "" if np.isnan(low) else f" ({low:.1f} to {high:.1f})"
    absent = (
        ""
        if there > 99.95
        else f" They are there for {there:.1f} % of the hours on the roster; for the rest somebody is missing."
    )
    return f"People work for {mean:.1f} %{known} of the time they are on duty.{absent}"


def busy_hours_in_words(result: Result) -> str:
    """Which hours of the day are above the warning, and what the warning rests on."""
    warning, hours = busy_warning(result), by_hour(result)
    busy = [int(hour) for hour in hours.loc[hours["busy"], "hour"]]
    above = f"{warning.percent:.0f} % of the time on duty in use, above which work begins to wait ({warning.grounds})"
    if not busy:
        top = hours.loc[hours["utilisation_percent"].idxmax()]
        return (
            f"No hour has more than {above}; the fullest, {clock(top['hour'])} to {clock(top['hour'] + 1)}, "
            f"has {top['utilisation_percent']:.0f} %."
        )
    return f"Busy hours: {', '.join(_spans(busy))}, with more than {above}."


def missed_in_words(tasks: pd.DataFrame) -> list[str]:
    """The tasks of `by_task` that are often late or undone, the worst first, and what that costs."""
    missed = tasks.assign(missed=tasks["late_percent"] + tasks["undone_percent"])
    missed = missed[missed["missed"] >= _WORTH_NAMING_PERCENT].sort_values("missed", ascending=False, kind="stable")
    if missed.empty:
        return [f"No task is late or left undone in {_WORTH_NAMING_PERCENT:.0f} % of its times or more."]
    return [
        f"{row.task.capitalize()}: {row.late_percent:.1f} % late, {row.undone_percent:.1f} % left undone"
        + (f"; in the model this costs: {row.cost_of_lateness}." if row.cost_of_lateness else "; only reported.")
        for row in missed.itertuples()
    ]


def _spans(hours: list[int]) -> list[str]:
    """Hours that follow each other as one span: 07:00 to 09:00."""
    starts = [hour for hour in hours if hour - 1 not in hours]
    ends = [hour + 1 for hour in hours if hour + 1 not in hours]
    return [f"{clock(start)} to {clock(end)}" for start, end in zip(starts, ends, strict=True)]


def shown(value: float, low: float, high: float, decimals: int = 1) -> tuple[str, str]:
    """A value and its interval as printed; the interval is empty where there is one room, or all are equal."""
    if np.isnan(value):
        return MISSING, ""
    known = "" if np.isnan(low) or low == high else f"{low:.{decimals}f} to {high:.{decimals}f}"
    return f"{value:.{decimals}f}", known
