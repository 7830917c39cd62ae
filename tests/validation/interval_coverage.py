"""How often the intervals hold on outputs of real rooms: python tests/validation/interval_coverage.py

Simulates a large pool of paired rooms for each scenario, draws many small studies from it and counts how often their
intervals hold the mean of the pool. Writes .site/generated/coverage.md. Fails if a headline output misses the target, or if
another one is far below it.
"""

from __future__ import annotations

import math
import sys
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
import pictures

import farrowtide
from farrowtide import _core
from farrowtide.outputs.catalogue import HEADLINES, catalogue
from farrowtide.outputs.output import Output
from farrowtide.outputs.units import MISSING
from farrowtide.statistics.inference import (
    DIFFERENCES,
    DIFFERENCES_OF_CLASS,
    LEAST_APART,
    MEANS,
    interval,
    share_interval,
    student_interval,
)
from farrowtide.statistics.moments import Moments

HERE = Path(__file__).parent
PAGE = pictures.GENERATED / "coverage.md"
TARGET_PERCENT = 93.0, 97.0
LEAST_PERCENT = 90.0  # of outputs that are no headline, of which there are many
STUDIES = 4000
SIZES = 20, 40, 50, 100, 200
SIZES_OF_MEANS = 5, 20, 50, 200
SEED = 12
LEAST_SHOWN = 0.05  # of the studies: where fewer give an interval, coverage among these is not a rate worth stating
WITHOUT_WORK_BY_TASK = [output for output in catalogue().values() if output.group != "work by task"]
INTRODUCTION = """<!-- Written by `python tests/validation/interval_coverage.py`. -->
# How often the intervals hold

Engine {version}, results version {results}. A 95 % confidence interval should hold the true mean in 95 of 100 studies. Here the truth is
known: for each scenario a pool of paired rooms is simulated, {studies:,} studies of n rooms are drawn from it at random with
replacement, and the share whose interval holds the mean of the pool is counted. The target is {low:g} to {high:g} % wherever an
interval is printed. The standard error of a share counted over all {studies:,} studies is {error:.1f} percentage points. The rules were
chosen on rooms 0 to 3,999 of three sows and 0 to 1,999 of the other scenarios but the last; everything counted below is of the
rooms from {first:,} on.

- *Student*: the paired t interval alone, printed always, with a width of zero where all pairs are equal.
- *ours*: the interval that `compare`, `sweep` and all other commands print, the union of Student's and Hall's
  (1992, J R Stat Soc B 54:221-228), printed where there are {rooms} rooms or more, or {animals} litters in fewer
  ({rooms_of_class} and {animals_of_class:,} for outputs of one parity class), and at least {apart} rooms differ by a tenth of
  what matters or more; by half of it for outputs that hinge on few animals ({few});
  and by no less than one animal makes in the mean of the room that changes by {of_one}.
  The share of studies that print one is in brackets; coverage is among them. {missing}: fewer than {shown:.0f} % of the
  studies print one.
- **Bold**: outside the target by more than two standard errors.

Other methods were measured on the same pools. Johnson's skewness-corrected t adds less than one percentage point to Student's
for nearly all outputs. Hall's interval alone is too narrow where most pairs are equal (about 52 % at 50 rooms for piglets
weaned in the room of three sows). Rules by the skewness of the sample do harm: they let just those samples pass that lack the
rare large difference, and coverage among these falls to 20-65 % at 20 rooms. Hence two rules that only count. The number of
rooms is the least at which no headline output falls below the target; at 20 rooms without that rule, 88 % of the intervals of
labour under night cover held, and 90 % of those of litter weight in the room of three sows.

Outputs that hinge on few animals differ by next to nothing in most rooms and by much in one of fifty or a hundred, so that the
mean rests on rooms which a study may not have met: with the tenth that serves the others, 67 % of the intervals of litter integrity
held under night cover at 40 rooms, and 58 % of those of the time to treatment in 200 rooms of three sows. The half was chosen on the
same pools. Outputs of one parity class rest on a few sows of each room: with the floor of the others, 91 % of the intervals of
first-parity intake held under night cover at 40 and 50 rooms, and 80 to 86 % of those of the farrowing rate of the second parity
at any number of rooms. The number of rooms for them is the least of 40, 60, 80 and 100 at which none falls below the target.

A sow that does not come into oestrus, or weeks later, makes most of the difference of her room in the share removed and in the interval,
and small changes in other rooms hide that she is rare: with the tenth, 82 % of the intervals of the share removed and
83 % of those of the weaning-to-oestrus interval held at 40 rooms with one hand feed (results version 8), and 73 % of those of
the share removed of the first parity at 200 with full access. What is above the target has few rooms that differ, all in one direction; Hall's interval is wide there.
"""


