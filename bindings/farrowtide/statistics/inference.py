"""Intervals and tests of means that may be skewed or rest on few values, from moments alone.

The usual t interval of a mean holds less often than it says where values are skewed or where most of them are equal.
Two measures are taken, chosen by counting coverage on outputs of real rooms (.site/generated/coverage.md):

- The interval is the union of Student's t interval and of that by the monotone cubic transformation of Hall (1992, J R Stat
  Soc B 54:221-228), which allows for skewness. Student's is better for symmetric values of which many are 0, Hall's
  for skewed ones. A test rejects where both do.
- There is an interval only where LEAST_APART values or more are apart from 0 (see Moments.apart), and where there are as many
  values, or as many animals in them, as a Floor says. Neither looks at the shape of the values seen: rules that do give
  intervals to just those samples in which a rare large value is missing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy import special

from farrowtide.statistics.intervals import CONFIDENCE
from farrowtide.statistics.moments import Moments

LEAST_APART = 5
COUNTABLE = 2**53  # replications; doubles count no further
_HALL = 1 / 3, 1 / 6  # coefficients of the standardised mean (Hall 1992, section 2)


@dataclass(frozen=True)
class Floor:
    """How many values an interval needs: this many rooms, or fewer with this many animals together."""

    rooms: int
    animals: int

    def needs(self, animals: float) -> int:
        """The number of rooms of `animals` each that reaches the floor; 0 where `animals` is infinite: not asked."""
        return min(self.rooms, math.ceil(self.animals / animals))


DIFFERENCES = Floor(rooms=40, animals=960)  # 40 rooms of 24 sows
MEANS = Floor(rooms=40, animals=120)  # of one alternative: less skewed than differences
# Where only the sows of one parity class count: a few of each room, so that a rare sow weighs more.
DIFFERENCES_OF_CLASS = Floor(rooms=100, animals=2400)
MEANS_OF_CLASS = Floor(rooms=40, animals=480)


Needs = int | np.ndarray  # rooms, of Floor.needs(): one number, or one for each output along the last axis


def is_known(moments: Moments, needs: Needs = 0) -> np.ndarray:
    """Whether there is an interval, which `needs` so many rooms."""
    enough = (moments.n > 1) & (moments.apart >= np.minimum(LEAST_APART, moments.n))
    known: np.ndarray = enough & moments.varies & (moments.n >= needs)
    return known


def student_interval(moments: Moments, confidence: float = CONFIDENCE) -> tuple[np.ndarray, np.ndarray]:
    """Student's interval of the mean, whatever the values; for means of many animals. NaN below two values."""
    half = special.stdtrit(np.maximum(moments.n - 1, 1), (1 + confidence) / 2) * moments.standard_error
    return moments.mean - half, moments.mean + half


def interval(moments: Moments, confidence: float = CONFIDENCE, *, needs: Needs = 0) -> tuple[np.ndarray, np.ndarray]:
    """The lower and upper end of the two-sided interval of the mean, of positive width; NaN where it is not known."""
    t = special.stdtrit(np.maximum(moments.n - 1, 1), (1 + confidence) / 2)
    error = np.where(is_known(moments, needs), moments.standard_error, np.nan)
    low, high = np.maximum(t, _untransformed(moments, t)), np.maximum(t, -_untransformed(moments, -t))
    return moments.mean - low * error, moments.mean + high * error


def half_width(moments: Moments, confidence: float = CONFIDENCE) -> np.ndarray:
    """Half the width of the interval; NaN where it is not known."""
    low, high = interval(moments, confidence)
    half: np.ndarray = (high - low) / 2
    return half


def share_interval(
    moments: Moments,
    whole: float = 100.0,
    confidence: float = CONFIDENCE,
    *,
    needs: Needs = 0,
) -> tuple[np.ndarray, np.ndarray]:
    """The interval of the mean of shares of a whole, always within 0 and `whole`.

    It is the union of Student's interval on the log odds of the mean and of `interval`, as far as the ends of the latter
    are in range. `moments` must have `whole` as their top. NaN where it is not known.
    """
    known = is_known(moments, needs) & (moments.mean > 0) & (moments.mean < whole)
    mean = np.where(known, moments.mean / whole, 0.5)
    t = special.stdtrit(np.maximum(moments.n - 1, 1), (1 + confidence) / 2)
    half = np.where(known, t * moments.standard_error / whole / (mean * (1 - mean)), np.nan)
    odds = special.logit(mean)
    low, high = whole * special.expit(odds - half), whole * special.expit(odds + half)
    lower, higher = interval(moments, confidence, needs=needs)
    return np.where(lower > 0, np.minimum(low, lower), low), np.where(higher < whole, np.maximum(high, higher), high)


