"""The page of an audit, and its table."""

from __future__ import annotations

from pathlib import Path

from farrowtide.analysis.watching.auditing import AuditTables
from farrowtide.engine import provenance
from farrowtide.inert_text import write_csv
from farrowtide.outputs.units import recorded
from farrowtide.report.page import provenance_rows
from farrowtide.report.templating import template
from farrowtide.report.wording import auditing as words
from farrowtide.report.wording.cells import rows
from farrowtide.whole_files import make_folder, write_text

PAGE = "audit.html"


def write_report(audit: AuditTables, folder: Path, *, units: str = "si") -> Path:
    """Writes the page, audit.csv and provenance.json; the same audit gives the same bytes."""
    make_folder(folder)
    write_text(folder / PAGE, render(audit, units=units))
    write_csv(audit.table, folder / "audit.csv")
    provenance.write(folder, audit.provenance | recorded(units))
    return folder / PAGE


def render(audit: AuditTables, *, units: str = "si") -> str:
    """The page as text."""
    prices = audit.scenario.prices
    return template("audit.html.jinja").render(
        title=f"Audit: {audit.scenario.title}",
        sentences=words.findings(audit, units),
        currency=prices.currency if prices else "",
        groups=[
            {
                "name": group.group or "the group",
                "sows": group.sows,
                "loaded_on": group.loaded_on,
                "rows": [words.shown(row, units) for row in rows(audit.table[audit.table["group"] == group.group])],
            }
            for group in rows(audit.groups)
        ],
        rooms=audit.replications,
        not_a_judgement=words.NOT_A_JUDGEMENT,
        caution=audit.provenance["caution"],
        provenance=provenance_rows(audit.provenance),
    )
