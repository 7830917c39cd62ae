"""The best of many, what is good enough, and how bad it gets: what is said of more than one difference.

`replicates` everywhere has the columns case, alternative, replicate (one room, the unit) and one per output, as
`Comparison.replicates`. Alternatives are paired by replicate; NaN is a missing value and leaves its pair out.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy import stats

from farrowtide._core import UserError
from farrowtide.comparison import holm
from farrowtide.intervals import CONFIDENCE
from farrowtide.moments import Moments, PairedMoments, labels, values_by_room
from farrowtide.naming import Limit, limit, output_named
from farrowtide.outputs import Output, in_sentence

ERROR = 1 - CONFIDENCE
DECILE = 0.1
FIRST_STAGE = 20


# How bad it gets


def quantiles(
    replicates: pd.DataFrame, outputs: Iterable[Output], q: float, confidence: float = CONFIDENCE
) -> pd.DataFrame:
    """The quantile `q` (0 < q < 1) over rooms of each output, by case and alternative, with its interval.

    One row each: `quantile` (median-unbiased: type 8 of Hyndman & Fan 1996, Am Stat 50:361-365), `ci_low` and `ci_high`:
    order statistics chosen by the binomial distribution (scipy.stats.quantile_test), which hold whatever the shape of
    the distribution. An end is NaN where so few rooms give no bound on that side; `n_needed` rooms give both.
    """
    if not 0 < q < 1:
        raise UserError(f"q = {q}: a quantile lies between 0 and 1")
    levels = [(output, q) for output in outputs]
    return _quantile_table(replicates, levels, confidence)


def worst_decile(replicates: pd.DataFrame, outputs: Iterable[Output], confidence: float = CONFIDENCE) -> pd.DataFrame:
    """In one room in ten it is this bad or worse: the quantile 0.1 where higher is good, 0.9 where lower is.

    Outputs of which no direction is good are left out. Columns as in quantiles.
    """
    levels = [(output, DECILE if output.good == "higher" else 1 - DECILE) for output in outputs if output.good]
    return _quantile_table(replicates, levels, confidence)


def _quantile_table(
    replicates: pd.DataFrame, levels: Sequence[tuple[Output, float]], confidence: float
) -> pd.DataFrame:
    rows = []
    for (case, alternative), part in replicates.groupby(["case", "alternative"], sort=False):
        for output, q in levels:
            values = part[output.name].dropna().to_numpy()
            needed = rooms_for_quantile(q, confidence)
            rows.append(
                (case, alternative, output.name, output.unit, q, *_quantile(values, q, confidence), len(values), needed)
            )
    columns = ["case", "alternative", "output", "unit", "q", "quantile", "ci_low", "ci_high", "n", "n_needed"]
    return pd.DataFrame(rows, columns=columns)


def _quantile(values: np.ndarray, q: float, confidence: float) -> tuple[float, float, float]:
    if len(values) == 0:
        return math.nan, math.nan, math.nan
    found = float(np.quantile(values, q, method="median_unbiased"))
    low, high = stats.quantile_test(values, q=found, p=q).confidence_interval(confidence)
    return found, float(low), float(high)


def rooms_for_quantile(q: float, confidence: float = CONFIDENCE) -> int:
    """Rooms from which both ends of the quantile's interval exist: max(q, 1 - q)^n <= (1 - confidence) / 2."""
    return math.ceil(math.log((1 - confidence) / 2) / math.log(max(q, 1 - q)))


# Good enough


def no_worse_than(
    replicates: pd.DataFrame, outputs: Iterable[Output], reference: str, margins: Mapping[str, float]
) -> pd.DataFrame:
    """Is an alternative worse than the reference by less than the margin? By case, alternative and output of `margins`.

    One-sided paired t tests of `worse by the margin or more`, Holm-adjusted over all alternatives and margins of a case.
    `difference`: alternative minus reference; `bound`: its one-sided 95 % bound in the bad direction, unadjusted.
    `verdict`: "no worse" where p_holm < 0.05; "worse" where the opposite test, adjusted in the same way, shows it to be
    worse by more than the margin; else "not shown", which is no proof of being worse. Margins above 0, in the output's
    unit, and to be chosen before looking. Raises UserError, also where no direction of an output is good.
    """
    chosen = _with_margins(outputs, margins)
    bad = np.array([-1.0 if good_direction(output) == "higher" else 1.0 for output in chosen])
    paired = PairedMoments.of(replicates, reference, [output.name for output in chosen])
    worse_by = paired.moments.turned(bad)
    margin = np.array(list(margins.values()))
    return _judged_margins(
        paired,
        chosen,
        {"margin": margin, "bound": bad * (worse_by.mean + worse_by.half_width(2 * CONFIDENCE - 1))},
        within=worse_by.p_below(margin),
        beyond=worse_by.turned(-1.0).p_below(-margin),
        words=("no worse", "worse"),
    )


