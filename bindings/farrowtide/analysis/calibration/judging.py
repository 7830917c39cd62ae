"""What a calibration found, as tables: each parameter, each statistic, groups kept aside, and what stays unknown."""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np
import pandas as pd
from scipy.stats import chi2, norm

from farrowtide.analysis.calibration.fitting import Fitted
from farrowtide.analysis.calibration.summary import Sums, spreads
from farrowtide.scenarios.parameters import Parameter

Array: TypeAlias = np.ndarray[Any, Any]

NOTHING_FROM = 0.9  # posterior over prior standard deviation, from which records say next to nothing
TOLD_APART_FROM = 2.0  # standard deviation over that with all others known, from which it is known only in combination
VAGUE_FROM = 0.25  # posterior over prior standard deviation, below which it is well known whatever it goes with
AT_END_FROM = 0.9  # of the way from the middle of a range to its end
_BY_CHANCE = 2 * float(norm.sf(3.0))  # as of three standard errors
_STEP = 0.05  # of derivatives, in standard deviations before
LEAST_LOADING = 0.3
_INTERVAL = (0.025, 0.5, 0.975)


def parameter_table(fitted: Fitted) -> pd.DataFrame:
    """A row for each parameter: before, range, estimate with its 95 % interval, and how much the records add.

    `known` is "well", "in part", "only together with NAME" or "not".
    """
    posterior, moved = fitted.last.posterior, fitted.moved
    leading = moved.leading(posterior.draws)
    low, _, high = np.quantile(leading, _INTERVAL, axis=0)
    estimate = moved.leading(posterior.mean[None, :])[0]
    place = moved.coordinates(posterior.mean[None, :])[0]
    share = np.sqrt(np.diag(posterior.covariance))
    known = knowledge(posterior.covariance, moved.names)
    return pd.DataFrame(
        [
            {
                "parameter": each.name,
                "unit": each.unit,
                "grade": each.grade,
                "before": moved.at_default(j),
                "range_low": moved.ends(j)[0],
                "range_high": moved.ends(j)[1],
                "estimate": estimate[j],
                "ci_low": low[j],
                "ci_high": high[j],
                "sd_share": min(share[j], 1.0),
                "known": known[j],
                "at_end": bool(abs(place[j]) > AT_END_FROM),
            }
            for j, each in enumerate(moved.parameters)
        ]
    )


def knowledge(covariance: Array, names: list[str]) -> list[str]:
    """What the records say of each parameter, given the covariance of parameters that had standard deviation 1 before."""
    sd = np.sqrt(np.diag(covariance))
    alone = 1 / np.sqrt(np.diag(np.linalg.inv(covariance)))
    correlation = np.abs(covariance / np.outer(sd, sd) - np.eye(len(names)))
    said = []
    for j in range(len(names)):
        if sd[j] > TOLD_APART_FROM * alone[j] and sd[j] > VAGUE_FROM:
            said.append(f"only together with {names[int(np.argmax(correlation[j]))]}")
        elif sd[j] > NOTHING_FROM:
            said.append("not")
        else:
            said.append("well" if sd[j] <= VAGUE_FROM else "in part")
    return said


def direction_table(fitted: Fitted) -> pd.DataFrame:
    """Combinations of parameters that the records know independently of each other, from the best known.

    They are the eigenvectors of the posterior covariance, in units in which every direction had a standard deviation of 1
    before: `sd_share` is what is left of that. `combination` names what it is made of, with signs.
    """
    values, vectors = np.linalg.eigh(fitted.last.posterior.covariance)
    rows = []
    for value, vector in zip(values, vectors.T, strict=True):
        order = [j for j in np.argsort(-np.abs(vector), kind="stable") if abs(vector[j]) >= LEAST_LOADING]
        sign = np.sign(vector[order[0]])
        parts = [f"{'+' if sign * vector[j] > 0 else '-'}{abs(vector[j]):.2f} {fitted.moved.names[j]}" for j in order]
        rows.append({"sd_share": float(min(np.sqrt(max(value, 0.0)), 1.0)), "combination": " ".join(parts)})
    return pd.DataFrame(rows)


