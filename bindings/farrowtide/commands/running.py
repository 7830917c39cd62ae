"""The command `run`."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from farrowtide.commands import delivery, printing
from farrowtide.commands.options import RunOptions, case_option, out_option, run_options
from farrowtide.errors import UserError
from farrowtide.limits import MOST_REPLICATES

if TYPE_CHECKING:
    from collections.abc import Callable, Collection
    from concurrent.futures import Executor

    from rich.console import Console

    from farrowtide.engine.result import Result
    from farrowtide.outputs.output import Output
    from farrowtide.scenarios.scenario import Scenario


@click.command()
@run_options
@click.option("--alternative", help="One of the file's alternatives; default: the scenario as written.")
@case_option
@out_option("the tables (Parquet)")
@click.option("--trace", is_flag=True, help="Print every event of the first replicate in plain language.")
@click.option(
    "--replicate",
    type=click.IntRange(0, MOST_REPLICATES - 1),
    help="Run only the replicate of this number, such as one that each-sow or labour names.",
)
def run(
    options: RunOptions,
    alternative: str | None,
    case: str | None,
    out: Path | None,
    trace: bool,
    replicate: int | None,
) -> None:
    """Run the scenario in FILE and print its outputs: once, or --replications times.

    \b
    JSON: provenance{}, caution, withheld_care{alternative: [phrase]}, warnings[], interrupted,
    outputs[].{output, unit, label, mean, sd, ci_low, ci_high, n, reason}; with --trace also trace[line].
    """
    from farrowtide.engine.result import TABLES, write_tables

    if replicate is not None and options.replications is not None:
        raise UserError("--replicate runs a single replicate: leave out --replications")
    scenario = options.scenario(case=case, alternative=alternative)
    first = replicate or 0
    wanted = options.replications or 1
    delivery.require_writable(out)
    tables = TABLES if trace or out else [name for name in TABLES if name != "events"]

    def deliver_result(result: Result) -> None:
        written = delivery.write_to(out, "tables", lambda folder: write_tables(result, folder))

        def data() -> dict[str, Any]:
            lines = {"trace": _trace(result, first, options.units)} if trace else {}
            return {"interrupted": result.replications < wanted, "outputs": _outputs(result), **lines}

        def show(screen: Console) -> None:
            if trace:
                printing.echo("\n".join(_trace(result, first, options.units)))
            else:
                _show(screen, result, wanted, options.units, replicate)

        delivery.deliver(
            options, result.provenance, data, show, plausibility=result.warnings, written=written, warnings_last=trace
        )

    delivery.carry_out("running", options, simulating(scenario, wanted, options, tables, first), deliver_result)


def _trace(result: Result, replicate: int, units: str) -> list[str]:
    from farrowtide.outputs.units import sentence_in

    return [sentence_in(units, line) for line in result.trace(replicate)]


def simulating(
    scenario: Scenario, wanted: int, options: RunOptions, tables: Collection[str], first_replicate: int = 0
) -> Callable[[printing.Progress | None, Executor | None], Result]:
    """The function that `carry_out` calls to run one scenario, recording these tables."""
    from farrowtide.engine import running

    def simulate(progress: printing.Progress | None, _: Executor | None) -> Result:
        return running.run(
            scenario,
            replications=wanted,
            seed=options.seed,
            threads=options.threads,
            first_replicate=first_replicate,
            record=tables,
            progress=progress and (lambda done: progress(done, wanted)),
        )

    return simulate


def _outputs(result: Result) -> list[dict[str, Any]]:
    """The headline outputs with their confidence intervals."""
    from farrowtide.analysis.differences import means

    outputs = _headlines(result)
    replicates = result.outputs.reset_index().assign(case="", alternative="")
    table = means(replicates, outputs, animals=result.scenario.litters_per_replication)
    columns = ["output", "unit", "label", "mean", "sd", "ci_low", "ci_high", "n", "reason"]
    rows = table.assign(label=[output.label for output in outputs])[columns].to_dict(orient="records")
    return [{str(name): value for name, value in row.items()} for row in rows]


def _headlines(result: Result) -> list[Output]:
    """Those that the study in the file names, by default the usual ones."""
    from farrowtide.outputs.catalogue import chosen

    scenario = result.scenario
    outputs = chosen(scenario.study.outputs, only=False, prices=scenario.prices)
    return [output for output in outputs if output.group == "headline"]


def _show(screen: Console, result: Result, wanted: int, units: str, replicate: int | None) -> None:
    from farrowtide.report.wording.study import unit_of_replication, what_counts

    rooms = printing.count(result.replications, unit_of_replication(result.scenario))
    shown = f"mean of {rooms}" if replicate is None else f"replicate {replicate}"
    table = printing.table(
        f"{result.scenario.title}: {shown}, seed {result.seed}", "Output", "Unit", ">Mean", ">95 % interval"
    )
    for output, row in zip(_headlines(result), _outputs(result), strict=True):
        known = not math.isnan(row["ci_low"])
        printing.add_row(
            table,
            output.label,
            output.shown_unit(units),
            output.shown(row["mean"], units=units),
            output.shown_range(row["ci_low"], row["ci_high"], units=units) if known else row["reason"],
        )
    if result.replications < wanted:
        delivery.stopped_early(screen, result.replications, wanted)
    screen.print(table)
    if what_counts(result.scenario):
        printing.print_text(screen, what_counts(result.scenario))
    if result.replications == 1 and replicate is None:
        printing.print_text(screen, "One replication gives no confidence interval. Try --replications 100.")


COMMANDS = (run,)
