"""The page of signed errors, in which a bias shows even where every row passes, and its picture.

The signed error of a row is (simulated - published) / standard error of the published value, times the row's sign: more
than 0 is too much of what its topic is about or, in a row that contrasts two groups, too large an effect.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import fmean, median
from typing import TYPE_CHECKING

import numpy as np
import pictures
from matplotlib.axes import Axes
from scipy import special

if TYPE_CHECKING:
    from validate import Replayed, Verdict

PAGE = pictures.GENERATED / "errors.md"
PICTURE = "signed_errors"
EDGE = 6.0  # standard errors; the picture shows what lies beyond with an arrow
CONFIDENCE = 0.95
AIMS = {"fitted": 0.5, "independent": 1.0}  # the mean signed error of a topic, in standard errors
TOPICS = {
    "intake": "too much eaten",
    "early_intake": "too much eaten in the first ten days",
    "heat": "too large an effect of temperature",
    "water": "too much drunk, or too large an effect of water on intake",
    "body": "too much lost of the body or given off as heat",
    "milk": "too much milk or colostrum",
    "survival": "too many deaths",
    "growth": "too much growth or weight at birth",
    "farrowing": "too long farrowings, too many stillborn, too much help",
    "health": "too much illness",
    "after_weaning": "too late an oestrus, too few served",
    "work": "too much work",
    "climate": "too warm or too moist a room",
    "handbook": "above the handbook",
}
KINDS = ("fitted", "restated", "independent")
LOOKS = dict(zip(KINDS, pictures.LOOKS, strict=False))
INTRODUCTION = f"""\
<!-- Written by `python tests/validation/validate.py --write`. -->
# Signed errors by topic

A row's signed error is how many standard errors of its published value the simulated value lies above it. Where the
publication's standard error is not entered, it is half of what the row allows to either side, (high - low) / 4, so that
a row with its target in the middle passes within 2. In rows where a larger number means less of the topic's thing the
sign is turned (`sign: -1`): a positive error always says what the column *more than 0 means* says or, in a row that
contrasts two groups, that the effect is too large. A topic with a mean far from 0 is biased even if all its rows pass;
a wide interval or few trials say that nothing can be concluded. Errors of opposite sign cancel, which the share met shows.
The aim is a mean within +-{AIMS["fitted"]:g} for fitted and +-{AIMS["independent"]:g} for independent rows; a mean outside it is in
bold. Intervals ({100 * CONFIDENCE:.0f} %) treat the trial as the unit, since rows of one trial share animals; one trial alone gives none.
Nothing is clipped in means and medians. Rows that are not counted on [the page of trials](validation.md) are left out.
"""


@dataclass(frozen=True)
class Bias:
    """The signed errors of the rows of one topic and kind."""

    rows: int
    trials: int
    mean: float
    error: float  # standard error of the mean over trials; NaN for one trial
    median: float
    met: int
    beyond: int  # rows with an error over EDGE

    @property
    def half_width(self) -> float:
        if self.trials < 2:
            return math.nan
        return float(special.stdtrit(self.trials - 1, (1 + CONFIDENCE) / 2)) * self.error


def bias(trials: Sequence[Sequence[Verdict]]) -> Bias:
    """Every row weighs the same; the error of the mean comes from the trials' sums of deviations from it."""
    clusters = [[v.signed_error for v in trial] for trial in trials if trial]
    rows = [v for trial in trials for v in trial]
    errors = [v.signed_error for v in rows]
    mean, n = fmean(errors), len(clusters)
    squares = sum(sum(e - mean for e in cluster) ** 2 for cluster in clusters)
    error = math.sqrt(n / (n - 1) * squares) / len(errors) if n > 1 else math.nan
    met, beyond = sum(v.passes for v in rows), sum(abs(e) > EDGE for e in errors)
    return Bias(len(rows), n, mean, error, median(errors), met, beyond)


def _of(replayed: Iterable[Replayed], topic: str | None, kind: str) -> list[list[Verdict]]:
    """The counted rows of a topic (of all topics: None) and kind, by trial; trials without one left out."""
    trials = (
        [v for v in trial.verdicts if v.counted and v.kind == kind and topic in (None, v.topic)] for trial in replayed
    )
    return [trial for trial in trials if trial]


# --- page -------------------------------------------------------------------------------------------------------------