def equivalent(
    replicates: pd.DataFrame, outputs: Iterable[Output], reference: str, margins: Mapping[str, float]
) -> pd.DataFrame:
    """Does an alternative differ from the reference by less than the margin, either way? As no_worse_than.

    Two one-sided tests (Schuirmann 1987, J Pharmacokinet Biopharm 15:657-680): p is the larger of both. `low`, `high`:
    the two one-sided 95 % bounds, unadjusted. `verdict`: "equivalent", "different" (by more than the margin), or
    "not shown". Outputs need no good direction.
    """
    chosen = _with_margins(outputs, margins)
    paired = PairedMoments.of(replicates, reference, [output.name for output in chosen])
    up, down = paired.moments, paired.moments.turned(-1.0)
    margin = np.array(list(margins.values()))
    half = up.half_width(2 * CONFIDENCE - 1)
    beyond = 2 * np.fmin(up.p_below(-margin), down.p_below(-margin))  # two sides
    return _judged_margins(
        paired,
        chosen,
        {"margin": margin, "low": up.mean - half, "high": up.mean + half},
        within=np.maximum(up.p_below(margin), down.p_below(margin)),
        beyond=np.minimum(1.0, beyond),
        words=("equivalent", "different"),
    )


def _judged_margins(
    paired: PairedMoments,
    outputs: Sequence[Output],
    columns: Mapping[str, np.ndarray],
    *,
    within: np.ndarray,
    beyond: np.ndarray,
    words: tuple[str, str],
) -> pd.DataFrame:
    shape = paired.moments.n.shape
    p_within, p_beyond = _holm_by_case(within), _holm_by_case(beyond)
    verdict = np.where(p_within < ERROR, words[0], np.where(p_beyond < ERROR, words[1], "not shown"))
    shown = {name: np.broadcast_to(values, shape) for name, values in columns.items()}
    return paired.table(outputs, **shown, p=within, p_holm=p_within, verdict=verdict)


def _holm_by_case(p: np.ndarray) -> np.ndarray:
    """Adjusted over everything but the first axis."""
    return np.array([holm(part.ravel()).reshape(part.shape) for part in p])


def _with_margins(outputs: Iterable[Output], margins: Mapping[str, float]) -> list[Output]:
    known = {output.name: output for output in outputs}
    for name, margin in margins.items():
        if not 0 < margin < math.inf:
            raise UserError(f"{name} = {margin}: a margin must be above 0")
    return [known[name] if name in known else output_named(name, known.values()) for name in margins]


def good_direction(output: Output) -> str:
    """ "higher" or "lower"; UserError where neither is declared better."""
    if output.good is None:
        raise UserError(
            f"{output.name}: neither direction is declared better, so that nothing can be best or worse in it"
        )
    return output.good


# Many aims at once


def pareto(means: pd.DataFrame, outputs: Sequence[Output]) -> pd.DataFrame:
    """Which alternatives no other one beats: at least as good in every output and better in one.

    `means`: index alternative, columns the names of `outputs` (two or more, each with a good direction). Added columns:
    `efficient`, and `dominated_by`, the first that beats it ("" where none). A mean that is NaN is neither efficient nor
    beats anything. Means only: surely_dominated says what chance leaves of it.
    """
    if len(outputs) < 2:
        raise UserError("a Pareto set needs two or more outputs")
    signs = np.array([1.0 if good_direction(output) == "higher" else -1.0 for output in outputs])
    scores = means[[output.name for output in outputs]].to_numpy(dtype=float) * signs
    known = ~np.isnan(scores).any(axis=1)
    beaten_by = [
        np.flatnonzero((scores >= row).all(axis=1) & (scores > row).any(axis=1)) for row in scores
    ]  # NaN compares as false
    return means.assign(
        efficient=[bool(ok) and len(by) == 0 for ok, by in zip(known, beaten_by, strict=True)],
        dominated_by=[str(means.index[by[0]]) if len(by) else "" for by in beaten_by],
    )


