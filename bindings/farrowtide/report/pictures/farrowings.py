"""How long farrowings last."""

from __future__ import annotations

from typing import Any

import numpy as np

from farrowtide.analysis.comparison import ComparisonTables
from farrowtide.outputs.rooms import LONG_FARROWING_MIN
from farrowtide.outputs.units import count
from farrowtide.report.pictures.picture import Picture, look_of, panel_for_each
from farrowtide.report.wording.study import case_title

_LIMIT_H = LONG_FARROWING_MIN / 60
_AXIS_H = np.arange(0, 12.01, 0.05)


def farrowings(comparison: ComparisonTables) -> Picture:
    """The share of farrowings that last longer than a number of hours, a panel for each case."""
    in_words = []
    with panel_for_each(comparison.cases, 2.2, sharex=True, sharey=True) as (grid, panels):
        for axis, case in panels:
            for name, alike in _alike(comparison, case).items():
                hours = _durations_h(comparison, case, name)
                longer = f"{100 * (hours > _LIMIT_H).mean():.0f} % over {_LIMIT_H:.0f} h"
                also = f" and {count(alike, 'other')} alike" if alike else ""
                axis.plot(
                    _AXIS_H,
                    100 * (1 - np.searchsorted(hours, _AXIS_H, side="right") / len(hours)),
                    label=f"{name}{also}: {longer}",
                    **look_of(comparison, name) | {"marker": ""},
                )
                in_words.append(
                    f"{case_title(comparison.scenario, case)}, {name}: median {np.median(hours):.1f} h, {longer}"
                )
            axis.axvline(_LIMIT_H, color="0.4", linewidth=0.8)
            axis.set(xlim=(0, 12), ylim=(0, 100), title=case_title(comparison.scenario, case))
            axis.legend(loc="upper left", bbox_to_anchor=(-0.02, -0.3), handlelength=2.6)  # below, off the curves
        for axis in grid.left:
            axis.set_ylabel("farrowings lasting longer, %")
        for axis in grid.bottom:
            axis.set_xlabel("hours from first to last birth")
    caption = (
        "Share of all simulated farrowings that last longer than the hours on the axis; the vertical line marks "
        f"{_LIMIT_H:.0f} h. Curves that coincide are drawn once."
    )
    alt = f"Falling curves of farrowing duration. {'; '.join(in_words)}."
    return Picture(grid.figure, "Farrowing duration", caption, alt)


def differ(comparison: ComparisonTables) -> bool:
    """Whether any alternative changes how long a farrowing lasts."""
    return any(len(_alike(comparison, case)) > 1 for case in comparison.cases)


def _alike(comparison: ComparisonTables, case: str) -> dict[str, int]:
    """The alternatives whose curves differ, each with the number of those later in the file that have the same."""
    found: dict[bytes, str] = {}
    alike: dict[str, int] = {}
    for name in comparison.alternatives:
        first = found.setdefault(_durations_h(comparison, case, name).tobytes(), name)
        alike[first] = alike.get(first, -1) + 1
    return alike


def _durations_h(comparison: ComparisonTables, case: str, name: str) -> np.ndarray[Any, np.dtype[np.float64]]:
    sows = comparison.farrowings
    of_alternative = sows[(sows["case"] == case) & (sows["alternative"] == name)]
    return np.sort(of_alternative["farrowing_duration_min"].dropna().to_numpy()) / 60
