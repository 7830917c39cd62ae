"""The headline differences of a comparison, with their intervals."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from farrowtide.analysis.comparison import ComparisonTables, headlines, others
from farrowtide.outputs.output import Output
from farrowtide.report.pictures.picture import Picture, panels
from farrowtide.report.wording.study import case_title

_FOREST_PER_ROW = 4


def headline_differences(comparison: ComparisonTables, case: str) -> Picture:
    """The headline differences of a case: a panel per output in its own unit, a mark with its interval per alternative.

    Every case has the same scales, so that the pictures of two cases can be laid side by side.
    """
    outputs, names = headlines(comparison), others(comparison)
    columns = min(len(outputs), _FOREST_PER_ROW)
    rows = -(-len(outputs) // columns)
    found = comparison.differences
    with panels(rows, columns, 0.62 + 0.19 * len(names), sharey=True) as (figure, axes):
        for axis, output in zip(axes.flat, outputs, strict=False):
            part = found[found["output"] == output.name]
            draw_differences(axis, output, part[part["case"] == case].set_index("alternative").loc[names])
            _scale_differences(axis, output, part)
        for axis in axes.flat[len(outputs) :]:
            axis.set_axis_off()
        axes[0, 0].set_yticks(range(len(names)), names)
        axes[0, 0].set_ylim(len(names) - 0.5, -0.5)
    caption = (
        f"Each alternative minus {comparison.reference}, paired on the same animals, with its 95 % interval (often narrower "
        "than the mark). Filled: clear and large enough to matter; hollow: not. Grey: too small to matter (our own "
        "choice). The arrow points to what is better; points are percentage points."
    )
    told = found[(found["case"] == case) & found["output"].isin([output.name for output in outputs])]
    title = f"Differences from {comparison.reference}"
    if len(comparison.cases) > 1:
        title += f", {case_title(case)}"
    return Picture(figure, title, caption, _differences_in_words(outputs, told))


def draw_differences(axis: Axes, output: Output, rows: pd.DataFrame) -> None:
    """A mark with its interval for each row, from the top."""
    axis.axvspan(-output.negligible, output.negligible, color="0.88", linewidth=0)
    axis.axvline(0, color="0.3", linewidth=0.8)
    for i, row in enumerate(rows.itertuples()):
        matters = row.verdict.startswith(("higher", "lower"))
        worse = "worse" in row.verdict
        colour = ("#D55E00" if worse else "#0072B2") if matters else "0.35"
        axis.plot([row.ci_low, row.ci_high], [i, i], color=colour, linewidth=1.4, solid_capstyle="butt")
        axis.plot(
            row.difference,
            i,
            "D" if worse else "o",
            color=colour,
            markerfacecolor=colour if matters else "white",
            markersize=4,
        )
    axis.grid(axis="y", visible=False)
    axis.tick_params(axis="y", length=0)


def _scale_differences(axis: Axes, output: Output, part: pd.DataFrame) -> None:
    """Zero and the negligible always in sight; the same for every case."""
    ends = part[["difference", "ci_low", "ci_high"]].to_numpy()
    low = min(np.nanmin(ends), -1.6 * output.negligible)
    high = max(np.nanmax(ends), 1.6 * output.negligible)
    margin = 0.06 * (high - low)
    axis.set_xlim(low - margin, high + margin)
    axis.xaxis.set_major_locator(MaxNLocator(4, steps=[1, 2, 5, 10]))
    axis.set_title(textwrap.fill(output.label, 24), fontsize=7.5)
    unit = output.difference_unit().removeprefix("percentage ")  # four panels share a row
    better = {"higher": f"{unit}, better \N{RIGHTWARDS ARROW}", "lower": f"\N{LEFTWARDS ARROW} better, {unit}"}
    axis.set_xlabel(better.get(output.good or "", unit), fontsize=7.5)


def _differences_in_words(outputs: Sequence[Output], told: pd.DataFrame) -> str:
    words = []
    for output in outputs:
        rows = told[told["output"] == output.name]
        each = [
            f"{row.alternative} {output.shown(row.difference, signed=True)} ({row.verdict})"
            for row in rows.itertuples()
        ]
        words.append(f"{output.label} [{output.unit}]: {', '.join(each)}")
    return f"Marks of differences with intervals. {'; '.join(words)}."