def surely_dominated(replicates: pd.DataFrame, outputs: Sequence[Output]) -> pd.DataFrame:
    """Alternatives that another one beats in every output beyond chance: case, alternative, dominated_by, p_holm.

    For each ordered pair the largest of the one-sided paired p over the outputs (all must be shown: intersection-union
    test, Berger 1982, Technometrics 24:295-300), Holm-adjusted over all ordered pairs of the case; rows where it is below
    0.05. An output in which both are equal in every pair counts as equal and is not tested. Who is not listed may still
    be dominated.
    """
    cases, names = labels(replicates)
    signs = np.array([1.0 if good_direction(output) == "higher" else -1.0 for output in outputs])
    values = values_by_room(replicates, cases, names, [output.name for output in outputs]) * signs
    rows = []
    for at, case in enumerate(cases):
        p = np.array([_p_beaten_by(values[:, at], by) for by in range(len(names))])  # [by, beaten]
        p[np.eye(len(names), dtype=bool)] = np.nan
        p = holm(p.ravel()).reshape(p.shape)
        for beaten, name in enumerate(names):
            if (p[:, beaten] < ERROR).any():
                by = int(np.nanargmin(p[:, beaten]))
                rows.append((case, name, names[by], p[by, beaten]))
    return pd.DataFrame(rows, columns=["case", "alternative", "dominated_by", "p_holm"])


def _p_beaten_by(scores: np.ndarray, by: int) -> np.ndarray:
    """Of every alternative; `scores` (replicates, alternatives, outputs), higher is better."""
    gaps = Moments.of(scores - scores[:, by : by + 1])
    equal = (gaps.n > 1) & (gaps.mean == 0) & (gaps.sd == 0)
    largest = np.where(equal, 0.0, gaps.p_below(0.0)).max(axis=1)  # NaN where an output has too few pairs
    return np.where(equal.all(axis=1), 1.0, largest)


# The best within limits


@dataclass(frozen=True)
class BestWithin:
    """What best_within found.

    table      one row per case and alternative, the best first: `within` ("surely", "probably", "no": all limits
               together), `mean` of the objective, `difference` to the best (paired, with its 95 % interval `ci_low`,
               `ci_high`), `n` pairs, `rank` among those within by mean (0 for the others).
    limits     one row per case, alternative and limit: `mean`, `bound` (its one-sided 95 % bound towards the limit),
               `kept`, and `over`: by how much the mean breaks the limit (0 or less where it doesn't).
    best       case -> alternative, or None where nobody's mean is within all limits.
    sentences  case -> what to say.
    """

    table: pd.DataFrame
    limits: pd.DataFrame
    best: dict[str, str | None]
    sentences: dict[str, str]


def best_within(
    replicates: pd.DataFrame, outputs: Iterable[Output], objective: str, limits: Sequence[str]
) -> BestWithin:
    """The alternative with the best mean of `objective` among those whose means keep all `limits`, by case.

    `limits`: texts such as "labour_min_per_litter <= 110", in the output's unit. "surely": the one-sided 95 % bound of
    the mean is inside, too, for every limit (each alternative by itself, not adjusted for how many there are);
    "probably": all means are inside; "no": one is not. The best is chosen by the same rooms that measure it, so that its
    lead is flattered; Selection picks with a stated probability. Raises UserError.
    """
    outputs = list(outputs)
    aim = output_named(objective, outputs)
    sign = 1.0 if good_direction(aim) == "higher" else -1.0
    kept = _limits_kept(replicates, [limit(text, outputs) for text in limits])
    cases, names = labels(replicates)
    values = values_by_room(replicates, cases, names, [aim.name])[..., 0]
    tables, best, sentences = [], {}, {}
    for at, case in enumerate(cases):
        here = kept[kept["case"] == case]
        within = {name: _overall(here.loc[here["alternative"] == name, "kept"]) for name in names}
        table = _ranked(values[:, at], names, within, sign)
        best[case] = table["alternative"].iloc[0] if table["rank"].iloc[0] == 1 else None
        sentences[case] = _sentence(table, here, aim) if best[case] else _nobody(here, aim)
        tables.append(table.assign(case=case))
    table = pd.concat(tables, ignore_index=True)
    table.insert(0, "case", table.pop("case"))
    return BestWithin(table, kept.drop(columns="limit_"), best, sentences)


