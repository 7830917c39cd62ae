"""The labour report of one result in a folder: its tables, its picture and its provenance."""

from __future__ import annotations

from pathlib import Path

from farrowtide.analysis.labour import tables
from farrowtide.engine import provenance
from farrowtide.engine.result import Result
from farrowtide.inert_text import write_csv
from farrowtide.whole_files import make_folder, write_text


def write(result: Result, folder: Path) -> None:
    """Writes the tables as CSV, the picture and provenance.json."""
    from farrowtide.report.pictures.work import work_by_hour

    make_folder(folder)
    for name, table in tables(result).items():
        write_csv(table, folder / f"{name}.csv")
    write_text(folder / "work_by_hour.svg", work_by_hour(result).svg())
    own = result.provenance
    provenance.write(folder, own | {"recipe": own["recipe"] | {"verb": "labour"}})
