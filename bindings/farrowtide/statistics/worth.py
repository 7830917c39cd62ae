"""What knowing more would be worth to somebody who has to choose.

`gains`: shape (draws, choices), what each choice gives at each draw of what is not known, more being better.
"""

from __future__ import annotations

import numpy as np
from scipy.interpolate import make_lsq_spline
from scipy.special import ndtri

_SHUFFLES = 199  # of an input, to measure what the spline finds where there is nothing
_ROUNDING = 1e-12  # relative to the gains
_DEGREE = 3  # of the spline
_KNOTS = 1 / 3, 2 / 3  # inside, as shares of the draws


def of_perfect_information(gains: np.ndarray) -> float:
    """The expected gain of choosing at each draw what is best there, over choosing what is best in the mean."""
    gain = float(gains.max(axis=1).mean() - gains.mean(axis=0).max())
    return gain if gain > _ROUNDING * np.abs(gains).max() else 0.0


def of_one_input(gains: np.ndarray, probabilities: np.ndarray, seed: int = 0) -> float:
    """The same where only one input becomes known, by regression on it (Strong, Oakley & Brennan 2014, Med Decis Making 34:311-326).

    `probabilities`: of the input at each draw, 0 to 1. Each choice is smoothed along the normal score of the input by a cubic
    spline with two knots. What the same makes of shuffled draws, in the mean of 199
    shuffles, is subtracted; where one of these makes as much, the worth is 0. It is at most that of knowing everything.
    """
    score = ndtri(np.clip(probabilities, 1e-6, 1 - 1e-6))
    found = of_perfect_information(_smoothed(gains, score))
    if found == 0.0:
        return 0.0
    generator = np.random.default_rng(seed)
    by_chance = [of_perfect_information(_smoothed(gains, generator.permutation(score))) for _ in range(_SHUFFLES)]
    if found <= max(by_chance):
        return 0.0
    return min(found - float(np.mean(by_chance)), of_perfect_information(gains))


def _smoothed(gains: np.ndarray, score: np.ndarray) -> np.ndarray:
    """The gains as smooth functions of the score. A choice that is 0 throughout, as the one compared with, stays so."""
    order = np.argsort(score, kind="stable")
    ranked = score[order]
    ends = np.repeat(ranked[[0, -1]], _DEGREE + 1)
    knots = np.sort(np.concatenate([ends, np.quantile(ranked, _KNOTS)]))
    smoothed = np.empty_like(gains)
    smoothed[order] = make_lsq_spline(ranked, gains[order], knots, _DEGREE)(ranked)
    return smoothed