def _limits_kept(replicates: pd.DataFrame, limits: Sequence[Limit]) -> pd.DataFrame:
    rows = []
    for (case, alternative), part in replicates.groupby(["case", "alternative"], sort=False):
        for one in limits:
            sign = 1.0 if one.sense == "<=" else -1.0
            moments = Moments.of(part[one.output.name].to_numpy(dtype=float))
            mean = float(moments.mean)
            bound = mean + sign * float(moments.half_width(2 * CONFIDENCE - 1))
            over = sign * (mean - one.value)
            kept = "no" if not over <= 0 else "surely" if sign * (bound - one.value) <= 0 else "probably"
            rows.append((case, alternative, str(one), mean, bound, kept, over, one))
    return pd.DataFrame(rows, columns=["case", "alternative", "limit", "mean", "bound", "kept", "over", "limit_"])


def _overall(kept: pd.Series) -> str:
    return next((word for word in ("no", "probably") if (kept == word).any()), "surely")


def _ranked(values: np.ndarray, names: list[str], within: Mapping[str, str], sign: float) -> pd.DataFrame:
    """`values` (replicates, alternatives). Those within first, then by the mean, then in the order given."""
    mean = Moments.of(values).mean
    inside = np.array([within[name] != "no" for name in names]) & ~np.isnan(mean)
    order = np.lexsort([-sign * mean, ~inside])  # stable; NaN last
    best = order[0]
    gaps = Moments.of(values - values[:, [best]])
    known = inside[best]
    half = gaps.half_width()
    columns = {"difference": gaps.mean, "ci_low": gaps.mean - half, "ci_high": gaps.mean + half}
    table = pd.DataFrame(
        {
            "alternative": names,
            "within": [within[name] for name in names],
            "mean": mean,
            **{name: column if known else np.full(len(names), np.nan) for name, column in columns.items()},
            "n": gaps.n,
        }
    ).iloc[order]
    return table.assign(rank=np.where(inside[order], np.arange(1, len(names) + 1), 0)).reset_index(drop=True)


def _sentence(table: pd.DataFrame, kept: pd.DataFrame, aim: Output) -> str:
    first = table.iloc[0]
    what = f"'{first['alternative']}' has the {_extreme(aim)} mean of {in_sentence(aim.label)}"
    amount = f"{aim.shown(first['mean'])} {aim.unit}"
    if kept.empty:
        return f"{what}, {amount}."
    number = int((table["rank"] > 0).sum())
    return f"{what} of the {number} within the limits, {amount}; it is {first['within']} within them."


def _nobody(kept: pd.DataFrame, aim: Output) -> str:
    """The nearest has the smallest largest breach, counted in what its output declares as negligible."""
    breaches = kept.assign(breach=kept["over"] / [one.output.negligible for one in kept["limit_"]])
    known = breaches.groupby("alternative")["breach"].transform(lambda breach: breach.notna().all()).astype(bool)
    worst = breaches[known].sort_values("breach", ascending=False, kind="stable").drop_duplicates("alternative")
    broken = worst[worst["breach"] > 0]
    if broken.empty:
        return f"Nobody has a value of {in_sentence(aim.label)} and of all limits."
    nearest = broken.loc[broken["breach"].idxmin()]
    output = nearest["limit_"].output
    said = f"Nobody is within the limits. '{nearest['alternative']}' is nearest:"
    return f"{said} {nearest['limit']} is missed by {output.shown(nearest['over'])} {output.difference_unit()}."


def _extreme(output: Output) -> str:
    return "highest" if output.good == "higher" else "lowest"


# The best of many with a stated probability


