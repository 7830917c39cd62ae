"""The layout of records and the rules that they are checked by, as Markdown."""

from __future__ import annotations

import re
from collections.abc import Iterable

from farrowtide.inert_text import markdown
from farrowtide.records import day_rules, farrowing_rules
from farrowtide.records.findings import Verdict
from farrowtide.records.layout import layout, schema_file
from farrowtide.records.rules import Rule

_VERDICTS = {
    Verdict.REJECTED: "the row is rejected",
    Verdict.LEFT_OUT: "doubtful; the value is left out",
    Verdict.DOUBTFUL: "doubtful",
}


def layout_page() -> str:
    """A table of the columns of each table, and one of its rules."""
    rules = {"farrowings": farrowing_rules.RULES, "days": day_rules.RULES}
    return "\n".join(line for table, of_table in rules.items() for line in _section(table, of_table))


def _section(table: str, rules: Iterable[Rule]) -> list[str]:
    of_table = layout(table)
    schema = f"bindings/farrowtide/records/{schema_file(table).name}"
    missing = ", ".join(f"`{text}`" for text in of_table.missing_values if text)
    columns = [
        f"| `{column.name}` | {'yes' if column.constraints.required else ''} | {column.allowed} | "
        f"{markdown(column.description)} |"
        for column in of_table.columns.values()
    ]
    checks = [f"| `{rule.column}` | {_in_words(rule.reason)} | {_VERDICTS[rule.verdict]} |" for rule in rules]
    return [
        f"## `{table}`",
        "",
        f"{of_table.description} So are the texts {missing}. Table Schema: [{table}](../../{schema}).",
        "",
        "| Column | Required | Allowed | Meaning |",
        "|---|---|---|---|",
        *columns,
        "",
        f"### Rules for {table}",
        "",
        "| Column | What is told | Verdict |",
        "|---|---|---|",
        *checks,
        "",
    ]


def _in_words(reason: str) -> str:
    """The message of a rule, with dots for the values that it names."""
    return re.sub(r"\{\w+\}", "…", reason)