def written(replayed: list[Replayed]) -> str:
    lines = [
        INTRODUCTION,
        f"![Signed errors of all rows by topic, with the mean of each kind]({PICTURE}.svg)\n",
        f"Every counted row, by topic and kind, and the mean of each kind with its interval. The band is +-2 standard errors. "
        f"An arrow at the edge stands for so many rows beyond {EDGE:g}, listed below; an interval that ends there goes on.\n",
        f"| topic | more than 0 means | kind | rows | trials | mean | {100 * CONFIDENCE:.0f} % interval | median | met |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    for topic, meaning in TOPICS.items():
        lines += _lines(replayed, topic, topic.replace("_", " "), meaning)
    lines += [*_lines(replayed, None, "all", ""), "", *_beyond(replayed)]
    return "\n".join(lines)


def _lines(replayed: list[Replayed], topic: str | None, name: str, meaning: str) -> list[str]:
    found = []
    for kind in KINDS:
        if of_kind := _of(replayed, topic, kind):
            said = (name, meaning) if not found else ("", "")
            found.append(f"| {said[0]} | {said[1]} | {kind} | {_figures(bias(of_kind), AIMS.get(kind, math.inf))} |")
    return found


def _figures(b: Bias, aim: float) -> str:
    mean, middle = (f"{round(value, 2) + 0.0:+.2f}" for value in (b.mean, b.median))  # no -0.00
    low, high = b.mean - b.half_width, b.mean + b.half_width
    interval = "" if math.isnan(b.half_width) else f"{low:+.1f} to {high:+.1f}"
    met = f"{b.met} ({100 * b.met / b.rows:.0f} %)"
    told = [str(b.rows), str(b.trials), f"**{mean}**" if abs(b.mean) > aim else mean, interval, middle, met]
    return " | ".join(told)


def _beyond(replayed: list[Replayed]) -> list[str]:
    rows = [(v, trial.title) for trial in replayed for v in trial.verdicts if v.counted and abs(v.signed_error) > EDGE]
    if not rows:
        return [f"No row is off by more than {EDGE:g} standard errors.", ""]
    rows.sort(key=lambda row: -abs(row[0].signed_error))
    listed = [f"- {title}, {v.row}: {v.signed_error:+.1f} ({v.topic.replace('_', ' ')}, {v.kind})" for v, title in rows]
    return [f"## Rows off by more than {EDGE:g} standard errors\n", *listed, ""]


# --- picture ----------------------------------------------------------------------------------------------------------


def draw(replayed: list[Replayed]) -> None:
    """Writes the picture: a line for each topic and kind, a mark for each row."""
    shown = [topic for topic in TOPICS if any(_of(replayed, topic, kind) for kind in KINDS)]
    with pictures.panels(1, 1, 0.5 * len(shown) + 0.4) as (figure, axes):
        axis = axes[0, 0]
        axis.axvspan(-2, 2, color="0.93", linewidth=0)
        axis.axvline(0, color="0.4", linewidth=0.8)
        for place, topic in enumerate(shown):
            for kind, offset in zip(KINDS, (-0.27, 0.0, 0.27), strict=True):
                if rows := _of(replayed, topic, kind):
                    _draw_kind(axis, place + offset, kind, bias(rows), [v.signed_error for t in rows for v in t])
            axis.axhline(place + 0.5, color="0.85", linewidth=0.6)
        axis.set_yticks(range(len(shown)), [topic.replace("_", " ") for topic in shown])
        axis.set_ylim(len(shown) - 0.5, -0.5)
        axis.set_xlim(-EDGE - 0.5, EDGE + 0.5)
        axis.grid(False, axis="y")
        axis.set_xlabel("simulated less published [standard errors of the published value], sign by topic")
        for kind, look in LOOKS.items():
            axis.plot([], [], label=kind, color=look["color"], marker=look["marker"], linestyle="none", markersize=4)
        axis.plot([], [], label="mean and its interval", color="black", marker="|", markersize=9, linewidth=1)
        figure.legend(loc="outside upper center", ncols=len(KINDS) + 1)
        pictures.write_svg(figure, PICTURE, "Signed errors by topic")


def _draw_kind(axis: Axes, y: float, kind: str, b: Bias, errors: list[float]) -> None:
    look = {"color": LOOKS[kind]["color"], "linestyle": "none", "markersize": 3.5, "alpha": 0.6, "markeredgewidth": 0}
    inside = np.array([e for e in errors if abs(e) <= EDGE])
    axis.plot(inside, np.full(len(inside), y), marker=LOOKS[kind]["marker"], **look)
    for side, arrow in ((-1, "<"), (1, ">")):
        count = sum(side * e > EDGE for e in errors)
        if count:
            axis.plot([side * (EDGE + 0.25)], [y], marker=arrow, **look | {"markersize": 6, "alpha": 1.0})
            axis.annotate(f"{count}", (side * (EDGE + 0.25), y - 0.2), ha="center", va="center", fontsize=6)
    mean = float(np.clip(b.mean, -EDGE, EDGE))  # where the mark stands; the page gives the number
    if b.half_width < math.inf:
        ends = np.clip([b.mean - b.half_width, b.mean + b.half_width], -EDGE, EDGE)
        axis.plot(ends, [y, y], color="black", linewidth=1, zorder=4)
    axis.plot([mean], [y], marker="|", color="black", markersize=9, markeredgewidth=1.4, zorder=5)