class Selection:
    """Picks the best of k alternatives with a stated probability: procedure KN on pairs, in rounds.

    Kim & Nelson (2001, ACM Trans Model Comput Simul 11:251-273) with c = 1: if the best mean is better than every other
    by at least `delta` (the indifference zone, in the output's unit), it is selected with probability `confidence` or
    more, for normal data, whatever the correlation from common random numbers; the stronger that is, the sooner it ends.

    `add` takes a round of replicates of the alternatives still `in_play`. The first look comes when there are
    `first_stage` complete replicates or more; all of them then give the variances of the differences, so fix round sizes
    before. Looking after rounds of several replicates instead of each one only makes a wrong elimination rarer
    (Jennison, Johnstone & Turnbull 1982, Statistical Decision Theory and Related Topics III 2:55-86) and costs at most a
    round more. Replicates in which one of those in play has no value are left out.

    Of two whose means are equal when the boundary has closed, the one listed later goes. Two that were equal in every
    pair of the first stage have no variance, so for them this is at the first look.
    """

    def __init__(
        self,
        alternatives: Sequence[str],
        output: Output,
        delta: float,
        *,
        confidence: float = CONFIDENCE,
        first_stage: int = FIRST_STAGE,
    ) -> None:
        self.alternatives = list(alternatives)
        if len(set(self.alternatives)) < max(2, len(self.alternatives)):
            raise UserError("a selection needs two or more alternatives with different names")
        if not 0 < delta < math.inf:
            raise UserError(f"indifference = {delta}: what is too small to matter must be above 0 {output.unit}")
        least = 1 / len(self.alternatives)
        if not least < confidence < 1:
            raise UserError(f"confidence = {confidence}: between {least:g} (picking blindly) and 1")
        if first_stage < 2:
            raise UserError(f"first_stage = {first_stage}: at least 2")
        self.output = output
        self.delta = delta
        self.confidence = confidence
        self.first_stage = first_stage
        self.n = 0  # complete replicates
        self._sign = 1.0 if good_direction(output) == "higher" else -1.0
        count = len(self.alternatives)
        self._in_play = np.arange(count)
        self._means = Moments(count)  # of the good direction
        self._gaps = Moments((count, count))  # of the first stage
        self._closing: np.ndarray | None = None  # n at which the boundary of each pair has closed: h^2 S^2 / delta^2
        self._out: dict[int, tuple[int, int]] = {}  # eliminated -> (at n, by)

    @property
    def in_play(self) -> list[str]:
        """The alternatives not yet eliminated, in the order given."""
        return [self.alternatives[i] for i in self._in_play]

    @property
    def best(self) -> str | None:
        """The selected one; None while there are several."""
        return self.in_play[0] if len(self._in_play) == 1 else None

    @property
    def ends_by(self) -> int | None:
        """Replicates at which it ends at the latest, by the variances of the first stage; None before it is over."""
        if self._closing is None:
            return None
        return max(self.n, math.floor(self._closing[np.ix_(self._in_play, self._in_play)].max()) + 1)

    def add(self, values: pd.DataFrame) -> list[str]:
        """Takes in a round: one row per replicate, one column per alternative in play. Returns whom it eliminated."""
        scores = values[self.in_play].to_numpy(dtype=float) * self._sign
        self._count(scores[~np.isnan(scores).any(axis=1)])
        if self.n < self.first_stage or self.best is not None:
            return []
        if self._closing is None:
            self._closing = self._eta() * 2 * (self.n - 1) * self._gaps.sd**2 / self.delta**2
        return self._screen()

    def table(self) -> pd.DataFrame:
        """One row per alternative: `n` and `mean` while in play, `eliminated_at` n (0 if in play) and by whom."""
        out = [self._out.get(i) for i in range(len(self.alternatives))]
        return pd.DataFrame(
            {
                "alternative": self.alternatives,
                "n": self._means.n,
                "mean": self._sign * self._means.mean,
                "eliminated_at": [0 if one is None else one[0] for one in out],
                "eliminated_by": ["" if one is None else self.alternatives[one[1]] for one in out],
            }
        )

    def _count(self, scores: np.ndarray) -> None:
        block = np.full((len(scores), len(self.alternatives)), np.nan)
        block[:, self._in_play] = scores
        self._means.add(block)
        if self._closing is None:
            self._gaps.add(block[:, :, None] - block[:, None, :])
        self.n += len(scores)

    def _eta(self) -> float:
        error = 2 * (1 - self.confidence) / (len(self.alternatives) - 1)
        return 0.5 * (error ** (-2 / (self.n - 1)) - 1)

    def _screen(self) -> list[str]:
        here = self._in_play
        mean = self._means.mean[here]
        room = np.maximum(0.0, self.delta / (2 * self.n) * (self._closing[np.ix_(here, here)] - self.n))
        lead = mean[None, :] - mean[:, None] - room  # [one, other]: by how much the other is over the boundary
        later = np.arange(len(here))[:, None] > np.arange(len(here))
        beaten = (lead > 0) | ((lead == 0) & (room == 0) & later)
        gone = beaten.any(axis=1)
        by = np.where(beaten, lead, -np.inf).argmax(axis=1)  # the first of the farthest ahead
        for i in np.flatnonzero(gone):
            self._out[int(here[i])] = (self.n, int(here[by[i]]))
        self._in_play = here[~gone]
        return [self.alternatives[i] for i in here[gone]]
