"""Feed intake by lactation day."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeAlias

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from farrowtide.analysis.comparison import ComparisonTables
from farrowtide.analysis.intake import intake_curves
from farrowtide.outputs.rooms import PARITY_CLASSES
from farrowtide.outputs.units import unit_in, value_in
from farrowtide.report.pictures.picture import Picture, look_of, panels
from farrowtide.report.usual_intake import usual_intake
from farrowtide.report.wording.study import case_title

Heights: TypeAlias = np.ndarray[Any, np.dtype[np.float64]]


def intake(comparison: ComparisonTables, units: str = "si") -> Picture:
    """Feed intake by lactation day: a row for each case, a column for each parity class, a line for each alternative."""
    curves = intake_curves(comparison.intake_days)
    shown = ["eaten_kg", "ci_low", "ci_high"]
    curves[shown] = value_in(units, curves[shown].to_numpy(), "kg")
    classes = [name for name in PARITY_CLASSES if name in set(curves["parity_class"])]
    with panels(len(comparison.cases), len(classes), 2.1, sharex=True, sharey=True) as (figure, axes):
        for row, case in zip(axes, comparison.cases, strict=True):
            for axis, parity in zip(row, classes, strict=True):
                part = curves[(curves["case"] == case) & (curves["parity_class"] == parity)]
                _draw_usual(axis, part, parity, units)
                _draw_curves(axis, comparison, part, named=parity == classes[-1])
                axis.set_title(
                    f"{case_title(comparison.scenario, case)}, {parity}" if len(comparison.cases) > 1 else parity
                )
            row[0].set_ylabel(f"feed intake, {unit_in(units, 'kg/d')} per sow")
        for axis in axes[-1]:
            axis.set_xlabel("lactation day")
            axis.xaxis.set_major_locator(MaxNLocator(6, integer=True))
        axes[0, 0].set_ylim(bottom=0)
        figure.legend(axes[0, 0].get_lines()[:1], [axes[0, 0].get_lines()[0].get_label()], loc="outside upper left")
    usual = usual_intake()
    energy_mcal = usual.diet_energy_mcal_per_kg / value_in(units, 1.0, "kg")
    diet = f"{energy_mcal:.2g} Mcal/{unit_in(units, 'kg')}"
    caption = (
        f"Grey: usual intake ({usual.source}; {usual.design}; a diet of {diet}). "
        "Means over rooms, by parity class (P1: first parity). Bands: 95 % confidence interval of each mean. All "
        "alternatives have the same animals, so paired differences (in the table) are more precise than the bands suggest."
    )
    return Picture(figure, "Feed intake by lactation day", caption, _intake_in_words(comparison, curves, units))


def _draw_usual(axis: Axes, curves: pd.DataFrame, parity: str, units: str) -> None:
    """The published curve, wide and behind the others, and named in the panel."""
    day = np.unique(curves["day"].to_numpy()).astype(float)
    eaten = value_in(units, usual_intake().kg_per_day(day, parity), "kg")
    axis.plot(day, eaten, color="0.75", linewidth=3, zorder=0.9, label=f"usual intake, {usual_intake().name}")


def _draw_curves(axis: Axes, comparison: ComparisonTables, curves: pd.DataFrame, *, named: bool) -> None:
    ends = {}
    for name in comparison.alternatives:
        part = curves[curves["alternative"] == name]
        look = look_of(comparison, name) | {"marker": ""}
        axis.fill_between(part["day"], part["ci_low"], part["ci_high"], color=look["color"], alpha=0.15, linewidth=0)
        axis.plot(part["day"], part["eaten_kg"], **look)
        if len(part):
            ends[name] = (part["day"].iloc[-1], part["eaten_kg"].iloc[-1], look["color"])
    if named and ends:
        _name_ends(axis, ends)


def _name_ends(axis: Axes, ends: dict[str, tuple[float, float, object]]) -> None:
    """Names at the ends of their lines, moved apart where they would overlap, each joined to its line."""
    names = sorted(ends, key=lambda name: ends[name][1])
    low, high = axis.get_ylim()
    heights = spread([ends[name][1] for name in names], 0.085 * (max(high, 0) - min(low, 0)))
    for name, height in zip(names, heights, strict=True):
        day, value, colour = ends[name]
        leader = {"arrowstyle": "-", "color": colour, "linewidth": 0.5, "shrinkA": 1, "shrinkB": 0, "relpos": (0, 0.5)}
        right = axis.get_xlim()[1]
        axis.annotate(
            name,
            (day, value),
            (right + 1.5, height),
            color=colour,
            fontsize=7.5,
            va="center",
            arrowprops=leader,
            annotation_clip=False,
        )


def spread(positions: Sequence[float], gap: float) -> Heights:
    """Increasing positions, moved so that neighbours are at least `gap` apart; their mean stays the same."""
    moved: Heights = np.asarray(positions, dtype=float).copy()
    for i in range(1, len(moved)):
        moved[i] = max(moved[i], moved[i - 1] + gap)
    return moved - float(np.mean(moved - np.asarray(positions)))


def _intake_in_words(comparison: ComparisonTables, curves: pd.DataFrame, units: str) -> str:
    oldest = curves["parity_class"].max()
    last = curves[curves["parity_class"] == oldest].groupby(["case", "alternative"], sort=False).last()
    in_words = [
        f"{case_title(comparison.scenario, case)}, {name}: {row.eaten_kg:.1f} {unit_in(units, 'kg')} on day {row.day:.0f}"
        for (case, name), row in last.iterrows()
    ]
    day = float(last["day"].max())
    usual = value_in(units, usual_intake().kg_per_day(np.array([day]), oldest), "kg")[0]
    return (
        f"Lines of feed intake per sow by lactation day. At the end, {oldest}: {'; '.join(in_words)}. Usual on day {day:.0f}: "
        f"{usual:.1f} {unit_in(units, 'kg')}."
    )
