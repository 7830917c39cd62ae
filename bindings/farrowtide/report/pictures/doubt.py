"""The difference at both ends of the range of each of the strongest parameters: a tornado."""

from __future__ import annotations

import textwrap
from typing import Any

from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from farrowtide.analysis.doubt import DoubtTables
from farrowtide.report.pictures.picture import COLOURS, Picture, panels
from farrowtide.report.wording.cells import rows
from farrowtide.report.wording.doubt import amount, subject_row, values
from farrowtide.report.wording.study import case_title

_LOW, _HIGH = COLOURS[1], COLOURS[2]
_BAR = 0.56  # height, in rows


def tornado(doubt: DoubtTables, units: str = "si") -> Picture:
    """A bar for each parameter, the widest first, and below them the interval with both doubts and that of chance alone."""
    subject, comparison = doubt.subject, doubt.comparison
    reach = (doubt.flips["at_high"] - doubt.flips["at_low"]).abs()
    ordered = doubt.flips.loc[reach.sort_values(ascending=False, kind="stable").index]
    with panels(1, 1, 0.9 + 0.36 * (len(ordered) + 2)) as (figure, axes):
        axis: Axes = axes[0, 0]
        _draw(axis, doubt, ordered, units)
    output = subject.output
    unit = output.difference_unit(units)
    better = {"higher": f"{unit}, better \N{RIGHTWARDS ARROW}", "lower": f"\N{LEFTWARDS ARROW} better, {unit}"}
    axis.set_xlabel(
        f"{output.label}: {subject.alternative} minus {comparison.reference} [{better.get(output.good or '', unit)}]"
    )
    caption = (
        f"{output.label}, {subject.alternative} minus {comparison.reference}, where one number at a time is moved to the low "
        "(blue, hatched) and the high (orange, plain) end of its range, the others being as given; same animals throughout. Vertical line: "
        f"with the numbers as given. Star: where another alternative than {subject.best} becomes the best. Below: the 95 % intervals with both "
        "doubts and by chance alone. Grey band: too small to matter (our own choice)."
    )
    title = "What the difference hangs on"
    if len(comparison.cases) > 1:
        title += f", {case_title(comparison.scenario, subject.case)}"
    return Picture(figure, title, caption, _in_words(doubt, ordered, units))


def _draw(axis: Axes, doubt: DoubtTables, ordered: Any, units: str) -> None:
    output = doubt.subject.output

    def drawn(value: float) -> float:
        return output.value_in(units, value, difference=True)

    row: Any = subject_row(doubt)
    given = drawn(row.difference)
    negligible = drawn(output.negligible)
    axis.axvspan(-negligible, negligible, color="0.88", linewidth=0)
    axis.axvline(0, color="0.3", linewidth=0.8)
    axis.axvline(given, color="0.5", linewidth=0.8, linestyle=(0, (4, 2)))
    labels = []
    for place, each in enumerate(rows(ordered)):
        for value, colour, hatch in ((each.at_low, _LOW, "////"), (each.at_high, _HIGH, "")):
            axis.barh(
                place,
                drawn(value) - given,
                left=given,
                height=_BAR,
                color=colour,
                hatch=hatch,
                edgecolor="white",
                linewidth=0.4,
            )
        if each.flip is not None:
            end = each.at_high if each.way > 0 else each.at_low
            axis.plot(
                given + abs(each.way) * (drawn(end) - given),
                place,
                "*",
                color="black",
                markersize=8,
                markeredgecolor="white",
            )
        labels.append(f"{_broken(each.parameter)}\n{values(each.low, '')} to {values(each.high, each.unit)}")
    for offset, low, high, width in ((0, row.both_low, row.both_high, 3.0), (1, row.ci_low, row.ci_high, 3.0)):
        axis.plot(
            [drawn(low), drawn(high)],
            [len(ordered) + offset] * 2,
            color="black",
            linewidth=width,
            solid_capstyle="butt",
        )
        axis.plot(given, len(ordered) + offset, "o", color="black", markerfacecolor="white", markersize=4.5)
    axis.set_axisbelow(True)
    axis.axhline(len(ordered) - 0.5, color="0.6", linewidth=0.6)
    axis.set_yticks(range(len(ordered) + 2), [*labels, "both doubts", "chance alone"])
    axis.set_ylim(len(ordered) + 1.6, -0.6)
    axis.tick_params(axis="y", length=0)
    axis.grid(axis="y", visible=False)
    axis.xaxis.set_major_locator(MaxNLocator(7, steps=[1, 2, 5, 10]))
    low, high = axis.get_xlim()
    axis.set_xlim(min(low, -1.6 * negligible), max(high, 1.6 * negligible))


def _broken(name: str) -> str:
    """The path of a coefficient on lines of their own where it is long, broken at dots."""
    return "\n".join(textwrap.wrap(name.replace(".", ". "), 38)).replace(". ", ".")


def _in_words(doubt: DoubtTables, ordered: Any, units: str) -> str:
    output = doubt.subject.output
    words = [
        f"{each.parameter}: {amount(output, each.at_low, units)} at its low end, {amount(output, each.at_high, units)} at its high end"
        + ("" if each.flip is None else f", turning at {values(each.flip, each.unit)}")
        for each in rows(ordered)
    ]
    return f"Bars from the difference as given. {'; '.join(words)}."
