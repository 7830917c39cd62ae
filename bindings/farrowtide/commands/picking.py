"""The command `pick`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from farrowtide.commands import delivery, printing
from farrowtide.commands.options import (
    ExecutorOptions,
    FolderOptions,
    RunOptions,
    executor_options,
    folder_options,
    run_options,
    varied,
)
from farrowtide.errors import listed_names, quoted

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from rich.console import Console

    from farrowtide.results.pick import Picked


@click.command()
@run_options
@click.option("--output", required=True, help="The output to optimise.")
@click.option(
    "--indifference", type=float, required=True, help="A difference too small to matter, in the output's unit."
)
@click.option(
    "--confidence", type=float, default=0.95, show_default=True, help="Probability of picking the best alternative."
)
@click.option("--vary", multiple=True, metavar="KEY=VALUES", help="Pick among these, not the file's alternatives.")
@click.option("--case", help="One of the file's cases; default: the first.")
@executor_options
@folder_options
def pick(
    options: RunOptions,
    output: str,
    indifference: float,
    confidence: float,
    vary: tuple[str, ...],
    case: str | None,
    executor: ExecutorOptions,
    study: FolderOptions,
) -> None:
    """Pick the best alternative of FILE with a stated probability, eliminating inferior ones on the way.

    \b
    JSON: provenance{}, caution, withheld_care{alternative: [phrase]}, warnings[], interrupted, case, other_cases[],
    output, best, tied[alternative], reason, replications, rooms, table[].{alternative, n, mean, eliminated_at,
    eliminated_by}.
    """
    from farrowtide.results import pick as picking
    from farrowtide.study.grid import grid
    from farrowtide.study.plan import MOST_REPLICATIONS

    scenario = options.scenario()

    def simulate(progress: printing.Progress | None, pool: Executor | None) -> Picked:
        return picking.pick(
            scenario,
            output,
            indifference,
            alternatives=grid(varied(vary)) if vary else None,
            case=case,
            confidence=confidence,
            replications=options.replications or MOST_REPLICATIONS,
            seed=options.seed,
            threads=options.threads,
            executor=pool,
            progress=progress,
            **study.arguments(),
        )

    def deliver_picked(picked: Picked) -> None:
        def show(screen: Console) -> None:
            _show(screen, picked, indifference, confidence, options.units)

        delivery.deliver(options, picked.provenance, lambda: _data(picked), show, plausibility=picked.warnings)

    delivery.carry_out("picking", options, simulate, deliver_picked, executor)


def _data(picked: Picked) -> dict[str, Any]:
    return {
        "interrupted": picked.interrupted,
        "case": picked.case,
        "other_cases": _other_cases(picked),
        "output": picked.output.name,
        "unit": picked.output.unit,
        "best": picked.best,
        "tied": picked.tied,
        "reason": _tie(picked),
        "replications": picked.replications,
        "rooms": picked.rooms,
        "table": picked.table.to_dict(orient="records"),
    }


def _tie(picked: Picked) -> str:
    """Why none of those left is picked; empty where one is, or more replications may pick one."""
    from farrowtide.statistics.inference import highest_share

    if not picked.tied:
        return ""
    share = 100 * float(highest_share(picked.rooms_that_differ, picked.replications))
    return (
        f"Not known which of these is best: {listed_names(picked.tied)}. At most {picked.rooms_that_differ} of "
        f"{picked.replications:,} rooms differ between any two of them; with 95 % confidence fewer than {share:.2g} % do."
    )


def _other_cases(picked: Picked) -> list[str]:
    """The cases of the file in which nothing was picked."""
    return [name for name in picked.scenario.cases if name != picked.case]


def _show(screen: Console, picked: Picked, indifference: float, confidence: float, units: str) -> None:
    from farrowtide.cautions import marked
    from farrowtide.report.wording.cells import rows
    from farrowtide.report.wording.study import case_title

    output, withheld_care = picked.output, picked.provenance["withheld_care"]
    title = f"{case_title(picked.scenario, picked.case)}: {output.label} [{output.shown_unit(units)}]"
    table = printing.table(title, "Alternative", ">Rooms", ">Mean", "Eliminated after, by")
    for row in rows(picked.table.sort_values(["eliminated_at", "n"], ascending=[True, False], kind="stable")):
        eliminated = f"{row.eliminated_at}, {row.eliminated_by}" if row.eliminated_at else ""
        mean = output.shown(row.mean, units=units)
        printing.add_row(table, marked(row.alternative, withheld_care), f"{row.n:,}", mean, eliminated)
    screen.print(table)
    if _other_cases(picked):
        others = f"not in {quoted(_other_cases(picked))} (--case picks another)"
        printing.print_text(screen, f"Alternatives are simulated in the case '{picked.case}' only, {others}.")
    if picked.tied:
        printing.print_sentences(screen, [_tie(picked)])
        return
    if picked.best is None:
        replications = f"{picked.replications:,} replications"
        printing.print_text(
            screen, f"No alternative has been picked after {replications}: allow more (--replications)."
        )
        return
    amount = f"{output.shown(indifference, units=units)} {output.difference_unit(units)}"
    picked_after = f"after {picked.replications} replications, {picked.rooms} rooms in all"
    sentence = (
        f"'{picked.best}' is picked {picked_after}. If the best alternative is better than every other by at least "
        f"{amount}, this is the best one with probability {confidence:g} or more."
    )
    printing.print_sentences(screen, [sentence])


COMMANDS = (pick,)
