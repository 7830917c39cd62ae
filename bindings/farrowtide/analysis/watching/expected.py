"""What a healthy sow is expected to eat and drink, given her parity, the day, the season and her own past days.

The scenario's own sows, simulated in many rooms, say how intake is distributed for each parity class and lactation day.
Each amount is turned into a normal score by that distribution, so that any shape is kept: a ceiling set by the allowance, a
long lower tail. How the scores of one sow's days go together is their correlation matrix. The prediction of a day is then
that of a normal distribution given the scores of her earlier days: a sow that has eaten more than others of her parity is
expected to go on, by as much as simulated sows do, and with less spread than a sow without a past. Recent days weigh more
where days differ within a sow, all alike where sows differ between each other; the matrix holds both.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, ndtri

from farrowtide.analysis.watching.stays import QUANTITIES, Array, Stays
from farrowtide.errors import UserError
from farrowtide.outputs.rooms import PARITY_CLASSES

_LEAST_OF_CLASS, _LEAST_OF_DAY = 40, 100  # simulated sows behind a distribution; below, all parities, or no band
_LEAST_SHARE = 0.25  # of the simulated sows that still nurse on the last day that has a band
_LEAST_EIGENVALUE = 0.005
_TAIL = 0.025  # share of the sows by which the tail is drawn out beyond the simulated ones


@dataclass(frozen=True)
class Distribution:
    """Simulated amounts of one parity class and lactation day, in order."""

    values: Array

    def scores(self, amounts: Array) -> Array:
        """Normal scores of amounts; beyond the simulated ones in proportion to the distance."""
        n = len(self.values)
        rank = (np.searchsorted(self.values, amounts, "left") + np.searchsorted(self.values, amounts, "right")) / 2
        inside = ndtri(np.clip(rank, 0.5, n - 0.5) / n)
        below, above = self.values[0] - amounts, amounts - self.values[-1]
        drawn_out = inside - np.maximum(below, 0) / self._step(0) + np.maximum(above, 0) / self._step(1)
        return np.where(np.isnan(amounts), np.nan, drawn_out)

    def amounts(self, scores: Array) -> Array:
        """The reverse; never below zero."""
        n = len(self.values)
        ends = ndtri(0.5 / n), ndtri(1 - 0.5 / n)
        inside = np.quantile(self.values, ndtr(np.clip(np.nan_to_num(scores), *ends)), method="hazen")
        beyond = np.minimum(scores - ends[0], 0) * self._step(0) + np.maximum(scores - ends[1], 0) * self._step(1)
        return np.where(np.isnan(scores), np.nan, np.maximum(inside + beyond, 0))

    def _step(self, end: int) -> float:
        """The amount for one score in the lower or the upper tail."""
        middle, tail = np.quantile(self.values, [0.5, (_TAIL, 1 - _TAIL)[end]])
        return max(abs(float(tail - middle)) / -float(ndtri(_TAIL)), 1e-3)


@dataclass(frozen=True)
class Prediction:
    """The expected score of each sow's days (stays x days) and its standard deviation, given the scores before."""

    mean: Array
    sd: Array