def p_below(
    moments: Moments,
    bound: float | np.ndarray = 0.0,
    *,
    needs: Needs = 0,
) -> np.ndarray:
    """The one-sided p that the true mean is `bound` or more, against its being below; NaN where it is not known.

    Where all values are equal and not 0, it is that of the sign test: 2^-n below the bound and 1 above.
    """
    gap = moments.mean - bound
    error = moments.standard_error
    t = np.divide(gap, error, out=np.zeros(moments.n.shape), where=error > 0)
    df = np.maximum(moments.n - 1, 1)
    p = np.maximum(special.stdtr(df, t), special.stdtr(df, _transformed(moments, t)))
    p = np.where(is_known(moments, needs), p, np.nan)
    return np.where(is_constant(moments), np.where(gap < 0, 0.5**moments.n, 1.0), p)


def p_of_no_difference(moments: Moments, *, needs: Needs = 0) -> np.ndarray:
    """The two-sided p that the true mean is 0; NaN where it is not known."""
    below, above = (p_below(side, needs=needs) for side in (moments, moments.turned(-1.0)))
    p: np.ndarray = np.minimum(1.0, 2 * np.minimum(below, above))
    return p


def is_constant(moments: Moments) -> np.ndarray:
    """Whether all values are equal, two or more of them and apart from 0, so that there is a difference and no spread."""
    constant: np.ndarray = (moments.n > 1) & (moments.apart == moments.n) & ~moments.varies
    return constant


def highest_share(count: np.ndarray | int, n: np.ndarray | int, confidence: float = CONFIDENCE) -> np.ndarray:
    """The one-sided upper bound of a share of which `count` of n were seen (Clopper & Pearson 1934, Biometrika 26:404)."""
    bound: np.ndarray = special.betaincinv(np.add(count, 1), np.maximum(np.subtract(n, count), 1), confidence)
    return np.where(np.less(count, n), bound, 1.0)


def replications_needed(
    sd: np.ndarray, half_width: float | np.ndarray, confidence: float | np.ndarray = CONFIDENCE
) -> np.ndarray:
    """The smallest n whose t interval has at most this half-width: n >= (t s / h)^2 with t of n - 1 degrees of freedom.

    `sd` of the values and `half_width` (above 0) are in the same unit. At least 2; NaN where `sd` is NaN, infinity or a
    rough number where it is too large to count.
    """
    with np.errstate(over="ignore"):
        ratio = np.asarray(sd, dtype=float) / half_width
        n = np.maximum(
            2, np.floor((special.ndtri((1 + confidence) / 2) * ratio) ** 2)
        )  # the n by the normal quantile is never too large
        while (short := (n < COUNTABLE) & (special.stdtrit(n - 1, (1 + confidence) / 2) * ratio > np.sqrt(n))).any():
            n = n + short
    return n


def _transformed(moments: Moments, t: np.ndarray) -> np.ndarray:
    """Hall's g(t), whose distribution is closer to Student's than that of t = (mean - true mean) / standard error is."""
    a, b = _HALL
    skew = moments.skewness / np.sqrt(np.maximum(moments.n, 1))
    g: np.ndarray = t + a * skew * t**2 + (a * skew) ** 2 * t**3 / 3 + b * skew
    return g


def _untransformed(moments: Moments, g: np.ndarray) -> np.ndarray:
    """The t of which `g` is the transform."""
    a, b = _HALL
    skew = moments.skewness / np.sqrt(np.maximum(moments.n, 1))
    nearly_symmetric = np.abs(skew) < 1e-8
    root = np.cbrt(1 + 3 * a * skew * (g - b * skew))
    return np.where(nearly_symmetric, g, (root - 1) / np.where(nearly_symmetric, 1.0, a * skew))
