"""The command `compare`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from farrowtide.commands import options, printing

if TYPE_CHECKING:
    from rich.console import Console

    from farrowtide.results.comparison import Comparison


_LABEL_WIDTH, _REFERENCE_WIDTH, _CELL_WIDTH = 23, 9, 14  # of a printed table
_GAP = 2  # padding and the space that a table leaves


@click.command()
@options.run_options
@options.executor_options
@options.study_options
@click.option("--reference", help="The alternative that the others are compared with.")
@click.option(
    "--output", "outputs", multiple=True, help="An output to judge; may be given again. See `farrowtide outputs`."
)
@click.option(
    "--no-worse",
    "margins",
    multiple=True,
    metavar="OUTPUT=MARGIN",
    help="Is an alternative worse by less than this? May be given again; choose margins before looking.",
)
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder for report.html and its tables; default: results/NAME of the file.",
)
def compare(
    asked: options.Asked,
    study: options.Study,
    workers: options.Workers,
    reference: str | None,
    outputs: tuple[str, ...],
    margins: tuple[str, ...],
    out: Path | None,
) -> None:
    """Compare the alternatives of the scenario in FILE, inside each case, on the same animals.

    Prints paired differences and writes a report. Ctrl-C keeps the replications that are done.

    \b
    JSON: provenance{}, interrupted, reference, precision{}, no_worse[], answers{case: [sentence]}, report,
    differences[].{case, output, unit, alternative, reference, mean_alternative, mean_reference,
    difference, ci_low, ci_high, n, p_holm, verdict}.
    """
    from farrowtide.engine.result import Interrupted
    from farrowtide.outputs import parsing
    from farrowtide.outputs.catalogue import catalogue
    from farrowtide.results import comparison

    scenario = asked.scenario()
    least = parsing.amounts(margins, catalogue().values(), what="the margin", example="weaned=0.1")
    stopped = None
    with options.at_work("comparing", asked.quiet, workers) as (tell, pool):
        try:
            found = comparison.compare(
                scenario,
                replications=asked.replications,
                seed=asked.seed,
                threads=asked.threads,
                outputs=outputs or None,
                reference=reference,
                executor=pool,
                progress=tell,
                **study.options(),
            )
        except Interrupted as interrupted:
            stopped, found = interrupted, interrupted.finished
    if found is not None:
        _tell(found, least, out or Path("results") / Path(asked.file).stem, asked.units, asked.as_json, asked.quiet)
    if stopped is not None:
        raise stopped


def _tell(found: Comparison, margins: dict[str, float], folder: Path, units: str, as_json: bool, quiet: bool) -> None:
    from farrowtide.report.wording.comparison import answers

    report = found.write_report(folder, units=units)
    if as_json:
        printing.print_json(
            {
                "provenance": found.provenance,
                "interrupted": found.interrupted,
                "reference": found.reference,
                "precision": found.precision and vars(found.precision),
                "no_worse": found.no_worse_than(margins).to_dict(orient="records") if margins else [],
                "answers": answers(found, units),
                "report": str(report),
                "differences": found.differences.to_dict(orient="records"),
            }
        )
        return
    _print_comparison(found, margins, units)
    if not quiet:
        click.echo(f"report: {report}")


def _print_comparison(found: Comparison, margins: dict[str, float], units: str) -> None:
    from farrowtide.report.wording.caution import CAUTION
    from farrowtide.report.wording.comparison import answers, margins_kept
    from farrowtide.report.wording.study import case_title, precision_reached, what_counts

    console = printing.console()
    if found.interrupted:
        console.print(
            f"Stopped early: {found.replications} of {found.wanted_replications} replications are done.", style="bold"
        )
    if found.precision:
        console.print(precision_reached(found.precision), highlight=False)
    for case in found.cases:
        _print_differences(console, found, case, units)
    for case, sentences in answers(found, units).items():
        console.print(f"{case_title(case)}, against {found.reference}:", style="bold", markup=False, highlight=False)
        for sentence in sentences:
            console.print(f"- {sentence}", markup=False, highlight=False)
    for sentence in margins_kept(found, margins, units) if margins else []:
        console.print(f"- {sentence}", markup=False, highlight=False)
    if what_counts(found.scenario):
        console.print(f"\n{what_counts(found.scenario)}", highlight=False)
    console.print(f"\n{CAUTION}", style="italic", highlight=False)


def _print_differences(console: Console, found: Comparison, case: str, units: str) -> None:
    """The headlines, as many alternatives beside each other as the terminal has room for."""
    from rich.markup import escape

    from farrowtide.analysis.comparison import headlines, others
    from farrowtide.report.wording.cells import table as differences
    from farrowtide.report.wording.study import case_title, unit_of_replication

    rows = differences(found, case, headlines(found), units)
    names = others(found)
    at_once = max(1, (console.width - _LABEL_WIDTH - _REFERENCE_WIDTH - 2 * _GAP) // (_CELL_WIDTH + _GAP))
    for first in range(0, len(names), at_once):
        here = names[first : first + at_once]
        rooms = f"{printing.count(found.replications, unit_of_replication(found.scenario))}, seed {found.seed}"
        title = escape(f"{case_title(case)}: {rooms}, against {found.reference}")
        table = printing.table(title)
        table.padding = (0, 1, 0, 0)
        table.add_column("Output", width=_LABEL_WIDTH)
        table.add_column(escape(found.reference), justify="right", width=_REFERENCE_WIDTH)
        for name in here:
            table.add_column(escape(name), width=_CELL_WIDTH)
        for row in rows:
            cells = [_cell_text(row.cells[name]) for name in here]
            table.add_row(f"{row.label} \\[{row.unit}]", row.reference, *cells)
        console.print(table)


def _cell_text(cell: Any) -> str:
    """Three lines at most: what is not clear, or too small to matter, is dim and says so."""
    lines = "\n".join(filter(None, (cell.first, cell.second)))
    return f"[bold]{cell.first}[/]\n{cell.second}" if cell.clear else f"[dim]{lines}[/]"


COMMANDS = (compare,)
