"""Verdicts on differences, by p values that are adjusted within each group of outputs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd

from farrowtide.outputs.output import Output
from farrowtide.statistics.intervals import CONFIDENCE
from farrowtide.statistics.significance import holm

NO_DIFFERENCE = "no difference"
NO_CLEAR_DIFFERENCE = "no clear difference"
NEGLIGIBLE = "difference too small to matter"
TOO_FEW = "too few replications"


def judged(differences: pd.DataFrame, outputs: Sequence[Output]) -> pd.DataFrame:
    """Adds to the differences of one case their unit, `p_holm` adjusted within each group of outputs, and the verdict."""
    by_name = {output.name: output for output in outputs}
    rank = {name: i for i, name in enumerate(by_name)}
    ordered = differences.sort_values("output", key=lambda column: column.map(rank), kind="stable", ignore_index=True)
    group = ordered["output"].map(lambda name: by_name[name].group)
    return ordered.assign(
        unit=ordered["output"].map(lambda name: by_name[name].unit),
        p_holm=ordered.groupby(group)["p"].transform(lambda p: holm(p.to_numpy())),
    ).assign(verdict=lambda frame: [verdict(by_name[str(row.output)], row) for row in frame.itertuples()])


def verdict(output: Output, row: Any) -> str:
    """The verdict of a row of differences; see ComparisonTables."""
    if np.isnan(row.p_holm):
        return TOO_FEW
    if row.ci_low == row.ci_high == 0:
        return NO_DIFFERENCE
    if row.p_holm >= 1 - CONFIDENCE:
        return NO_CLEAR_DIFFERENCE
    if abs(row.difference) < output.negligible:
        return NEGLIGIBLE
    direction = "higher" if row.difference > 0 else "lower"
    if output.good is None:
        return direction
    return f"{direction} ({'better' if direction == output.good else 'worse'})"
