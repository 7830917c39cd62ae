"""One sow and her litter by day, under one policy or two."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from farrowtide.outputs.units import unit_in, value_in
from farrowtide.report.pictures.picture import COLOURS, DASHES, Picture, panels


def sow_by_day(days: Mapping[str, pd.DataFrame], units: str = "si") -> Picture:
    """What she ate and would have eaten, and how many piglets nursed her, by lactation day. `days`: by policy."""
    unit = unit_in(units, "kg/d")
    with panels(1, 2, 2.2) as (figure, axes):
        intake, litter = axes[0]
        for index, (name, table) in enumerate(days.items()):
            look = {"color": COLOURS[index], "linestyle": DASHES[index]}
            eaten, appetite = (
                value_in(units, table[column].to_numpy(), "kg") for column in ("eaten_kg", "appetite_kg")
            )
            intake.plot(table["day"], appetite, color=look["color"], linewidth=0.7, alpha=0.55)
            intake.plot(table["day"], eaten, label=name, **look)
            farrowed = table[table["farrowed"] == 1]
            litter.step(farrowed["day"], farrowed["piglets"], where="mid", label=name, **look)
        _label(intake, "Feed", f"eaten, and appetite (thin) [{unit}]")
        _label(litter, "Litter", "piglets that nurse her")
        if len(days) > 1:
            handles, names = intake.get_legend_handles_labels()
            figure.legend(handles, names, loc="outside upper left", ncols=2)
    caption = "Appetite: what she would eat with feed always available. Day 0 is the calendar day of the last birth."
    return Picture(figure, "By day of lactation", caption, _in_words(days, units))


def _label(axis: Axes, title: str, label: str) -> None:
    axis.set_title(title)
    axis.set_xlabel("lactation day")
    axis.set_ylabel(label)
    axis.set_ylim(bottom=0)
    axis.xaxis.set_major_locator(MaxNLocator(7, integer=True))


def _in_words(days: Mapping[str, pd.DataFrame], units: str) -> str:
    parts = []
    for name, table in days.items():
        lactation = table[table["day"] >= 1]
        if lactation.empty:
            continue
        eaten = value_in(units, float(lactation["eaten_kg"].mean()), "kg")
        parts.append(
            f"{name}: {eaten:.1f} {unit_in(units, 'kg/d')} eaten on average from day 1, "
            f"{int(lactation['piglets'].iloc[0])} piglets on day 1 and {int(lactation['piglets'].iloc[-1])} at the end"
        )
    return "; ".join(parts) or "No day of lactation."
