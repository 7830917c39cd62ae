"""What a comparison says, in plain words: sentences for people and the cells of the printed tables."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pandas as pd

from farrowtide.comparison import NO_CLEAR_DIFFERENCE, NO_DIFFERENCE, ONLY_CASE, TOO_FEW, Comparison
from farrowtide.outputs import Output

CAUTION = (
    "These are results of a model, not advice for a herd. Obstetrics, heat lamps, room temperature and feeding changes "
    "belong to the herd veterinarian, to local rules and to licensed practice."
)
_MOST_NAMED = 4  # outputs of a kind in one sentence; the rest is counted


def answers(comparison: Comparison, units: str = "si") -> dict[str, list[str]]:
    """Case -> one sentence for each alternative against the reference, on the headlines or the outputs asked for."""
    found = comparison.differences
    outputs = headlines(comparison)
    return {
        case: [
            _answer(comparison, outputs, found[(found["case"] == case) & (found["alternative"] == name)], name, units)
            for name in others(comparison)
        ]
        for case in comparison.cases
    }


def headlines(comparison: Comparison) -> list[Output]:
    """The outputs of the comparison that are headlines; all of them if none is."""
    return [output for output in comparison.outputs if output.group == "headline"] or comparison.outputs


def others(comparison: Comparison) -> list[str]:
    """The alternatives without the reference."""
    return [name for name in comparison.alternatives if name != comparison.reference]


def case_title(case: str) -> str:
    return "The scenario as written" if case == ONLY_CASE else case


def range_text(output: Output, low: float, high: float, *, units: str = "si", signed: bool = False) -> str:
    """`low to high` as printed."""
    return f"{output.shown(low, units=units, signed=signed)} to {output.shown(high, units=units, signed=signed)}"


@dataclass(frozen=True)
class Cell:
    """One difference in a table: what it is, its interval, and whether it is clear."""

    first: str  # "-1.98 worse", "no clear difference"
    second: str  # "-2.00 to -1.96"; empty where there is nothing to add
    clear: bool


@dataclass(frozen=True)
class Row:
    """One output in a table: the reference's mean, and a cell for every other alternative."""

    label: str
    unit: str
    reference: str
    cells: dict[str, Cell]


def table(comparison: Comparison, case: str, outputs: list[Output], units: str) -> list[Row]:
    """The differences in a case as they are printed, a row for each of the outputs."""
    found = comparison.differences[comparison.differences["case"] == case]
    rows = []
    for output in outputs:
        part = found[found["output"] == output.name]
        means = comparison.means
        mean = means[(means["case"] == case) & (means["output"] == output.name)].set_index("alternative")["mean"]
        cells = {row.alternative: _cell(output, row, units) for row in part.itertuples()}
        reference = output.shown(mean[comparison.reference], units=units)
        rows.append(Row(output.label, output.shown_unit(units), reference, cells))
    return rows


def _cell(output: Output, row: Any, units: str) -> Cell:
    difference = output.shown(row.difference, units=units, signed=True)
    if row.verdict == NO_DIFFERENCE:
        return Cell(NO_DIFFERENCE, "", clear=False)
    if row.verdict == TOO_FEW:
        return Cell(difference, TOO_FEW, clear=False)
    interval = range_text(output, row.ci_low, row.ci_high, units=units, signed=True)
    if row.verdict == NO_CLEAR_DIFFERENCE:
        return Cell(NO_CLEAR_DIFFERENCE, interval, clear=False)
    return Cell(f"{difference} {_judgement(row.verdict)}", interval, clear=True)


def _judgement(verdict: str) -> str:
    """better or worse; higher or lower where neither is declared."""
    return verdict.partition("(")[2].rstrip(")") or verdict


def _answer(comparison: Comparison, outputs: list[Output], rows: pd.DataFrame, name: str, units: str) -> str:
    by_verdict: dict[str, list[str]] = {}
    found = rows.set_index("output")
    for output in outputs:
        row = found.loc[output.name]
        by_verdict.setdefault(_judgement(row["verdict"]), []).append(_named(output, row, units))
    start = f"{name} against {comparison.reference}:"
    if list(by_verdict) == [TOO_FEW]:
        return f"{start} too few replications to say anything; two or more are needed."
    order = ("better", "worse", "higher", "lower", NO_CLEAR_DIFFERENCE, NO_DIFFERENCE)
    parts = [f"{kind} in {_listed(by_verdict[kind])}" for kind in order if kind in by_verdict]
    return f"{start} {'; '.join(parts)}."


def _named(output: Output, row: Any, units: str) -> str:
    """`feed eaten per sow in lactation +0.33 kg/d (+0.31 to +0.34)`; the name alone where no difference is clear."""
    label = output.label[0].lower() + output.label[1:]
    if row["verdict"] in (NO_DIFFERENCE, NO_CLEAR_DIFFERENCE, TOO_FEW):
        return label
    interval = range_text(output, row["ci_low"], row["ci_high"], units=units, signed=True)
    difference = output.shown(row["difference"], units=units, signed=True)
    return f"{label} {difference} {output.shown_unit(units)} ({interval})"


def _listed(words: list[str]) -> str:
    if len(words) > _MOST_NAMED:
        words = [*words[: _MOST_NAMED - 1], f"{len(words) - _MOST_NAMED + 1} more"]
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
