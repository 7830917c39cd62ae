"""The command `compare`."""

from __future__ import annotations

import hashlib
import json
import warnings
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from farrowtide.commands import delivery, printing
from farrowtide.commands.options import (
    ExecutorOptions,
    FolderOptions,
    RunOptions,
    StudyOptions,
    executor_options,
    run_options,
    study_options,
    units_option,
)
from farrowtide.errors import PlausibilityWarning, UserError
from farrowtide.limits import LEAST_DRAWS, MOST_DRAWS
from farrowtide.whole_files import read_bytes

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from rich.console import Console

    from farrowtide.report.wording.cells import Cell
    from farrowtide.results.comparison import Comparison
    from farrowtide.results.doubt import Doubt


_RESULTS = Path("results")
_LABEL_WIDTH, _REFERENCE_WIDTH, _CELL_WIDTH = 23, 9, 14  # of a printed table
_GAP = 2  # padding and the space between two columns


@click.command()
@run_options
@executor_options
@study_options
@click.option("--reference", help="The alternative that the others are compared with.")
@click.option(
    "--output",
    "outputs",
    multiple=True,
    help="An output to compare, or a word of its name, such as intake; may be given more than once. See `farrowtide "
    "outputs`.",
)
@click.option(
    "--no-worse",
    "margins",
    multiple=True,
    metavar="OUTPUT=MARGIN",
    help="Test whether alternatives are worse by less than this margin, to be chosen before seeing results; may be "
    "given more than once.",
)
@click.option(
    "--doubt",
    "with_doubt",
    is_flag=True,
    help="Also draw all coefficients and levels that have a range: how sure is the answer with what is not known of the "
    "farm and the model, what does it hang on, and what should be measured first?",
)
@click.option(
    "--doubt-draws",
    type=click.IntRange(LEAST_DRAWS, MOST_DRAWS),
    default=200,
    show_default=True,
    help="Draws of --doubt: Four times as many halve the standard error of a probability.",
)
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder for report.html and its tables; default: results/ and the name of the file, followed by a short hash "
    "of the question where that folder holds the report of another.",
)
def compare(
    options: RunOptions,
    study: StudyOptions,
    executor: ExecutorOptions,
    reference: str | None,
    outputs: tuple[str, ...],
    margins: tuple[str, ...],
    with_doubt: bool,
    doubt_draws: int,
    out: Path | None,
) -> None:
    """Compare the alternatives of the scenario in FILE within each case, on the same animals.

    Prints paired differences and writes a report. Ctrl-C keeps the replications that are finished.

    \b
    JSON: provenance{}, caution, withheld_care{alternative: [phrase]}, warnings[].{kind, place, problem,
    advice, where[]}, interrupted, reference, precision{}, set_aside[].{case, alternative, replicate, seed, fault},
    no_worse[], verdict{case: {label: sentence}}, answers{case: [sentence]}, not_clear{case: [sentence]},
    may_cost{case: [sentence]},
    break_even[].{case, alternative, reference, of, unit, now, break_even, ci_low, ci_high, better, n}, report,
    differences[].{case, output, unit, alternative, reference, mean_alternative, mean_reference,
    difference, ci_low, ci_high, n, n_differing, p_holm, verdict, rooms_needed, reason}. ci_low and
    ci_high are null where too few rooms differ for an interval; reason says why.

    \b
    With --doubt also: doubt{answer[], subject{case, output, alternative, best}, asked, drawn, rooms,
    parameters, floor, explained, worth_of_all, interrupted, impossible{draw: problem}, set_aside[],
    intervals[].{case, output, alternative, unit, difference, ci_low, ci_high, reference, both_low,
    both_high, median, p_sign, p_sign_error, p_matters, off_by, between, within, draws},
    causes[].{parameter, grade, kind, unit, value[], low[], high[], share, share_low, share_high, real,
    any_shape, size, half_width, spread, source}, flips[].{parameter, unit, low[], high[], value[],
    at_low, at_high, way, flip[], flip_low[], flip_high[], instead},
    worth[].{parameter, worth, share_of_all}}; see .site/pages/doubt.md.
    """
    from farrowtide.engine.result import Interrupted
    from farrowtide.outputs import parsing
    from farrowtide.outputs.catalogue import catalogue
    from farrowtide.results import comparison
    from farrowtide.results import doubt as doubting

    scenario = options.scenario()
    margin_of = parsing.amounts(margins, catalogue(scenario.prices).values(), what="the margin", example="weaned=0.1")
    folder = out or _RESULTS / (Path(options.file).stem.strip(".") or "scenario")
    delivery.require_writable(None if out else _RESULTS)
    delivery.require_writable(folder)

    def deliver_results(results: Comparison | Doubt) -> None:
        if out is not None:
            tell_of_replacing(results.provenance, out, options.units)
        _deliver(results, margin_of, out or folder_of(results.provenance, folder, options.units), options)

    def compared(progress: printing.Progress | None, pool: Executor | None) -> Comparison:
        return comparison.compare(
            scenario,
            replications=options.replications,
            seed=options.seed,
            threads=options.threads,
            outputs=outputs or None,
            reference=reference,
            executor=pool,
            progress=progress,
            **study.arguments(scenario.prices),
        )

    def doubted(progress: printing.Progress | None, pool: Executor | None) -> Comparison | Doubt:
        results = compared(progress, pool)
        try:
            return doubting.doubt(
                results,
                draws=doubt_draws,
                threads=options.threads,
                executor=pool,
                progress=progress,
                **FolderOptions(study.study, study.resume).arguments(),
            )
        except Interrupted as stopped:
            raise stopped.with_finished(stopped.finished or results) from None
        except UserError as problem:
            printing.message(f"warning: without doubt: {problem}")
            return results

    def simulate(progress: printing.Progress | None, pool: Executor | None) -> Comparison | Doubt:
        return doubted(progress, pool) if with_doubt else compared(progress, pool)

    delivery.carry_out("comparing", options, simulate, deliver_results, executor)


