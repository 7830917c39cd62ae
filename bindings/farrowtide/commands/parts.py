"""The command `parts`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from farrowtide.commands import delivery, printing
from farrowtide.commands.comparing import folder_of
from farrowtide.commands.options import (
    ExecutorOptions,
    FolderOptions,
    RunOptions,
    executor_options,
    folder_options,
    run_options,
)

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from rich.console import Console

    from farrowtide.results.parts import Parts

_PRACTICE_WIDTH, _AMOUNT_WIDTH = 31, 9  # of the printed table


@click.command()
@run_options
@executor_options
@folder_options
@click.option(
    "--output",
    "outputs",
    multiple=True,
    help="An output to show, or a word of its name; may be given more than once. The first ranks the practices.",
)
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder for report.html and its tables; default: results/, the name of the file and -parts.",
)
def parts(
    options: RunOptions,
    study: FolderOptions,
    executor: ExecutorOptions,
    outputs: tuple[str, ...],
    out: Path | None,
) -> None:
    """What is each practice of the programme in FILE worth, alone and inside it, on the same animals?

    `study.parts` of FILE names the alternatives that are practices. Each is added alone to the scenario as written, and
    taken alone out of all of them together. Prints one table and writes a report with its picture.

    \b
    JSON: provenance{}, caution, withheld_care{alternative: [phrase]}, warnings[], interrupted,
    set_aside[].{case, alternative, replicate, seed, fault}, ranking{case: [practice]},
    keys{practice: [key]}, grades{practice: grade}, report, worth[].{case, output, unit, practice, grade,
    place, mean_with, mean_without, difference, ci_low, ci_high, n, n_differing, p_holm, verdict,
    rooms_needed, reason}.
    """
    from farrowtide.results import parts as programme

    scenario = options.scenario()
    folder = out or Path("results") / f"{Path(options.file).stem.strip('.') or 'scenario'}-parts"
    delivery.require_writable(folder)

    def simulate(progress: printing.Progress | None, pool: Executor | None) -> Parts:
        return programme.parts(
            scenario,
            replications=options.replications,
            seed=options.seed,
            threads=options.threads,
            outputs=outputs or None,
            executor=pool,
            progress=progress,
            **study.arguments(),
        )

    def deliver_parts(taken_apart: Parts) -> None:
        place = out or folder_of(taken_apart.provenance, folder, options.units)
        report = taken_apart.write_report(place, units=options.units)

        def show(screen: Console) -> None:
            _show(screen, taken_apart, options.units)

        delivery.deliver(
            options,
            taken_apart.provenance,
            lambda: _data(taken_apart, report),
            show,
            plausibility=taken_apart.warnings,
            written=("report", report),
        )

    delivery.carry_out("taking apart", options, simulate, deliver_parts, executor)


def _data(taken_apart: Parts, report: Path) -> dict[str, Any]:
    return {
        "interrupted": taken_apart.interrupted,
        "set_aside": taken_apart.set_aside,
        "ranking": {case: taken_apart.ranked(case) for case in taken_apart.cases},
        "keys": taken_apart.keys,
        "grades": taken_apart.grades,
        "report": str(report),
        "worth": taken_apart.worth.to_dict(orient="records"),
    }


def _show(screen: Console, taken_apart: Parts, units: str) -> None:
    from farrowtide.analysis.parts import ALL, ALONE
    from farrowtide.report.wording import parts as wording
    from farrowtide.report.wording.study import case_title, unit_of_replication

    if taken_apart.interrupted:
        delivery.stopped_early(screen, taken_apart.replications, taken_apart.wanted_replications)
    rooms = printing.count(taken_apart.replications, unit_of_replication(taken_apart.scenario))
    for case in taken_apart.cases:
        table = printing.table(f"{case_title(taken_apart.scenario, case)}: {rooms} an arm, seed {taken_apart.seed}")
        table.padding = (0, 1, 0, 0)
        table.add_column(printing.plain("Practice [evidence]"), width=_PRACTICE_WIDTH)
        for output in taken_apart.shown:
            heading = f"{output.label}, {output.difference_unit(units).replace('percentage ', '')}"
            table.add_column(printing.plain(heading), justify="right", width=_AMOUNT_WIDTH)
        for practice, grade, place, cells in wording.table(taken_apart, case, units):
            named = f"{practice} [{grade}]" if grade else practice
            first = named if place == ALONE else f"  {place}"
            if practice == ALL:
                table.add_section()
            amounts = [f"[bold]{cell.amount}[/]" if cell.clear else f"[dim]{cell.amount}[/]" for cell in cells]
            table.add_row(printing.plain(first), *amounts)
        screen.print(table)
        printing.print_text(screen, wording.added_up(taken_apart, case, units))
    for text in (wording.ranking(taken_apart), wording.READING, wording.grades_in_words()):
        printing.print_text(screen, text)


COMMANDS = (parts,)
