"""Pictures of pairs: what each sow gains or loses."""

from __future__ import annotations

import textwrap

import numpy as np
from matplotlib.axes import Axes

from farrowtide.analysis.each_sow import EachSowTables
from farrowtide.outputs.output import Output
from farrowtide.outputs.rooms import PARITY_CLASSES
from farrowtide.report.pictures.picture import COLOURS, DASHES, Picture, panels
from farrowtide.report.wording.each_sow import findings

_PER_ROW = 3
_POINTS = 200  # of each line, however many sows
_EDGE_PERCENT = 0.5  # of the sows, at each end not drawn, so that one sow does not set the scale


def each_sow(found: EachSowTables) -> Picture:
    """Every sow's difference, sorted: a panel per measure, a line per parity class."""
    columns = min(len(found.measures), _PER_ROW)
    rows = -(-len(found.measures) // columns)
    with panels(rows, columns, 1.9, sharex=True) as (figure, axes):
        for axis, measure in zip(axes.flat, found.measures, strict=False):
            _draw_sorted(axis, found, measure)
        for axis in axes.flat[len(found.measures) :]:
            axis.set_axis_off()
        for axis in axes[-1]:
            axis.set_xlabel("% of the sows, sorted")
        handles, names = axes[0, 0].get_legend_handles_labels()
        figure.legend(handles, names, loc="outside upper left", ncols=len(names))
    caption = (
        f"{found.alternative} minus {found.reference} for the same sow, sorted from the lowest to the highest difference within "
        f"each parity class (P1: first farrowing); {len(found.table):,} sows, half a per cent of them not shown at either end. Where a line is "
        "in the grey band the sow hardly notices (our own choice). The spread describes sows; it is not an interval."
    )
    return Picture(figure, "What each sow gains or loses", caption, _in_words(found))


def _draw_sorted(axis: Axes, found: EachSowTables, measure: Output) -> None:
    axis.axhspan(-measure.negligible, measure.negligible, color="0.88", linewidth=0)
    axis.axhline(0, color="0.3", linewidth=0.8)
    percent = np.linspace(_EDGE_PERCENT, 100 - _EDGE_PERCENT, _POINTS)
    for i, name in enumerate(PARITY_CLASSES):
        sows = found.table[found.table["parity_class"] == name]
        differences = sows[f"{measure.name}_difference"].dropna()
        if len(differences):
            values = np.percentile(differences, percent)
            axis.plot(percent, values, color=COLOURS[i + 1], linestyle=DASHES[i], label=name)
    axis.set(xlim=(0, 100), title=textwrap.fill(measure.label, 30))
    better = {"higher": " (up is better)", "lower": " (down is better)"}.get(measure.good or "", "")
    axis.set_ylabel(f"{measure.difference_unit()}{better}", fontsize=7.5)


def _in_words(found: EachSowTables) -> str:
    return f"Lines of sorted differences by parity class. {' '.join(findings(found))}"
