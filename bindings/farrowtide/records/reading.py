"""Reading a farm's records from files."""

from __future__ import annotations

import datetime
import os
from pathlib import Path

import numpy as np
import pandas as pd

from farrowtide import _core
from farrowtide.delimited import Grid
from farrowtide.errors import FileError, InternalError, UserError
from farrowtide.inert_text import visible_line
from farrowtide.records.day_rules import check_days
from farrowtide.records.farrowing_rules import check_farrowings
from farrowtide.records.findings import Findings, Verdict
from farrowtide.records.layout import layout
from farrowtide.records.mapping import FileMapping, MappingSource, TableMapping, read_mapping
from farrowtide.records.tables import Records, Source, in_layout, no_findings
from farrowtide.records.values import typed
from farrowtide.records.workbooks import read_grid

_PATH = str | os.PathLike[str]
_CHARACTERS = {"comma": ",", "semicolon": ";", "tab": "\t", None: None}
_NO_MAPPING = FileMapping(mapping=1)


def read(
    farrowings: _PATH,
    days: _PATH | None = None,
    mapping: _PATH | None = None,
    *,
    today: datetime.date | None = None,
) -> Records:
    """Reads a farm's records from CSV files or Excel workbooks, and checks every row.

    `farrowings` and `days` are files in the layout of `farrowtide.records.layout`, or in another that the `mapping` file
    describes; a date later than `today` (by default, the day on which it is read) is doubtful. What is wrong in a row is
    listed in `Records.rejected` where it cannot be used, else in `Records.doubtful`. Raises UserError where a file
    cannot be read as a table or lacks a required column, and FileError with every mistake of a mapping file.
    """
    described, source = read_mapping(Path(mapping)) if mapping is not None else (_NO_MAPPING, None)
    latest = pd.Timestamp(today or datetime.date.today())
    litters = _table(Path(farrowings), "farrowings", described.of("farrowings"), source)
    table = typed(litters, layout("farrowings"), described.of("farrowings"))
    check_farrowings(table, litters, latest)
    used = _with_groups(_used(table, litters, "farrowings"))
    if days is None:
        return _records(used, None, litters, None)
    daily = _table(Path(days), "days", described.of("days"), source)
    day_table = typed(daily, layout("days"), described.of("days"))
    check_days(day_table, daily, latest, used, set(table.loc[litters.rejected, "sow"].dropna()))
    return _records(used, _used(day_table, daily, "days"), litters, daily)


def _table(file: Path, name: str, mapping: TableMapping, source: MappingSource | None) -> Findings:
    """The cells of a file below the headings that the layout or the mapping names."""
    grid = read_grid(
        file, name, sheet=mapping.sheet, encoding=mapping.encoding, separator=_CHARACTERS[mapping.delimiter]
    )
    headings = _headings(grid, name, mapping, source)
    place = {heading: number for number, heading in enumerate(grid.headings)}
    width, rows = len(grid.headings), len(grid.rows)
    if rows == 0:
        raise UserError(f"{grid.file}: has headings, but no row below them")
    missing = {*layout(name).missing_values, *mapping.missing}
    whole = [[cell.strip() for cell in row[:width]] + [""] * (width - len(row)) for row in grid.rows]
    cells = {}
    for column, heading in headings.items():
        texts = [row[place[heading]] for row in whole]
        cells[column] = np.array(["" if text in missing else text for text in texts], dtype=object)
    findings = Findings(grid, headings, cells, np.zeros(rows, dtype=bool))
    lengths = np.array([len(row) for row in grid.rows])
    beyond = np.array([any(cell.strip() for cell in row[width:]) for row in grid.rows], dtype=bool)
    for where, verdict in ((beyond, Verdict.REJECTED), (lengths < width, Verdict.DOUBTFUL)):
        uneven = np.flatnonzero(where)
        told = [f"the row has {lengths[row]} cells, but there are {width} headings" for row in uneven]
        findings.add(uneven, "", told, verdict)
    return findings


