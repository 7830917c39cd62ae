"""The comparison of each sow with herself in sentences."""

from __future__ import annotations

from typing import Any

from farrowtide.analysis.each_sow import EachSowTables
from farrowtide.report.wording.cells import rows


def findings(sows: EachSowTables, units: str = "si") -> list[str]:
    """A sentence for each measure."""
    return [_sentence(sows, row, units) for row in rows(sows.gains())]


def _sentence(sows: EachSowTables, gain: Any, units: str) -> str:
    measure = next(measure for measure in sows.measures if measure.name == gain.measure)
    good, bad = ("better", "worse") if measure.good else ("higher", "lower")
    unit = measure.difference_unit(units)
    limit = f"{measure.value_in(units, measure.negligible, difference=True):.3g}"
    size = f" (by {limit} {unit} or more)" if measure.negligible else ""
    range_ = " and ".join(measure.shown(value, units=units, signed=True) for value in (gain.p10, gain.p90))
    return (
        f"{measure.label}: under {sows.alternative} {gain.better_percent:.0f} % of sows are {good} and "
        f"{gain.worse_percent:.0f} % {bad}{size}; 80 % of differences lie between {range_} {unit}."
    )
