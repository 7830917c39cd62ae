"""Non-inferiority and equivalence: differences against margins that were chosen beforehand."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

import numpy as np
import pandas as pd

from farrowtide.errors import UserError
from farrowtide.outputs.output import Output, good_direction, needs, tiny_differences
from farrowtide.outputs.parsing import output_named
from farrowtide.statistics.inference import interval, p_below
from farrowtide.statistics.intervals import CONFIDENCE
from farrowtide.statistics.paired import PairedMoments
from farrowtide.statistics.significance import ERROR, holm_by_case


def no_worse_than(
    replicates: pd.DataFrame,
    outputs: Iterable[Output],
    reference: str,
    margins: Mapping[str, float],
    *,
    animals: float = math.inf,
) -> pd.DataFrame:
    """Is an alternative worse than the reference by less than the margin? By case, alternative and output of `margins`.

    One-sided paired tests of `worse by the margin or more` (`farrowtide.statistics.inference`), Holm-adjusted over all
    alternatives and margins of a case. p and bound are NaN, and nothing is shown, where too few rooms differ.
    `difference`: alternative minus reference; `bound`: its one-sided 95 % bound in the bad direction, unadjusted.
    `verdict`: "no worse" where p_holm < 0.05; "worse" where the opposite test, adjusted in the same way, shows that it is
    worse by more than the margin; otherwise "not shown", which is not evidence of being worse. Margins must be above 0,
    are in the output's unit, and must be chosen before looking at results. `animals`: the sows whose mean a room is.
    Raises UserError, also where neither direction of an output is better.
    """
    chosen = _with_margins(outputs, margins)
    bad = np.array([-1.0 if good_direction(output) == "higher" else 1.0 for output in chosen])
    paired = PairedMoments.of(replicates, reference, [o.name for o in chosen], tiny_differences(chosen, animals))
    worse_by, needed = paired.moments.turned(bad), needs(chosen, animals)
    margin = np.array(list(margins.values()))
    return _judged_margins(
        paired,
        chosen,
        {"margin": margin, "bound": bad * interval(worse_by, 2 * CONFIDENCE - 1, needs=needed)[1]},
        within=p_below(worse_by, margin, needs=needed),
        beyond=p_below(worse_by.turned(-1.0), -margin, needs=needed),
        words=("no worse", "worse"),
    )


def equivalent(
    replicates: pd.DataFrame,
    outputs: Iterable[Output],
    reference: str,
    margins: Mapping[str, float],
    *,
    animals: float = math.inf,
) -> pd.DataFrame:
    """Does an alternative differ from the reference by less than the margin, either way? As no_worse_than.

    Two one-sided tests (Schuirmann 1987, J Pharmacokinet Biopharm 15:657-680); p is the larger of the two. `low`, `high`:
    the two one-sided 95 % bounds, unadjusted. `verdict`: "equivalent", "different" (by more than the margin), or
    "not shown". Outputs need no better direction.
    """
    chosen = _with_margins(outputs, margins)
    paired = PairedMoments.of(replicates, reference, [o.name for o in chosen], tiny_differences(chosen, animals))
    up, down = paired.moments, paired.moments.turned(-1.0)
    needed = needs(chosen, animals)
    margin = np.array(list(margins.values()))
    low, high = interval(up, 2 * CONFIDENCE - 1, needs=needed)
    beyond = 2 * np.fmin(p_below(up, -margin, needs=needed), p_below(down, -margin, needs=needed))  # two sides
    return _judged_margins(
        paired,
        chosen,
        {"margin": margin, "low": low, "high": high},
        within=np.maximum(p_below(up, margin, needs=needed), p_below(down, margin, needs=needed)),
        beyond=beyond,
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
    p_within, p_beyond = holm_by_case(within), holm_by_case(beyond)
    verdict = np.where(p_within < ERROR, words[0], np.where(p_beyond < ERROR, words[1], "not shown"))
    shown = {name: np.broadcast_to(values, shape) for name, values in columns.items()}
    return paired.table(
        {output.name: output.unit for output in outputs}, **shown, p=within, p_holm=p_within, verdict=verdict
    )


def _with_margins(outputs: Iterable[Output], margins: Mapping[str, float]) -> list[Output]:
    known = {output.name: output for output in outputs}
    for name, margin in margins.items():
        if not 0 < margin < math.inf:
            raise UserError(f"{name} = {margin}: a margin must be above 0")
    return [known[name] if name in known else output_named(name, known.values()) for name in margins]
