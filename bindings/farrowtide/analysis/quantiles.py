"""Quantiles over rooms, and the worst decile."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import pandas as pd

from farrowtide.errors import UserError
from farrowtide.outputs.output import Output
from farrowtide.statistics.intervals import CONFIDENCE
from farrowtide.statistics.quantiles import quantile, rooms_for_quantile

DECILE = 0.1


def quantiles(
    replicates: pd.DataFrame, outputs: Iterable[Output], q: float, confidence: float = CONFIDENCE
) -> pd.DataFrame:
    """The quantile `q` (0 < q < 1) over rooms of each output, by case and alternative, with its interval.

    One row each: `quantile` (median-unbiased: type 8 of Hyndman & Fan 1996, Am Stat 50:361-365), `ci_low` and `ci_high`:
    order statistics chosen by the binomial distribution (scipy.stats.quantile_test), which hold whatever the shape of
    the distribution. An end is NaN where so few rooms give no bound on that side; `n_needed` rooms give both.
    """
    if not 0 < q < 1:
        raise UserError(f"q = {q}: a quantile lies between 0 and 1")
    levels = [(output, q) for output in outputs]
    return _quantile_table(replicates, levels, confidence)


def worst_decile(replicates: pd.DataFrame, outputs: Iterable[Output], confidence: float = CONFIDENCE) -> pd.DataFrame:
    """In one room in ten it is this bad or worse: the quantile 0.1 where higher is good, 0.9 where lower is.

    Outputs of which no direction is good are left out. Columns as in quantiles.
    """
    levels = [(output, DECILE if output.good == "higher" else 1 - DECILE) for output in outputs if output.good]
    return _quantile_table(replicates, levels, confidence)


def _quantile_table(
    replicates: pd.DataFrame, levels: Sequence[tuple[Output, float]], confidence: float
) -> pd.DataFrame:
    rows = []
    for (case, alternative), part in replicates.groupby(["case", "alternative"], sort=False):
        for output, q in levels:
            values = part[output.name].dropna().to_numpy()
            needed = rooms_for_quantile(q, confidence)
            rows.append(
                (case, alternative, output.name, output.unit, q, *quantile(values, q, confidence), len(values), needed)
            )
    columns = ["case", "alternative", "output", "unit", "q", "quantile", "ci_low", "ci_high", "n", "n_needed"]
    return pd.DataFrame(rows, columns=columns)