@dataclass(frozen=True)
class Pool:
    """Rooms of a scenario: the outputs of two alternatives, one row per room, paired by replicate."""

    title: str
    litters: int  # in a room
    reference: pd.DataFrame
    alternative: pd.DataFrame


@dataclass(frozen=True)
class Count:
    """How often intervals hold among studies of `n` rooms; shares of 1."""

    n: int
    student: float
    ours: float  # among the studies with an interval; NaN where there is none
    known: float  # the share of studies with an interval

    @property
    def error(self) -> float:
        """The standard error of `ours` if coverage is 95 %."""
        return math.sqrt(0.95 * 0.05 / max(1.0, self.known * STUDIES))

    @property
    def shown(self) -> bool:
        return self.known >= LEAST_SHOWN

    @property
    def misses(self) -> bool:
        """Whether coverage is outside the target by more than two standard errors."""
        low, high = (end / 100 for end in TARGET_PERCENT)
        return self.shown and not low - 2 * self.error <= self.ours <= high + 2 * self.error


# Scenario, case, alternatives, rooms in the pool.
POOLS = (
    ("teaching/three_sows", None, ("full access",), 4000),
    ("feeding/meals_a_day", "January", ("1 hand feed", "3 hand feeds", "full access"), 2000),
    ("staffing/night_cover", None, ("one person at night",), 2000),
    ("fostering/how_far", None, ("fill teats, at most 15 % moved",), 2000),
)
FIRST = 10_000  # replicate of each pool; the rules were chosen on earlier ones


def pools(share: float = 1.0) -> Iterator[Pool]:
    """The pools, or a `share` of the rooms of each."""
    for name, case, alternatives, rooms in POOLS:
        scenario = farrowtide.load(HERE.parents[1] / "scenarios" / f"{name}.yaml")
        there = scenario.case(case) if case else scenario
        reference = scenario.study.reference
        before = outputs(there.alternative(reference), round(share * rooms))
        for alternative in alternatives:
            after = outputs(there.alternative(alternative), len(before))
            title = f"{scenario.title}{f', {case}' if case else ''}: {alternative} minus {reference}"
            yield Pool(title, there.litters_per_replication, before, after)


def outputs(scenario: farrowtide.Scenario, rooms: int) -> pd.DataFrame:
    """In parts, so that the tables of all rooms are never in memory together."""
    tables = ("sow_days", "piglets", "tasks", "work_hours", "duty_hours", "rooms")
    parts = [
        farrowtide.run(
            scenario, replications=min(500, rooms - first), first_replicate=FIRST + first, record=tables
        ).outputs
        for first in range(0, rooms, 500)
    ]
    return pd.concat(parts)


def count_pairs(pool: Pool, output: Output, n: int, studies: int = STUDIES) -> Count | None:
    """Coverage of the mean paired difference; None where no pair of the pool differs."""
    gaps = (pool.alternative[output.name] - pool.reference[output.name]).dropna().to_numpy()
    if len(gaps) < 2 or not Moments.of(gaps[:, np.newaxis]).varies.all():
        return None
    moments = Moments.of(_studies(gaps, n, studies), tiny=output.tiny_among(pool.litters))
    ours = interval(moments, needs=output.floor.needs(pool.litters))
    return _count(n, gaps.mean(), student_interval(moments), ours)


def count_means(pool: Pool, output: Output, n: int, studies: int = STUDIES) -> Count | None:
    """Coverage of the mean of a share in the reference alone, as `run` prints it; None where it does not vary."""
    values = pool.reference[output.name].dropna().to_numpy()
    if len(values) < 2 or np.ptp(values) == 0:
        return None
    moments = Moments.of(_studies(values, n, studies), top=100.0)
    ours = share_interval(moments, needs=output.floor_of_mean.needs(pool.litters))
    return _count(n, values.mean(), student_interval(moments), ours)


def _studies(values: np.ndarray, n: int, studies: int) -> np.ndarray:
    return values[np.random.default_rng(SEED).integers(0, len(values), size=(n, studies))]


def _count(n: int, truth: float, *intervals: tuple[np.ndarray, np.ndarray]) -> Count:
    rounding = 1e-12 * max(1.0, abs(truth))
    held = [(low - rounding <= truth) & (truth <= high + rounding) for low, high in intervals]
    known = ~np.isnan(intervals[1][0])
    return Count(n, held[0].mean(), held[1][known].mean() if known.any() else math.nan, known.mean())


# --- the page --------------------------------------------------------------------------------------------------------


