"""How many values each column of a farm's records holds, and between which limits."""

from __future__ import annotations

import pandas as pd

from farrowtide.records.layout import layout
from farrowtide.records.tables import Records


def columns_found(records: Records) -> pd.DataFrame:
    """One row per column that was found in a file: table, column, heading, unit, values, missing, lowest, mean, highest.

    Rows that were rejected and values that were left out are not counted. Dates are texts and have no mean.
    """
    tables = {"farrowings": records.farrowings, "days": records.days}
    found = [
        {"table": source.table, "column": name, "heading": heading}
        | _of(tables[source.table][name], source.table, name)
        for source in records.sources
        for name, heading in source.headings.items()
    ]
    return pd.DataFrame(found)


def _of(values: pd.Series, table: str, name: str) -> dict[str, object]:
    column, known = layout(table).columns[name], values.dropna()
    counts: dict[str, object] = {"unit": column.unit, "values": len(known), "missing": len(values) - len(known)}
    if column.type == "string" or known.empty:
        return counts | {"lowest": None, "mean": None, "highest": None}
    if column.type == "date":
        return counts | {"lowest": f"{known.min():%Y-%m-%d}", "mean": None, "highest": f"{known.max():%Y-%m-%d}"}
    return counts | {"lowest": float(known.min()), "mean": float(known.mean()), "highest": float(known.max())}
