"""Means, standard deviations and t intervals of many series at once, kept without their values."""

from __future__ import annotations

import numpy as np
from scipy import special

from farrowtide.statistics.intervals import CONFIDENCE


class Moments:
    """The number of values, mean and sum of squared deviations of each series of an array; NaN is a missing value.

    Blocks are joined by the method of Chan, Golub & LeVeque (1983, Am Stat 37:242-247), which loses no digits where the
    mean is large against the standard deviation. The same blocks in the same order and memory layout give the same
    bits; others may differ in the last digits.
    """

    def __init__(self, shape: int | tuple[int, ...]) -> None:
        self.n = np.zeros(shape, dtype=np.int64)
        self._mean = np.zeros(shape)
        self._squares = np.zeros(shape)  # of the deviations from the mean

    @classmethod
    def of(cls, values: np.ndarray) -> Moments:
        """The moments of one block of values, shape (count, *shape)."""
        moments = cls(values.shape[1:])
        known = ~np.isnan(values)
        moments.n = known.sum(axis=0)
        moments._mean = np.where(known, values, 0.0).sum(axis=0) / np.maximum(moments.n, 1)
        moments._squares = (np.where(known, values - moments._mean, 0.0) ** 2).sum(axis=0)
        return moments

    def add(self, values: np.ndarray) -> None:
        """Adds a block of values, shape (count, *shape)."""
        self.merge(Moments.of(np.asarray(values, dtype=float)))

    def merge(self, other: Moments) -> None:
        """Adds the values of another one of the same shape."""
        if other.n.shape != self.n.shape:
            raise ValueError(f"shape {other.n.shape} cannot be merged into {self.n.shape}")
        n = self.n + other.n
        share = other.n / np.maximum(n, 1)
        gap = other._mean - self._mean
        self._squares = self._squares + other._squares + gap**2 * self.n * share
        self._mean = self._mean + gap * share
        self.n = n

    def turned(self, sign: float | np.ndarray) -> Moments:
        """The moments of the values times `sign`, which is 1 or -1."""
        moments = Moments(self.n.shape)
        moments.n, moments._mean, moments._squares = self.n, self._mean * sign, self._squares
        return moments

    @property
    def mean(self) -> np.ndarray:
        """The mean of each series; NaN where there is no value."""
        return np.where(self.n > 0, self._mean, np.nan)

    @property
    def sd(self) -> np.ndarray:
        """The standard deviation with n - 1; NaN below two values."""
        return np.sqrt(np.where(self.n > 1, self._squares / np.maximum(self.n - 1, 1), np.nan))

    @property
    def standard_error(self) -> np.ndarray:
        """The standard error of the mean; NaN below two values."""
        return self.sd / np.sqrt(np.maximum(self.n, 1))

    def half_width(self, confidence: float = CONFIDENCE) -> np.ndarray:
        """The half-width of the two-sided t interval of the mean; NaN below two values."""
        t = special.stdtrit(np.maximum(self.n - 1, 1), (1 + confidence) / 2)
        half: np.ndarray = t * self.sd / np.sqrt(np.maximum(self.n, 1))
        return half

    def interval(self, confidence: float = CONFIDENCE) -> tuple[np.ndarray, np.ndarray]:
        """The lower and upper end of the two-sided t interval of the mean; NaN below two values."""
        half = self.half_width(confidence)
        return self.mean - half, self.mean + half

    def p_below(self, bound: float | np.ndarray) -> np.ndarray:
        """The one-sided p of the t test that the true mean is `bound` or more, against its being below.

        NaN below two values; where all values are equal, 0 if they are below the bound and 1 if not.
        """
        gap = self.mean - bound
        t = np.divide(gap, self.standard_error, out=np.where(gap < 0, -np.inf, np.inf), where=self.standard_error > 0)
        return np.where(self.n > 1, special.stdtr(np.maximum(self.n - 1, 1), t), np.nan)
