"""What must hold within a row of records and between rows: each rule with what a breach of it means for the row."""

from __future__ import annotations

import string
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from farrowtide.records.findings import Findings, Verdict


@dataclass(frozen=True)
class Rule:
    """A rule about a table of typed values.

    `broken` marks the rows that break it; a comparison with a missing value is false. `reason` is told of `column`; it
    may name columns of the table in braces.
    """

    column: str
    broken: Callable[[pd.DataFrame], Any]
    reason: str
    verdict: Verdict


def apply(rules: Iterable[Rule], table: pd.DataFrame, findings: Findings) -> None:
    """Tells every breach in rows that are not rejected, and empties the values that are left out, in `table` itself."""
    for rule in rules:
        broken = np.asarray(rule.broken(table), dtype=bool) & ~findings.rejected
        rows = np.flatnonzero(broken)
        if len(rows) == 0:
            continue
        findings.add(rows, rule.column, _reasons(rule.reason, table, rows), rule.verdict)
        if rule.verdict is Verdict.LEFT_OUT:
            table.loc[table.index[rows], rule.column] = np.nan


def _reasons(template: str, table: pd.DataFrame, rows: np.ndarray) -> list[str]:
    named = [name for _, name, _, _ in string.Formatter().parse(template) if name]
    if not named:
        return [template] * len(rows)
    shown = {name: [_shown(value) for value in table[name].iloc[rows]] for name in named}
    return [template.format_map(_Row(shown, number)) for number in range(len(rows))]


class _Row(Mapping[str, str]):
    def __init__(self, shown: dict[str, list[str]], number: int) -> None:
        self._shown, self._number = shown, number

    def __getitem__(self, name: str) -> str:
        return self._shown[name][self._number]

    def __iter__(self) -> Any:
        return iter(self._shown)

    def __len__(self) -> int:
        return len(self._shown)


def _shown(value: Any) -> str:
    if isinstance(value, pd.Timestamp):
        return value.date().isoformat()
    return f"{value:.4g}" if isinstance(value, float) else str(value)
