"""The labour report of one result in a folder: its tables, its picture and its provenance."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from farrowtide.analysis.labour import tables
from farrowtide.engine import provenance
from farrowtide.engine.result import Result
from farrowtide.inert_text import write_csv


def write(result: Result, folder: Path, recorded: Mapping[str, Any] | None = None) -> None:
    """Writes the tables as CSV, the picture and provenance.json (`recorded`: its content; None: that of this result)."""
    from farrowtide.report.pictures.work import work_by_hour

    folder.mkdir(parents=True, exist_ok=True)
    for name, table in tables(result).items():
        write_csv(table, folder / f"{name}.csv")
    (folder / "work_by_hour.svg").write_text(work_by_hour(result).svg(), encoding="utf-8")
    own = result.provenance
    provenance.write(folder, recorded or own | {"recipe": own["recipe"] | {"verb": "labour"}})
