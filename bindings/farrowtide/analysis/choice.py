"""Which alternative a comparison comes down to, on the outputs that were asked for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pandas as pd

from farrowtide.analysis import labour
from farrowtide.analysis.comparison import ComparisonTables, headlines
from farrowtide.analysis.differences import differences, means
from farrowtide.analysis.verdicts import is_clear
from farrowtide.outputs.catalogue import feed, money, work
from farrowtide.outputs.output import Output


@dataclass(frozen=True)
class Choice:
    """The best alternative of a case in the first output asked for in which any differs clearly from the reference.

    `rivals`: how the others differ from the best in that output, as in ComparisonTables.differences with the best as
    the reference.
    """

    case: str
    output: Output
    best: str
    rivals: pd.DataFrame

    @property
    def level(self) -> list[str]:
        """The alternatives that are not clearly apart from the best."""
        return [str(row.alternative) for row in self.rivals.itertuples() if not is_clear(str(row.verdict))]


def asked(comparison: ComparisonTables) -> list[Output]:
    """The outputs that decide, in order: those that the study names, or else the headlines, as far as a direction is good."""
    return [output for output in headlines(comparison) if output.good]


def choose(comparison: ComparisonTables, case: str) -> Choice | None:
    """The choice in a case; None where no alternative differs clearly in any output asked for.

    Alternatives that withhold care are for comparison only and cannot be the best.
    """
    of_case = comparison.differences[comparison.differences["case"] == case]
    for output in asked(comparison):
        rows = of_case[of_case["output"] == output.name]
        if rows["verdict"].map(is_clear).any() and (best := _best(comparison, case, output)):
            replicates = comparison.replicates[comparison.replicates["case"] == case]
            rivals = differences(
                replicates,
                [output],
                best,
                animals=comparison.litters_per_replication,
                unit=comparison.scenario.unit_of_replication,
            )
            return Choice(case, output, best, rivals)
    return None


def _best(comparison: ComparisonTables, case: str, output: Output) -> str | None:
    """The alternative with the best mean that may be chosen; of equal ones the first of the file."""
    means = comparison.means
    withheld = comparison.provenance["withheld_care"]
    of_output = means[(means["case"] == case) & (means["output"] == output.name)].set_index("alternative")["mean"]
    allowed = of_output[[name for name in comparison.alternatives if name not in withheld]].dropna()
    if allowed.empty:
        return None
    return str(allowed.idxmax() if output.good == "higher" else allowed.idxmin())


def crowded_out(comparison: ComparisonTables, case: str, alternative: str) -> pd.DataFrame:
    """By how many percentage points more of each task are late or undone than under the reference, the most first.

    Index: task; columns: reference_percent, alternative_percent, more_percent.
    """
    counts = comparison.task_counts[comparison.task_counts["case"] == case]

    def missed(name: str) -> pd.Series:
        shares = labour.shares(counts[counts["alternative"] == name], animals=comparison.litters_per_replication)
        return shares["late_percent"] + shares["undone_percent"]

    table = pd.DataFrame(
        {"reference_percent": missed(comparison.reference), "alternative_percent": missed(alternative)}
    ).fillna(0.0)
    table["more_percent"] = table["alternative_percent"] - table["reference_percent"]
    return table.sort_values("more_percent", ascending=False, kind="stable")


@dataclass(frozen=True)
class Cost:
    """A cost of an alternative: its mean, and how it differs from the reference.

    `difference`: a row as in ComparisonTables.differences; None for the reference itself.
    """

    output: Output
    mean: float
    difference: Any


def costs(comparison: ComparisonTables, case: str, alternative: str) -> list[Cost]:
    """Minutes of work, hours on duty, feed offered and, with prices, the margin per crate and year, whatever was asked for."""
    declared = {output.name: output for output in comparison.outputs}
    priced = [declared[money.PER_CRATE.name]] if money.PER_CRATE.name in declared else []
    measured = [
        output for output in (work.LABOUR, money.DUTY, feed.OFFERED, *priced) if output.name in comparison.replicates
    ]
    judged, of_all = comparison.differences, comparison.means
    if further := [output for output in measured if output.name not in declared]:
        rooms, animals = comparison.replicates, comparison.litters_per_replication
        unit = comparison.scenario.unit_of_replication
        judged = pd.concat([judged, differences(rooms, further, comparison.reference, animals=animals, unit=unit)])
        of_all = pd.concat([of_all, means(rooms, further, animals=animals)])
    rows = _of(judged, case, alternative)
    mean = _of(of_all, case, alternative)["mean"]
    return [
        Cost(output, float(mean[output.name]), rows.loc[output.name] if output.name in rows.index else None)
        for output in measured
    ]


def _of(table: pd.DataFrame, case: str, alternative: str) -> pd.DataFrame:
    """The rows of an alternative in a case, by output."""
    return table[(table["case"] == case) & (table["alternative"] == alternative)].set_index("output")
