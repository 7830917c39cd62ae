"""The confidence level of every interval, and ratios of which some have no denominator."""

from __future__ import annotations

import numpy as np

CONFIDENCE = 0.95


def ratio(part: np.ndarray, whole: np.ndarray) -> np.ndarray:
    """`part` over `whole`, shape (n,); NaN where `whole` is not above 0."""
    quotient: np.ndarray = np.divide(part, whole, out=np.full(len(whole), np.nan), where=whole > 0)
    return quotient
