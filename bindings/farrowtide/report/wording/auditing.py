"""What an audit found, in words and cells."""

from __future__ import annotations

from typing import Any

from farrowtide.analysis.watching.auditing import LEVEL, MARGIN, AuditTables
from farrowtide.outputs.units import count, unit_in, us_unit, value_in
from farrowtide.report.wording.cells import rows

NOT_A_JUDGEMENT = (
    "Outside the interval: the room, the protocol as carried out, its records or the model differ; look for which. Treatments "
    "belong to the herd veterinarian."
)


def shown(row: Any, units: str) -> dict[str, str]:
    """The cells of a row."""

    us = us_unit(row.unit, units)
    decimals = max(int(row.decimals) + (us.more_decimals if us else 0), 0)

    def number(value: float) -> str:
        return f"{value_in(units, value, row.unit):.{decimals}f}"

    return {
        "label": f"{row.label} [{unit_in(units, row.unit)}]",
        "value": number(row.value),
        "expected": number(row.expected),
        "interval": f"{number(row.low)} to {number(row.high)}",
        "verdict": f"outside{f', {row.better}' if row.better else ''}" if row.outside else "inside",
        "worth": worth(row),
    }


def worth(row: Any) -> str:
    """What the difference is worth for the group; empty without a price."""
    value = getattr(row, "worth", float("nan"))
    return "" if value != value else f"{value:+,.0f}"


def findings(audit: AuditTables, units: str = "si") -> list[str]:
    """A sentence for each group, and what is to be expected by chance."""
    said = []
    for group in audit.groups["group"]:
        of = audit.table[audit.table["group"] == group]
        outside = [row for row in rows(of) if row.outside and row.output != MARGIN]
        cells = [(row, shown(row, units)) for row in outside]
        off = "; ".join(
            f"{row.label} {cell['value']} {unit_in(units, row.unit)}, expected {cell['interval']}"
            for row, cell in cells
        )
        money = _money(audit, of)
        said.append(f"{group or 'the group'}: {off or 'every output is inside its interval'}{money}.")
    outputs = int((audit.table["output"] != MARGIN).sum())
    said.append(
        f"Of {count(outputs, 'output')} in all, about {(1 - LEVEL) * outputs:.1f} would be outside by chance if every room were as "
        "the scenario says."
    )
    if audit.open_groups:
        said.append(f"Not yet weaned, and left out: {', '.join(audit.open_groups)}.")
    return said


def _money(audit: AuditTables, of: Any) -> str:
    margin = of[of["output"] == MARGIN]
    if margin.empty or audit.scenario.prices is None:
        return ""
    row = next(rows(margin))
    place = "outside" if row.outside else "inside"
    return f"; what has a price comes to {worth(row)} {row.unit} against the expectation ({place} the interval of one room)"
