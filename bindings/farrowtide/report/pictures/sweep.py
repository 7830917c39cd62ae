"""Pictures of a sweep: the best alternatives, and the trade-off between two outputs."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from string import ascii_uppercase

import pandas as pd

from farrowtide.analysis.sweep import SweepTables
from farrowtide.outputs.output import Output, in_sentence
from farrowtide.outputs.units import recorded
from farrowtide.report.pictures.differences import draw_differences
from farrowtide.report.pictures.picture import DRAWN_WITH, Picture, panels
from farrowtide.report.wording.cells import of_output, rows
from farrowtide.report.wording.study import case_title

_MOST_DRAWN = 20  # alternatives in the ranking
_MOST_NAMED = 12  # alternatives with their names in a scatter
_NAME_WIDTH = 46


def ranking(sweep: SweepTables, case: str, output: Output, units: str = "si") -> Picture:
    """The paired differences of the best alternatives from the reference, the best on top."""
    differences = of_output(sweep.differences, output)
    differences = differences[differences["case"] == case]
    ranked = differences.sort_values("difference", ascending=output.good == "lower", kind="stable").head(_MOST_DRAWN)
    names = [textwrap.fill(name, _NAME_WIDTH) for name in ranked["alternative"]]
    with panels(1, 1, 0.7 + 0.19 * len(ranked) * max(1, *(name.count("\n") + 1 for name in names))) as (figure, axes):
        axis = axes[0, 0]
        draw_differences(axis, output, ranked, units)
        axis.set_yticks(range(len(ranked)), names)
        axis.set_ylim(len(ranked) - 0.5, -0.5)
        axis.set_xlabel(f"{in_sentence(output.label)}, {output.difference_unit(units)}, minus {sweep.reference}")
    caption = (
        f"The {len(ranked)} best of {len(differences)} alternatives, each minus {sweep.reference} on the same animals, "
        "with the 95 % confidence interval. Filled marker: clear after adjustment for all of them, and large enough to "
        "matter. Grey band: too small to matter."
    )
    in_words = "; ".join(
        f"{row.alternative} {output.shown(row.difference, units=units, signed=True)}" for row in rows(ranked.head(5))
    )
    drawn = {"picture": "ranking", "case": case, "drawn": [output.name], "drawn_with": DRAWN_WITH} | recorded(units)
    title = f"{output.label}: the best of {len(differences)}, {case_title(sweep.scenario, case)}"
    return Picture(
        figure, title, caption, f"{output.label}, {output.shown_unit(units)}: {in_words}", sweep.provenance | drawn
    )


def trade_off(sweep: SweepTables, case: str, across: Output, up: Output, units: str = "si") -> Picture:
    """The means of every alternative in two outputs; a line joins the Pareto-efficient ones where that is a trade-off."""
    table = sweep.pareto([across.name, up.name], case)
    too_small = _too_small_to_trade(table[table["efficient"]], (across, up))
    for output in (across, up):
        table[output.name] = output.value_in(units, table[output.name].to_numpy())
    front = table[table["efficient"]].sort_values(across.name)
    with panels(1, 1, 3.2 + 0.16 * min(len(front), _MOST_NAMED)) as (figure, axes):
        axis = axes[0, 0]
        axis.plot(table[across.name], table[up.name], "o", color="0.6", markersize=4, label="dominated")
        line = "none" if too_small else "-"
        axis.plot(
            front[across.name],
            front[up.name],
            "D",
            linestyle=line,
            color="#0072B2",
            markersize=5,
            label="Pareto-efficient",
        )
        reference = table.loc[sweep.reference]
        axis.plot(reference[across.name], reference[up.name], "s", color="#D55E00", markersize=6, label=sweep.reference)
        for letter, name in zip(ascii_uppercase, front.index[:_MOST_NAMED], strict=False):
            place = (front.loc[name, across.name], front.loc[name, up.name])
            axis.annotate(letter, place, xytext=(4, 4), textcoords="offset points", weight="bold")
            axis.plot([], [], " ", label=f"{letter}: {name}")
        axis.set_xlabel(_axis_label(across, units))
        axis.set_ylabel(_axis_label(up, units))
        figure.legend(loc="outside lower left")
    caption = (
        f"Means over {sweep.replications} rooms each. All alternatives have the same rooms, so small steps along the line "
        "may be clear although the means themselves are uncertain."
    )
    if too_small:
        caption += (
            f" The Pareto-efficient ones differ by too little to matter in {too_small}: there is nothing to trade off."
        )
    means = sweep.table(case, [across.name, up.name]).loc[front.index]

    def in_unit(output: Output, value: float) -> str:
        return f"{output.shown(value, units=units)} {output.shown_unit(units)}"

    in_words = "; ".join(
        f"{name} {in_unit(across, row[across.name])} and {in_unit(up, row[up.name])}" for name, row in means.iterrows()
    )
    drawn = {
        "picture": "trade_off",
        "case": case,
        "drawn": [across.name, up.name],
        "drawn_with": DRAWN_WITH,
    } | recorded(units)
    title = f"{across.label} against {in_sentence(up.label)}, {case_title(sweep.scenario, case)}"
    return Picture(figure, title, caption, f"Pareto-efficient: {in_words}", sweep.provenance | drawn)


def _too_small_to_trade(front: pd.DataFrame, outputs: Sequence[Output]) -> str:
    """The outputs in which two or more Pareto-efficient alternatives differ by too little to matter, in words."""
    if len(front) < 2:
        return ""
    small = [output for output in outputs if front[output.name].max() - front[output.name].min() <= output.negligible]
    return " and ".join(in_sentence(output.label) for output in small)


def _axis_label(output: Output, units: str) -> str:
    better = {"higher": ", higher is better", "lower": ", lower is better"}.get(output.good or "", "")
    return f"{in_sentence(output.label)}, {output.shown_unit(units)}{better}"
