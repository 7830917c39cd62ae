"""What each practice of a programme is worth, alone and inside it."""

from __future__ import annotations

import textwrap
from typing import Any

import numpy as np
from matplotlib.axes import Axes

from farrowtide.analysis.parts import ALL, ALONE, WITHIN, PartsTables
from farrowtide.analysis.verdicts import is_clear
from farrowtide.cautions import FOR_COMPARISON_ONLY
from farrowtide.outputs.output import Output
from farrowtide.report.pictures.differences import scale_differences
from farrowtide.report.pictures.picture import COLOURS, Picture, panel_for_each
from farrowtide.report.wording.parts import ranking
from farrowtide.report.wording.study import case_title

_PER_ROW = 3
_LOOKS = {ALONE: (COLOURS[1], "o", -0.17), WITHIN: (COLOURS[2], "D", 0.17)}  # colour, marker, offset of the row


def parts_of_programme(parts: PartsTables, case: str, units: str = "si") -> Picture:
    """A panel for each output shown, a row for each practice from the best, and all of them together below."""
    names = [*parts.ranked(case), ALL]
    with panel_for_each(parts.shown, 0.62 + 0.24 * len(names), per_row=_PER_ROW, sharey=True) as (grid, panels):
        for axis, output in panels:
            _draw(axis, parts, case, output, names, units)
            scale_differences(axis, output, parts.worth[parts.worth["output"] == output.name], units)
        labels = [textwrap.fill(_with_grade(parts, name), 30) for name in names]
        grid.left[0].set_yticks(range(len(names)), labels)
        grid.left[0].set_ylim(len(names) - 0.4, -0.6)
        grid.legend_above(2)
    caption = (
        f"{ranking(parts)} Circles: the practice added alone to the scenario as written; diamonds: what the full programme "
        "gains by it; both on the same animals, with the 95 % confidence interval (often narrower than the marker). Filled: "
        "clear and large enough to matter; hollow: not. Grey band: too small to matter (our own choice). Arrows point to "
        "better values; points are percentage points. In brackets: evidence, from A (published) to C (assumption)."
    )
    if parts.provenance["withheld_care"]:
        caption += f" Some arms withhold care and are {FOR_COMPARISON_ONLY}."
    title = "What each practice is worth"
    if len(parts.cases) > 1:
        title += f", {case_title(parts.scenario, case)}"
    return Picture(grid.figure, title, caption, _in_words(parts, case, names, units))


def _with_grade(parts: PartsTables, name: str) -> str:
    return f"{name}\N{NO-BREAK SPACE}[{parts.grades[name]}]" if parts.grades.get(name) else name


def _places(name: str) -> tuple[str, ...]:
    return (ALONE,) if name == ALL else (ALONE, WITHIN)


def _draw(axis: Axes, parts: PartsTables, case: str, output: Output, names: list[str], units: str) -> None:
    def drawn(value: float) -> float:
        return output.value_in(units, value, difference=True)

    negligible = drawn(output.negligible)
    axis.axvspan(-negligible, negligible, color="0.88", linewidth=0)
    axis.axvline(0, color="0.3", linewidth=0.8)
    axis.axhline(len(names) - 1.5, color="0.6", linewidth=0.6)
    for i, name in enumerate(names):
        for place in _places(name):
            row: Any = parts.row(case, name, place, output)
            colour, marker, offset = _LOOKS[place]
            y = i if name == ALL else i + offset
            label = place if i == 0 else None
            known = not np.isnan(row.ci_low)
            filled = is_clear(row.verdict)
            axis.plot(
                [drawn(row.ci_low), drawn(row.ci_high)] if known else [],
                [y, y] if known else [],
                color=colour,
                linewidth=1.2,
            )
            axis.plot(
                drawn(row.difference), y, marker, color=colour, markersize=3.8,
                markerfacecolor=colour if filled else "white", label=label, linestyle="none",
            )  # fmt: skip
    axis.grid(axis="y", visible=False)
    axis.tick_params(axis="y", length=0)


def _in_words(parts: PartsTables, case: str, names: list[str], units: str) -> str:
    words = []
    for output in parts.shown:
        each = []
        for name in names:
            values = [
                f"{output.shown(row.difference, units=units, signed=True)} {place} ({row.verdict})"
                for place in _places(name)
                for row in [parts.row(case, name, place, output)]
            ]
            each.append(f"{name} {', '.join(values)}")
        words.append(f"{output.label} [{output.difference_unit(units)}]: {'; '.join(each)}")
    return f"Markers with confidence intervals. {'. '.join(words)}."
