"""Verdicts on differences: what is known about each of them, why not more, and how many rooms would tell."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd

from farrowtide.outputs.output import Output
from farrowtide.statistics.inference import (
    LEAST_APART,
    highest_share,
    replications_needed,
)
from farrowtide.statistics.significance import ERROR, holm

TOO_SMALL = "too small to matter"
TOO_FEW = "too few rooms to tell"
TOO_FEW_FOR_SIZE = "too few rooms to tell whether it matters"  # where the direction is known
NOT_KNOWN = "not known"
IDENTICAL = "identical in every room"
HOLM = (
    "“Better” and “worse” need p < 0.05 after Holm's adjustment for all outputs and alternatives of the same part of the "
    "table, so an interval of its own that excludes zero is not always enough."
)
MOST_NEEDED = 100_000  # rooms, as printed


def is_clear(verdict: str) -> bool:
    """Whether a verdict says that there is a difference that matters."""
    return verdict.startswith(("higher", "lower"))


def judged(
    differences: pd.DataFrame, outputs: Sequence[Output], *, animals: float = math.inf, unit: str = "room"
) -> pd.DataFrame:
    """Adds to the differences of one case their unit, `p_holm` adjusted within each group of outputs, `verdict`,
    `rooms_needed` and `reason`; see ComparisonTables.

    Columns that it reads and drops: p, sd, identical. `animals`: sows whose mean a room is; `unit`: "room", "farm".
    """
    by_name = {output.name: output for output in outputs}
    rank = {name: i for i, name in enumerate(by_name)}
    ordered = differences.sort_values("output", key=lambda column: column.map(rank), kind="stable", ignore_index=True)
    p_of_group = ordered.groupby(ordered["output"].map(lambda name: by_name[name].group))["p"]
    ordered = ordered.assign(
        unit=ordered["output"].map(lambda name: by_name[name].unit),
        p_holm=p_of_group.transform(lambda p: holm(p.to_numpy())),
        tested=p_of_group.transform("count"),
    )
    judgements = [verdict(by_name[str(row.output)], row, animals=animals, unit=unit) for row in ordered.itertuples()]
    columns = ("verdict", "rooms_needed", "reason")
    ordered = ordered.assign(**{name: [row[i] for row in judgements] for i, name in enumerate(columns)})
    return ordered.drop(columns=["p", "sd", "identical", "tested"])


def verdict(output: Output, row: Any, *, animals: float = math.inf, unit: str = "room") -> tuple[str, float, str]:
    """The verdict of a row of differences, the number of rooms that would tell more (NaN where none would or it is not
    known), and the reason; empty where the interval says it.
    """
    if not np.isnan(row.ci_low):
        return _with_interval(output, row)
    if not np.isnan(row.p_holm):  # the same difference in every room
        reason = f"the difference is the same in all {row.n} {unit}s"
        sure = row.p_holm < ERROR
        return (
            (_size(output, row.difference) if sure else TOO_FEW),
            math.nan if sure else _rooms(row.n + 5, row.n),
            reason,
        )
    return _without_interval(output, row, animals, unit)


def _with_interval(output: Output, row: Any) -> tuple[str, float, str]:
    margin, size = output.negligible, abs(row.difference)
    if -margin <= row.ci_low and row.ci_high <= margin:
        return TOO_SMALL, math.nan, ""
    sure = row.p_holm < ERROR
    if sure and size >= margin:
        return _size(output, row.difference), math.nan, ""
    own = row.ci_low > 0 or row.ci_high < 0
    if size >= margin:
        needed = replications_needed(row.sd, size, 1 - ERROR / row.tested)
    else:
        needed = replications_needed(row.sd, margin - size if own else max(size, margin - size))
        if sure:
            return TOO_FEW_FOR_SIZE, _rooms(needed, row.n), _direction(output, row.difference)
    reason = f"the interval excludes zero, but not after Holm's adjustment for {row.tested} differences" if own else ""
    return TOO_FEW, _rooms(needed, row.n), reason


def _without_interval(output: Output, row: Any, animals: float, unit: str) -> tuple[str, float, str]:
    least = output.floor.needs(animals)
    if row.identical:
        seen = f"all outputs of all {row.n} {unit}s are equal; {_fewer_than(0, row.n, unit)} differ"
        return IDENTICAL, math.nan, seen if row.n else "no value"
    if not row.n:
        return NOT_KNOWN, math.nan, f"no {unit} has a value under both"
    if row.n < 2:
        return TOO_FEW, max(2, least), f"one {unit} with a value gives no interval"
    bound = _fewer_than(row.n_differing, row.n, unit)
    if row.difference == 0 and row.sd == 0:
        return NOT_KNOWN, math.nan, f"all {row.n} pairs are equal; {bound} differ"
    if row.n_differing == 0:
        return NOT_KNOWN, math.nan, f"none of {row.n} {unit}s differs {output.apart_among(animals)}; {bound} do"
    if row.n_differing < min(LEAST_APART, row.n):
        reason = f"only {row.n_differing} of {row.n} {unit}s differ{'s' if row.n_differing == 1 else ''} {output.apart_among(animals)}"
        return TOO_FEW, _rooms(max(least, LEAST_APART * row.n / row.n_differing), row.n), reason
    return TOO_FEW, _rooms(least, row.n), f"an interval needs {least} {unit}s"


def _size(output: Output, difference: float) -> str:
    return TOO_SMALL if abs(difference) < output.negligible else _direction(output, difference)


def _direction(output: Output, difference: float) -> str:
    direction = "higher" if difference > 0 else "lower"
    if output.good is None:
        return direction
    return f"{direction} ({'better' if direction == output.good else 'worse'})"


def _rooms(needed: Any, n: int) -> float:
    """Rounded up to two digits, and more than there are; NaN above MOST_NEEDED."""
    needed = max(float(needed), n + 1)
    digits = 10.0 ** max(0, math.floor(math.log10(needed)) - 1)
    rounded = digits * math.ceil(needed / digits)
    return rounded if rounded <= MOST_NEEDED else math.nan


def _fewer_than(count: int, n: int, unit: str) -> str:
    return f"with 95 % confidence fewer than {100 * float(highest_share(count, max(n, 1))):.2g} % of {unit}s"
