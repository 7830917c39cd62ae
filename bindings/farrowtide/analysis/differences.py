"""Means of every alternative, and its differences from the reference, paired by replicate."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from farrowtide.analysis.verdicts import judged
from farrowtide.outputs.output import Output
from farrowtide.statistics.moments import Moments
from farrowtide.statistics.paired import PairedMoments, labels, values_by_room
from farrowtide.statistics.significance import p_of_no_difference

_COLUMNS = [
    "case",
    "output",
    "unit",
    "alternative",
    "reference",
    "mean_alternative",
    "mean_reference",
    "difference",
    "ci_low",
    "ci_high",
    "n",
    "p_holm",
    "verdict",
]


def means(replicates: pd.DataFrame, outputs: Sequence[Output]) -> pd.DataFrame:
    """The table of means, from replicates; see means_table."""
    cases, alternatives = labels(replicates)
    return means_table(Moments.of(_values(replicates, cases, alternatives, outputs)), cases, alternatives, outputs)


def means_table(
    moments: Moments, cases: Sequence[str], alternatives: Sequence[str], outputs: Sequence[Output]
) -> pd.DataFrame:
    """One row per case, alternative and output: unit, mean, standard deviation between rooms, 95 % interval, n rooms.

    `moments` has the shape (cases, alternatives, outputs).
    """
    names = [output.name for output in outputs]
    index = pd.MultiIndex.from_product([cases, alternatives, names], names=["case", "alternative", "output"])
    low, high = moments.interval()
    columns = {"mean": moments.mean, "sd": moments.sd, "ci_low": low, "ci_high": high, "n": moments.n}
    table = pd.DataFrame({name: values.ravel() for name, values in columns.items()}, index=index).reset_index()
    table.insert(3, "unit", table["output"].map({output.name: output.unit for output in outputs}))
    return table


def differences(replicates: pd.DataFrame, outputs: Sequence[Output], reference: str) -> pd.DataFrame:
    """Each alternative minus the reference, by case and output, from replicates; see ComparisonTables."""
    cases, alternatives = labels(replicates)
    paired = PairedMoments(cases, alternatives, reference, [output.name for output in outputs])
    values = _values(replicates, cases, [reference, *paired.others], outputs)
    pairs = values[:, :, 1:] - values[:, :, :1]
    paired.add_differences(pairs)
    # Replicates in which either side has no value are left out of both means.
    alternative, base = (np.where(np.isnan(pairs), np.nan, side) for side in (values[:, :, 1:], values[:, :, :1]))
    table = differences_table(
        paired, outputs, mean_alternative=Moments.of(alternative).mean, mean_reference=Moments.of(base).mean
    )
    return table.assign(reference=reference)[_COLUMNS]


def differences_table(paired: PairedMoments, outputs: Sequence[Output], **columns: np.ndarray) -> pd.DataFrame:
    """One row per case, output and alternative: the difference, its 95 % interval, n pairs, `p_holm` and verdict.

    `columns`: further ones of the shape of the moments.
    """
    moments = paired.moments
    low, high = moments.interval()
    p = p_of_no_difference(moments.mean.ravel(), moments.sd.ravel(), moments.n.ravel())
    table = paired.table(None, ci_low=low, ci_high=high, p=p, **columns)
    parts = [judged(part, outputs) for _, part in table.groupby("case", sort=False)]
    return pd.concat(parts, ignore_index=True).drop(columns="p")


def _values(
    replicates: pd.DataFrame, cases: Sequence[str], alternatives: Sequence[str], outputs: Sequence[Output]
) -> np.ndarray:
    """As values_by_room, the replicates of each series together in memory, so that NumPy sums them pairwise."""
    return np.asfortranarray(values_by_room(replicates, cases, alternatives, [output.name for output in outputs]))
