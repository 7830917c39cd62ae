"""The ratio of the means of two series measured on the same rooms."""

from __future__ import annotations

import math

import numpy as np
from scipy import special

from farrowtide.statistics.intervals import CONFIDENCE


def fieller_interval(
    numerator: np.ndarray, denominator: np.ndarray, confidence: float = CONFIDENCE
) -> tuple[float, float]:
    """The ends of the interval of mean(numerator) / mean(denominator), of shape (rooms,) each and paired by room.

    It holds every ratio r at which the mean of numerator - r x denominator does not differ from 0 by Student's t test
    (Fieller 1954, J R Stat Soc B 16:175-185). NaN where it has no two ends, because the mean of the denominator itself may
    be 0, and below two rooms.
    """
    n = len(numerator)
    if n < 2:
        return math.nan, math.nan
    covariance = np.cov(numerator, denominator) / n * special.stdtrit(n - 1, (1 + confidence) / 2) ** 2
    above, below = float(np.mean(numerator)), float(np.mean(denominator))
    a = below**2 - covariance[1, 1]
    b = above * below - covariance[0, 1]
    c = above**2 - covariance[0, 0]
    if a <= 0:
        return math.nan, math.nan
    half = math.sqrt(max(0.0, b**2 - a * c))  # below 0 by rounding only: at the ratio of the means it is above
    return (b - half) / a, (b + half) / a
