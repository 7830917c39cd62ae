"""Means over replicates with their 95 % intervals."""

from __future__ import annotations

import numpy as np
from scipy import special

CONFIDENCE = 0.95


def ratio(part: np.ndarray, whole: np.ndarray) -> np.ndarray:
    """Part of whole, NaN where there is no whole."""
    return np.divide(part, whole, out=np.full(len(whole), np.nan), where=whole > 0)


def column_means(values: np.ndarray) -> np.ndarray:
    """Mean of each column over its known values, NaN where there are none."""
    known = ~np.isnan(values)
    return ratio(np.where(known, values, 0.0).sum(axis=0), known.sum(axis=0))


def interval(values: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Mean, standard deviation, low and high end of the 95 % t interval, and number of known values of each column."""
    n = (~np.isnan(values)).sum(axis=0)
    mean = column_means(values)
    squares = np.where(np.isnan(values), 0.0, values - mean) ** 2
    sd = np.sqrt(np.divide(squares.sum(axis=0), n - 1, out=np.full(len(n), np.nan), where=n > 1))
    half = special.stdtrit(np.maximum(n - 1, 1), (1 + CONFIDENCE) / 2) * sd / np.sqrt(np.maximum(n, 1))
    return mean, sd, mean - half, mean + half, n
