"""The report of a comparison: one HTML page that opens offline and prints, and its tables as CSV."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Any

import jinja2
import pandas as pd

from farrowtide import _core
from farrowtide.analysis import labour
from farrowtide.analysis.comparison import ComparisonTables, further, headlines, others
from farrowtide.analysis.variance_reduction import shown_factor, variance_reduction
from farrowtide.cautions import for_comparison_only, marked
from farrowtide.engine import provenance
from farrowtide.outputs.output import Output, in_sentence
from farrowtide.outputs.units import MISSING
from farrowtide.report.pictures import work
from farrowtide.report.pictures.differences import headline_differences
from farrowtide.report.pictures.farrowings import farrowings
from farrowtide.report.pictures.intake import intake
from farrowtide.report.wording.cells import Row, table
from farrowtide.report.wording.comparison import answers, support, what_differs
from farrowtide.report.wording.labour import shown
from farrowtide.report.wording.study import case_title, precision_reached, unit_of_replication, what_counts

_MOST_COLUMNS = 4  # alternatives beside each other on a page
_LEAST_SHARE_PERCENT = 0.05  # late and undone together: below it, one decimal shows nothing


def write_report(comparison: ComparisonTables, path: Path, *, units: str = "si") -> Path:
    """Writes report.html, differences.csv and outputs.csv; the same comparison gives the same bytes."""
    page = path if path.suffix == ".html" else path / "report.html"
    folder = page.parent
    folder.mkdir(parents=True, exist_ok=True)
    page.write_text(render(comparison, units=units), encoding="utf-8")
    comparison.differences.to_csv(folder / "differences.csv", index=False, lineterminator="\n")
    comparison.replicates.to_csv(folder / "outputs.csv", index=False, lineterminator="\n")
    provenance.write(folder, comparison.provenance | {"units": units})
    return page


def render(comparison: ComparisonTables, *, units: str = "si") -> str:
    """The page as text."""
    template = resources.files("farrowtide.report").joinpath("templates/report.html.jinja").read_text(encoding="utf-8")
    environment = jinja2.Environment(
        autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    first, more = {"headline": headlines(comparison)}, further(comparison)
    return environment.from_string(template).render(
        comparison=comparison,
        title=comparison.scenario.title,
        question=comparison.scenario.question,
        precision=precision_reached(comparison.precision) if comparison.precision else "",
        answers=answers(comparison, units),
        case_title=case_title,
        tables={case: tables(comparison, case, first, units) for case in comparison.cases},
        further={case: tables(comparison, case, more, units) for case in comparison.cases} if more else {},
        forests={case: headline_differences(comparison, case) for case in comparison.cases},
        pictures=[intake(comparison), farrowings(comparison)],
        work=[work.work(comparison), work.utilisation(comparison)],
        missed={case: missed_tasks(comparison, case) for case in comparison.cases},
        unit=unit_of_replication(comparison.scenario),
        worth=worth(comparison),
        worth_tables={case: worth_tables(comparison, case) for case in comparison.cases},
        what_counts=what_counts(comparison.scenario),
        what_differs=what_differs(comparison),
        support=support(comparison),
        deciles={case: deciles(comparison, case, units) for case in comparison.cases},
        negligible=negligible(headlines(comparison), units),
        notes=notes(comparison),
        provenance=provenance_rows(comparison.provenance),
        provenance_json=json.dumps(comparison.provenance | {"units": units}, ensure_ascii=False),
        caution=comparison.provenance["caution"],
        for_comparison_only=for_comparison_only(comparison.provenance["withheld_care"]),
        marked=lambda name: marked(name, comparison.provenance["withheld_care"]),
    )


Part = tuple[list[str], list[tuple[str, list[Row]]]]  # alternatives, named groups of rows


def tables(comparison: ComparisonTables, case: str, groups: dict[str, list[Output]], units: str) -> list[Part]:
    """As many tables as the page's width needs, each with as many alternatives as it holds."""
    rows = [(name, table(comparison, case, outputs, units)) for name, outputs in groups.items()]
    names = others(comparison)
    return [(names[first : first + _MOST_COLUMNS], rows) for first in range(0, len(names), _MOST_COLUMNS)]


@dataclass(frozen=True)
class MissedTask:
    """A task that some alternative has late or undone, with (late, interval, undone, interval) for each of them."""

    task: str
    cost: str  # of lateness, in words
    cells: dict[str, tuple[str, str, str, str]]


