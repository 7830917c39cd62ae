"""Quantiles with distribution-free confidence intervals."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from scipy import stats

from farrowtide.statistics.intervals import CONFIDENCE


def quantile(values: np.ndarray, q: float, confidence: float = CONFIDENCE) -> tuple[float, float, float]:
    """The median-unbiased quantile `q` of the values and both ends of its interval, each NaN where it does not exist."""
    if len(values) == 0:
        return math.nan, math.nan, math.nan
    estimate = float(np.quantile(values, q, method="median_unbiased"))
    bounds: Any = stats.quantile_test(values, q=estimate, p=q).confidence_interval(confidence)
    return estimate, float(bounds.low), float(bounds.high)


def rooms_for_quantile(q: float, confidence: float = CONFIDENCE) -> int:
    """The number of rooms at which both ends of the interval exist: max(q, 1 - q)^n <= (1 - confidence) / 2."""
    return math.ceil(math.log((1 - confidence) / 2) / math.log(max(q, 1 - q)))
