"""The temperature of the room, wanted and reached, by day of the group."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from farrowtide.analysis.climate import ALIKE_K, drawn_alike, temperature_curves
from farrowtide.analysis.comparison import ComparisonTables, others
from farrowtide.errors import UserError
from farrowtide.outputs.units import unit_in, value_in
from farrowtide.report.pictures.picture import Picture, look_of, panel_for_each
from farrowtide.report.wording.study import case_title

_TEMPERATURES = ["wanted_deg_c", "reached_deg_c", "p10_deg_c", "p90_deg_c"]
_WANTED: dict[str, Any] = {"linestyle": (0, (1, 1)), "linewidth": 1.2, "drawstyle": "steps-mid"}


def is_simulated(comparison: ComparisonTables) -> bool:
    """Whether the climate of any case is simulated, rather than imposed."""
    return not comparison.room_days.empty


def temperature(comparison: ComparisonTables, units: str = "si") -> Picture:
    """What the set point wants and what the room reaches by day, a panel for each case whose climate is simulated."""
    if not is_simulated(comparison):
        raise UserError("the room's temperature is imposed, so that there is no wanted beside a reached one to draw")
    curves = temperature_curves(comparison.room_days)
    cases = [case for case in comparison.cases if case in set(curves["case"])]
    alike = drawn_alike(curves, [comparison.reference, *others(comparison)])
    curves[_TEMPERATURES] = value_in(units, curves[_TEMPERATURES].to_numpy(), "degC")
    with panel_for_each(cases, 2.2, sharex=True, sharey=True) as (grid, drawn):
        for axis, case in drawn:
            for name, names in alike.items():
                part = curves[(curves["case"] == case) & (curves["alternative"] == name)]
                if part.empty:
                    continue
                band = 0.15 if len(alike) == 1 else 0.07
                _draw(axis, part, look_of(comparison, name), _label(names, comparison), band=band)
            axis.plot([], [], color="0.3", label="set point", **_WANTED)
            axis.set_title(case_title(comparison.scenario, case))
            axis.tick_params(labelbottom=True)  # also where the panel below is empty
        for axis in grid.left:
            axis.set_ylabel(f"room temperature, {unit_in(units, 'degC')}")
        for axis in grid.bottom:
            axis.set_xlabel("day from the group's mean due date")
            axis.xaxis.set_major_locator(MaxNLocator(7, integer=True))
        grid.legend_above(3)
    caption = (
        "Mean of the day that is reached, with a band from the 10th to the 90th percentile of rooms, which have "
        "different weather; by day the room is warmer and by night cooler. Dotted, in the same colour: the set point. Alternatives within "
        f"{value_in(units, ALIKE_K, 'K', difference=True):.2g} {unit_in(units, 'K')} of each other on every day are one line."
    )
    alt = _in_words(comparison, curves, cases, alike, units)
    return Picture(grid.figure, "Room temperature wanted and reached", caption, alt)


def _draw(axis: Axes, curve: pd.DataFrame, look: Mapping[str, Any], label: str, *, band: float) -> None:
    day, colour = curve["group_day"], look["color"]
    axis.fill_between(day, curve["p10_deg_c"], curve["p90_deg_c"], color=colour, alpha=band, linewidth=0)
    axis.plot(day, curve["reached_deg_c"], **{**look, "marker": ""}, label=label)
    axis.plot(day, curve["wanted_deg_c"], color=colour, **_WANTED)


def _label(names: list[str], comparison: ComparisonTables) -> str:
    if len(names) == len(comparison.alternatives):
        return "all alternatives"
    return names[0] if len(names) == 1 else f"{names[0]} and {len(names) - 1} more"


def _in_words(
    comparison: ComparisonTables, curves: pd.DataFrame, cases: list[str], alike: dict[str, list[str]], units: str
) -> str:
    sentences = []
    for case in cases:
        for name, names in alike.items():
            curve = curves[(curves["case"] == case) & (curves["alternative"] == name)]
            if curve.empty:
                continue
            above = curve["reached_deg_c"] - curve["wanted_deg_c"]
            wanted, reached = (
                f"{curve[column].iloc[0]:.1f} {unit_in(units, 'degC')} on day {curve['group_day'].iloc[0]} and "
                f"{curve[column].iloc[-1]:.1f} on day {curve['group_day'].iloc[-1]}"
                for column in ("wanted_deg_c", "reached_deg_c")
            )
            sentences.append(
                f"{case_title(comparison.scenario, case)}, {_label(names, comparison)}: wanted {wanted}; reached {reached}, "
                f"on average {_from_wanted(float(above.mean()), unit_in(units, 'K'))}."
            )
    return " ".join(sentences)


def _from_wanted(above: float, unit: str) -> str:
    size = f"{abs(above):.1f}"
    return "as wanted" if size == "0.0" else f"{size} {unit} {'above' if above > 0 else 'below'} what is wanted"
