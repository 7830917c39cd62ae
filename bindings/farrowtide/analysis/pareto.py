"""Several outputs at once: which alternatives are Pareto-efficient."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pandas as pd

from farrowtide.errors import UserError
from farrowtide.outputs.output import Output, good_direction, tiny_differences
from farrowtide.statistics.inference import DIFFERENCES, p_below
from farrowtide.statistics.moments import Moments
from farrowtide.statistics.paired import labels, values_by_room
from farrowtide.statistics.significance import ERROR, holm


def pareto(means: pd.DataFrame, outputs: Sequence[Output]) -> pd.DataFrame:
    """Which alternatives are Pareto-efficient: no other one is at least as good in every output and better in one.

    `means`: index alternative, columns the names of `outputs` (two or more, each with a better direction). Added columns:
    `efficient`, and `dominated_by`, the first that dominates it ("" where none does). An alternative with a mean that is
    NaN is neither efficient nor dominates any. This looks at means only: surely_dominated tests for chance.
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


def surely_dominated(replicates: pd.DataFrame, outputs: Sequence[Output], *, animals: float = math.inf) -> pd.DataFrame:
    """Alternatives that another one significantly dominates: case, alternative, dominated_by, p_holm.

    p of an ordered pair is the largest of the one-sided paired p over the outputs (intersection-union test, Berger 1982,
    Technometrics 24:295-300), Holm-adjusted over all ordered pairs of the case; the rows are those below 0.05. Being
    better has to be shown in every output: rooms that are all equal in one of them, or of which too few differ for an
    interval, do not show that there is no difference. An alternative that is not listed may still be dominated.
    `animals`: the sows whose mean a room is.
    """
    cases, names = labels(replicates)
    signs = np.array([1.0 if good_direction(output) == "higher" else -1.0 for output in outputs])
    values = values_by_room(replicates, cases, names, [output.name for output in outputs]) * signs
    tiny = tiny_differences(outputs, animals)
    rows = []
    for at, case in enumerate(cases):
        p = np.array([_p_beaten_by(values[:, at], by, tiny, animals) for by in range(len(names))])  # [by, beaten]
        p[np.eye(len(names), dtype=bool)] = np.nan
        p = holm(p.ravel()).reshape(p.shape)
        for beaten, name in enumerate(names):
            if (p[:, beaten] < ERROR).any():
                by = int(np.nanargmin(p[:, beaten]))
                rows.append((case, name, names[by], p[by, beaten]))
    return pd.DataFrame(rows, columns=["case", "alternative", "dominated_by", "p_holm"])


def _p_beaten_by(scores: np.ndarray, by: int, tiny: np.ndarray, animals: float) -> np.ndarray:
    """p of every alternative; `scores` (replicates, alternatives, outputs), higher is better."""
    gaps = Moments.of(scores - scores[:, by : by + 1], tiny=tiny)
    largest: np.ndarray = p_below(gaps, needs=DIFFERENCES.needs(animals)).max(
        axis=1
    )  # NaN where an output has too few pairs that differ
    return largest
