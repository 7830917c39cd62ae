"""The outputs of a sweep by its varied keys: the first across, the second in colour, the third in columns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from farrowtide.analysis.by_key import MOST_KEYS, Axis, Series, axes_of, series_of
from farrowtide.analysis.sweep import SweepTables
from farrowtide.errors import UserError
from farrowtide.outputs.output import Output, in_sentence
from farrowtide.outputs.units import count, recorded, settings_in
from farrowtide.report.pictures.picture import COLOURS, DASHES, DRAWN_WITH, Picture, panels
from farrowtide.report.wording.study import case_title, unit_of_replication

MOST_OUTPUTS = 6  # panels below each other
_MOST_COLUMNS = 4  # panels side by side
_LIMIT_NAMES = ("max_", "most")  # of which a larger one permits more
_MARKERS = "osD^v"
_PANEL_HEIGHT = 1.7  # in
_BARS_HEIGHT = 0.3  # of that of a panel


def can_be_drawn(sweep: SweepTables) -> bool:
    """Whether it has two or three varied keys with few enough values, at least two of the first."""
    axes = axes_of(sweep)
    if not 2 <= len(axes) <= MOST_KEYS or len(axes[0].values) < 2 or len(axes[1].values) > len(COLOURS):
        return False
    return len(axes) < MOST_KEYS or len(axes[2].values) <= _MOST_COLUMNS


def by_key(sweep: SweepTables, case: str, outputs: Sequence[Output], units: str = "si") -> Picture:
    """The means of outputs with their intervals, a row of panels for each. Raises UserError where it cannot be drawn."""
    if not can_be_drawn(sweep):
        raise UserError(
            f"a picture by key needs 2 or {MOST_KEYS} varied keys: two values or more of the first, at most {len(COLOURS)} of "
            f"the second and {_MOST_COLUMNS} of the third"
        )
    drawn = list(outputs)[:MOST_OUTPUTS]
    names = [output.name for output in drawn]
    axes = axes_of(sweep)
    series = series_of(sweep, case, names)
    of_case = sweep.means[sweep.means["case"] == case]
    means = {output.name: of_case[of_case["output"] == output.name].set_index("alternative") for output in drawn}
    columns = axes[2].values if len(axes) == MOST_KEYS else [None]
    marked = any(_is_marked(one, axes[0]) for one in series)
    heights = [1.0] * len(drawn) + [_BARS_HEIGHT] * marked
    mean_height = _PANEL_HEIGHT * sum(heights) / len(heights)
    with panels(len(heights), len(columns), mean_height, sharex=True, sharey="row", height_ratios=heights) as (
        figure,
        grid,
    ):
        for place, column in enumerate(grid.T):
            here = [one for one in series if len(axes) < MOST_KEYS or one.others[1] == place]
            for axis, output in zip(column, drawn, strict=False):
                for one in here:
                    _draw(axis, one, means[output.name], output, axes[1], units)
            if marked:
                _draw_bars(column[-1], here, axes, named=place == 0)
            if len(axes) == MOST_KEYS:
                column[0].set_title(f"{axes[2].name} {_shown(columns[place], units)}")
            column[-1].set_xticks(range(len(axes[0].values)), [_shown(value, units) for value in axes[0].values])
            column[-1].set_xlabel(axes[0].name)
        for axis, output in zip(grid[:, 0], drawn, strict=False):
            axis.set_ylabel(f"{in_sentence(output.label)},\n{output.shown_unit(units)}")
        handles, labels = grid[0, 0].get_legend_handles_labels()
        figure.legend(handles, labels, loc="outside upper left", ncols=len(labels))
    caption = (
        f"Means over {count(sweep.replications, unit_of_replication(sweep.scenario))} each; bands, where there are enough, "
        "are their 95 % confidence intervals; values across are evenly spaced. All combinations have the same animals, so that differences are more precise "
        "than the bands suggest."
    )
    if marked:
        caption += (
            f" {_nothing_more(axes[0]).capitalize()}: over the length of a bar, {axes[0].name} changes no room any more in what is "
            "shown."
        )
    provenance = {"picture": "by_key", "case": case, "drawn": names, "drawn_with": DRAWN_WITH} | recorded(units)
    title = f"By {axes[0].name}, {' and '.join(axis.name for axis in axes[1:])}, {case_title(sweep.scenario, case)}"
    alt = _in_words(series, means, drawn, axes, units)
    return Picture(figure, title, caption, alt, sweep.provenance | provenance)


def _draw(axis: Axes, one: Series, means: pd.DataFrame, output: Output, colours: Axis, units: str) -> None:
    part = means.loc[one.alternatives]
    middle, low, high = (output.value_in(units, part[name].to_numpy()) for name in ("mean", "ci_low", "ci_high"))
    look: dict[str, Any] = {"color": COLOURS[one.others[0]], "linestyle": DASHES[one.others[0]]}
    places = np.arange(len(part))
    axis.fill_between(places, low, high, color=look["color"], alpha=0.13, linewidth=0)
    label = f"{colours.name} {_shown(colours.values[one.others[0]], units)}"
    axis.plot(places, middle, **look, marker=_MARKERS[one.others[0]], markersize=3, label=label)


def _is_marked(one: Series, first: Axis) -> bool:
    return one.same_from < len(first.values) - 1


def _draw_bars(axis: Axes, series: Sequence[Series], axes: Sequence[Axis], *, named: bool) -> None:
    """A bar over the values of the first key from which on nothing changes any more, for each line."""
    first, colours = axes[:2]
    for one in series:
        if _is_marked(one, first):
            ends, height = [one.same_from, len(first.values) - 1], one.others[0]
            axis.plot(ends, [height, height], color=COLOURS[height], linewidth=3, solid_capstyle="butt")
    axis.set_ylim(len(colours.values) - 0.4, -0.6)
    axis.set_yticks([])
    axis.grid(visible=False)
    if named:
        axis.set_ylabel(
            _nothing_more(first).replace(" never", "\nnever").replace(" further", "\nfurther"),
            rotation=0,
            ha="right",
            va="center",
        )


def _nothing_more(first: Axis) -> str:
    is_limit = first.key.rpartition(".")[2].startswith(_LIMIT_NAMES) and list(first.values) == sorted(first.values)
    return "limit never reached" if is_limit else "no further change"


def _shown(value: Any, units: str) -> str:
    if isinstance(value, (list, tuple)):
        return ", ".join(_shown(each, units) for each in value)
    return settings_in(units, f"{value:g}" if isinstance(value, float) else str(value))


def _in_words(
    series: Sequence[Series],
    means: Mapping[str, pd.DataFrame],
    outputs: Sequence[Output],
    axes: Sequence[Axis],
    units: str,
) -> str:
    first = axes[0]
    sentences = [f"From {first.name} {_shown(first.values[0], units)} to {_shown(first.values[-1], units)}."]
    for one in series:
        at = zip(axes[1:], one.others, strict=True)
        where = ", ".join(f"{axis.name} {_shown(axis.values[place], units)}" for axis, place in at)
        changes = "; ".join(_change(output, means[output.name], one, units) for output in outputs)
        limit = (
            f"; {_nothing_more(first)} from {_shown(first.values[one.same_from], units)} on"
            if _is_marked(one, first)
            else ""
        )
        sentences.append(f"{where}: {changes}{limit}.")
    return " ".join(sentences)


def _change(output: Output, means: pd.DataFrame, one: Series, units: str) -> str:
    start, end = means["mean"].loc[[one.alternatives[0], one.alternatives[-1]]].to_numpy()
    return (
        f"{in_sentence(output.label)} {output.shown(start, units=units)} to {output.shown(end, units=units)} "
        f"{output.shown_unit(units)}"
    )
