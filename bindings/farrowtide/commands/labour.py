"""The command `labour`."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from farrowtide.commands import delivery, printing
from farrowtide.commands.options import RunOptions, case_option, out_option, reference_alternative, run_options
from farrowtide.commands.running import simulating
from farrowtide.commands.story import print_how_to_tell

if TYPE_CHECKING:
    import pandas as pd
    from rich.console import Console
    from rich.table import Table

    from farrowtide.engine.result import Result


@click.command()
@run_options
@click.option("--alternative", help="One of the file's alternatives; default: the reference of its comparisons.")
@case_option
@out_option("the tables (CSV) and the picture (SVG)")
def labour(options: RunOptions, alternative: str | None, case: str | None, out: Path | None) -> None:
    """Report where staff time goes, when people are busy, which tasks are late, and who waited.

    One alternative of the scenario in FILE is reported. Without --replications, as many rooms are simulated as the
    file's study asks for.

    \b
    JSON: provenance{}, caution, withheld_care{alternative: [phrase]}, warnings[], interrupted, alternative,
    findings[sentence], tasks[].{task, min_per_litter, asked_per_room,
    late_percent, undone_percent (each with _low, _high, and _reason where these are null),
    wait_median_min, wait_p95_min, ...},
    hours[].{hour, people_on_duty, worked_min_per_day, utilisation_percent (_low, _high, _reason), busy},
    longest_waits[].{task, replicate, sow, parity_class, day, asked_at, waited_min}, by_parity[].
    """
    from farrowtide.analysis.labour import tables
    from farrowtide.report.wording.labour import findings
    from farrowtide.results.labour import write

    delivery.require_writable(out)
    scenario = options.scenario(case=case)
    wanted = options.replications or scenario.study.replications
    name = alternative or reference_alternative(scenario)
    scenario = scenario.alternative(name) if name else scenario

    def deliver_result(result: Result) -> None:
        written = delivery.write_to(out, "tables and picture", lambda folder: write(result, folder))

        def data() -> dict[str, Any]:
            of_result = {"interrupted": result.replications < wanted, "alternative": name, "findings": findings(result)}
            return of_result | {key: table.to_dict(orient="records") for key, table in tables(result).items()}

        def show(screen: Console) -> None:
            _show(screen, result, name, wanted)
            for first in tables(result)["longest_waits"].head(1).to_dict(orient="records"):
                print_how_to_tell(screen, options, first, alternative=name, case=case)

        delivery.deliver(options, result.provenance, data, show, plausibility=result.warnings, written=written)

    delivery.carry_out("running", options, simulating(scenario, wanted, options, ("tasks",)), deliver_result)


def _show(screen: Console, result: Result, alternative: str | None, wanted: int) -> None:
    from farrowtide.analysis.labour import tables
    from farrowtide.cautions import marked
    from farrowtide.report.wording.labour import findings
    from farrowtide.report.wording.study import unit_of_replication, what_counts

    rooms = printing.count(result.replications, unit_of_replication(result.scenario))
    of = f", {marked(alternative, result.provenance['withheld_care'])}" if alternative else ""
    by_name = tables(result)
    printing.print_text(screen, f"{result.scenario.title}{of}: {rooms}, seed {result.seed}", style="bold")
    if result.replications < wanted:
        delivery.stopped_early(screen, result.replications, wanted)
    screen.print(_task_table(by_name["tasks"]), _hour_table(by_name["hours"]), _wait_table(by_name["longest_waits"]))
    screen.print(_parity_table(by_name["by_parity"]))
    printing.print_sentences(screen, findings(result))
    if what_counts(result.scenario):
        printing.print_text(screen, f"\n{what_counts(result.scenario)}")


def _with_intervals(row: Any, *names: str) -> list[str]:
    """Each of these columns above its interval."""
    from farrowtide.report.wording.labour import shown

    values = (shown(*(getattr(row, f"{name}{end}") for end in ("", "_low", "_high"))) for name in names)
    return ["\n".join(filter(None, value)) for value in values]


def _waits(row: Any) -> str:
    from farrowtide.outputs.units import duration

    known = not math.isnan(row.wait_median_min)
    return f"{duration(row.wait_median_min)} / {duration(row.wait_p95_min)}" if known else "never done"


def _task_table(tasks: pd.DataFrame) -> Table:
    from farrowtide.report.wording.cells import rows

    table = printing.table(
        "By task, with 95 % confidence intervals; wait from request to start: median / 95th percentile",
        "Task", ">Min per\nlitter", ">Late, %", ">Undone, %", ">Wait",
    )  # fmt: skip
    table.columns[0].no_wrap = True
    table.padding = (0, 1, 0, 0)
    for row in rows(tasks):
        cells = _with_intervals(row, "min_per_litter", "late_percent", "undone_percent")
        printing.add_row(table, str(row.task), *cells, _waits(row))
    return table


def _hour_table(hours: pd.DataFrame) -> Table:
    from farrowtide.outputs.units import clock
    from farrowtide.report.wording.cells import rows

    table = printing.table(
        "By hour of the day", "Hour", ">People on duty", ">Worked, min per day", ">Share of time on duty, %", ""
    )
    for row in rows(hours[(hours["people_on_duty"] > 0) | (hours["worked_min_per_day"] > 0)]):
        (use,) = _with_intervals(row, "utilisation_percent")
        use = use.replace("\n", "  (") + (")" if "\n" in use else "")
        cells = [clock(row.hour), f"{row.people_on_duty:.2f}", f"{row.worked_min_per_day:.1f}", use]
        printing.add_row(table, *cells, "busy" if row.busy else "")
    return table


def _wait_table(waits: pd.DataFrame) -> Table:
    from farrowtide.outputs.units import MISSING, duration
    from farrowtide.report.wording.cells import rows

    table = printing.table(
        "The longest wait of each task for one sow", "Task", "Sow", ">Day", ">Requested at", ">Waited"
    )
    for row in rows(waits):
        parity = row.parity_class if isinstance(row.parity_class, str) else MISSING
        sow = f"{row.sow} ({parity}), replicate {row.replicate}"
        printing.add_row(table, str(row.task), sow, str(row.day), str(row.asked_at), duration(row.waited_min))
    return table


def _parity_table(parities: pd.DataFrame) -> Table:
    from farrowtide.report.wording.cells import rows

    table = printing.table("Tasks for one sow, by parity class", "Sows", ">Late, %", ">Undone, %", ">Wait")
    for row in rows(parities):
        cells = _with_intervals(row, "late_percent", "undone_percent")
        printing.add_row(table, str(row.parity_class), *cells, _waits(row))
    return table


COMMANDS = (labour,)
