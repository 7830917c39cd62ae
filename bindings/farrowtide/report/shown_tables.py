"""Long tables of results in the units that people read; the column `unit` names the unit of each row."""

from __future__ import annotations

from collections.abc import Iterable

import pandas as pd

from farrowtide.outputs.output import Output

_LEVELS = ("mean_alternative", "mean_reference", "mean_with", "mean_without")
_DIFFERENCES = (
    "difference", "sd", "p10", "median", "p90", "both_low", "both_high", "off_by", "between", "within"
)  # fmt: skip
_DEPENDS = ("mean", "ci_low", "ci_high")  # levels in a table with standard deviations of levels, else differences


def in_units(table: pd.DataFrame, outputs: Iterable[Output], units: str, *, key: str = "output") -> pd.DataFrame:
    """The table, in whose column `key` outputs are named, with its numbers in these units."""
    shown = table.copy()
    levels = (*_LEVELS, *_DEPENDS) if "sd" in table else _LEVELS
    columns = [name for name in (*_LEVELS, *_DIFFERENCES, *_DEPENDS) if name in table]
    named = {output.name: output for output in outputs}
    rows_of = table.groupby(key, sort=False).indices
    for column in columns:
        numbers = table[column].to_numpy(float, copy=True)
        for name, rows in rows_of.items():
            numbers[rows] = named[str(name)].value_in(units, numbers[rows], difference=column not in levels)
        shown[column] = numbers
    shown["unit"] = table[key].map(lambda name: named[name].shown_unit(units))
    return shown
