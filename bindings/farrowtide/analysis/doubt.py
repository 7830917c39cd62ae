"""Doubt as tables: what differences may be where the parameters are not known, what that hangs on, and what knowing is worth."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from farrowtide.analysis.choice import choose
from farrowtide.analysis.comparison import ComparisonTables, headlines, others
from farrowtide.errors import UserError
from farrowtide.outputs.output import Output
from farrowtide.scenarios.parameters import Parameter
from farrowtide.statistics import sensitivity, worth
from farrowtide.statistics.paired import values_by_room
from farrowtide.statistics.two_levels import BothDoubts, Draws, error_of_probability
from farrowtide.study.draws import DrawsOfParameters

CANDIDATES = 30  # parameters that are moved one by one, the strongest in the draws
SHOWN = 10  # of them
_MARGIN = "margin_"  # how the names of outputs in money begin


@dataclass(frozen=True)
class Subject:
    """What the doubt is taken apart for: an output in a case, and the alternative that is best in it.

    `alternative` is compared with the reference: the best one, or, where that is the reference, the second best.
    """

    case: str
    output: Output
    best: str
    alternative: str

    @property
    def sign(self) -> float:
        """1 where more of the output is better, -1 where less is."""
        return -1.0 if self.output.good == "lower" else 1.0


@dataclass(frozen=True)
class DoubtTables:
    """What `doubt` found, as tidy data frames.

    intervals  one row per case, output and alternative: the difference of the comparison with its interval by chance alone
               (`ci_low`, `ci_high`), the 95 % interval with both doubts (`both_low`, `both_high`) and the `median` of what is thought of it;
               `p_sign`: the probability that the true difference has the sign of `difference`, `p_sign_error` its standard error
               from the number of draws; `p_matters`: that it has this sign and is larger than `negligible`; `off_by`: from
               `difference` to the farther end of the interval; `between`: standard deviation of the true differences of draws,
               `within`: that of a room around that of its draw; `draws`: that have a value. NaN where none has.
    causes     one row per parameter, the strongest first, for `subject`: `grade`, `kind` (coefficient or level of the herd), `unit`, `source`, `value`, `low`, `high` (lists, as
               tables move as one); `share` of the variance between draws by straight line with its 95 % interval, `real`: above
               `floor`; `any_shape`: the share whatever the shape of the effect; `size`: mean change of the difference as it alone crosses
               the middle three quarters of what is thought of it, with `half_width` (95 %), `spread`: standard deviation of the change.
    flips      one row per parameter: the difference at its `low` and `high` (`at_low`, `at_high`), and `flip`, the values at which
               another alternative becomes the best, with `flip_low` and `flip_high` (95 %, by chance); None: none inside its
               range. `instead`: the alternative that is best beyond.
    worth      one row per parameter: expected value of knowing it, in the unit of the subject's output, and its share of `worth_of_all`.
    """

    comparison: ComparisonTables
    subject: Subject
    asked: int  # draws
    drawn: int  # that are in the tables
    rooms: int  # of each draw after the pilot
    parameters: int  # that are drawn
    pairing: (
        float  # what one room at the parameters as given is worth that is subtracted from each: factor on the variance
    )
    impossible: dict[int, str]  # draw -> why its scenario cannot be built; such draws are left out
    set_aside: list[dict[str, Any]]  # rooms that broke off
    interrupted: bool
    intervals: pd.DataFrame
    causes: pd.DataFrame
    floor: float  # the smallest share that can be told from chance
    explained: float  # the share of the variance between draws that all parameters above the floor explain
    flips: pd.DataFrame
    worth: pd.DataFrame
    worth_of_all: float  # expected value of knowing all parameters
    provenance: dict[str, Any]


@dataclass(frozen=True)
class Drawn:
    """The differences in the rooms of each draw. Series are cases x others x outputs, in this order."""

    draws: Draws
    difference: np.ndarray  # at the parameters as given
    error: np.ndarray
    df: np.ndarray
    unpaired: np.ndarray  # variance within draws, were the same rooms at the parameters as given not subtracted

    @property
    def both(self) -> BothDoubts:
        """What is thought of the true differences. The chance is that of the difference as given and of the centre of draws."""
        error = np.sqrt(self.error**2 + self.draws.variance_of_centre)
        return BothDoubts(self.difference + self.draws.true, error, self.df)


@dataclass(frozen=True)
class Layout:
    """The order of series."""

    cases: list[str]
    others: list[str]
    reference: str
    outputs: list[str]

    @classmethod
    def of(cls, comparison: ComparisonTables) -> Layout:
        return cls(
            comparison.cases, others(comparison), comparison.reference, [output.name for output in comparison.outputs]
        )

    def differences(self, rooms: pd.DataFrame) -> np.ndarray:
        """Each alternative minus the reference, shape (rooms, series), by rising replicate."""
        values = values_by_room(rooms, self.cases, [self.reference, *self.others], self.outputs)
        apart: np.ndarray = (values[:, :, 1:] - values[:, :, :1]).reshape(len(values), -1)
        return apart

    def series(self, case: str, other: str, output: str) -> int:
        """The number of a series."""
        places = self.cases.index(case), self.others.index(other), self.outputs.index(output)
        shape = len(self.cases), len(self.others), len(self.outputs)
        return int(np.ravel_multi_index(places, shape))


def by_point(layout: Layout, rooms: pd.DataFrame) -> np.ndarray:
    """Differences shape (points, rooms, series), from rooms of points that have as many each."""
    points = int(rooms["point"].max()) + 1
    each = rooms["replicate"].groupby(rooms["point"]).nunique().iloc[0]
    order = rooms["point"] * len(rooms) + rooms["replicate"]
    return layout.differences(rooms.assign(replicate=order)).reshape(points, int(each), -1)


def moved_from_given(layout: Layout, given: pd.DataFrame, rooms: pd.DataFrame) -> np.ndarray:
    """By how much each room's differences move from those of the same room at the parameters as given; shape as `by_point`.

    What is peculiar to a room drops out, as the same animals meet both.
    """
    at_given = layout.differences(given)
    numbers = rooms.groupby("point")["replicate"].unique()
    places = np.searchsorted(np.sort(given["replicate"].unique()), np.stack([np.sort(each) for each in numbers]))
    moved: np.ndarray = by_point(layout, rooms) - at_given[places]
    return moved


def drawn(comparison: ComparisonTables, parts: Sequence[pd.DataFrame]) -> Drawn:
    """The differences at every draw. `parts`: the rooms of draws that have as many each, in the order of draws."""
    layout = Layout.of(comparison)
    at_given = layout.differences(comparison.replicates)
    n = (~np.isnan(at_given)).sum(axis=0)
    with np.errstate(all="ignore"):
        mean = np.nansum(at_given, axis=0) / n
        error = np.sqrt(np.nansum((at_given - mean) ** 2, axis=0) / np.maximum(n - 1, 1) / n)
    moved = _stacked([moved_from_given(layout, comparison.replicates, rooms) for rooms in parts])
    unpaired = Draws.of(_stacked([by_point(layout, rooms) for rooms in parts])).within
    return Drawn(Draws.of(moved), mean, error, np.maximum(n - 1, 1), unpaired)


def _stacked(parts: Sequence[np.ndarray]) -> np.ndarray:
    """Draws with fewer rooms than others have NaN in their place."""
    most = max(part.shape[1] for part in parts)
    return np.concatenate(
        [np.pad(part, ((0, 0), (0, most - part.shape[1]), (0, 0)), constant_values=np.nan) for part in parts]
    )


def intervals(comparison: ComparisonTables, found: Drawn) -> pd.DataFrame:
    """The table `intervals` of DoubtTables. The interval with both doubts is never narrower than that of chance alone."""
    layout = Layout.of(comparison)
    index = pd.MultiIndex.from_product(
        [layout.cases, layout.others, layout.outputs], names=["case", "alternative", "output"]
    )
    labels = ["case", "output", "alternative"]
    chance = comparison.differences.set_index(index.names).reindex(index)[["unit", "difference", "ci_low", "ci_high"]]
    negligible = np.tile([output.negligible for output in comparison.outputs], len(layout.cases) * len(layout.others))
    both = found.both
    sign = np.where(found.difference < 0, -1.0, 1.0)
    below, below_edge = both.below(np.zeros_like(sign)), both.below(sign * negligible)
    low, high = both.interval()
    low, high = np.fmin(low, chance["ci_low"].to_numpy()), np.fmax(high, chance["ci_high"].to_numpy())
    p_sign = np.where(sign > 0, 1 - below, below)
    table = chance.assign(
        reference=comparison.reference,
        both_low=low,
        both_high=high,
        median=both.quantile(0.5),
        p_sign=p_sign,
        p_sign_error=[error_of_probability(*pair) for pair in zip(p_sign, found.draws.number, strict=True)],
        p_matters=np.where(sign > 0, 1 - below_edge, below_edge),
        off_by=np.fmax(found.difference - low, high - found.difference),
        between=np.sqrt(found.draws.between),
        within=np.sqrt(found.draws.within),
        draws=found.draws.number,
    ).reset_index()
    rank = {name: place for place, name in enumerate(layout.outputs)}
    ordered = table.sort_values(
        ["case", "output"], key=lambda column: _ranks(column, layout.cases, rank), kind="stable"
    )
    return ordered[[*labels, *(name for name in table if name not in labels)]].reset_index(drop=True)


def _ranks(column: pd.Series, cases: list[str], outputs: Mapping[str, int]) -> pd.Series:
    places = dict(outputs) if column.name == "output" else {case: place for place, case in enumerate(cases)}
    return column.map(places)


def subject_of(comparison: ComparisonTables) -> Subject:
    """What the choice in the first case is made on, or else the first headline output, or margin, with a good direction.

    Alternatives that withhold care come last: they are for comparison only.
    """
    case = comparison.cases[0]
    made = choose(comparison, case)
    named = headlines(comparison)
    in_money = [output for output in comparison.outputs if output.name.startswith(_MARGIN)]
    judged = [output for output in [*named, *in_money] if output.good is not None]
    output = made.output if made else (judged or named)[0]
    means = comparison.means[(comparison.means["case"] == case) & (comparison.means["output"] == output.name)]
    ranked = means.sort_values("mean", ascending=output.good == "lower", kind="stable")["alternative"].tolist()
    withheld = comparison.provenance["withheld_care"]
    ranked.sort(key=lambda name: name in withheld)  # stable
    return Subject(case, output, ranked[0], next(name for name in ranked if name != comparison.reference))


def gains(comparison: ComparisonTables, subject: Subject, found: Drawn) -> np.ndarray:
    """What every alternative gives over the reference at each draw, more being better; the reference comes first.

    One that withholds care, and cannot be chosen, gives no more than the reference.
    """
    layout = Layout.of(comparison)
    numbers = [layout.series(subject.case, name, subject.output.name) for name in layout.others]
    true = found.difference[numbers] + found.draws.true[:, numbers]
    barred = np.array([name in comparison.provenance["withheld_care"] for name in layout.others])
    return np.column_stack([np.zeros(len(true)), np.where(barred, 0.0, subject.sign * true)])


LEAST_KNOWN = 21  # draws with a value; fewer carry neither a regression nor a spline


@dataclass(frozen=True)
class Candidates:
    """The parameters that carry most of the spread between draws of the subject, as far as draws tell."""

    shares: sensitivity.Shares
    any_shape: np.ndarray  # of the candidates
    known: np.ndarray  # whether each draw has a value


def candidates(comparison: ComparisonTables, subject: Subject, found: Drawn, draws: DrawsOfParameters) -> Candidates:
    """By their shares of the variance between draws."""
    series = Layout.of(comparison).series(subject.case, subject.alternative, subject.output.name)
    means, between = found.draws.means[:, series], float(found.draws.between[series])
    known = ~np.isnan(means)
    if known.sum() < LEAST_KNOWN:
        raise UserError(
            f"{subject.output.name} has a value in {known.sum()} draws: at least {LEAST_KNOWN} are needed to say what it "
            "depends on (--doubt-draws)"
        )
    inputs = draws.probabilities[: len(means)][known]
    shares = sensitivity.linear_shares(inputs, means[known], between, CANDIDATES)
    any_shape = sensitivity.shares_of_any_shape(inputs[:, shares.inputs], means[known], between)
    return Candidates(shares, any_shape, known)


def causes(inputs: Sequence[Parameter], found: Candidates, moved: sensitivity.Elementary | None) -> pd.DataFrame:
    """The table `causes` of DoubtTables. `moved`: what moving each candidate showed; None where that was not done."""
    shares = found.shares
    missing = np.full(len(shares.inputs), np.nan)
    table = pd.DataFrame(
        {
            "parameter": [inputs[each].name for each in shares.inputs],
            "grade": [inputs[each].grade for each in shares.inputs],
            "kind": [inputs[each].kind for each in shares.inputs],
            "unit": [inputs[each].unit for each in shares.inputs],
            "value": [list(inputs[each].value) for each in shares.inputs],
            "low": [list(inputs[each].low) for each in shares.inputs],
            "high": [list(inputs[each].high) for each in shares.inputs],
            "share": shares.share,
            "share_low": shares.low,
            "share_high": shares.high,
            "real": shares.real,
            "any_shape": found.any_shape,
            "size": moved.size if moved else missing,
            "half_width": moved.half_width if moved else missing,
            "spread": moved.spread if moved else missing,
            "source": [inputs[each].source for each in shares.inputs],
            "input": shares.inputs,
        }
    )
    ranked = table.sort_values(["size", "share"], ascending=False, kind="stable") if moved else table
    return ranked.reset_index(drop=True)


def worth_of_knowing(
    of_choices: np.ndarray, draws: DrawsOfParameters, chosen: Sequence[int], known: np.ndarray
) -> tuple[pd.DataFrame, float]:
    """The table `worth` of DoubtTables for these inputs, and the worth of knowing all."""
    known = known & np.isfinite(of_choices[: len(known)]).all(axis=1)
    if known.sum() < LEAST_KNOWN:
        names = [draws.inputs[number].name for number in chosen]
        return pd.DataFrame({"parameter": names, "worth": np.nan, "share_of_all": np.nan}), float("nan")
    of_all = worth.of_perfect_information(of_choices[known])
    each = [
        worth.of_one_input(of_choices[known], draws.probabilities[: len(known)][known][:, number]) for number in chosen
    ]
    table = pd.DataFrame({"parameter": [draws.inputs[number].name for number in chosen], "worth": each})
    table["share_of_all"] = table["worth"] / of_all if of_all > 0 else 0.0
    return table.sort_values("worth", ascending=False, kind="stable").reset_index(drop=True), of_all
