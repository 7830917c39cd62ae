"""What a calibration leaves of each parameter, and how the model agrees with each statistic of the records."""

from __future__ import annotations

import textwrap
from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from farrowtide.report.pictures.picture import COLOURS, Picture, panels
from farrowtide.report.wording.cells import rows

_ROW_IN = 0.22  # height
_HEAD_IN = 0.7
_BEFORE, _AFTER, _KEPT = COLOURS[2], COLOURS[1], COLOURS[3]
_FARTHEST = 6.0  # standard errors that are drawn
_LABEL_WIDTH = 58


def parameters(table: pd.DataFrame) -> Picture:
    """A row for each parameter: its range, the 95 % interval that is left of it, and its value in the scenario."""
    drawn = list(rows(table))
    with panels(1, 1, _HEAD_IN + _ROW_IN * len(drawn)) as (figure, axes):
        axis = axes[0, 0]
        for y, row in enumerate(drawn):
            place = _in_range(row.range_low, row.range_high)
            axis.plot([0, 1], [y, y], color="0.82", linewidth=7, solid_capstyle="butt", label="" if y else "before")
            axis.plot(
                place([row.ci_low, row.ci_high]),
                [y, y],
                color=_AFTER,
                linewidth=2.2,
                label="" if y else "from the records",
            )
            axis.plot(place([row.estimate]), [y], "o", color=_AFTER, markersize=4.5)
            axis.plot(
                place([row.before]), [y], "D", color="0.2", markersize=3.8, markerfacecolor="white", linestyle="none",
                label="" if y else "in the scenario",
            )  # fmt: skip
            axis.annotate(
                f"{row.range_low:g}", (0, y), (-3, 0), textcoords="offset points", ha="right", va="center", fontsize=6.5
            )
            axis.annotate(
                f"{row.range_high:g}", (1, y), (3, 0), textcoords="offset points", ha="left", va="center", fontsize=6.5
            )
        _rows_of(axis, [f"{row.parameter} [{row.unit}]" for row in drawn])
        axis.set_xlim(-0.12, 1.12)
        axis.set_xticks([])
        axis.grid(visible=False)
        figure.legend(loc="outside upper left", ncols=3)
    caption = (
        "Grey: what was thought of each parameter before, its range (95 of 100 farms). Blue: estimate and 95 % interval given the "
        "records. Diamond: the value in the scenario. An interval as long as the range means that the records say nothing."
    )
    words = [
        f"{row.parameter}: before {row.range_low:g} to {row.range_high:g}, now {row.estimate:.3g} ({row.ci_low:.3g} to {row.ci_high:.3g})"
        for row in drawn
    ]
    return Picture(figure, "What the records leave of each parameter", caption, ". ".join(words) + ".")


def statistics(table: pd.DataFrame) -> Picture:
    """A row for each statistic: how far the model is from the records before and after, and from groups kept aside."""
    drawn = list(rows(table))
    with panels(1, 2, _HEAD_IN + _ROW_IN * len(drawn), sharey=True, width_ratios=[5, 3]) as (figure, axes):
        fit, kept = axes[0]
        fit.axvspan(-2, 2, color="0.92", linewidth=0)
        kept.axvspan(-1, 1, color="0.92", linewidth=0)
        for axis in (fit, kept):
            axis.axvline(0, color="0.3", linewidth=0.8)
        for y, row in enumerate(drawn):
            before = (row.before - row.recorded) / row.standard_error
            after = (row.after - row.recorded) / row.standard_error
            for value, colour, marker, label in (
                (before, _BEFORE, "o", "scenario as written"),
                (after, _AFTER, "D", "calibrated"),
            ):
                fit.plot(
                    np.clip(value, -_FARTHEST, _FARTHEST), y, _beyond(value, marker), color=colour, markersize=4.2,
                    markerfacecolor=colour if row.fitted and marker == "D" else "white", linestyle="none",
                    label="" if y else label,
                )  # fmt: skip
            if not np.isnan(row.kept):
                middle, half = (row.kept_low + row.kept_high) / 2, max((row.kept_high - row.kept_low) / 2, 1e-12)
                place = (row.kept - middle) / half
                kept.plot(
                    np.clip(place, -2.4, 2.4), y, _beyond(place, "s", 2.4), color=_KEPT, markersize=4.2, linestyle="none",
                    markerfacecolor=_KEPT if row.kept_inside else "white",
                )  # fmt: skip
        _rows_of(fit, [f"{row.label} [{row.unit}]" for row in drawn])
        fit.set_xlim(-_FARTHEST - 0.6, _FARTHEST + 0.6)
        kept.set_xlim(-2.7, 2.7)
        fit.set_xlabel("simulated less recorded [standard errors]")
        kept.set_xlabel("kept aside, in the interval")
        kept.set_xticks([-1, 1], ["low end", "high end"])
        figure.legend(*fit.get_legend_handles_labels(), loc="outside upper left", ncols=2)
    caption = (
        "Left: each statistic of the groups used, simulated with the scenario as written (circles) and calibrated (diamonds; "
        "hollow: not fitted, only looked at). Grey band: two standard errors of the records. Right: recorded in the groups "
        "kept aside, between the ends of the 95 % interval that the calibrated model has for them; hollow: outside. "
        "Triangles: farther out."
    )
    words = [
        f"{row.label}: recorded {row.recorded:.3g}, before {row.before:.3g}, calibrated {row.after:.3g} {row.unit}"
        for row in drawn
    ]
    return Picture(figure, "How the model agrees with the records", caption, ". ".join(words) + ".")


def _in_range(low: float, high: float) -> Callable[[list[float]], Any]:
    return lambda values: (np.asarray(values) - low) / (high - low)


def _beyond(value: float, marker: str, farthest: float = _FARTHEST) -> str:
    return marker if abs(value) <= farthest else (">" if value > 0 else "<")


def _rows_of(axis: Axes, labels: list[str]) -> None:
    axis.set_yticks(range(len(labels)), [textwrap.fill(label, _LABEL_WIDTH) for label in labels])
    axis.set_ylim(len(labels) - 0.4, -0.6)
    axis.tick_params(axis="y", length=0)
    axis.grid(axis="y", visible=False)
