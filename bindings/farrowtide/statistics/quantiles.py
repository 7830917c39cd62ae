"""Quantiles with intervals that hold whatever the shape of the distribution."""

from __future__ import annotations

import math

import numpy as np
from scipy import stats

from farrowtide.statistics.intervals import CONFIDENCE


def quantile(values: np.ndarray, q: float, confidence: float = CONFIDENCE) -> tuple[float, float, float]:
    """The median-unbiased quantile `q` of the values, and both ends of its interval; NaN where there is none."""
    if len(values) == 0:
        return math.nan, math.nan, math.nan
    found = float(np.quantile(values, q, method="median_unbiased"))
    low, high = stats.quantile_test(values, q=found, p=q).confidence_interval(confidence)
    return found, float(low), float(high)


def rooms_for_quantile(q: float, confidence: float = CONFIDENCE) -> int:
    """Rooms from which both ends of the quantile's interval exist: max(q, 1 - q)^n <= (1 - confidence) / 2."""
    return math.ceil(math.log((1 - confidence) / 2) / math.log(max(q, 1 - q)))
