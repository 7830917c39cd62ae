"""How long farrowings last."""

from __future__ import annotations

import numpy as np

from farrowtide.analysis.comparison import ComparisonTables
from farrowtide.outputs.rooms import LONG_FARROWING_MIN
from farrowtide.report.pictures.picture import PER_ROW, Picture, look_of, panels
from farrowtide.report.wording.study import case_title


def farrowings(comparison: ComparisonTables) -> Picture:
    """Share of farrowings that last longer than so many hours, one panel per case."""
    columns = min(len(comparison.cases), PER_ROW)
    rows = -(-len(comparison.cases) // columns)
    limit = LONG_FARROWING_MIN / 60
    told = []
    with panels(rows, columns, 2.2, sharex=True, sharey=True) as (figure, axes):
        for axis, case in zip(axes.flat, comparison.cases, strict=False):
            for name in comparison.alternatives:
                hours = _durations_h(comparison, case, name)
                longer = 100 * (hours > limit).mean()
                axis.step(
                    hours,
                    100 * (1 - np.arange(1, len(hours) + 1) / len(hours)),
                    where="post",
                    label=f"{name}: {longer:.0f} % over 5 h",
                    **look_of(comparison, name) | {"marker": ""},
                )
                told.append(f"{case_title(case)}, {name}: median {np.median(hours):.1f} h, {longer:.0f} % over 5 h")
            axis.axvline(limit, color="0.4", linewidth=0.8)
            axis.set(xlim=(0, 12), ylim=(0, 100), title=case_title(case))
            axis.legend(loc="upper right", handlelength=2.6)
        for axis in axes.flat[len(comparison.cases) :]:
            axis.set_axis_off()
        for axis in axes[:, 0]:
            axis.set_ylabel("farrowings lasting longer, %")
        for axis in axes[-1]:
            axis.set_xlabel("hours from first to last birth")
    caption = (
        "Share of all simulated farrowings that last longer than so many hours; the upright line marks five hours. Curves "
        "that cover each other do not differ."
    )
    return Picture(
        figure, "How long farrowings last", caption, f"Falling curves of farrowing duration. {'; '.join(told)}."
    )


def _durations_h(comparison: ComparisonTables, case: str, name: str) -> np.ndarray:
    sows = comparison.farrowings
    chosen = sows[(sows["case"] == case) & (sows["alternative"] == name)]
    return np.sort(chosen["farrowing_duration_min"].dropna().to_numpy()) / 60
