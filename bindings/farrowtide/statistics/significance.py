"""p values of paired differences, and their adjustment for multiple testing."""

from __future__ import annotations

import numpy as np
from scipy import special

from farrowtide.statistics.intervals import CONFIDENCE

ERROR = 1 - CONFIDENCE


def p_of_no_difference(mean: np.ndarray, sd: np.ndarray, n: np.ndarray) -> np.ndarray:
    """The two-sided p of the paired t test; 1 where every pair is equal, NaN below two pairs."""
    error = sd / np.sqrt(np.maximum(n, 1))
    t = np.divide(mean, error, out=np.where(mean == 0, 0.0, np.inf), where=error > 0)
    return np.where(n > 1, 2 * special.stdtr(np.maximum(n - 1, 1), -np.abs(t)), np.nan)


def holm(p: np.ndarray) -> np.ndarray:
    """The step-down adjustment of Holm (1979, Scand J Stat 6:65-70); NaN stays NaN and is not counted."""
    adjusted = np.full(len(p), np.nan)
    order = np.argsort(p)[: np.count_nonzero(~np.isnan(p))]
    adjusted[order] = np.minimum(1, np.maximum.accumulate(p[order] * np.arange(len(order), 0, -1)))
    return adjusted


def holm_by_case(p: np.ndarray) -> np.ndarray:
    """Adjusts over all axes but the first, which is the case."""
    return np.array([holm(part.ravel()).reshape(part.shape) for part in p])
