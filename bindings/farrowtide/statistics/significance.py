"""The adjustment of p values for multiple testing."""

from __future__ import annotations

import numpy as np

from farrowtide.statistics.intervals import CONFIDENCE

ERROR = 1 - CONFIDENCE


def holm(p: np.ndarray) -> np.ndarray:
    """The step-down adjustment of Holm (1979, Scand J Stat 6:65-70); NaN stays NaN and is not counted."""
    adjusted = np.full(len(p), np.nan)
    order = np.argsort(p)[: np.count_nonzero(~np.isnan(p))]
    adjusted[order] = np.minimum(1, np.maximum.accumulate(p[order] * np.arange(len(order), 0, -1)))
    return adjusted


def holm_by_case(p: np.ndarray) -> np.ndarray:
    """Adjusts over all axes but the first, which is the case."""
    return np.array([holm(part.ravel()).reshape(part.shape) for part in p])
