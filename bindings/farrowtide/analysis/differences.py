"""Means of every alternative, and its differences from the reference, paired by replicate."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pandas as pd

from farrowtide.analysis.verdicts import judged
from farrowtide.outputs.output import Output, needs, needs_of_means, tiny_differences
from farrowtide.statistics.inference import (
    LEAST_APART,
    Needs,
    interval,
    is_known,
    p_of_no_difference,
    share_interval,
)
from farrowtide.statistics.intervals import CONFIDENCE
from farrowtide.statistics.moments import Moments
from farrowtide.statistics.paired import PairedMoments, labels, values_by_room

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
    "n_differing",
    "p_holm",
    "verdict",
    "rooms_needed",
    "reason",
]


def means(replicates: pd.DataFrame, outputs: Sequence[Output], *, animals: float = math.inf) -> pd.DataFrame:
    """The table of means, from replicates; see means_table."""
    cases, alternatives = labels(replicates)
    moments = Moments.of(_values(replicates, cases, alternatives, outputs), top=tops(outputs))
    return means_table(moments, cases, alternatives, outputs, animals=animals)


def tops(outputs: Sequence[Output]) -> np.ndarray:
    """For each output the value that is the whole, where it is a share; infinite elsewhere."""
    return np.array([100.0 if output.share else math.inf for output in outputs])


def mean_interval(
    moments: Moments, outputs: Sequence[Output], confidence: float = CONFIDENCE, *, animals: float = math.inf
) -> tuple[np.ndarray, np.ndarray]:
    """The intervals of means, the last axis being outputs: those of shares stay within 0 and 100 %."""
    needed = needs_of_means(outputs, animals)
    of_means = interval(moments, confidence, needs=needed)
    of_shares = share_interval(moments, confidence=confidence, needs=needed)
    is_share = np.isfinite(tops(outputs))
    low, high = (np.where(is_share, share, mean) for share, mean in zip(of_shares, of_means, strict=True))
    return low, high


def mean_reasons(moments: Moments, tops: np.ndarray | float, *, needs: Needs) -> np.ndarray:
    """Why there is no interval of a mean, in words; "" where there is one. `tops`: as in the function of this name."""
    end = np.where(np.isfinite(tops), "0 and 100 %", "0")
    n, apart = moments.n, moments.apart
    few = [f"{k} of {m} rooms differ from {e}" for k, m, e in np.broadcast(apart, n, end)]
    reasons = [
        (n == 0, "no room has a value"),
        (n < 2, "one room gives no interval"),
        (apart < np.minimum(LEAST_APART, n), np.reshape(few, n.shape)),
        (~moments.varies, "equal in every room"),
        (~is_known(moments, needs), [f"an interval needs {rooms} rooms" for rooms in np.ravel(needs)]),
    ]
    reason: np.ndarray = np.select([test for test, _ in reasons], [np.asarray(text) for _, text in reasons], "")
    return reason


def means_table(
    moments: Moments,
    cases: Sequence[str],
    alternatives: Sequence[str],
    outputs: Sequence[Output],
    *,
    animals: float = math.inf,
) -> pd.DataFrame:
    """One row per case, alternative and output: unit, mean, standard deviation between rooms, 95 % interval, n rooms.

    `moments` has the shape (cases, alternatives, outputs). Where too few rooms give an interval it is NaN, and `reason`
    says why; otherwise that is empty.
    """
    names = [output.name for output in outputs]
    index = pd.MultiIndex.from_product([cases, alternatives, names], names=["case", "alternative", "output"])
    low, high = mean_interval(moments, outputs, animals=animals)
    columns = {"mean": moments.mean, "sd": moments.sd, "ci_low": low, "ci_high": high, "n": moments.n}
    columns["reason"] = mean_reasons(moments, tops(outputs), needs=needs_of_means(outputs, animals))
    table = pd.DataFrame({name: values.ravel() for name, values in columns.items()}, index=index).reset_index()
    table.insert(3, "unit", table["output"].map({output.name: output.unit for output in outputs}))
    return table


def differences(
    replicates: pd.DataFrame,
    outputs: Sequence[Output],
    reference: str,
    *,
    animals: float = math.inf,
    unit: str = "room",
    turned: bool = False,
) -> pd.DataFrame:
    """Each alternative minus the reference, by case and output, from replicates; see ComparisonTables.

    `animals`: the sows whose mean a replicate is; `unit`: what a replicate is, "room" or "farm". `turned`: the reference
    minus each alternative instead.
    """
    cases, alternatives = labels(replicates)
    paired = PairedMoments(
        cases, alternatives, reference, [o.name for o in outputs], tiny_differences(outputs, animals)
    )
    values = _values(replicates, cases, [reference, *paired.others], outputs)
    pairs = values[:, :, 1:] - values[:, :, :1]
    paired.add_differences(-pairs if turned else pairs)
    paired.see_whole_rooms(replicates)
    # Replicates in which either side has no value are left out of both means.
    alternative, base = (np.where(np.isnan(pairs), np.nan, side) for side in (values[:, :, 1:], values[:, :, :1]))
    table = differences_table(
        paired,
        outputs,
        animals=animals,
        unit=unit,
        mean_alternative=Moments.of(alternative).mean,
        mean_reference=Moments.of(base).mean,
    )
    return table.assign(reference=reference)[_COLUMNS]


def differences_table(
    paired: PairedMoments,
    outputs: Sequence[Output],
    *,
    animals: float = math.inf,
    unit: str = "room",
    **columns: np.ndarray,
) -> pd.DataFrame:
    """One row per case, output and alternative: the difference, its 95 % interval, n pairs, `p_holm` and the verdict.

    `animals` and `unit` as in differences; `columns`: further ones of the shape of the moments.
    """
    moments = paired.moments
    needed = needs(outputs, animals)
    low, high = interval(moments, needs=needed)
    table = paired.table(
        None,
        ci_low=low,
        ci_high=high,
        p=p_of_no_difference(moments, needs=needed),
        sd=moments.sd,
        n_differing=moments.apart,
        identical=np.broadcast_to(paired.identical[..., np.newaxis] & (paired.replications > 1), moments.n.shape),
        **columns,
    )
    parts = [judged(part, outputs, animals=animals, unit=unit) for _, part in table.groupby("case", sort=False)]
    return pd.concat(parts, ignore_index=True)


def _values(
    replicates: pd.DataFrame, cases: Sequence[str], alternatives: Sequence[str], outputs: Sequence[Output]
) -> np.ndarray:
    """As values_by_room, the replicates of each series together in memory, so that NumPy sums them pairwise."""
    return np.asfortranarray(values_by_room(replicates, cases, alternatives, [output.name for output in outputs]))
