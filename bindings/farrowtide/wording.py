"""What a comparison says, in plain sentences."""

from __future__ import annotations

import pandas as pd

from farrowtide.comparison import NO_CLEAR_DIFFERENCE, ONLY_CASE, TOO_FEW, Comparison
from farrowtide.outputs import Output

CAUTION = (
    "These are results of a model, not advice for a herd. Obstetrics, heat lamps, room temperature and feeding changes "
    "belong to the herd veterinarian, to local rules and to licensed practice."
)
_MOST_NAMED = 4


def answers(comparison: Comparison, units: str = "si") -> dict[str, list[str]]:
    """Case -> one sentence for each alternative against the reference."""
    found = comparison.differences
    return {
        case: [
            _answer(comparison, found[(found["case"] == case) & (found["alternative"] == name)], name, units)
            for name in comparison.alternatives
            if name != comparison.reference
        ]
        for case in comparison.cases
    }


def case_title(case: str) -> str:
    return "The scenario as written" if case == ONLY_CASE else case


def range_text(output: Output, low: float, high: float, *, units: str = "si", signed: bool = False) -> str:
    """`low to high` as printed."""
    return f"{output.shown(low, units=units, signed=signed)} to {output.shown(high, units=units, signed=signed)}"


def _answer(comparison: Comparison, rows: pd.DataFrame, name: str, units: str) -> str:
    outputs = {output.name: output for output in comparison.outputs}
    if (rows["verdict"] == TOO_FEW).all():
        return f"{name} against {comparison.reference}: too few replications to say anything; two or more are needed."
    clear = rows[~rows["verdict"].isin([NO_CLEAR_DIFFERENCE, TOO_FEW])]
    unclear = rows[rows["verdict"] == NO_CLEAR_DIFFERENCE]
    said = [_difference(outputs[row.output], row, units) for row in clear.head(_MOST_NAMED).itertuples()]
    more = len(clear) - len(said)
    sentence = "; ".join(said) or "no clear difference in any output looked at"
    if more:
        sentence += f"; {more} more in the table"
    if said and len(unclear):
        sentence += f"; no clear difference in {_listed([_lower(outputs[name].label) for name in unclear['output']])}"
    return f"{name} against {comparison.reference}: {sentence}."


def _difference(output: Output, row: object, units: str) -> str:
    """`feed eaten in lactation, per sow, 0.52 kg/d higher (95 % interval 0.45 to 0.59)`, better or worse where declared."""
    low, high = sorted((abs(row.ci_low), abs(row.ci_high)))
    size = f"{output.shown(abs(row.difference), units=units)} {output.shown_unit(units)}"
    return f"{_lower(output.label)} {size} {row.verdict.split()[0]} (95 % interval {range_text(output, low, high, units=units)})"


def _lower(label: str) -> str:
    return label[0].lower() + label[1:]


def _listed(words: list[str], most: int = 3) -> str:
    if len(words) > most:
        return f"{len(words)} of the outputs"
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
