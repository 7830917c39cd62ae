"""The headline differences of a comparison, with their intervals."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from farrowtide.analysis.comparison import ComparisonTables, headlines, others
from farrowtide.analysis.verdicts import is_clear
from farrowtide.cautions import FOR_COMPARISON_ONLY, marked
from farrowtide.outputs.output import Output
from farrowtide.report.pictures.picture import Picture, panel_for_each
from farrowtide.report.wording.cells import of_output, rows
from farrowtide.report.wording.study import case_title

_FOREST_PER_ROW = 4
_DRAWN = ["difference", "ci_low", "ci_high"]


def headline_differences(comparison: ComparisonTables, case: str, units: str = "si") -> Picture:
    """The headline differences of a case: a panel for each output in its own unit, a marker for each alternative.

    Each case has its own scales: one with a large effect would squeeze the marks of all others.
    """
    outputs, names = headlines(comparison), others(comparison)
    height = 0.62 + 0.19 * len(names)
    with panel_for_each(outputs, height, per_row=_FOREST_PER_ROW, sharey=True) as (grid, panels):
        for axis, output in panels:
            of_all_cases = of_output(comparison.differences, output)
            of_case = of_all_cases[of_all_cases["case"] == case]
            draw_differences(axis, output, of_case.set_index("alternative").loc[names], units)
            scale_differences(axis, output, of_case, units)
        withheld_care = comparison.provenance["withheld_care"]
        grid.left[0].set_yticks(range(len(names)), [marked(name, withheld_care) for name in names])
        grid.left[0].set_ylim(len(names) - 0.5, -0.5)
    caption = (
        f"Each alternative minus {comparison.reference}, paired on the same animals, with the 95 % confidence interval "
        "(often narrower than the marker). Filled marker: clear and large enough to matter; hollow marker: not; cross: no "
        "interval, because too few rooms differ. Grey "
        "band: too small to matter (our own choice). Arrows point to better values; points are percentage points."
    )
    if len(comparison.cases) > 1:
        caption += " Each case has its own scales."
    if withheld_care:
        caption += f" *: {FOR_COMPARISON_ONLY}."
    title = f"Differences from {comparison.reference}"
    if len(comparison.cases) > 1:
        title += f", {case_title(comparison.scenario, case)}"
    shown = comparison.differences[comparison.differences["case"] == case]
    return Picture(grid.figure, title, caption, _in_words(outputs, shown, units))


def draw_differences(axis: Axes, output: Output, differences: pd.DataFrame, units: str = "si") -> None:
    """A marker with its confidence interval for each row, from the top."""
    negligible = output.value_in(units, output.negligible, difference=True)
    axis.axvspan(-negligible, negligible, color="0.88", linewidth=0)
    axis.axvline(0, color="0.3", linewidth=0.8)
    for i, row in enumerate(rows(shown_in(differences, output, units))):
        matters = is_clear(row.verdict)
        known = matters or not np.isnan(row.ci_low)
        worse = "worse" in row.verdict
        colour = ("#D55E00" if worse else "#0072B2") if matters else "0.35"
        axis.plot([row.ci_low, row.ci_high], [i, i], color=colour, linewidth=1.4, solid_capstyle="butt")
        axis.plot(
            row.difference,
            i,
            "D" if worse else "o" if known else "x",
            color=colour,
            markerfacecolor=colour if matters else "white",
            markersize=4,
        )
    axis.grid(axis="y", visible=False)
    axis.tick_params(axis="y", length=0)


def shown_in(differences: pd.DataFrame, output: Output, units: str) -> pd.DataFrame:
    """The differences and the ends of their intervals in the unit that is drawn."""
    return differences.assign(
        **{name: output.value_in(units, differences[name].to_numpy(), difference=True) for name in _DRAWN}
    )


def scale_differences(axis: Axes, output: Output, differences: pd.DataFrame, units: str) -> None:
    """Limits that always show zero and the band of negligible differences."""
    ends = shown_in(differences, output, units)[_DRAWN].to_numpy()
    negligible = output.value_in(units, output.negligible, difference=True)
    low = min(np.nanmin(ends), -1.6 * negligible)
    high = max(np.nanmax(ends), 1.6 * negligible)
    margin = 0.06 * (high - low)
    axis.set_xlim(low - margin, high + margin)
    axis.xaxis.set_major_locator(MaxNLocator(4, steps=[1, 2, 5, 10]))
    axis.set_title(textwrap.fill(output.label, 22), fontsize=7.5)
    unit = output.difference_unit(units).removeprefix("percentage ")  # there are four panels in a row
    better = {"higher": f"{unit}, better \N{RIGHTWARDS ARROW}", "lower": f"\N{LEFTWARDS ARROW} better, {unit}"}
    axis.set_xlabel(better.get(output.good or "", unit), fontsize=7.5)


def _in_words(outputs: Sequence[Output], differences: pd.DataFrame, units: str) -> str:
    words = []
    for output in outputs:
        each = [
            f"{row.alternative} {output.shown(row.difference, units=units, signed=True)} ({row.verdict})"
            for row in rows(of_output(differences, output))
        ]
        words.append(f"{output.label} [{output.shown_unit(units)}]: {', '.join(each)}")
    return f"Markers of differences with confidence intervals. {'; '.join(words)}."
