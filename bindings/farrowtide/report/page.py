"""The report of a comparison: one HTML page that can be read offline and printed, and its tables as CSV."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import pandas as pd
from markupsafe import Markup

from farrowtide import _core
from farrowtide.analysis import labour
from farrowtide.analysis.comparison import (
    ComparisonTables,
    any_headline_differs,
    differ,
    first_days,
    further,
    headlines,
    others,
)
from farrowtide.analysis.doubt import DoubtTables
from farrowtide.analysis.variance_reduction import NO_CHANCE, shown_factor, variance_reduction
from farrowtide.analysis.verdicts import HOLM
from farrowtide.cautions import LEFT_OUT_OF_INTERVALS, LEFT_OUT_WITH_DOUBT, for_comparison_only, marked
from farrowtide.engine import provenance
from farrowtide.inert_text import csv_text, write_csv
from farrowtide.outputs.output import Output, in_sentence
from farrowtide.outputs.units import MISSING, sentence_in, settings_in, warning_in
from farrowtide.report import data_links
from farrowtide.report.description.variants import farm_in_words
from farrowtide.report.pictures import work
from farrowtide.report.pictures.differences import headline_differences
from farrowtide.report.pictures.doubt import tornado
from farrowtide.report.pictures.farrowings import differ as farrowings_differ
from farrowtide.report.pictures.farrowings import farrowings
from farrowtide.report.pictures.intake import intake
from farrowtide.report.pictures.picture import Picture
from farrowtide.report.pictures.temperature import is_simulated, temperature
from farrowtide.report.shown_tables import in_units
from farrowtide.report.templating import template
from farrowtide.report.wording import doubt as in_doubt
from farrowtide.report.wording.cells import Row, pages, rows, table
from farrowtide.report.wording.comparison import answers, not_clear, support, what_differs
from farrowtide.report.wording.labour import shown
from farrowtide.report.wording.money import WHAT_MARGINS_ARE, may_cost
from farrowtide.report.wording.study import case_title, precision_reached, unit_of_replication, what_counts
from farrowtide.report.wording.summary import summary
from farrowtide.report.wording.verdict import verdict
from farrowtide.report.workbook import workbook
from farrowtide.statistics.inference import DIFFERENCES, DIFFERENCES_OF_CLASS, LEAST_APART
from farrowtide.whole_files import make_folder, write_bytes, write_text

_KINDS = {
    ".csv": "text/csv;charset=utf-8",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
_MAX_COLUMNS = 4  # alternatives side by side on a page
_MIN_SHARE_PERCENT = 0.05  # late and undone together; less rounds to 0.0


def write_report(
    comparison: ComparisonTables, path: Path, *, units: str = "si", doubt: DoubtTables | None = None
) -> Path:
    """Writes report.html, the tables that it carries, and outputs.csv; the same results give the same bytes."""
    page = path if path.suffix == ".html" else path / "report.html"
    folder = page.parent
    make_folder(folder)
    carried = _carried(comparison, doubt, units)
    write_text(page, render(comparison, units=units, doubt=doubt, carried=carried))
    for name, content in carried.items():
        write_bytes(folder / name, content)
    write_csv(comparison.replicates, folder / "outputs.csv")
    if doubt:
        write_csv(in_units(doubt.intervals, comparison.outputs, units), folder / "doubt.csv")
        write_csv(doubt.causes, folder / "causes.csv")
    provenance.write(folder, (doubt or comparison).provenance | {"units": units})
    return page


def _carried(comparison: ComparisonTables, doubt: DoubtTables | None, units: str) -> dict[str, bytes]:
    """The files that the page holds, by name."""
    tables = {"differences.csv": in_units(comparison.differences, comparison.outputs, units)}
    if not comparison.break_even.empty:
        tables["break_even.csv"] = comparison.break_even
    as_csv = {name: csv_text(table).encode() for name, table in tables.items()}
    return {"tables.xlsx": workbook(comparison, units, doubt=doubt), **as_csv}


def render(
    comparison: ComparisonTables,
    *,
    units: str = "si",
    doubt: DoubtTables | None = None,
    carried: Mapping[str, bytes] | None = None,
) -> str:
    """The page as text; it holds the files `carried`, by name."""
    origin = (doubt or comparison).provenance
    other_outputs = further(comparison)
    reductions = variance_reduction(comparison.replicates, headlines(comparison), comparison.reference)
    worst_deciles = comparison.worst_decile()
    stopped_early_of = comparison.provenance.get(
        "wanted_replications"
    )  # not of `comparison`: `reproduce` is not stopped

    def by_case(part: Callable[[str], Any]) -> dict[str, Any]:
        return {case: part(case) for case in comparison.cases}

    return template("report.html.jinja").render(
        comparison=comparison,
        title=comparison.scenario.title,
        question=comparison.scenario.question,
        stopped_early_of=stopped_early_of,
        precision=precision_reached(comparison.precision, units, prices=comparison.scenario.prices)
        if comparison.precision and not stopped_early_of
        else "",
        summary=summary(
            {
                case_title(comparison.scenario, case): verdict(comparison, case, units, doubt=doubt)
                for case in comparison.cases
            }
        ),
        answers=answers(comparison, units),
        not_clear=not_clear(comparison, units),
        may_cost=may_cost(comparison),
        what_margins_are=WHAT_MARGINS_ARE,
        case_title=partial(case_title, comparison.scenario),
        tables=by_case(lambda case: tables(comparison, case, {"headline": headlines(comparison)}, units)),
        first_days=by_case(lambda case: tables(comparison, case, {"first days": first_days(comparison)}, units))
        if first_days(comparison)
        else {},
        further=by_case(lambda case: tables(comparison, case, other_outputs, units)) if other_outputs else {},
        forests={
            case: headline_differences(comparison, case, units)
            for case in comparison.cases
            if any_headline_differs(comparison, case)
        },
        pictures=_pictures(comparison, units),
        work={
            "Each task takes as long": work.work(comparison) if work.differ(comparison) else None,
            "Staff are as busy": work.utilisation(comparison) if differ(comparison, "staff_hours") else None,
        },
        missed=by_case(lambda case: missed_tasks(comparison, case)),
        unit=unit_of_replication(comparison.scenario),
        pairing_gain=pairing_gain(comparison, reductions),
        pairing_gains=by_case(lambda case: pairing_gains(comparison, reductions, case)),
        farm=farm_in_words(comparison.scenario),
        what_counts=what_counts(comparison.scenario),
        what_differs={
            name: {family: settings_in(units, policy) for family, policy in policies.items()}
            for name, policies in what_differs(comparison).items()
        },
        support={family: sentence_in(units, sentence) for family, sentence in support(comparison).items()},
        deciles=by_case(lambda case: deciles(comparison, worst_deciles, case, units)),
        holm=HOLM,
        no_chance=NO_CHANCE,
        negligible=negligible(headlines(comparison), units),
        notes=notes(comparison),
        provenance=provenance_rows(origin),
        provenance_json=json.dumps(origin | {"units": units}, ensure_ascii=False),
        downloads={name: _address(name, content) for name, content in (carried or {}).items()},
        caution=origin["caution"],
        doubt=doubt and doubt_section(doubt, units),
        warnings=[warning_in(units, warning) for warning in comparison.warnings],
        left_out_of_intervals=LEFT_OUT_WITH_DOUBT if doubt else LEFT_OUT_OF_INTERVALS,
        floor=DIFFERENCES,
        floor_of_class=DIFFERENCES_OF_CLASS,
        least_apart=LEAST_APART,
        for_comparison_only=for_comparison_only(comparison.provenance["withheld_care"]),
        marked=lambda name: marked(name, comparison.provenance["withheld_care"]),
    )


def _pictures(comparison: ComparisonTables, units: str) -> dict[str, Picture | None]:
    """What sows eat, the temperatures that they meet where these are simulated, and how long they farrow; none if all alike."""
    pictures = {"Sows eat as much": intake(comparison, units) if differ(comparison, "intake_days") else None}
    if is_simulated(comparison):
        pictures["Rooms are as warm"] = temperature(comparison, units)
    pictures["Farrowings last as long"] = farrowings(comparison) if farrowings_differ(comparison) else None
    return pictures


def doubt_section(doubt: DoubtTables, units: str) -> dict[str, Any]:
    """What the section on doubt says."""
    return {
        "picture": None if doubt.flips.empty else tornado(doubt, units),
        "causes": in_doubt.cause_table(doubt, units),
        "intervals": {case: in_doubt.interval_table(doubt, case, units) for case in doubt.comparison.cases},
        "unit": doubt.subject.output.difference_unit(units),
        "reading": in_doubt.reading(doubt, units),
    }


def _address(name: str, content: bytes) -> Markup:
    """The file as an address that the page holds."""
    kind = _KINDS[Path(name).suffix]
    return (
        data_links.of_text(kind, content.decode()) if kind.startswith("text/") else data_links.of_bytes(kind, content)
    )


Part = tuple[list[str], list[tuple[str, list[Row]]]]  # alternatives, named groups of rows


def tables(comparison: ComparisonTables, case: str, groups: dict[str, list[Output]], units: str) -> list[Part]:
    """The differences in a case, in as many tables as the width of the page requires."""
    named = [(name, table(comparison, case, outputs, units)) for name, outputs in groups.items()]
    return [(names, named) for names in pages(others(comparison), _MAX_COLUMNS)]


@dataclass(frozen=True)
class MissedTask:
    """A task that is late or undone in some alternative: (late, interval, undone, interval) for each alternative."""

    task: str
    cost: str  # of lateness in the model, in a sentence
    cells: dict[str, tuple[str, str, str, str]]


def missed_tasks(comparison: ComparisonTables, case: str) -> list[tuple[list[str], list[MissedTask]]]:
    """The tasks of a case that are late or undone in any alternative, in as many tables as the page requires."""
    counts = comparison.task_counts[comparison.task_counts["case"] == case]
    shares_of = {
        str(name): labour.shares(part, animals=comparison.litters_per_replication)
        for name, part in counts.groupby("alternative", sort=False)
    }
    missed = [shares["late_percent"] + shares["undone_percent"] for shares in shares_of.values()]
    worst = pd.concat(missed, axis=1).max(axis=1)
    named = worst[worst >= _MIN_SHARE_PERCENT].sort_values(ascending=False, kind="stable").index
    costs = _core.costs_of_lateness()
    tasks = [
        MissedTask(task, costs[task], {name: _missed(shares, task) for name, shares in shares_of.items()})
        for task in named
    ]
    return [(names, tasks) for names in pages(comparison.alternatives, _MAX_COLUMNS)]


def _missed(shares: pd.DataFrame, task: str) -> tuple[str, str, str, str]:
    if task not in shares.index:  # never requested
        return MISSING, "", MISSING, ""
    columns = [f"{name}_percent{end}" for name in ("late", "undone") for end in ("", "_low", "_high")]
    of_task: Any = shares.loc[task]
    late, late_low, late_high, undone, undone_low, undone_high = (of_task[column] for column in columns)
    return *shown(late, late_low, late_high), *shown(undone, undone_low, undone_high)


def pairing_gain(comparison: ComparisonTables, reductions: pd.DataFrame) -> str:
    """The gain from simulating alternatives on the same animals, in a sentence; empty below three replications."""
    factors = sorted(reductions["factor"].dropna())
    if not factors:
        return ""
    lowest, median, highest = (shown_factor(factors[i], math.nan, math.nan)[0] for i in (0, len(factors) // 2, -1))
    unit = unit_of_replication(comparison.scenario)
    return (
        f"One paired {unit} is worth {median} independent {unit}s in the median over all headline outputs, alternatives "
        f"and cases; lowest {lowest}, highest {highest}."
    )


def pairing_gains(
    comparison: ComparisonTables, reductions: pd.DataFrame, case: str
) -> list[tuple[list[str], dict[str, dict[str, tuple[str, str]]]]]:
    """Variance-reduction factors of the headline outputs with their intervals, by label and alternative."""
    labels = {output.name: output.label for output in headlines(comparison)}
    by_label: dict[str, dict[str, tuple[str, str]]] = {label: {} for label in labels.values()}
    for row in rows(reductions[reductions["case"] == case]):
        by_label[labels[row.output]][row.alternative] = shown_factor(row.factor, row.factor_low, row.factor_high)
    return [(names, by_label) for names in pages(others(comparison), _MAX_COLUMNS)]


Deciles = list[tuple[list[str], list[tuple[str, dict[str, tuple[str, str]]]]]]


def deciles(comparison: ComparisonTables, worst: pd.DataFrame, case: str, units: str) -> Deciles:
    """The worst decile of each headline output, (value, interval) by alternative: one room in ten is this bad or worse."""
    of_case = worst[worst["case"] == case].set_index(["output", "alternative"])
    by_name = {output.name: output for output in comparison.outputs}
    labelled = []
    for name in worst["output"].unique():
        output = by_name[name]
        cells = {}
        for alternative in comparison.alternatives:
            row = of_case.loc[(name, alternative)]
            ends = output.shown_range(row["ci_low"], row["ci_high"], units=units)
            cells[alternative] = (output.shown(row["quantile"], units=units), ends)
        labelled.append((f"{output.label} [{output.shown_unit(units)}]", cells))
    return [(names, labelled) for names in pages(comparison.alternatives, _MAX_COLUMNS)]


def negligible(outputs: list[Output], units: str) -> str:
    """The difference that is too small to matter, for each output."""
    return "; ".join(
        f"{in_sentence(output.label)} {output.shown(output.negligible, units=units)} {output.difference_unit(units)}"
        for output in outputs
    )


def notes(comparison: ComparisonTables) -> dict[str, list[str]]:
    """The evidence behind the headline outputs: note -> labels of the outputs that it applies to."""
    grouped: dict[str, list[str]] = {}
    for output in headlines(comparison):
        if output.note:
            grouped.setdefault(output.note, []).append(output.label)
    return grouped


def provenance_rows(origin: dict[str, Any]) -> list[tuple[str, str]]:
    """The provenance as labels and values."""
    overlaid = origin["overlaid_coefficients"]
    return [
        ("Command", origin["command"]),
        ("Engine, results version", f"{origin['engine_version']}, {origin['results_version']}"),
        ("Commit", origin["commit"]),
        ("Scenario", f"{origin['scenario']} ({origin['scenario_hash']})"),
        ("Coefficients", f"{origin['coefficient_hash']}; changed by an overlay: {', '.join(overlaid) or 'none'}"),
        *_calibration_rows(origin),
        ("Seed", str(origin["seed"])),
        ("Replications", str(origin["replications"])),
        ("Conservation checks", f"{origin['conservation_checks_passed']:,}, all passed"),
    ]


def _calibration_rows(origin: dict[str, Any]) -> list[tuple[str, str]]:
    """The calibration that the scenario was given, if any."""
    if "calibration" not in origin:
        return []
    of = origin["calibration"]
    return [("Calibration", f"{of['file']} ({of['hash']}), from {of['farrowings']:,} farrowings ({of['records']})")]