def missed_tasks(comparison: ComparisonTables, case: str) -> list[tuple[list[str], list[MissedTask]]]:
    """The tasks that are late or undone in any alternative of a case; as many tables as the page's width needs."""
    counts = comparison.task_counts[comparison.task_counts["case"] == case]
    found = {name: labour.shares(part) for name, part in counts.groupby("alternative", sort=False)}
    worst = pd.concat([shares["late_percent"] + shares["undone_percent"] for shares in found.values()], axis=1).max(
        axis=1
    )
    named = worst[worst >= _LEAST_SHARE_PERCENT].sort_values(ascending=False, kind="stable").index
    costs = _core.costs_of_lateness()
    rows = [MissedTask(task, costs[task], {name: _missed(found[name], task) for name in found}) for task in named]
    names = comparison.alternatives
    return [(names[first : first + _MOST_COLUMNS], rows) for first in range(0, len(names), _MOST_COLUMNS)]


def _missed(shares: pd.DataFrame, task: str) -> tuple[str, str, str, str]:
    if task not in shares.index:  # not asked for
        return MISSING, "", MISSING, ""
    columns = [f"{name}_percent{end}" for name in ("late", "undone") for end in ("", "_low", "_high")]
    late, late_low, late_high, undone, undone_low, undone_high = (float(shares.loc[task, name]) for name in columns)
    return *shown(late, late_low, late_high), *shown(undone, undone_low, undone_high)


def worth(comparison: ComparisonTables) -> str:
    """What it is worth that the alternatives meet the same animals, in a sentence; empty below three replications."""
    factors = sorted(_reductions(comparison)["factor"].dropna())
    if not factors:
        return ""
    least, middle, most = (shown_factor(factors[i], math.nan, math.nan)[0] for i in (0, len(factors) // 2, -1))
    unit = unit_of_replication(comparison.scenario)
    return (
        f"For the difference that gains least, one {unit} in pairs says as much as {least} that share nothing; for the "
        f"middle one of all headlines, alternatives and cases, as much as {middle}; for the one that gains most: {most}."
    )


def worth_tables(
    comparison: ComparisonTables, case: str
) -> list[tuple[list[str], dict[str, dict[str, tuple[str, str]]]]]:
    """Variance-reduction factors of the headlines with their intervals, by label and alternative, as wide as the page."""
    found = _reductions(comparison)
    labels = {output.name: output.label for output in headlines(comparison)}
    rows: dict[str, dict[str, tuple[str, str]]] = {label: {} for label in labels.values()}
    for row in found[found["case"] == case].itertuples():
        rows[labels[row.output]][row.alternative] = shown_factor(row.factor, row.factor_low, row.factor_high)
    names = others(comparison)
    return [(names[first : first + _MOST_COLUMNS], rows) for first in range(0, len(names), _MOST_COLUMNS)]


def _reductions(comparison: ComparisonTables) -> pd.DataFrame:
    return variance_reduction(comparison.replicates, headlines(comparison), comparison.reference)


Deciles = list[tuple[list[str], list[tuple[str, dict[str, tuple[str, str]]]]]]


def deciles(comparison: ComparisonTables, case: str, units: str) -> Deciles:
    """In one room in ten it is this bad or worse: for each headline, (value, interval) by alternative."""
    found = comparison.worst_decile()
    here = found[found["case"] == case].set_index(["output", "alternative"])
    by_name = {output.name: output for output in comparison.outputs}
    rows = []
    for name in found["output"].unique():
        output = by_name[name]
        cells = {}
        for alternative in comparison.alternatives:
            row = here.loc[(name, alternative)]
            ends = output.shown_range(row["ci_low"], row["ci_high"], units=units)
            cells[alternative] = (output.shown(row["quantile"], units=units), ends)
        rows.append((f"{output.label} [{output.shown_unit(units)}]", cells))
    names = comparison.alternatives
    return [(names[first : first + _MOST_COLUMNS], rows) for first in range(0, len(names), _MOST_COLUMNS)]


def negligible(outputs: list[Output], units: str) -> str:
    """What is too small to matter, output by output."""
    return "; ".join(
        f"{in_sentence(output.label)} {output.shown(output.negligible, units=units)} {output.difference_unit(units)}"
        for output in outputs
    )


def notes(comparison: ComparisonTables) -> dict[str, list[str]]:
    """What the headlines rest on: note -> labels of the outputs it holds for."""
    grouped: dict[str, list[str]] = {}
    for output in headlines(comparison):
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
        ("Conservation checks", f"{made['conservation_checks_passed']:,}, all passed"),
    ]