def statistic_table(fitted: Fitted, kept: Sums | None, seed: int) -> pd.DataFrame:
    """A row for each statistic: recorded with its standard error, simulated before and after, and kept-aside groups.

    `residual` is recorded less simulated after the fit, in its standard errors. `disagrees`: those of a quantity together are
    farther out than chance would have them in three of a thousand farms. `kept_low` to `kept_high` is where the calibrated model has
    the statistic of the groups kept aside in 95 of 100 such farms, parameters drawn from their posterior.
    """
    spread, last = spreads(fitted.statistics), fitted.last
    weight = fitted.observed.weight.sum(0)
    recorded = fitted.observed.statistics(spread)
    after = fitted.predicted(last.posterior.draws).mean(0)
    residual, disagrees = _residuals(fitted, recorded - after)
    table = pd.DataFrame(
        {
            "statistic": [each.name for each in fitted.statistics],
            "label": [each.label for each in fitted.statistics],
            "quantity": [each.quantity.name for each in fitted.statistics],
            "unit": [each.quantity.unit for each in fitted.statistics],
            "decimals": [each.quantity.decimals for each in fitted.statistics],
            "fitted": fitted.fitted,
            "records": weight,
            "recorded": recorded,
            "standard_error": np.sqrt(np.diag(last.scatter.covariance(weight))),
            "before": fitted.defaults,
            "after": after,
            "residual": residual,
            "disagrees": disagrees,
        }
    )
    return table.assign(**_kept(fitted, kept, spread, seed))


def _residuals(fitted: Fitted, left: Array) -> tuple[Array, Array]:
    """What the fit left, in standard errors of what a fit leaves, and which statistics disagree.

    With errors of covariance V, and J the change of the statistics with each parameter, of standard deviation 1 before, what
    a linear fit leaves has the covariance V (V + J J')^-1 V. Statistics that were not fitted have V + J C J' instead, where
    C is the posterior covariance.
    """
    last = fitted.last
    error = last.scatter.covariance(fitted.observed.weight.sum(0)) + last.level_covariance
    mean, steps = last.posterior.mean, _STEP * np.eye(len(fitted.moved))
    slopes = (fitted.predicted(mean + steps) - fitted.predicted(mean - steps)).T / (2 * _STEP)
    used = np.ix_(fitted.fitted, fitted.fitted)
    covariance = error + slopes @ last.posterior.covariance @ slopes.T
    of_used = slopes[fitted.fitted]
    covariance[used] = error[used] @ np.linalg.solve(error[used] + of_used @ of_used.T, error[used])
    disagrees = np.zeros(len(left), dtype=bool)
    names = np.array([each.quantity.name.partition(" week")[0] for each in fitted.statistics])
    for name in dict.fromkeys(names):
        chosen = names == name
        distance = left[chosen] @ np.linalg.solve(covariance[np.ix_(chosen, chosen)], left[chosen])
        disagrees[chosen] = chi2.sf(distance, chosen.sum()) < _BY_CHANCE
    return left / np.sqrt(np.diag(covariance)), disagrees


def _kept(fitted: Fitted, kept: Sums | None, spread: Array, seed: int) -> dict[str, Any]:
    count = len(fitted.statistics)
    values = low = high = np.full(count, np.nan)
    if kept is not None:
        weight = kept.weight.sum(0)
        held = weight > 0
        values = np.where(held, kept.statistics(spread), np.nan)
        covariance = fitted.last.scatter.covariance(np.maximum(weight, 1)) + fitted.last.level_covariance
        draws = fitted.predicted(fitted.last.posterior.draws)
        normal = np.random.default_rng(seed).standard_normal((20, *draws.shape))
        predicted = (draws + normal @ np.linalg.cholesky(covariance).T).reshape(-1, count)
        shares = np.array([each.quantity.unit == "%" for each in fitted.statistics])
        predicted = np.where(shares, predicted.clip(0, 100), predicted)
        low, _, high = np.where(held, np.quantile(predicted, _INTERVAL, axis=0), np.nan)
    inside = (values >= low) & (values <= high)
    return {"kept": values, "kept_low": low, "kept_high": high, "kept_inside": inside}


def draw_table(fitted: Fitted) -> pd.DataFrame:
    """The draws: a column for each level and coefficient, of a table for each of its entries."""
    draws = [fitted.moved.values(z) for z in fitted.last.posterior.draws]
    columns = {}
    for each in fitted.moved.parameters:
        for entry, name in enumerate(entry_names(each)):
            columns[name] = [draw[each.name][entry] for draw in draws]
    return pd.DataFrame(columns)


def entry_names(each: Parameter) -> list[str]:
    """The name of a parameter; of a table that moves as one, those of its entries."""
    return [each.name] if len(each.value) == 1 else [f"{each.name}[{i}]" for i in range(len(each.value))]
