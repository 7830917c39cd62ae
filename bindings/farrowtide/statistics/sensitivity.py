"""Which inputs carry the variance of a result that was computed at draws of all of them.

Inputs are given as their probabilities, 0 to 1, shape (draws, inputs), each uniform and uniform; independent unless calibrated.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import special

from farrowtide.statistics.intervals import CONFIDENCE

_VARIANCE = 1 / 3  # of an input between -1 and 1
_LEAST_SPARE = 20  # degrees of freedom that are left
_HARMONICS = 4  # of an input of any shape: more would only add noise
_LEVELS = 4  # of an input in Morris' design
MIDDLE = (0.125, 0.875)  # probabilities between which an input is moved


@dataclass(frozen=True)
class Shares:
    """The shares of the variance that is explained by inputs one by one, straight lines being fitted to all of `inputs`.

    `inputs`: column numbers, the strongest first. `share`, `low`, `high`: of the true variance, with a 95 % interval; `real`:
    whether an input is above the noise floor. `floor`: the smallest share that would be. `explained`: by all that are above it.
    """

    inputs: list[int]
    share: np.ndarray
    low: np.ndarray
    high: np.ndarray
    real: np.ndarray
    floor: float
    explained: float


def linear_shares(inputs: np.ndarray, result: np.ndarray, true_variance: float, most: int) -> Shares:
    """First-order shares by forward regression, of at most `most` inputs.

    The one that is most correlated with what is left is taken in next. It is above the noise floor where the largest of as many
    correlations without any effect would be as large in one study of twenty (Bonferroni). All inputs are fitted at once in the
    end. Inputs from the first that is not above the floor on are listed in the order of their correlation, as candidates.
    """
    draws, number = inputs.shape
    columns = 2 * inputs - 1
    chosen: list[int] = []
    while len(chosen) < min(most, number, draws - _LEAST_SPARE):
        best, p = _most_correlated(columns, result, chosen)
        if p > (1 - CONFIDENCE) / number:
            break
        chosen.append(best)
    left = _without(columns, result, chosen)
    order = np.argsort(-np.abs(_correlations(columns, left)), kind="stable")
    listed = [*chosen, *(int(each) for each in order if each not in chosen)][:most]
    design = np.column_stack([np.ones(draws), columns[:, chosen]])
    spare = draws - design.shape[1]
    variance_left = float(left @ left) / spare
    t = float(special.stdtrit(spare, (1 + CONFIDENCE) / 2))
    floor_t = float(special.stdtrit(spare, 1 - (1 - CONFIDENCE) / 2 / number))
    share, low, high = (np.zeros(len(listed)) for _ in range(3))
    for place, each in enumerate(listed):
        slope, error = _slope(columns, result, chosen, each)
        share[place] = max(slope**2 - error**2, 0.0)
        low[place] = max(abs(slope) - t * error, 0.0) ** 2
        high[place] = (abs(slope) + t * error) ** 2
    scale = _VARIANCE / true_variance if true_variance > 0 else 0.0
    share, low, high = (np.minimum(scale * each, 1.0) for each in (share, low, high))
    real = np.array([each in chosen for each in listed], dtype=bool)
    floor = floor_t**2 * variance_left / draws / true_variance if true_variance > 0 else 1.0
    return Shares(listed, share, low, high, real, min(floor, 1.0), float(min(share[real].sum(), 1.0)))


def shares_of_any_shape(inputs: np.ndarray, result: np.ndarray, true_variance: float) -> np.ndarray:
    """First-order shares (Sobol' indices) whatever the shape of the effect, by random balance designs.

    Tarantola, Gatelli & Mara 2006 (Reliab Eng Syst Saf 91:717-727), corrected for bias, as SALib computes them from draws that
    are given. They see effects that no straight line follows, and are less exact than `linear_shares` where one does.
    """
    from SALib.analyze import rbd_fast

    if true_variance <= 0:
        return np.zeros(inputs.shape[1])
    found: Any = rbd_fast.analyze(_problem(inputs.shape[1]), inputs, result, M=_HARMONICS, num_resamples=2, seed=0)
    shares: np.ndarray = np.clip(np.asarray(found["S1"]) * np.var(result) / true_variance, 0.0, 1.0)
    return shares


@dataclass(frozen=True)
class Elementary:
    """By how much a result moves with each input alone: the mean size of the effect with the half-width of its 95 % interval,
    and the standard deviation of effects, which is as large where an effect depends on the other inputs.
    """

    size: np.ndarray
    half_width: np.ndarray
    spread: np.ndarray


def morris_design(inputs: int, paths: int, seed: int) -> np.ndarray:
    """Points at which to compute a result, shape (paths x (inputs + 1), inputs), by Morris (1991, Technometrics 33:161-174).

    On each path one input after the other is moved, in random order, between 4 levels in MIDDLE.
    """
    from SALib.sample import morris

    design: np.ndarray = morris.sample(_problem(inputs, MIDDLE), paths, num_levels=_LEVELS, seed=seed)
    return design


def elementary_effects(design: np.ndarray, result: np.ndarray, seed: int) -> Elementary:
    """The elementary effects of a Morris design: the change of the result as an input crosses all of MIDDLE."""
    from SALib.analyze import morris

    found: Any = morris.analyze(_problem(design.shape[1], MIDDLE), design, result, num_levels=_LEVELS, seed=seed)
    size, half_width, spread = (np.asarray(found[name], dtype=float) for name in ("mu_star", "mu_star_conf", "sigma"))
    return Elementary(size, half_width, spread)


def _problem(inputs: int, bounds: tuple[float, float] = (0.0, 1.0)) -> dict[str, Any]:
    return {"num_vars": inputs, "names": [str(each) for each in range(inputs)], "bounds": [list(bounds)] * inputs}


def _without(columns: np.ndarray, result: np.ndarray, chosen: Sequence[int]) -> np.ndarray:
    """What a straight line on each of the chosen columns leaves."""
    design = np.column_stack([np.ones(len(result)), columns[:, list(chosen)]])
    left: np.ndarray = result - design @ np.linalg.lstsq(design, result, rcond=None)[0]
    return left


def _correlations(columns: np.ndarray, left: np.ndarray) -> np.ndarray:
    centred = columns - columns.mean(axis=0)
    size = np.sqrt((centred**2).sum(axis=0) * (left**2).sum())
    found: np.ndarray = np.divide(centred.T @ left, size, out=np.zeros(columns.shape[1]), where=size > 0)
    return found


def _most_correlated(columns: np.ndarray, result: np.ndarray, chosen: list[int]) -> tuple[int, float]:
    """The column that is most correlated with what the chosen ones leave, and the p that it has no effect."""
    correlations = _correlations(columns, _without(columns, result, chosen))
    correlations[chosen] = 0.0
    best = int(np.argmax(np.abs(correlations)))
    spare = len(result) - 2 - len(chosen)
    r = min(abs(correlations[best]), 1 - 1e-15)
    return best, float(2 * special.stdtr(spare, -r * np.sqrt(spare / (1 - r**2))))


def _slope(columns: np.ndarray, result: np.ndarray, chosen: list[int], each: int) -> tuple[float, float]:
    """The slope on a column beside the chosen ones, and its standard error."""
    others = [other for other in chosen if other != each]
    own = _without(columns, columns[:, each], others)
    left = _without(columns, result, others)
    squares = float(own @ own)
    slope = float(own @ left) / squares
    spare = len(result) - 2 - len(others)
    rest = left - slope * own
    return slope, float(np.sqrt(rest @ rest / spare / squares))
