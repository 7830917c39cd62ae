"""What a difference may be where neither chance nor the parameters are known: draws of the parameters, rooms in each.

The mean over the rooms of a draw is the true difference of that draw plus chance. Chance is measured within draws and taken
out of the spread between them; what is left is the doubt about the parameters, to which the chance of the difference at the
parameters as given is added once.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy import special

from farrowtide.statistics.intervals import CONFIDENCE

LEAST_ROOMS = 2  # in each draw, so that chance within draws can be measured
MOST_ROOMS = 20
_LEAST_ERROR = 1e-200  # for which a difference divided by it is still a number
_HALVINGS = 60  # of the bracket around a quantile


@dataclass(frozen=True)
class Draws:
    """The draws of many series at once: what each gives in the mean of its rooms, and the two variances.

    `means`, `rooms`: shape (draws, series), NaN and 0 where a draw has no value. `between`: variance of the true values of draws.
    `within`: variance of one room around the true value of its draw; NaN where no draw has two rooms.
    """

    means: np.ndarray
    rooms: np.ndarray
    between: np.ndarray
    within: np.ndarray

    @classmethod
    def of(cls, values: np.ndarray) -> Draws:
        """By a one-way analysis of variance of values, shape (draws, rooms, series); NaN: no such room.

        The variance between draws is estimated by moments and never below 0 (Searle, Casella & McCulloch 1992, Variance
        Components, section 3.6, from memory).
        """
        known = ~np.isnan(values)
        rooms = known.sum(axis=1)
        filled = np.where(known, values, 0.0)
        means = np.divide(filled.sum(axis=1), rooms, out=np.full(rooms.shape, np.nan), where=rooms > 0)
        squares = (np.where(known, values - means[:, None], 0.0) ** 2).sum(axis=(0, 1))
        spare = np.maximum(rooms - 1, 0).sum(axis=0)
        within = np.divide(squares, spare, out=np.full(spare.shape, np.nan), where=spare > 0)
        draws = (rooms > 0).sum(axis=0)
        centre = np.nansum(means, axis=0) / np.maximum(draws, 1)
        spread = np.nansum((means - centre) ** 2, axis=0) / np.maximum(draws - 1, 1)
        of_a_mean = np.where(rooms > 0, 1 / np.maximum(rooms, 1), 0.0).sum(axis=0) / np.maximum(draws, 1)
        return cls(means, rooms, np.maximum(spread - within * of_a_mean, 0.0), within)

    @property
    def number(self) -> np.ndarray:
        """The draws with a value, of each series."""
        number: np.ndarray = (self.rooms > 0).sum(axis=0)
        return number

    @property
    def variance_of_centre(self) -> np.ndarray:
        """The variance by which chance within draws moves the mean of all draws; 0 where it is not known."""
        of_a_mean = np.where(self.rooms > 0, self.within / np.maximum(self.rooms, 1), 0.0).sum(axis=0)
        variance: np.ndarray = np.nan_to_num(of_a_mean / np.maximum(self.number, 1) ** 2)
        return variance

    @property
    def true(self) -> np.ndarray:
        """The draws without the chance of their rooms: moved towards their centre until they spread as true values do.

        Their variance is `between`, where the best estimates of single draws would spread too little (Louis 1984, J Am Stat
        Assoc 79:393-398, from memory).
        """
        nothing = np.full(self.number.shape, np.nan)
        centre = np.divide(np.nansum(self.means, axis=0), self.number, out=nothing, where=self.number > 0)
        deviations = self.means - centre
        spread = np.nansum(deviations**2, axis=0) / np.maximum(self.number - 1, 1)
        kept = np.sqrt(np.divide(self.between, spread, out=np.zeros_like(spread), where=spread > 0))
        true: np.ndarray = centre + kept * deviations
        return true


def rooms_of_a_draw(draws: Draws, cost_of_a_draw: float) -> np.ndarray:
    """The number of rooms in each draw that gives most for the time, by series; LEAST_ROOMS to MOST_ROOMS.

    The square root of the cost of a draw, in rooms, times the variance within over that between draws (Cochran 1977, Sampling
    Techniques, section 10.6, from memory).
    """
    with np.errstate(over="ignore", divide="ignore", invalid="ignore"):
        best = np.sqrt(cost_of_a_draw * draws.within / draws.between)
    best = np.where(draws.within > 0, best, LEAST_ROOMS)
    rooms: np.ndarray = np.clip(np.ceil(best), LEAST_ROOMS, MOST_ROOMS).astype(int)
    return rooms


@dataclass(frozen=True)
class BothDoubts:
    """What is thought of differences: a mixture of Student's distributions, one around each true value of a draw.

    `centres`: shape (draws, series), NaN where a draw has no value. `error`, `df`: standard error and degrees of freedom of the
    difference at the parameters as given, by series.
    """

    centres: np.ndarray
    error: np.ndarray
    df: np.ndarray

    def below(self, bound: np.ndarray) -> np.ndarray:
        """The probability that the difference is below this, by series; NaN where no draw has a value."""
        known = ~np.isnan(self.centres)
        error = np.maximum(self.error, _LEAST_ERROR)
        each = special.stdtr(self.df, (bound - np.where(known, self.centres, 0.0)) / error)
        number = known.sum(axis=0)
        total = np.where(known, each, 0.0).sum(axis=0)
        share: np.ndarray = np.divide(total, number, out=np.full(number.shape, np.nan), where=number > 0)
        return share

    def quantile(self, probability: float) -> np.ndarray:
        """The value below which the difference is with this probability, by series; by halving a bracket."""
        reach = special.stdtrit(self.df, 1 - (1 - CONFIDENCE) / 100) * self.error
        with np.errstate(all="ignore"):
            low = np.nanmin(np.where(np.isnan(self.centres), np.inf, self.centres), axis=0) - reach
            high = np.nanmax(np.where(np.isnan(self.centres), -np.inf, self.centres), axis=0) + reach
            for _ in range(_HALVINGS):
                middle = (low + high) / 2
                less = self.below(middle) < probability
                low, high = np.where(less, middle, low), np.where(less, high, middle)
        found: np.ndarray = (low + high) / 2
        return found

    def interval(self, confidence: float = CONFIDENCE) -> tuple[np.ndarray, np.ndarray]:
        """The ends that leave the same probability on either side."""
        return self.quantile((1 - confidence) / 2), self.quantile((1 + confidence) / 2)


def error_of_probability(probability: float, draws: int) -> float:
    """The standard error of a probability that was counted over so many draws, by the add-two rule near 0 and 1."""
    share = (probability * draws + 2) / (draws + 4)
    return math.sqrt(share * (1 - share) / (draws + 4))
