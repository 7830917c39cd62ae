"""By which factor pairing reduces the variance of a difference."""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy import special

from farrowtide.statistics.inference import LEAST_APART
from farrowtide.statistics.intervals import CONFIDENCE
from farrowtide.statistics.moments import ROUNDING

LEAST_PAIRS = 3


def variance_factor(above: np.ndarray, below: np.ndarray) -> tuple[float, float, float]:
    """The variances of the columns of `above`, shape (n, k), summed, over that of `below`, shape (n,), with its interval.

    The 95 % interval is from the jackknife of the logarithm over rows (Miller 1968, Ann Math Stat 39:567, from memory),
    which assumes no normal distribution; there is none where fewer than LEAST_APART rows of `below` differ from 0.
    Infinite without an interval where `below` does not vary, NaN where nothing
    varies or below three rows.
    """
    n = len(below)
    if n < LEAST_PAIRS:
        return np.nan, np.nan, np.nan
    varies = [_varies(column) for column in above.T]
    if not _varies(below):
        return (np.inf if any(varies) else np.nan), np.nan, np.nan
    log = np.log(above.var(axis=0, ddof=1).sum() / below.var(ddof=1)) if any(varies) else -np.inf
    with np.errstate(divide="ignore", invalid="ignore"):
        without_one = np.log(_variances_without_one(above).sum(axis=1) / _variances_without_one(below))
        pseudo = n * log - (n - 1) * without_one
    if not np.isfinite(pseudo).all():  # all variation is from a single room
        return float(np.exp(log)), np.nan, np.nan
    if np.count_nonzero(np.abs(below) > ROUNDING * max(np.abs(above).max(), 1)) < min(LEAST_APART, n):
        return float(np.exp(log)), np.nan, np.nan
    half = special.stdtrit(n - 1, (1 + CONFIDENCE) / 2) * pseudo.std(ddof=1) / np.sqrt(n)
    return float(np.exp(log)), float(np.exp(pseudo.mean() - half)), float(np.exp(pseudo.mean() + half))


def _varies(values: np.ndarray) -> bool:
    return bool(values.std() > ROUNDING * max(np.abs(values).max(), 1))


def _variances_without_one(values: np.ndarray) -> np.ndarray:
    """The variance of each column with each row left out in turn, of the shape of `values`."""
    n = len(values)
    squares = (values - values.mean(axis=0)) ** 2
    variances: np.ndarray = np.maximum(squares.sum(axis=0) - n / (n - 1) * squares, 0) / (n - 2)
    return variances


def spreads(both: np.ndarray) -> tuple[float, float, float]:
    """The standard deviations of two columns, shape (n, 2), and their correlation, NaN where one does not vary."""
    before, after = np.sqrt(variance(both))
    varies = len(both) > 1 and all(_varies(column) for column in both.T)
    return before, after, np.corrcoef(both.T)[0, 1] if varies else np.nan


def best_factor(sd_reference: float, sd_alternative: float) -> float:
    """The largest factor for these standard deviations: that of a correlation of 1."""
    apart = (sd_reference - sd_alternative) ** 2
    return (sd_reference**2 + sd_alternative**2) / apart if apart > 0 else np.inf


def variance(values: np.ndarray) -> Any:
    """The variance of each column with n - 1; NaN below two rows."""
    return values.var(axis=0, ddof=1) if len(values) > 1 else np.full(values.shape[1:], np.nan)