class Expected:
    """Distributions and correlations of one quantity over lactation days."""

    def __init__(self, quantity: str, healthy: Stays) -> None:
        """From stays of simulated sows that were healthy."""
        self.quantity = quantity
        amounts, classes = healthy.values[quantity], healthy.parity_class
        known = (~np.isnan(amounts)).sum(axis=0)
        enough = known >= max(_LEAST_OF_DAY, _LEAST_SHARE * len(healthy))
        self.days = int(np.argmin(enough)) if not enough.all() else len(enough)
        if self.days == 0:
            raise UserError(
                f"{quantity}: fewer than {_LEAST_OF_DAY} healthy sows were simulated; ask for more rooms (-n)"
            )
        self._distributions = [
            [self._distribution(amounts[:, day], classes == index) for day in range(self.days)]
            for index in range(len(PARITY_CLASSES))
        ]
        self.correlation = _correlation(self.scores(healthy))

    def _distribution(self, amounts: Array, of_class: Array) -> Distribution:
        known = ~np.isnan(amounts)
        chosen = amounts[known & of_class]
        return Distribution(np.sort(chosen if len(chosen) >= _LEAST_OF_CLASS else amounts[known]))

    def scores(self, stays: Stays) -> Array:
        """The normal scores of what stays ate or drank (stays x days)."""
        return self._each(stays, stays.values[self.quantity], lambda of, amounts: of.scores(amounts))

    def amounts(self, stays: Stays, scores: Array) -> Array:
        """The amounts of scores."""
        return self._each(stays, scores, lambda of, values: of.amounts(values))

    def mean(self, stays: Stays) -> Array:
        """The mean of the simulated sows of the class and day (stays x days), whatever her past."""
        return self._each(stays, stays.values[self.quantity], lambda of, values: np.full(len(values), of.values.mean()))

    def _each(self, stays: Stays, values: Array, function: Callable[[Distribution, Array], Array]) -> Array:
        out = np.full(values.shape, np.nan)
        classes = stays.parity_class
        for index in range(len(PARITY_CLASSES)):
            rows = np.flatnonzero(classes == index)
            for day in range(min(self.days, values.shape[1])) if len(rows) else ():
                out[rows, day] = function(self._distributions[index][day], values[rows, day])
        return out

    def predicted(self, scores: Array, *, skipping: int = 0) -> Prediction:
        """The prediction of each day from the days before it, without the last `skipping` of these."""
        mean, sd = np.full(scores.shape, np.nan), np.full(scores.shape, np.nan)
        known = ~np.isnan(scores)
        pattern = np.zeros(len(scores), dtype=int)  # the same number for sows with the same days known
        for day in range(self.days):
            if day > skipping:
                pattern = np.unique(2 * pattern + known[:, day - skipping - 1], return_inverse=True)[1].reshape(-1)
            for rows in _alike(pattern):
                past = np.flatnonzero(known[rows[0], : max(day - skipping, 0)])
                weights, variance = self._weights(day, past)
                mean[rows, day] = scores[np.ix_(rows, past)] @ weights
                sd[rows, day] = np.sqrt(variance)
        return Prediction(mean, sd)

    def _weights(self, day: int, past: Array) -> tuple[Array, float]:
        """What the scores of past days weigh in the prediction of a day, and the variance that is left."""
        across = self.correlation[past, day]
        weights: Array = np.linalg.solve(self.correlation[np.ix_(past, past)], across)
        return weights, float(max(1 - across @ weights, _LEAST_EIGENVALUE))


def expectations(healthy: Stays) -> dict[str, Expected]:
    """The expectation of each quantity, from healthy simulated stays."""
    return {quantity: Expected(quantity, healthy) for quantity in QUANTITIES}


def _alike(pattern: Array) -> Iterator[Array]:
    """The rows with each number."""
    order = np.argsort(pattern, kind="stable")
    ends = np.flatnonzero(np.diff(pattern[order])) + 1
    return iter(np.split(order, ends)) if len(pattern) else iter(())


def _correlation(scores: Array) -> Array:
    """The correlation matrix of the days, from the sows that have both; made positive definite."""
    days = int((~np.isnan(scores)).any(axis=0).sum())
    known = ~np.isnan(scores[:, :days])
    filled = np.where(known, scores[:, :days], 0.0)
    both = known.T.astype(float) @ known
    square = (filled**2).T @ known
    with np.errstate(invalid="ignore", divide="ignore"):
        matrix = np.where(both > 2, (filled.T @ filled) / np.sqrt(square * square.T), 0.0)
    values, vectors = np.linalg.eigh(np.nan_to_num(matrix))
    matrix = (vectors * np.maximum(values, _LEAST_EIGENVALUE)) @ vectors.T
    scale = np.sqrt(np.diag(matrix))
    return np.asarray(matrix / np.outer(scale, scale))