def page(found: list[Pool]) -> str:
    text = INTRODUCTION.format(
        version=_core.engine_version,
        results=_core.results_version,
        studies=STUDIES,
        low=TARGET_PERCENT[0],
        high=TARGET_PERCENT[1],
        error=100 * math.sqrt(0.95 * 0.05 / STUDIES),
        apart=LEAST_APART,
        rooms=DIFFERENCES.rooms,
        animals=DIFFERENCES.animals,
        rooms_of_class=DIFFERENCES_OF_CLASS.rooms,
        animals_of_class=DIFFERENCES_OF_CLASS.animals,
        shown=100 * LEAST_SHOWN,
        missing=MISSING,
        few=", ".join(output.label.lower() for output in WITHOUT_WORK_BY_TASK if output.hinges_on_few),
        of_one=", ".join(
            f"{output.of_one_animal:g} {output.difference_unit()} ({output.label.lower()})"
            for output in WITHOUT_WORK_BY_TASK
            if output.of_one_animal
        ),
        first=FIRST,
    )
    parts, misses, cells = [], [], 0
    for pool in found:
        counted = {output: [count_pairs(pool, output, n) for n in SIZES] for output in WITHOUT_WORK_BY_TASK}
        parts += [
            f"## {pool.title}\n",
            f"{len(pool.reference):,} rooms of {pool.litters} sows.\n",
            *_table(counted, SIZES),
        ]
        misses += _misses(pool, counted)
        cells += sum(bool(count and count.shown) for counts in counted.values() for count in counts)
    shares = [output for output in WITHOUT_WORK_BY_TASK if output.share]
    of_means = {output: [count_means(found[1], output, n) for n in SIZES_OF_MEANS] for output in shares}
    parts += [
        "## Means of shares\n",
        "As `run` prints them, for the reference of the second table: the union of Student's interval of the log odds of the mean "
        "and of the\ninterval above, as far as its ends are between 0 and 100 %, from "
        f"{MEANS.animals} litters.\n",
        *_table(of_means, SIZES_OF_MEANS),
    ]
    summary = [
        f"**{cells - len(misses)} of {cells}** coverages of differences below are within the target. The others:\n"
    ]
    summary += [f"- {miss}" for miss in misses] or ["- none"]
    return "\n".join([text, *summary, "", *parts]) + "\n"


def _table(counted: dict[Output, list[Count | None]], sizes: tuple[int, ...]) -> list[str]:
    heads = [f"n = {n}: Student, % | ours, % (printed, %)" for n in sizes]
    lines = [f"| output | {' | '.join(heads)} |", f"|---|{'---|---|' * len(sizes)}"]
    for output, counts in counted.items():
        if counts[0] is None:
            lines.append(f"| {output.label} | {' | '.join([f'never differs | {MISSING}'] * len(sizes))} |")
        else:
            lines.append(f"| {output.label} | {' | '.join(map(_cell, counts))} |")
    return [*lines, ""]


def _cell(count: Count) -> str:
    student = f"{100 * count.student:.1f}"
    if not count.shown:
        return f"{student} | {MISSING} ({100 * count.known:.0f})"
    ours = f"{100 * count.ours:.1f}"
    return f"{student} | {f'**{ours}**' if count.misses else ours} ({100 * count.known:.0f})"


def _misses(pool: Pool, counted: dict[Output, list[Count | None]]) -> list[str]:
    return [
        f"{pool.title}, {output.label.lower()}, n = {count.n}: {100 * count.ours:.1f} % "
        f"(standard error {100 * count.error:.1f}), printed by {100 * count.known:.0f} % of the studies"
        for output, counts in counted.items()
        for count in counts
        if count and count.misses
    ]


def below(pool: Pool, studies: int = STUDIES) -> list[str]:
    """The headline outputs of which fewer intervals hold than the target says, and others of which far fewer do."""
    wrong = []
    for output in WITHOUT_WORK_BY_TASK:
        least = (TARGET_PERCENT[0] if output in HEADLINES else LEAST_PERCENT) / 100
        for n in SIZES:
            count = count_pairs(pool, output, n, studies)
            if count and count.shown and count.ours < least - 2 * count.error:
                wrong.append(f"{pool.title}, {output.name}, n = {n}: {100 * count.ours:.1f} %")
    return wrong


def main() -> int:
    warnings.simplefilter("ignore", farrowtide.PlausibilityWarning)  # of the scenarios, which are not judged here
    with pictures.progress("pools", sum(len(alternatives) for _, _, alternatives, _ in POOLS)) as advance:
        found = []
        for pool in pools():
            found.append(pool)
            advance(1)
    PAGE.write_text(page(found), encoding="utf-8")
    wrong = [line for pool in found for line in below(pool)]
    print(*wrong, sep="\n", end="\n" if wrong else "", file=sys.stderr)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
