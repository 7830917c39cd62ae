"""The farrowing clock of many litters at once, in NumPy: written from the model's description, not from the engine's source.

Intervals between births, inertia and stillbirth where nobody helps. Minutes; arrays are litters by births.
"""

from __future__ import annotations

from dataclasses import dataclass

import coefficient_files
import numpy as np
from numpy.random import Generator

SOW = coefficient_files.read("sow")
LONGEST_LABOUR_MIN = 60 * SOW.farrowing.longest_labour  # after which what is unborn is dead and delivered at once


def by_parity_class(values: list[float], parity: int) -> float:
    """Tables over the classes 1, 2-4, 5 and later."""
    return values[0 if parity == 1 else 1 if parity <= 4 else 2]


def rank(total_born: int) -> np.ndarray:
    """Relative birth rank, 0 for the first and 1 for the last."""
    return np.arange(total_born) / max(1, total_born - 1)


def shape(r: np.ndarray) -> np.ndarray:
    """Intervals are long at first and longest at last."""
    c = SOW.farrowing.interval_shape
    early = c.early_rise * np.clip(1 - r / c.early_until, 0, None)
    return 1 + early + c.late_rise * np.clip((r - c.late_from) / (1 - c.late_from), 0, None)


def median_interval(total_born: int, parity: int, backfat: float) -> np.ndarray:
    """What a usual sow of the kind takes for the second, third, ... birth, were there no meal term (its centre neither) and no constipation."""
    c, modifiers = SOW.farrowing.intervals, SOW.farrowing.interval_modifiers
    log = c.level + c.size_slope * np.log((total_born - 1) / c.size_reference) - c.interval_mean_correction
    log += by_parity_class(modifiers.parity, parity) + modifiers.backfat * max(0, backfat - modifiers.backfat_from)
    log += c.parity_and_backfat_centre
    return np.exp(log) * shape(rank(total_born)[1:])


def constipation(random: Generator, litters: int) -> np.ndarray:
    """The sow's own lengthening [log]."""
    c, modifiers = SOW.constipation, SOW.farrowing.interval_modifiers
    score = np.clip(random.normal(c.score_mean, c.score_sd, litters), c.score_least, c.score_most)
    lengthening = modifiers.constipation * np.clip(score - modifiers.constipation_from, 0, None)
    return lengthening + SOW.farrowing.intervals.constipation_centre


def meal_term(hours_since_meal: np.ndarray) -> np.ndarray:
    """Lengthening by hunger [log], less its usual value."""
    c = SOW.farrowing.meal_term
    late_h = np.clip(hours_since_meal - c.starts_at, 0, c.span)
    return np.log(1 + c.kappa * c.slope * late_h) + SOW.farrowing.intervals.meal_centre


def in_inertia(labour: np.ndarray, left: np.ndarray) -> np.ndarray:
    """How long so much labour takes while a spell of inertia lasts `left` more."""
    speed = SOW.farrowing.inertia.labour_speed
    return np.where(labour > speed * left, labour + (1 - speed) * left, labour / speed)


@dataclass(frozen=True)
class Farrowings:
    at: np.ndarray  # births, counted from the first
    drawn: np.ndarray  # intervals, were there neither hunger nor inertia
    spells: np.ndarray  # of inertia, by litter

    @property
    def duration(self) -> np.ndarray:
        return self.at[:, -1]

    @property
    def intervals(self) -> np.ndarray:
        return np.diff(self.at, axis=1)


def farrow(random: Generator, litters: int, *, total_born: int, parity: int, backfat: float) -> Farrowings:
    """Litters of one size with nobody at hand, of sows that have just eaten."""
    own = random.normal(0, SOW.sow_effects.farrowing_duration_sd, litters) + constipation(random, litters)
    noise = random.normal(0, SOW.farrowing.intervals.interval_sd, (litters, total_born - 1))
    drawn = median_interval(total_born, parity, backfat) * np.exp(own[:, None] + noise)
    labour = drawn * np.exp(meal_term(np.float64(0)))
    inertia = SOW.farrowing.inertia
    at = np.zeros((litters, total_born))
    threshold, gathered = random.exponential(size=litters), np.zeros(litters)
    left, spells = np.zeros(litters), np.zeros(litters, dtype=int)
    for birth in range(1, total_born):
        free = left <= 0
        gathered += np.where(free, inertia.entry * (1 + at[:, birth - 1] / inertia.time_scale), 0)
        begins = free & (gathered >= threshold)
        lasts = inertia.duration_median * np.exp(random.normal(0, inertia.duration_sd, litters))
        left = np.where(begins, lasts, left)
        spells += begins
        gathered = np.where(begins, 0, gathered)
        threshold = np.where(begins, random.exponential(size=litters), threshold)
        took = in_inertia(labour[:, birth - 1], left)
        left = np.clip(left - took, 0, None)
        at[:, birth] = at[:, birth - 1] + took
    return Farrowings(at, drawn, spells)


def stillbirth_logit(
    *,
    total_born: int,
    parity: int,
    relative_rank: np.ndarray,
    since_first_birth: np.ndarray,
    interval: np.ndarray,
    weight_kg: np.ndarray,
    male: np.ndarray,
    gestation_d: np.ndarray,
) -> np.ndarray:
    """Of a piglet of an average litter, in the cool, on usual feed, the meal term left out."""
    c, add = SOW.stillbirth.logit, SOW.stillbirth.add_ons
    logit = c.intercept + c.birth_order * relative_rank + c.birth_order_cubed * relative_rank**3
    logit = logit + c.cumulative_time * since_first_birth / 60 + c.interval * np.minimum(interval, c.interval_cap)
    logit = logit + c.litter_size * (total_born - c.litter_size_centre)
    logit = logit + c.litter_size_above * max(0, total_born - c.litter_size_bend)
    by_parity = 0 if parity < 3 else add.parity_3_to_4 if parity < 5 else add.parity_5_and_later
    logit = logit + by_parity + add.parity_centre + add.weight_centre
    logit = logit + add.low_birth_weight * (weight_kg < add.low_birth_weight_below)
    logit = logit + np.where(male, add.male, add.female)
    return logit + add.short_gestation * (gestation_d < add.short_gestation_below)


def stillbirth_probability(logit: np.ndarray) -> np.ndarray:
    """Mean over litters, by Gauss and Hermite."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(40)
    effect = SOW.stillbirth.logit.litter_sd * nodes
    return (1 / (1 + np.exp(-np.add.outer(np.asarray(logit), effect)))) @ (weights / weights.sum())
