"""The labour report of a result: time by task, busy hours, late and undone tasks, and the longest waits."""

from farrowtide.analysis.labour import (
    HOURS,
    TASK_GROUPS,
    BusyWarning,
    busy_percent,
    busy_warning,
    by_hour,
    by_parity,
    by_task,
    longest_waits,
    minutes_by_group,
    shares,
    tables,
    utilisation,
)
from farrowtide.outputs.summaries import hours_in_use, task_counts
from farrowtide.report.wording.labour import busy_hours_in_words, findings, missed_in_words, shown
from farrowtide.results.labour import write

__all__ = [
    "HOURS",
    "TASK_GROUPS",
    "BusyWarning",
    "busy_hours_in_words",
    "busy_percent",
    "busy_warning",
    "by_hour",
    "by_parity",
    "by_task",
    "findings",
    "hours_in_use",
    "longest_waits",
    "minutes_by_group",
    "missed_in_words",
    "shares",
    "shown",
    "tables",
    "task_counts",
    "utilisation",
    "write",
]
