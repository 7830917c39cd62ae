"""The best alternative within limits."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from farrowtide.analysis.differences import mean_interval, tops
from farrowtide.errors import quoted
from farrowtide.outputs.one_line import one_line
from farrowtide.outputs.output import Output, good_direction, in_sentence
from farrowtide.outputs.parsing import Limit, limit, output_named
from farrowtide.statistics.inference import interval
from farrowtide.statistics.intervals import CONFIDENCE
from farrowtide.statistics.moments import Moments
from farrowtide.statistics.paired import labels, values_by_room


@dataclass(frozen=True)
class BestWithin:
    """The result of best_within.

    table      one row per case and alternative, the best first: `within` ("yes", "probably", "no": all limits
               together), `mean` of the objective, `difference` from the best (paired, with its 95 % interval `ci_low`,
               `ci_high`, NaN where too few rooms differ for one), `n` pairs, `apart` of them that differ, `rank` by mean
               among those within the limits (0 for the others).
    limits     one row per case, alternative and limit: `mean`, `bound` (its one-sided 95 % bound towards the limit),
               `kept`, and `over`: by how much the mean breaks the limit (0 or less where it does not).
    best       case -> alternative, or None where no alternative meets all limits.
    sentences  case -> the result in a sentence.
    """

    table: pd.DataFrame
    limits: pd.DataFrame
    best: dict[str, str | None]
    sentences: dict[str, str]

    def __repr__(self) -> str:
        picked = [f"'{best}'" if best else "none within the limits" for best in self.best.values()]
        return one_line("BestWithin", ", ".join(self.best), *picked)


def best_within(
    replicates: pd.DataFrame,
    outputs: Iterable[Output],
    objective: str,
    limits: Sequence[str],
    *,
    animals: float = math.inf,
    units: str = "si",
) -> BestWithin:
    """The alternative with the best mean of `objective` among those whose means keep all `limits`, by case.

    `limits`: texts such as "labour_min_per_litter <= 110", in the output's unit. "yes": the one-sided 95 % bound of
    the mean is within every limit, too (for each alternative alone, not adjusted for their number); "probably": all
    means are within the limits; "no": at least one is not. The best is chosen by the same rooms that measure it, so its
    lead is biased upwards; Selection picks with a stated probability. `animals`: the sows whose mean a room is. `units`:
    "si" or "us", in the sentences. Raises UserError.
    """
    outputs = list(outputs)
    aim = output_named(objective, outputs)
    kept = _limits_kept(replicates, [limit(text, outputs) for text in limits], animals)
    cases, names = labels(replicates)
    values = values_by_room(replicates, cases, names, [aim.name])[..., 0]
    tables, best, sentences = [], {}, {}
    for at, case in enumerate(cases):
        of_case = kept[kept["case"] == case]
        within = {name: _overall(of_case.loc[of_case["alternative"] == name, "kept"]) for name in names}
        table = _ranked(values[:, at], names, within, aim, animals)
        best[case] = table["alternative"].iloc[0] if table["rank"].iloc[0] == 1 else None
        sentences[case] = _sentence(table, of_case, aim, units) if best[case] else _none_within(of_case, aim, units)
        tables.append(table.assign(case=case))
    table = pd.concat(tables, ignore_index=True)
    table.insert(0, "case", table.pop("case"))
    return BestWithin(table, kept.drop(columns="limit_"), best, sentences)


def _limits_kept(replicates: pd.DataFrame, limits: Sequence[Limit], animals: float) -> pd.DataFrame:
    rows = []
    for (case, alternative), part in replicates.groupby(["case", "alternative"], sort=False):
        for bounded in limits:
            sign = 1.0 if bounded.sense == "<=" else -1.0
            moments = Moments.of(part[[bounded.output.name]].to_numpy(dtype=float), top=tops([bounded.output]))
            mean = float(moments.mean[0])
            ends = mean_interval(moments, [bounded.output], 2 * CONFIDENCE - 1, animals=animals)
            bound = float(ends[1 if sign > 0 else 0][0])
            over = sign * (mean - bounded.value)
            kept = "no" if not over <= 0 else "yes" if sign * (bound - bounded.value) <= 0 else "probably"
            rows.append((case, alternative, str(bounded), mean, bound, kept, over, bounded))
    return pd.DataFrame(rows, columns=["case", "alternative", "limit", "mean", "bound", "kept", "over", "limit_"])


def _overall(kept: pd.Series) -> str:
    return next((word for word in ("no", "probably") if (kept == word).any()), "yes")


def _ranked(
    values: np.ndarray, names: list[str], within: Mapping[str, str], aim: Output, animals: float
) -> pd.DataFrame:
    """Those within the limits first, then by mean, then in the given order. `values`: (replicates, alternatives)."""
    sign = 1.0 if good_direction(aim) == "higher" else -1.0
    mean = Moments.of(values).mean
    inside = np.array([within[name] != "no" for name in names]) & ~np.isnan(mean)
    order = np.lexsort([-sign * mean, ~inside])  # stable; NaN last
    best = order[0]
    gaps = Moments.of(values - values[:, [best]], tiny=aim.tiny_among(animals))
    known = inside[best]
    low, high = interval(gaps, needs=aim.floor.needs(animals))
    columns = {"difference": gaps.mean, "ci_low": low, "ci_high": high}
    table = pd.DataFrame(
        {
            "alternative": names,
            "within": [within[name] for name in names],
            "mean": mean,
            **{name: column if known else np.full(len(names), np.nan) for name, column in columns.items()},
            "n": gaps.n,
            "apart": gaps.apart,
        }
    ).iloc[order]
    return table.assign(rank=np.where(inside[order], np.arange(1, len(names) + 1), 0)).reset_index(drop=True)


def _sentence(table: pd.DataFrame, kept: pd.DataFrame, aim: Output, units: str) -> str:
    first = table.iloc[0]
    what = f"'{first['alternative']}' has the {_extreme(aim)} mean of {in_sentence(aim.label)}"
    amount = f"{aim.shown(first['mean'], units=units)} {aim.shown_unit(units)}"
    level = _level_with_the_first(table)
    if kept.empty:
        return f"{what}, {amount}{level}."
    number = int((table["rank"] > 0).sum())
    return f"{what} of the {number} within the limits, {amount} (within limits: {first['within']}){level}."


def _level_with_the_first(table: pd.DataFrame) -> str:
    """Names the alternatives within the limits that are equal to the first in every room, so that none seems better."""
    equal = table.iloc[1:].query("rank > 0 and apart == 0 and difference == 0")["alternative"].tolist()
    return f", and so {'has' if len(equal) == 1 else 'have'} {quoted(equal)}" if len(equal) else ""


def _none_within(kept: pd.DataFrame, aim: Output, units: str) -> str:
    """The closest alternative is that whose largest breach, in units of what its output calls negligible, is smallest."""
    breaches = kept.assign(breach=kept["over"] / [bounded.output.negligible for bounded in kept["limit_"]])
    known = breaches.groupby("alternative")["breach"].transform(lambda breach: breach.notna().all()).astype(bool)
    worst = breaches[known].sort_values("breach", ascending=False, kind="stable").drop_duplicates("alternative")
    broken = worst[worst["breach"] > 0]
    if broken.empty:
        return f"No alternative has values of {in_sentence(aim.label)} and of every limited output."
    nearest = broken.iloc[int(broken["breach"].argmin())]
    output = nearest["limit_"].output
    closest = f"No alternative meets all limits. '{nearest['alternative']}' is closest:"
    amount = f"{output.shown(nearest['over'], units=units)} {output.difference_unit(units)}"
    return f"{closest} it misses {nearest['limit_'].shown(units)} by {amount}."


def _extreme(output: Output) -> str:
    return "highest" if output.good == "higher" else "lowest"