def folder_of(provenance: Mapping[str, Any], folder: Path, units: str) -> Path:
    """The folder, unless it holds the report of another question: then one beside it with a hash of this question.

    The same question asked again has the same report, which is written over itself.
    """
    question = _question({**provenance, "units": units})
    held = _question_held(folder)
    if held is None or held == question:
        return folder
    return folder.with_name(f"{folder.name}-{hashlib.sha256(question.encode()).hexdigest()[:8]}")


def tell_of_replacing(provenance: Mapping[str, Any], folder: Path, units: str) -> None:
    """Says so where a folder that the user named holds the report of another question, which is about to be replaced."""
    if _question_held(folder) not in (None, _question({**provenance, "units": units})):
        printing.message(f"warning: {folder}: the report of another question that was there is replaced")


def _question_held(folder: Path) -> str | None:
    """The question that the report in this folder answers; "" where it cannot be read, None where there is no report."""
    if not any((folder / name).exists() for name in ("provenance.json", "report.html")):
        return None
    try:
        return _question(json.loads(read_bytes(folder / "provenance.json")))
    except (UserError, ValueError, AttributeError, RecursionError):
        return ""


def _question(provenance: Mapping[str, Any]) -> str:
    """What numbers and words of a report follow from, as text."""
    of_question = ("recipe", "units", "results_version", "coefficient_hash")
    return json.dumps({name: provenance.get(name) for name in of_question}, sort_keys=True)


def _deliver(results: Comparison | Doubt, margins: dict[str, float], folder: Path, options: RunOptions) -> None:
    from farrowtide.report.wording.comparison import answers, not_clear
    from farrowtide.report.wording.money import may_cost
    from farrowtide.report.wording.verdict import verdict
    from farrowtide.results.doubt import Doubt

    doubt = results if isinstance(results, Doubt) else None
    comparison = results.comparison if isinstance(results, Doubt) else results
    report = results.write_report(folder, units=options.units)

    def data() -> dict[str, Any]:
        return {
            "interrupted": comparison.interrupted,
            "reference": comparison.reference,
            "precision": comparison.precision and vars(comparison.precision),
            "set_aside": comparison.set_aside,
            "no_worse": comparison.no_worse_than(margins).to_dict(orient="records") if margins else [],
            "verdict": {case: dict(verdict(comparison, case, options.units, doubt=doubt)) for case in comparison.cases},
            "answers": answers(comparison, options.units),
            "not_clear": not_clear(comparison, options.units),
            "break_even": comparison.break_even.to_dict(orient="records"),
            "may_cost": may_cost(comparison),
            "report": str(report),
            "differences": comparison.differences.to_dict(orient="records"),
            **({"doubt": _in_plain_values(doubt, options.units)} if doubt else {}),
        }

    def show(screen: Console) -> None:
        _show(screen, comparison, margins, options.units, doubt)

    delivery.deliver(
        options, results.provenance, data, show, plausibility=comparison.warnings, written=("report", report)
    )


def _show(screen: Console, comparison: Comparison, margins: dict[str, float], units: str, doubt: Doubt | None) -> None:
    from farrowtide.analysis.verdicts import HOLM
    from farrowtide.report.wording.comparison import answers, margins_kept
    from farrowtide.report.wording.money import WHAT_MARGINS_ARE, may_cost
    from farrowtide.report.wording.study import precision_reached, what_counts

    if comparison.interrupted:
        delivery.stopped_early(screen, comparison.replications, comparison.wanted_replications)
    if comparison.precision:
        printing.print_text(screen, precision_reached(comparison.precision, units, prices=comparison.scenario.prices))
    for case in comparison.cases:
        _show_verdict(screen, comparison, case, units, doubt)
    costs = may_cost(comparison)
    for case, sentences in answers(comparison, units).items():
        _show_differences(screen, comparison, case, units)
        printing.print_sentences(screen, sentences)
        if costs:
            printing.print_text(screen, "What each may cost:")
            printing.print_sentences(screen, costs[case])
    if costs:
        printing.print_text(screen, WHAT_MARGINS_ARE)
    printing.print_text(screen, HOLM)
    if margins:
        printing.print_sentences(screen, margins_kept(comparison, margins, units))
    if what_counts(comparison.scenario):
        printing.print_text(screen, f"\n{what_counts(comparison.scenario)}")


