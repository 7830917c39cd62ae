"""The layout of the two tables, read from the JSON Table Schemas beside this file.

A Table Schema (Frictionless Data, Data Package version 2) names the columns of a table with type, range and meaning.
The reader checks values by the same files that document the layout, so that the two cannot differ.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

_DTYPES = {"string": "string", "integer": "Int64", "number": "Float64", "date": "datetime64[s]"}


@dataclass(frozen=True)
class Constraints:
    """What a value must satisfy. `minimum` and `maximum` of dates are texts such as "1990-01-01"."""

    required: bool = False
    minimum: Any = None
    maximum: Any = None
    maxLength: int | None = None


@dataclass(frozen=True)
class Column:
    """One column of a table: `type` is string, integer, number or date; `unit` is empty where there is none."""

    name: str
    type: str
    description: str
    unit: str = ""
    constraints: Constraints = field(default_factory=Constraints)

    @property
    def dtype(self) -> str:
        """Its type in a data frame, in which a missing value is NA (NaT of dates)."""
        return _DTYPES[self.type]

    @property
    def allowed(self) -> str:
        """What may be written, in words."""
        kinds = {"string": "text", "integer": "a whole number", "number": "a number", "date": "year-month-day"}
        limits = self.constraints
        parts = [kinds[self.type]]
        if limits.maximum is not None:
            parts.append(f"{limits.minimum} to {limits.maximum}")
        elif limits.minimum is not None:
            parts.append(f"from {limits.minimum}")
        if limits.maxLength is not None:
            parts.append(f"at most {limits.maxLength} characters")
        return ", ".join(parts) + (f" {self.unit}" if self.unit else "")


@dataclass(frozen=True)
class Layout:
    """The columns of a table in their order, and the texts that stand for a value that was not recorded."""

    name: str
    description: str
    missing_values: tuple[str, ...]
    columns: dict[str, Column]

    @property
    def required(self) -> list[str]:
        """The columns without which a row cannot be used."""
        return [column.name for column in self.columns.values() if column.constraints.required]


@cache
def layout(table: str) -> Layout:
    """The layout of "farrowings" or "days"."""
    schema = json.loads(schema_file(table).read_text(encoding="utf-8"))
    columns = [
        Column(
            name=field["name"],
            type=field["type"],
            description=field["description"],
            unit=field.get("unit", ""),
            constraints=Constraints(**field.get("constraints", {})),
        )
        for field in schema["fields"]
    ]
    by_name = {column.name: column for column in columns}
    return Layout(schema["title"], schema["description"], tuple(schema["missingValues"]), by_name)


def schema_file(table: str) -> Path:
    """The JSON Table Schema of "farrowings" or "days"."""
    return Path(__file__).with_name(f"{table}.schema.json")
