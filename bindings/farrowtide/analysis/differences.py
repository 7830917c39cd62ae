"""Means of every alternative, and its differences from the reference, paired by replicate."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from farrowtide.analysis.verdicts import judged
from farrowtide.outputs.output import Output
from farrowtide.statistics.intervals import column_means, interval
from farrowtide.statistics.significance import p_of_no_difference


def means(replicates: pd.DataFrame, outputs: Sequence[Output]) -> pd.DataFrame:
    """Mean, standard deviation between rooms and 95 % interval of every output, by case and alternative."""
    rows = []
    for (case, alternative), part in replicates.groupby(["case", "alternative"], sort=False):
        for output in outputs:
            mean, sd, low, high, n = (value[0] for value in interval(part[[output.name]].to_numpy()))
            rows.append((case, alternative, output.name, output.unit, mean, sd, low, high, n))
    columns = ["case", "alternative", "output", "unit", "mean", "sd", "ci_low", "ci_high", "n"]
    return pd.DataFrame(rows, columns=columns)


def differences(replicates: pd.DataFrame, outputs: Sequence[Output], reference: str) -> pd.DataFrame:
    """Each alternative minus the reference, paired by replicate, by case and output; see ComparisonTables."""
    names = [output.name for output in outputs]
    frames = []
    for case, part in replicates.groupby("case", sort=False):
        values = {name: rows.set_index("replicate")[names] for name, rows in part.groupby("alternative", sort=False)}
        others = [name for name in values if name != reference]
        found = [_paired(values[name], values[reference]).assign(alternative=name) for name in others]
        frames.append(judged(pd.concat(found).assign(case=case, reference=reference), outputs))
    columns = [
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
    return pd.concat(frames, ignore_index=True)[columns]


def _paired(alternative: pd.DataFrame, reference: pd.DataFrame) -> pd.DataFrame:
    """One row per output; replicates in which either side has no value are left out of both means."""
    pairs = alternative.to_numpy() - reference.loc[alternative.index].to_numpy()
    missing = np.isnan(pairs)
    mean, sd, low, high, n = interval(pairs)
    return pd.DataFrame(
        {
            "output": alternative.columns,
            "mean_alternative": column_means(np.where(missing, np.nan, alternative)),
            "mean_reference": column_means(np.where(missing, np.nan, reference.loc[alternative.index])),
            "difference": mean,
            "ci_low": low,
            "ci_high": high,
            "n": n,
            "p": p_of_no_difference(mean, sd, n),
        }
    )
