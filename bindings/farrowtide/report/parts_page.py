"""The report of a programme taken apart: one HTML page that can be read offline and printed, and its tables as CSV."""

from __future__ import annotations

import json
from functools import partial
from pathlib import Path

from farrowtide.analysis.parts import PartsTables
from farrowtide.cautions import LEFT_OUT_OF_INTERVALS, for_comparison_only
from farrowtide.engine import provenance
from farrowtide.inert_text import write_csv
from farrowtide.outputs.units import warning_in
from farrowtide.report.page import provenance_rows
from farrowtide.report.pictures.parts import parts_of_programme
from farrowtide.report.shown_tables import in_units
from farrowtide.report.templating import template
from farrowtide.report.wording.parts import READING, added_up, grades_in_words, ranking, table
from farrowtide.report.wording.study import case_title, unit_of_replication, what_counts
from farrowtide.whole_files import make_folder, write_text


def write_report(parts: PartsTables, folder: Path, *, units: str = "si") -> Path:
    """Writes report.html, worth.csv and outputs.csv; the same results give the same bytes."""
    make_folder(folder)
    page = folder / "report.html"
    write_text(page, render(parts, units=units))
    write_csv(in_units(parts.worth, parts.outputs, units), folder / "worth.csv")
    write_csv(parts.replicates, folder / "outputs.csv")
    provenance.write(folder, parts.provenance | {"units": units})
    return page


def render(parts: PartsTables, *, units: str = "si") -> str:
    """The page as text."""
    return template("parts.html.jinja").render(
        parts=parts,
        warnings=[warning_in(units, warning) for warning in parts.warnings],
        title=parts.scenario.title,
        question=parts.scenario.question,
        stopped_early_of=parts.provenance.get("wanted_replications"),
        case_title=partial(case_title, parts.scenario),
        tables={case: table(parts, case, units) for case in parts.cases},
        added_up={case: added_up(parts, case, units) for case in parts.cases},
        pictures={case: parts_of_programme(parts, case, units) for case in parts.cases},
        headings=[(output.label, output.difference_unit(units).removeprefix("percentage ")) for output in parts.shown],
        notes={output.label: output.note for output in parts.shown},
        ranking=ranking(parts),
        reading=READING,
        grades=grades_in_words(),
        unit=unit_of_replication(parts.scenario),
        what_counts=what_counts(parts.scenario),
        left_out_of_intervals=LEFT_OUT_OF_INTERVALS,
        caution=parts.provenance["caution"],
        for_comparison_only=for_comparison_only(parts.provenance["withheld_care"]),
        provenance=provenance_rows(parts.provenance),
        provenance_json=json.dumps(parts.provenance | {"units": units}, ensure_ascii=False),
    )
