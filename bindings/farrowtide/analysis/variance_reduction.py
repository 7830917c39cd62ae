"""The gain from pairing: how much smaller the variance of a difference is where alternatives meet the same animals."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd

from farrowtide.outputs.output import Output
from farrowtide.outputs.units import MISSING
from farrowtide.statistics.variance_reduction import LEAST_PAIRS, spreads, variance, variance_factor

MOST_FACTOR = 100_000  # as printed
NO_CHANCE = "identical in every room"  # the difference; no chance is left in it
_SPREADS = ("sd_reference", "sd_alternative", "correlation")
FACTOR_COLUMNS = ["factor", "factor_low", "factor_high"]


def variance_reduction(replicates: pd.DataFrame, outputs: Sequence[Output], reference: str) -> pd.DataFrame:
    """The gain from pairing in a comparison, by its own replicates: one row per case, alternative and output.

    `replicates` as in Comparison: case, alternative, replicate and a column per output. `variance_paired` is the variance
    of the difference within a room, `variance_independent` that of the difference between independent rooms (the sum of
    the variances of both alternatives, whose standard deviations are `sd_reference` and `sd_alternative`), `correlation`
    that of the two in a room, `factor` the second variance over the first with its 95 % interval over the `n` rooms that
    have both values, and `meaning` the factor in words.
    """
    rows = []
    for case, part in replicates.groupby("case", sort=False):
        values = {name: rooms.set_index("replicate") for name, rooms in part.groupby("alternative", sort=False)}
        for name in (name for name in values if name != reference):
            for output in outputs:
                both = pd.concat([values[reference][output.name], values[name][output.name]], axis=1).dropna()
                rows.append((case, name, output.name, output.unit, *_paired_row(both.to_numpy())))
    variances = ["variance_paired", "variance_independent"]
    columns = ["case", "alternative", "output", "unit", "n", *variances, *_SPREADS, *FACTOR_COLUMNS]
    table = pd.DataFrame(rows, columns=columns)
    return table.assign(meaning=[meaning(n, factor) for n, factor in zip(table["n"], table["factor"], strict=True)])


def _paired_row(both: np.ndarray) -> tuple[Any, ...]:
    differences = both[:, 1] - both[:, 0]
    variances = variance(differences), variance(both).sum()
    return len(both), *variances, *spreads(both), *variance_factor(both, differences)


def three_ways(
    outputs: Sequence[Output],
    reference: pd.DataFrame,
    alternative: pd.DataFrame,
    one_stream: pd.DataFrame,
    independent: pd.DataFrame,
) -> pd.DataFrame:
    """The variances of the difference in keyed pairs and in the other two ways, and their ratios; one row per output.

    `one_stream` and `independent` are differences already.
    """
    rows = []
    for output in outputs:
        frames = (reference, alternative, one_stream, independent)
        whole = pd.concat([frame[output.name] for frame in frames], axis=1).dropna().to_numpy()
        keyed, (in_order, unpaired) = whole[:, 1] - whole[:, 0], whole.T[2:]
        row = {"output": output.name, "unit": output.unit, "n": len(whole), "variance_keyed": variance(keyed)}
        row |= {"variance_one_stream": variance(in_order), "variance_independent": variance(unpaired)}
        row |= dict(zip(_SPREADS, spreads(whole[:, :2]), strict=True))
        row |= _factor("factor_independent", unpaired, keyed)
        row |= _factor("factor_one_stream", in_order, keyed)
        row |= _factor("factor_one_stream_independent", unpaired, in_order)
        rows.append(row)
    return pd.DataFrame(rows)


def _factor(name: str, above: np.ndarray, below: np.ndarray) -> dict[str, float]:
    factor, low, high = variance_factor(above[:, np.newaxis], below)
    return {name: factor, f"{name}_low": low, f"{name}_high": high}


def meaning(n: int, factor: float, unit: str = "room", other: str = "unpaired") -> str:
    """A variance-reduction factor of n rooms in words."""
    if np.isnan(factor):
        return f"no variation between {unit}s" if n >= LEAST_PAIRS else f"too few {unit}s"
    if np.isinf(factor):
        return f"the difference is identical in every {unit}"
    return f"{n:,} paired {unit}s are worth {shown_number(n, factor)} {other} ones"


def shown_number(n: int, factor: float) -> str:
    """The number of unpaired rooms that n paired ones are worth, as printed."""
    if not np.isfinite(factor):
        return MISSING
    return f"over {n * MOST_FACTOR:,}" if factor > MOST_FACTOR else f"{_two_digits(n * factor):,.0f}"


def shown_factor(factor: float, low: float, high: float) -> tuple[str, str]:
    """A factor and its interval as printed; the interval is empty where there is none."""
    if not np.isfinite(factor):
        return (MISSING if np.isnan(factor) else NO_CHANCE), ""
    ends = "" if np.isnan(low) else f"{_short(low)} to {_short(high)}"
    return _short(factor), ends


def _short(factor: float) -> str:
    if factor > MOST_FACTOR:
        return f"over {MOST_FACTOR:,}"
    factor = _two_digits(factor)
    return f"{factor:,.0f}" if factor >= 10 else f"{factor:.1f}" if factor >= 1 else f"{factor:.2f}"


def _two_digits(value: float) -> float:
    """Rounded to two significant digits: the interval justifies no more."""
    return float(f"{value:.2g}")
