"""The report of a comparison: one HTML page that opens offline and prints, and its tables as CSV."""

from __future__ import annotations

from importlib import resources
from pathlib import Path
from typing import Any

import jinja2
import pandas as pd

from farrowtide import figures, wording
from farrowtide.comparison import NO_CLEAR_DIFFERENCE, TOO_FEW, Comparison


def write_report(comparison: Comparison, folder: Path, *, units: str = "si") -> Path:
    """Writes report.html, differences.csv and outputs.csv; the same comparison gives the same bytes."""
    folder.mkdir(parents=True, exist_ok=True)
    page = folder / "report.html"
    page.write_text(render(comparison, units=units), encoding="utf-8")
    comparison.differences.to_csv(folder / "differences.csv", index=False, lineterminator="\n")
    comparison.replicates.to_csv(folder / "outputs.csv", index=False, lineterminator="\n")
    return page


def render(comparison: Comparison, *, units: str = "si") -> str:
    """The page as text."""
    template = resources.files("farrowtide").joinpath("templates/report.html.jinja").read_text(encoding="utf-8")
    environment = jinja2.Environment(autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    return environment.from_string(template).render(
        comparison=comparison,
        title=comparison.scenario.title,
        question=comparison.scenario.question,
        answers=wording.answers(comparison, units),
        case_title=wording.case_title,
        tables={case: table(comparison, case, units) for case in comparison.cases},
        pictures=[figures.intake(comparison), figures.farrowings(comparison), figures.work(comparison)],
        notes=notes(comparison),
        provenance=provenance_rows(comparison.provenance),
        caution=wording.CAUTION,
    )


def table(comparison: Comparison, case: str, units: str) -> list[dict[str, Any]]:
    """Rows as printed: for each output its unit, the reference's mean, and every other alternative's difference."""
    found = comparison.differences[comparison.differences["case"] == case]
    rows = []
    for output in comparison.outputs:
        part = found[found["output"] == output.name]
        rows.append({
            "label": output.label,
            "unit": output.shown_unit(units),
            "reference": output.shown(part["mean_reference"].iloc[0], units=units),
            "alternatives": [_alternative(output, row, units) for row in part.itertuples()],
        })  # fmt: skip
    return rows


def _alternative(output: Any, row: Any, units: str) -> dict[str, Any]:
    return {
        "name": row.alternative,
        "mean": output.shown(row.mean_alternative, units=units),
        "difference": output.shown(row.difference, units=units, signed=True),
        "interval": "–" if pd.isna(row.ci_low) else wording.range_text(output, row.ci_low, row.ci_high, units=units, signed=True),
        "verdict": row.verdict,
        "clear": row.verdict not in (NO_CLEAR_DIFFERENCE, TOO_FEW),
    }


def notes(comparison: Comparison) -> dict[str, list[str]]:
    """What the outputs rest on: note -> labels of the outputs it holds for."""
    grouped: dict[str, list[str]] = {}
    for output in comparison.outputs:
        if output.note:
            grouped.setdefault(output.note, []).append(output.label)
    return grouped


def provenance_rows(made: dict[str, Any]) -> list[tuple[str, str]]:
    """Label and value, for people."""
    overlaid = made["overlaid_coefficients"]
    return [
        ("Command", made["command"]),
        ("Engine, results version", f"{made['engine_version']}, {made['results_version']}"),
        ("Commit", made["commit"]),
        ("Scenario", f"{made['scenario']} ({made['scenario_hash']})"),
        ("Coefficients", f"{made['coefficient_hash']}; changed by an overlay: {', '.join(overlaid) or 'none'}"),
        ("Seed", str(made["seed"])),
        ("Replications", str(made["replications"])),
    ]
