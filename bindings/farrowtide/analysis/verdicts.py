"""What a difference says: p values adjusted within each group of outputs, and a verdict."""

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
NEGLIGIBLE = "clear but negligible"
TOO_FEW = "too few replications"


def judged(found: pd.DataFrame, outputs: Sequence[Output]) -> pd.DataFrame:
    """Differences of one case with their unit, `p` adjusted within each group of outputs, and the verdict."""
    by_name = {output.name: output for output in outputs}
    rank = {name: i for i, name in enumerate(by_name)}
    found = found.sort_values("output", key=lambda column: column.map(rank), kind="stable", ignore_index=True)
    group = found["output"].map(lambda name: by_name[name].group)
    return found.assign(
        unit=found["output"].map(lambda name: by_name[name].unit),
        p_holm=found.groupby(group)["p"].transform(lambda p: holm(p.to_numpy())),
    ).assign(verdict=lambda frame: [verdict(by_name[row.output], row) for row in frame.itertuples()])


def verdict(output: Output, row: Any) -> str:
    """What a row of differences says in words; see ComparisonTables."""
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