def _headings(grid: Grid, name: str, mapping: TableMapping, source: MappingSource | None) -> dict[str, str]:
    """The heading of each column of the layout that is in the file. Raises UserError or FileError."""
    mistakes = []
    found: dict[str, str] = {}
    for column, wanted in mapping.columns.items():
        if wanted.heading in grid.headings:
            found[column] = wanted.heading
        elif source is not None:
            of_column = source.document[name]["columns"][column]
            path = (name, "columns", column) if isinstance(of_column, str) else (name, "columns", column, "heading")
            mistakes.append(
                source.mistake(
                    path,
                    f"is not a heading in {grid.file}",
                    allowed=grid.shown_headings,
                    suggestion=_core.closest(wanted.heading, grid.headings),
                )
            )
    if mistakes:
        raise FileError(mistakes)
    taken = set(found.values())
    for column in layout(name).columns:
        if column not in found and column not in mapping.columns:
            alike = [heading for heading in grid.headings if heading.lower() == column and heading not in taken]
            found |= {column: alike[0]} if alike else {}
    repeated = sorted({heading for heading in found.values() if grid.headings.count(heading) > 1})
    problems = [f"the heading '{visible_line(heading):.60}' is there more than once" for heading in repeated]
    passed_over = [heading for heading in grid.headings if heading not in found.values()]
    for column in layout(name).required:
        if column not in found:
            near = _core.closest(column, passed_over)
            suggested = f" Did you mean '{visible_line(near):.60}'?" if near else ""
            problems.append(f"there is no column '{column}'; name its heading in a mapping file.{suggested}")
    if problems:
        place = f"{grid.file}:{grid.heading_line}"
        raise UserError(f"{place}: {' '.join(problems)} (the {name} have the headings {grid.shown_headings})")
    return {column: found[column] for column in layout(name).columns if column in found}


def _used(table: pd.DataFrame, findings: Findings, name: str) -> pd.DataFrame:
    return in_layout(table[~findings.rejected], name)


def _with_groups(litters: pd.DataFrame) -> pd.DataFrame:
    """The farrowings with a group where none is named: the sows of a room that were loaded on one day."""
    loaded = litters["loaded_on"].dt.strftime("%Y-%m-%d").astype("string")
    room = litters["room"].where(litters["room"].notna(), "")
    return litters.assign(group=litters["group"].fillna((room + " " + loaded).str.strip()))


def _records(used: pd.DataFrame, used_days: pd.DataFrame | None, litters: Findings, daily: Findings | None) -> Records:
    read_in = [("farrowings", litters, used)]
    if daily is not None and used_days is not None:
        read_in.append(("days", daily, used_days))
    return Records(
        farrowings=used,
        days=used_days if used_days is not None else in_layout(pd.DataFrame(), "days"),
        rejected=_listed(read_in, rejected=True),
        doubtful=_listed(read_in, rejected=False),
        sources=tuple(_source(*each) for each in read_in),
    )


def _listed(read_in: list[tuple[str, Findings, pd.DataFrame]], *, rejected: bool) -> pd.DataFrame:
    told = [findings.told(rejected=rejected) for _, findings, _ in read_in]
    return pd.concat([table for table in told if len(table)] or [no_findings()], ignore_index=True)


def _source(name: str, findings: Findings, used: pd.DataFrame) -> Source:
    """What became of the rows of a file: none is lost without being told."""
    rows, rejected = len(findings.grid.rows), int(findings.rejected.sum())
    told = findings.rows_with_a_reason
    if rows != len(used) + rejected or told != rejected:
        raise InternalError(f"{findings.grid.file}: {rows} rows, {len(used)} used, {rejected} rejected, {told} told")
    return Source(
        table=name,
        file=findings.grid.file,
        written_in=findings.grid.written_in,
        rows=rows,
        used=len(used),
        rejected=rejected,
        headings=findings.headings,
        passed_over=tuple(
            heading for heading in findings.grid.headings if heading and heading not in findings.headings.values()
        ),
    )