def _in_plain_values(doubt: Doubt, units: str) -> dict[str, Any]:
    from farrowtide.report.wording.doubt import first_lines

    tables = ("intervals", "causes", "flips", "worth")
    numbers = ("asked", "drawn", "rooms", "parameters", "floor", "explained", "worth_of_all", "interrupted")
    subject = doubt.subject
    return {
        "answer": [f"{label}: {sentence}" for label, sentence in first_lines(doubt, units).items()],
        "subject": {
            "case": subject.case,
            "output": subject.output.name,
            "alternative": subject.alternative,
            "best": subject.best,
        },
        **{name: getattr(doubt, name) for name in (*numbers, "impossible", "set_aside")},
        **{name: getattr(doubt, name).to_dict(orient="records") for name in tables},
    }


def _show_verdict(screen: Console, comparison: Comparison, case: str, units: str, doubt: Doubt | None) -> None:
    from farrowtide.report.wording.study import case_title
    from farrowtide.report.wording.verdict import verdict

    table = printing.table(f"{case_title(comparison.scenario, case)}: the verdict")
    table.show_header = False
    table.add_column("", width=16)
    table.add_column("", ratio=1)
    for label, sentence in verdict(comparison, case, units, doubt=doubt):
        table.add_row(printing.plain(label), printing.plain(sentence), style="bold" if label == "Best" else "")
    screen.print(table)


def _show_differences(screen: Console, comparison: Comparison, case: str, units: str) -> None:
    """The headline outputs, with as many alternatives side by side as the terminal has room for."""
    from farrowtide.analysis.comparison import headlines, others
    from farrowtide.cautions import marked
    from farrowtide.report.wording import cells
    from farrowtide.report.wording.study import case_title, unit_of_replication

    rows = cells.table(comparison, case, headlines(comparison), units)
    withheld_care = comparison.provenance["withheld_care"]
    at_once = max(1, (screen.width - _LABEL_WIDTH - _REFERENCE_WIDTH - 2 * _GAP) // (_CELL_WIDTH + _GAP))
    rooms = printing.count(comparison.replications, unit_of_replication(comparison.scenario))
    title = f"{case_title(comparison.scenario, case)}: {rooms}, seed {comparison.seed}, compared with {comparison.reference}"
    for names in cells.pages(others(comparison), at_once):
        table = printing.table(title)
        table.padding = (0, 1, 0, 0)
        table.add_column("Output", width=_LABEL_WIDTH)
        table.add_column(
            printing.plain(marked(comparison.reference, withheld_care)), justify="right", width=_REFERENCE_WIDTH
        )
        for name in names:
            table.add_column(printing.plain(marked(name, withheld_care)), width=_CELL_WIDTH)
        for row in rows:
            differences = [_with_emphasis(row.cells[name]) for name in names]
            table.add_row(printing.plain(f"{row.label} [{row.unit}]"), row.reference, *differences)
        screen.print(table)


def _with_emphasis(cell: Cell) -> str:
    """What is not clear, or too small to matter, is dim and says so."""
    lines = "\n".join(filter(None, (cell.first, cell.second)))
    return f"[bold]{cell.first}[/]\n{cell.second}" if cell.clear else f"[dim]{lines}[/]"


@click.command()
@click.argument("study", type=click.Path(exists=True, file_okay=False, path_type=Path))
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder for report.html and its tables; default: `report` in the study's folder, followed by a short hash of "
    "the question where that holds the report of another.",
)
@units_option
@click.option("--run-policies", is_flag=True, help="Run the Python policies that STUDY contains, if you trust them.")
@click.option("--quiet", "-q", is_flag=True, help="Do not print where the report is.")
def report(study: Path, out: Path | None, asked_units: str, run_policies: bool, quiet: bool) -> None:
    """Write the report of the finished study in the folder STUDY, which `compare --study STUDY` made.

    Nothing is simulated. It answers what was last asked of the study, without --doubt. Exit code 2: the study is
    unfinished, of another command, or of another results version.
    """
    from farrowtide.outputs.units import units_of
    from farrowtide.results.from_study import comparison_of

    delivery.require_writable(out or study)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", PlausibilityWarning)  # they are in the report
        comparison = comparison_of(study, run_policies=run_policies)
    units = units_of(asked_units, comparison.scenario)
    if out is not None:
        tell_of_replacing(comparison.provenance, out, units)
    written = comparison.write_report(out or folder_of(comparison.provenance, study / "report", units), units=units)
    if not quiet:
        printing.message(f"report: {written}")


COMMANDS = (compare, report)
