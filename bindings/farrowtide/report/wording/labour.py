"""The labour tables in sentences: utilisation, busy hours, late and undone tasks."""

from __future__ import annotations

import numpy as np
import pandas as pd

from farrowtide.analysis.labour import busy_warning, by_hour, by_task
from farrowtide.engine.result import Result
from farrowtide.outputs.plausibility.findings import until_the_end
from farrowtide.outputs.units import MISSING, clock
from farrowtide.report.wording.cells import rows
from farrowtide.statistics.inference import MEANS, interval
from farrowtide.statistics.moments import Moments

_WORTH_NAMING_PERCENT = 1.0  # late and undone together; our own choice


def findings(result: Result) -> list[str]:
    """A sentence each about utilisation, busy hours, and every task that is often late or undone."""
    return [_time_in_use(result), busy_hours_in_words(result), *missed_in_words(by_task(result))]


def _time_in_use(result: Result) -> str:
    moments = Moments.of(result.outputs["staff_utilisation_percent"].to_numpy())
    low, high = interval(moments, needs=MEANS.needs(result.scenario.litters_per_replication))
    mean = moments.mean
    present = 100 * result.as_rooms().staffed_min.mean() / result.scenario._core.staffed_minutes
    ends = "" if np.isnan(low) else f" ({low:.1f} to {high:.1f})"
    absent = (
        "" if present > 99.95 else f" They are present for {present:.1f} % of rostered hours and absent for the rest."
    )
    return f"Staff work for {mean:.1f} %{ends} of the time they are on duty.{absent}"


def busy_hours_in_words(result: Result) -> str:
    """Which hours of the day exceed the warning level, and the grounds of that level."""
    warning, hours = busy_warning(result), by_hour(result)
    busy = [int(hour) for hour in hours.loc[hours["busy"], "hour"]]
    above = f"{warning.percent:.0f} % utilisation, above which work begins to wait ({warning.grounds})"
    if not busy:
        top = max(rows(hours), key=lambda row: -1.0 if np.isnan(row.utilisation_percent) else row.utilisation_percent)
        return (
            f"No hour has more than {above}; the busiest, {clock(top.hour)} to {clock(top.hour + 1)}, "
            f"has {top.utilisation_percent:.0f} %."
        )
    return f"Busy hours: {', '.join(_spans(busy))}, with more than {above}."


def missed_in_words(tasks: pd.DataFrame) -> list[str]:
    """The tasks of `by_task` that are often late or undone, the worst first, with the cost of that in the model."""
    missed = tasks.assign(missed=tasks["late_percent"] + tasks["undone_percent"])
    missed = missed[missed["missed"] >= _WORTH_NAMING_PERCENT].sort_values("missed", ascending=False, kind="stable")
    cut_off = missed["task"].isin(until_the_end()) & (missed["undone_percent"] > 0)
    ended = [
        f"{row.task.capitalize()}: not finished in {row.undone_percent:.1f} % of rooms when the run ended, on the day by "
        "which the next group could arrive; the minutes worked until then count."
        for row in rows(missed[cut_off])
    ]
    missed = missed[~cut_off]
    if missed.empty:
        return [f"No task is late or undone in {_WORTH_NAMING_PERCENT:.0f} % of cases or more.", *ended]
    return [
        f"{row.task.capitalize()}: {row.late_percent:.1f} % late, {row.undone_percent:.1f} % undone; "
        + (f"cost in the model: {row.cost_of_lateness}." if row.cost_of_lateness else "no cost in the model.")
        for row in rows(missed)
    ] + ended


def _spans(hours: list[int]) -> list[str]:
    """Consecutive hours as one span: 07:00 to 09:00."""
    starts = [hour for hour in hours if hour - 1 not in hours]
    ends = [hour + 1 for hour in hours if hour + 1 not in hours]
    return [f"{clock(start)} to {clock(end)}" for start, end in zip(starts, ends, strict=True)]


def shown(value: float, low: float, high: float, decimals: int = 1) -> tuple[str, str]:
    """A value and its interval as printed; the interval is empty where there is none. What never happens is "0"."""
    if np.isnan(value):
        return MISSING, ""
    interval_ = "" if np.isnan(low) or low == high else f"{low:.{decimals}f} to {high:.{decimals}f}"
    return f"{value:.{decimals}f}" if value or interval_ else "0", interval_
