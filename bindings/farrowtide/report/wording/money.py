"""What an alternative may cost and at which prices it pays, in sentences."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from farrowtide.analysis.break_even import CHANGE, RANGE
from farrowtide.analysis.comparison import ComparisonTables, others
from farrowtide.cautions import qualified
from farrowtide.outputs.units import MISSING
from farrowtide.report.wording.cells import rows

WHAT_MARGINS_ARE = (
    "Margins are for comparing alternatives; they are not profit and loss accounts: interest, housing, sows bought, sold and fed elsewhere, "
    "and animal welfare are not in them."
)
_DIGITS = 3


def may_cost(comparison: ComparisonTables) -> dict[str, list[str]]:
    """Case -> a sentence or two for each alternative: what it may cost, and at which prices it pays; empty without prices."""
    if comparison.break_even.empty:
        return {}
    sentences: dict[str, list[str]] = {}
    for case, of_case in comparison.break_even.groupby("case", sort=False):
        withheld_care = comparison.provenance["withheld_care"]
        by_name = {str(name): list(rows(part)) for name, part in of_case.groupby("alternative", sort=False)}
        sentences[str(case)] = [
            f"{qualified(name, withheld_care)}: {_sentences(by_name[name])}" for name in others(comparison)
        ]
    return sentences


def may_cost_of(comparison: ComparisonTables, case: str, alternative: str) -> str:
    """Of one alternative, without the prices that do not turn the order; empty without prices, and of the reference."""
    table = comparison.break_even
    chosen = (table["case"] == case) & (table["alternative"] == alternative)
    turning = table[chosen & ((table["of"] == CHANGE) | table["break_even"].notna())]
    return _sentences(list(rows(turning))) if len(turning) else ""


def _sentences(found: Sequence[Any]) -> str:
    change = next(row for row in found if row.of == CHANGE)
    prices = [row for row in found if row.of != CHANGE]
    turning = [_turn(row) for row in prices if not math.isnan(row.break_even)]
    never = [row.of for row in prices if math.isnan(row.break_even)]
    text = [_change(change)]
    if math.isnan(change.ci_low):
        return text[0]
    if turning:
        text.append(f"One price changed alone, it pays {'; '.join(turning)}.")
    if never:
        text.append(
            f"None of these turns the order, changed alone from a tenth to {RANGE:g} times: {', '.join(never)}."
        )
    return " ".join(text)


def _change(row: Any) -> str:
    if math.isnan(row.break_even):
        return "no room has a margin."
    most = f"{_amount(row.break_even)} {row.unit} a crate and year{_interval(row)}"
    given = f"; as given, it costs {_amount(row.now)}" if row.now else ""
    if math.isnan(row.ci_low):
        return f"too few rooms to tell whether it pays: so far, the most that it may cost is {most}{given}."
    if row.ci_low <= 0 <= row.ci_high:
        return f"it is not known whether it pays even if its change costs nothing: the most that it may cost is {most}{given}."
    if row.break_even > 0:
        return f"pays while its change costs less than {most}{given}."
    lower = f"{_amount(-row.break_even)} {row.unit} a crate and year lower{_interval(row, -1)}"
    return f"does not pay even if its change costs nothing: its margin is {lower}."


def _turn(row: Any) -> str:
    return f"with {row.of} {row.better} {_amount(row.break_even)} {row.unit}{_interval(row, now=row.now)}"


def _interval(row: Any, sign: int = 1, *, now: float | None = None) -> str:
    low, high = sorted((sign * row.ci_low, sign * row.ci_high))
    known = "no interval is known" if math.isnan(low) else f"95 % interval {_amount(low)} to {_amount(high)}"
    return f" ({known})" if now is None else f" ({known}; now {_amount(now)})"


def _amount(value: float) -> str:
    """To three digits."""
    if math.isnan(value):
        return MISSING
    decimals = max(0, _DIGITS - 1 - math.floor(math.log10(abs(value)))) if value else 0
    return f"{value:,.{min(decimals, 6)}f}".replace("-", "\N{MINUS SIGN}")
