"""Flags: what is told of a sow on a day, and the limits at which healthy simulated sows are flagged as often as chosen.

Four flags are alarms, and their rate among healthy sows is what the user chooses: she ate below her band on two days, she
drank below her band, she had no water, her trough is untouched. The limit of both bands, in standard deviations of the
prediction, is found by simulation: so many of 100 healthy sow-days of simulated rooms have an alarm. Two more are only told:
a trough that is empty on two mornings says that she might eat more, and a long farrowing that she needs a closer look.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np

from farrowtide import _core
from farrowtide.analysis.watching.expected import Expected
from farrowtide.analysis.watching.stays import Array, Stays

# In the order in which the list of the morning has them.
NO_WATER, UNTOUCHED, WATER_LOW, FEED_LOW = "no_water", "untouched_trough", "water_below_band", "feed_below_band"
LONG_FARROWING, EMPTY = "long_farrowing", "empty_trough"
ALARMS = (NO_WATER, UNTOUCHED, WATER_LOW, FEED_LOW)
FLAGS = (*ALARMS, LONG_FARROWING, EMPTY)
SIGNALS: Mapping[str, tuple[str, ...]] = {
    "feed": (UNTOUCHED, FEED_LOW),
    "water": (NO_WATER, WATER_LOW),
    "both": ALARMS,
}
EMPTY_SHARE = "sow.feeding_practice.trough_empty_share"
LONG_FARROWING_MIN = "sow.farrowing.help.alarm_duration"
_FEED, _WATER = "eaten_kg", "water_l"
_STEPS = 25  # of halving
_HIGHEST_SHARE = 0.5


@cache
def limits() -> dict[str, float]:
    """The limits of flags that need no expectation: of `limits.toml`, and coefficients of the engine."""
    text = resources.files("farrowtide.analysis.watching").joinpath("limits.toml").read_text(encoding="utf-8")
    coefficients = _core.Coefficients.built_in()
    return {name: entry["value"] for name, entry in tomllib.loads(text).items()} | {
        "empty_share": coefficients.find(EMPTY_SHARE).value[0],
        "long_farrowing_min": coefficients.find(LONG_FARROWING_MIN).value[0],
    }


@dataclass(frozen=True)
class Evidence:
    """What the days of stays say (stays x days): how far below expectation, in standard deviations, and plain facts.

    Scores, predicted means and standard deviations are those of each quantity. Of two low days in a row, the first is judged by
    its own prediction and the second by `second_mean` and `second_sd`, which leave out the first.
    """

    low: dict[str, Array]  # FEED_LOW, WATER_LOW: the larger, the lower
    facts: dict[str, Array]  # the other flags: true or false
    scores: dict[str, Array]
    means: dict[str, Array]
    sds: dict[str, Array]
    second_mean: Array  # of feed
    second_sd: Array
    recorded: Array


def evidence(stays: Stays, expected: Mapping[str, Expected]) -> Evidence:
    """What is to be said of each day, before any limit is chosen."""
    scores = {name: each.scores(stays) for name, each in expected.items()}
    predictions = {name: each.predicted(scores[name]) for name, each in expected.items()}
    second = expected[_FEED].predicted(scores[_FEED], skipping=1)
    below = {name: (each.mean - scores[name]) / each.sd for name, each in predictions.items()}
    below_again = (second.mean - scores[_FEED]) / second.sd
    two_days = np.minimum(_day_before(below[_FEED]), below_again)
    return Evidence(
        low={FEED_LOW: two_days, WATER_LOW: below[_WATER]},
        facts=_facts(stays, expected[_WATER].mean(stays)),
        scores=scores,
        means={name: each.mean for name, each in predictions.items()},
        sds={name: each.sd for name, each in predictions.items()},
        second_mean=second.mean,
        second_sd=second.sd,
        recorded=stays.recorded,
    )


def together(parts: Sequence[Evidence]) -> Evidence:
    """What the days of several say."""

    def joined(arrays: Iterable[Array]) -> Array:
        return np.concatenate(list(arrays))

    def of_each(name: str) -> dict[str, Array]:
        return {key: joined(getattr(part, name)[key] for part in parts) for key in getattr(parts[0], name)}

    return Evidence(
        low=of_each("low"),
        facts=of_each("facts"),
        scores=of_each("scores"),
        means=of_each("means"),
        sds=of_each("sds"),
        second_mean=joined(part.second_mean for part in parts),
        second_sd=joined(part.second_sd for part in parts),
        recorded=joined(part.recorded for part in parts),
    )


def _day_before(array: Array) -> Array:
    return np.concatenate([np.full((len(array), 1), np.nan), array[:, :-1]], axis=1)


def _facts(stays: Stays, water_expected_l: Array) -> dict[str, Array]:
    of, limit = stays.values, limits()
    offered, eaten = of["offered_kg"], of["eaten_kg"]
    left = np.where(np.isnan(of["left_kg"]), offered - eaten, of["left_kg"])
    with np.errstate(invalid="ignore"):
        empty = (left <= limit["empty_share"] * offered) & (offered > 0)
        long = stays.sows["duration_min"].to_numpy(dtype=float, na_value=np.nan) > limit["long_farrowing_min"]
    days = np.arange(1, stays.days + 1)
    return {
        NO_WATER: of["water_l"] <= limit["no_water_share"] * water_expected_l,
        UNTOUCHED: (eaten <= limit["untouched_share"] * offered) & (offered > 0),
        LONG_FARROWING: long[:, None] & (days <= limit["long_farrowing_listed"])[None, :],
        EMPTY: empty & np.nan_to_num(_day_before(empty.astype(float))).astype(bool),
    }


@dataclass(frozen=True)
class Thresholds:
    """The limits of the bands, in standard deviations of the prediction, and what they lead to in healthy rooms.

    `chosen` and `found` are alarms per 100 healthy sow-days; `found` is of rooms that the limits were not chosen by.
    `each` is the same of every flag alone.
    """

    chosen: float
    limits: dict[str, float]
    found: float = float("nan")
    sow_days: int = 0
    each: Mapping[str, float] | None = None

    def alarms(self, of: Evidence, flags: tuple[str, ...] = ALARMS) -> Array:
        """The days with any of these flags (stays x days)."""
        together: Array = np.any([self.flag(of, name) for name in flags], axis=0) & of.recorded
        return together

    def flag(self, of: Evidence, name: str) -> Array:
        """The days with this flag."""
        if name in of.facts:
            return of.facts[name]
        with np.errstate(invalid="ignore"):
            low: Array = of.low[name] > self.limits[name]
        return low


def chosen_thresholds(of: Evidence, per_100: float, signals: str = "both") -> Thresholds:
    """The limits at which so many of 100 of these healthy sow-days have an alarm; every band has an equal share of it."""
    flags = SIGNALS[signals]
    known = of.recorded
    lows = {name: np.where(np.isnan(of.low[name]), -np.inf, of.low[name])[known] for name in flags if name in of.low}
    in_order = {name: np.sort(low[np.isfinite(low)]) for name, low in lows.items()}
    certain = np.any([of.facts[name][known] for name in flags if name in of.facts], axis=0)

    def at(share: float) -> Thresholds:
        """Limits beyond which each band has this share of the days."""
        return Thresholds(
            per_100, {name: float(low[int((1 - share) * (len(low) - 1))]) for name, low in in_order.items()}
        )

    def rate(share: float) -> float:
        limits_at = at(share).limits
        flagged = np.any([certain, *(low > limits_at[name] for name, low in lows.items())], axis=0)
        return float(100 * flagged.mean())

    return at(_where(rate, per_100))


def _where(rate: Callable[[float], float], target: float) -> float:
    """The share at which a rising rate reaches the target; 0 where it always exceeds it."""
    low, high = 0.0, _HIGHEST_SHARE
    for _ in range(_STEPS):
        middle = (low + high) / 2
        low, high = (middle, high) if rate(middle) < target else (low, middle)
    return low


def rates(of: Evidence, thresholds: Thresholds, signals: str = "both") -> Thresholds:
    """The limits with the rates that they lead to among these healthy sows."""
    days = int(of.recorded.sum())
    each = {name: float(100 * (thresholds.flag(of, name) & of.recorded).sum() / days) for name in told(thresholds)}
    found = float(100 * thresholds.alarms(of, SIGNALS[signals]).sum() / days)
    return Thresholds(thresholds.chosen, thresholds.limits, found, days, each)


def told(thresholds: Thresholds) -> list[str]:
    """The flags that can be told: those of a band only where its limit is known."""
    return [name for name in FLAGS if name in thresholds.limits or name not in (FEED_LOW, WATER_LOW)]
