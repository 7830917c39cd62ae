"""Means, standard deviations and skewness of many series at once, kept without their values."""

from __future__ import annotations

import numpy as np

ROUNDING = 1e-12  # relative to the values: variation below it is rounding error


class Moments:
    """The number of values, mean and sums of powers of the deviations of each series of an array; NaN is a missing value.

    `apart` counts the values that differ from 0 by more than `tiny`, and from `top` as well where there is one: those
    which carry the spread where most values are at an end of their range. Both broadcast to the shape.

    Blocks are joined by the method of Chan, Golub & LeVeque (1983, Am Stat 37:242-247), which loses no digits where the
    mean is large against the standard deviation. The same blocks in the same order and memory layout give the same
    bits; others may differ in the last digits.
    """

    def __init__(
        self, shape: int | tuple[int, ...], *, tiny: float | np.ndarray = 0.0, top: float | np.ndarray = np.inf
    ) -> None:
        self.n = np.zeros(shape, dtype=np.int64)
        self.apart = np.zeros(shape, dtype=np.int64)
        self._mean = np.zeros(shape)
        self._squares = np.zeros(shape)  # of the deviations from the mean
        self._cubes = np.zeros(shape)
        self._largest = np.zeros(shape)  # absolute value
        self._tiny, self._top = tiny, top

    @classmethod
    def of(cls, values: np.ndarray, *, tiny: float | np.ndarray = 0.0, top: float | np.ndarray = np.inf) -> Moments:
        """The moments of one block of values, shape (count, *shape)."""
        moments = cls(values.shape[1:], tiny=tiny, top=top)
        known = ~np.isnan(values)
        size = np.where(known, np.abs(values), 0.0)
        moments.n = known.sum(axis=0)
        moments.apart = ((size > tiny) & (np.abs(size - top) > tiny)).sum(axis=0)
        moments._mean = np.where(known, values, 0.0).sum(axis=0) / np.maximum(moments.n, 1)
        deviations = np.where(known, values - moments._mean, 0.0)
        moments._squares = (deviations**2).sum(axis=0)
        moments._cubes = (deviations**3).sum(axis=0)
        moments._largest = size.max(axis=0, initial=0.0)
        return moments

    def add(self, values: np.ndarray) -> None:
        """Adds a block of values, shape (count, *shape)."""
        self.merge(Moments.of(np.asarray(values, dtype=float), tiny=self._tiny, top=self._top))

    def merge(self, other: Moments) -> None:
        """Adds the values of another one of the same shape."""
        if other.n.shape != self.n.shape:
            raise ValueError(f"shape {other.n.shape} cannot be merged into {self.n.shape}")
        n = self.n + other.n
        share = other.n / np.maximum(n, 1)
        gap = other._mean - self._mean
        self._cubes = (
            self._cubes
            + other._cubes
            + gap**3 * self.n * share * (self.n - other.n) / np.maximum(n, 1)
            + 3 * gap * (self.n * other._squares - other.n * self._squares) / np.maximum(n, 1)
        )
        self._squares = self._squares + other._squares + gap**2 * self.n * share
        self._mean = self._mean + gap * share
        self._largest = np.maximum(self._largest, other._largest)
        self.apart = self.apart + other.apart
        self.n = n

    def turned(self, sign: float | np.ndarray) -> Moments:
        """The moments of the values times `sign`, which is 1 or -1."""
        moments = Moments(self.n.shape, tiny=self._tiny, top=self._top)
        moments.n, moments.apart, moments._largest = self.n, self.apart, self._largest
        moments._mean, moments._squares, moments._cubes = self._mean * sign, self._squares, self._cubes * sign
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

    @property
    def skewness(self) -> np.ndarray:
        """The third standardised moment of each series; 0 where its values do not vary."""
        varies = self.varies
        cubes = np.divide(self._cubes, np.maximum(self.n, 1), out=np.zeros(self.n.shape), where=varies)
        squares = np.divide(self._squares, np.maximum(self.n, 1), out=np.ones(self.n.shape), where=varies)
        skewness: np.ndarray = np.divide(cubes, squares**1.5, out=np.zeros(self.n.shape), where=varies)
        return skewness

    @property
    def varies(self) -> np.ndarray:
        """Whether the values of each series differ by more than rounding error."""
        differ: np.ndarray = np.sqrt(self._squares / np.maximum(self.n, 1)) > ROUNDING * self._largest
        return differ
