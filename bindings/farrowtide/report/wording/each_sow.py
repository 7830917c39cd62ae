"""What the tables of each sow say."""

from __future__ import annotations

from typing import Any

from farrowtide.analysis.each_sow import EachSowTables


def findings(sows: EachSowTables) -> list[str]:
    """A sentence for each measure."""
    return [_gains_in_words(sows, row) for row in sows.gains().itertuples()]


def _gains_in_words(found: EachSowTables, row: Any) -> str:
    measure = next(one for one in found.measures if one.name == row.measure)
    good, bad = ("better", "worse") if measure.good else ("higher", "lower")
    size = f" (by {measure.negligible:g} {measure.unit} or more)" if measure.negligible else ""
    middle = " and ".join(measure.shown(value, signed=True) for value in (row.p10, row.p90))
    return (
        f"{measure.label}: under {found.alternative} {row.better_percent:.0f} % of sows are {good} and "
        f"{row.worse_percent:.0f} % {bad}{size}; 80 % of them between {middle} {measure.unit}."
    )
