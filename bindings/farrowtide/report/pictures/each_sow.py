"""What each sow gains or loses."""

from __future__ import annotations

import textwrap

import numpy as np
from matplotlib.axes import Axes

from farrowtide.analysis.each_sow import EachSowTables
from farrowtide.outputs.output import Output
from farrowtide.outputs.rooms import PARITY_CLASSES
from farrowtide.report.pictures.picture import COLOURS, DASHES, Picture, panel_for_each
from farrowtide.report.wording.each_sow import findings

_PER_ROW = 3
_POINTS = 200  # of each line, however many sows
_EDGE_PERCENT = 0.5  # of the sows left out at each end, so that no single sow sets the scale


def each_sow(sows: EachSowTables, units: str = "si") -> Picture:
    """The sorted differences of all sows: a panel for each measure, a line for each parity class."""
    with panel_for_each(sows.measures, 1.9, per_row=_PER_ROW, sharex=True) as (grid, panels):
        for axis, measure in panels:
            _draw_sorted(axis, sows, measure, units)
        for axis in grid.bottom:
            axis.set_xlabel("% of sows, sorted")
        grid.legend_above(len(PARITY_CLASSES))
    caption = (
        f"{sows.alternative} minus {sows.reference} for the same sow, sorted from the lowest to the highest difference "
        f"within each parity class (P1: first parity); {len(sows.table):,} sows, without the lowest and highest "
        f"{_EDGE_PERCENT:g} %. Grey band: too small to matter for a sow (our own choice). The spread describes sows; it "
        "is not a confidence interval."
    )
    alt = f"Lines of sorted differences by parity class. {' '.join(findings(sows, units))}"
    return Picture(grid.figure, "What each sow gains or loses", caption, alt)


def _draw_sorted(axis: Axes, sows: EachSowTables, measure: Output, units: str) -> None:
    negligible = measure.value_in(units, measure.negligible, difference=True)
    axis.axhspan(-negligible, negligible, color="0.88", linewidth=0)
    axis.axhline(0, color="0.3", linewidth=0.8)
    percent = np.linspace(_EDGE_PERCENT, 100 - _EDGE_PERCENT, _POINTS)
    for i, name in enumerate(PARITY_CLASSES):
        of_class = sows.table[sows.table["parity_class"] == name]
        differences = of_class[f"{measure.name}_difference"].dropna()
        if len(differences):
            values = measure.value_in(units, np.percentile(differences, percent), difference=True)
            axis.plot(percent, values, color=COLOURS[i + 1], linestyle=DASHES[i], label=name)
    axis.set(xlim=(0, 100), title=textwrap.fill(measure.label, 30))
    better = {"higher": " (higher is better)", "lower": " (lower is better)"}.get(measure.good or "", "")
    axis.set_ylabel(f"{measure.difference_unit(units)}{better}", fontsize=7.5)
