"""Commands that run one scenario: `run` and `labour`."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from farrowtide.commands import options, printing

if TYPE_CHECKING:
    from farrowtide.engine.result import Result


@click.command()
@options.run_options
@click.option("--alternative", help="One of the file's alternatives; otherwise the scenario as it stands.")
@click.option("--case", "case", help="One of the file's cases.")
@click.option(
    "--out", type=click.Path(file_okay=False, path_type=Path), help="Folder for the tables, as parquet files."
)
@click.option("--trace", is_flag=True, help="Tell every event of the first replicate in words.")
def run(
    asked: options.Asked,
    alternative: str | None,
    case: str | None,
    out: Path | None,
    trace: bool,
) -> None:
    """Run the scenario in FILE once, or as often as --replications says, and print its outputs.

    \b
    JSON: provenance{}, outputs[].{output, unit, label, mean, sd, ci_low, ci_high, n}.
    """
    from farrowtide.engine import result as results
    from farrowtide.engine import running

    scenario = asked.scenario()
    scenario = scenario.case(case) if case else scenario
    scenario = scenario.alternative(alternative) if alternative else scenario
    wanted = asked.replications or 1
    tables = results.TABLES if trace or out else [name for name in results.TABLES if name != "events"]
    with printing.progress("running", asked.quiet) as tell:
        result = running.run(
            scenario,
            replications=wanted,
            seed=asked.seed,
            threads=asked.threads,
            record=tables,
            progress=tell and (lambda done: tell(done, wanted)),
        )
    if trace:
        for line in result.trace():
            click.echo(line)
    elif asked.as_json:
        printing.print_json({"provenance": result.provenance, "outputs": _run_rows(result)})
    else:
        _print_run(result, asked.units)
    if out:
        results.write_tables(result, out)
        if not asked.quiet:
            click.echo(f"tables: {out}", err=True)


def _run_rows(result: Result) -> list[dict[str, Any]]:
    from farrowtide.outputs.catalogue import HEADLINES
    from farrowtide.statistics.intervals import interval

    mean, sd, low, high, n = interval(result.outputs[[output.name for output in HEADLINES]].to_numpy())
    return [
        {
            "output": output.name,
            "unit": output.unit,
            "label": output.label,
            "mean": mean[i],
            "sd": sd[i],
            "ci_low": low[i],
            "ci_high": high[i],
            "n": int(n[i]),
        }
        for i, output in enumerate(HEADLINES)
    ]


def _print_run(result: Result, units: str) -> None:
    from farrowtide.outputs.catalogue import HEADLINES
    from farrowtide.outputs.units import MISSING
    from farrowtide.report.wording.study import unit_of_replication, what_counts

    unit = unit_of_replication(result.scenario)
    rooms = printing.count(result.replications, unit)
    table = printing.table(
        f"{result.scenario.title}: mean of {rooms}, seed {result.seed}", "Output", "Unit", ">Mean", ">95 % interval"
    )
    for output, row in zip(HEADLINES, _run_rows(result), strict=True):
        known = not math.isnan(row["ci_low"])
        table.add_row(
            output.label,
            output.shown_unit(units),
            output.shown(row["mean"], units=units),
            output.shown_range(row["ci_low"], row["ci_high"], units=units) if known else MISSING,
        )
    console = printing.console()
    console.print(table)
    if what_counts(result.scenario):
        console.print(what_counts(result.scenario), highlight=False)
    if result.replications == 1:
        console.print(f"One {unit} is one draw of the lot: no interval. Try --replications 100.")


@click.command()
@options.run_options
@click.option("--alternative", help="One of the file's alternatives; otherwise the reference of its comparisons.")
@click.option("--case", "case", help="One of the file's cases.")
@click.option(
    "--out", type=click.Path(file_okay=False, path_type=Path), help="Folder for the tables (CSV) and the picture (SVG)."
)
def labour(
    asked: options.Asked,
    alternative: str | None,
    case: str | None,
    out: Path | None,
) -> None:
    """Tell what people's time goes to in the scenario in FILE, when they are busy, what is late, and who waited.

    Of a file with alternatives one is shown. Without --replications it takes as many rooms as the file's study.

    \b
    JSON: provenance{}, alternative, findings[sentence], tasks[].{task, min_per_litter, asked_per_room,
    late_percent, undone_percent (each with _low, _high), wait_median_min, wait_p95_min, ...},
    hours[].{hour, people_on_duty, worked_min_per_day, utilisation_percent (_low, _high), busy},
    longest_waits[].{task, replicate, sow, parity_class, day, asked_at, waited_min}, by_parity[].
    """
    from farrowtide.engine import running
    from farrowtide.results.labour import write

    scenario = asked.scenario()
    wanted = asked.replications or scenario.study.replications
    scenario = scenario.case(case) if case else scenario
    shown = alternative or options.shown_alternative(scenario)
    scenario = scenario.alternative(shown) if shown else scenario
    with printing.progress("running", asked.quiet) as tell:
        result = running.run(
            scenario,
            replications=wanted,
            seed=asked.seed,
            threads=asked.threads,
            record=("tasks",),
            progress=tell and (lambda done: tell(done, wanted)),
        )
    if asked.as_json:
        printing.print_json(_labour_in_json(result, shown))
    else:
        _print_labour(result, shown)
    if out:
        write(result, out)
        if not asked.quiet:
            click.echo(f"tables and picture: {out}", err=True)


def _labour_in_json(result: Result, alternative: str | None) -> dict[str, Any]:
    from farrowtide.analysis import labour
    from farrowtide.report.wording.labour import findings

    tables = {name: table.to_dict(orient="records") for name, table in labour.tables(result).items()}
    found = {"provenance": result.provenance, "alternative": alternative, "findings": findings(result)}
    return found | tables


def _print_labour(result: Result, alternative: str | None) -> None:
    from farrowtide.analysis import labour
    from farrowtide.report.wording.caution import CAUTION
    from farrowtide.report.wording.labour import findings
    from farrowtide.report.wording.study import unit_of_replication, what_counts

    console = printing.console()
    rooms = printing.count(result.replications, unit_of_replication(result.scenario))
    of = f", {alternative}" if alternative else ""
    tables = labour.tables(result)
    console.print(f"{result.scenario.title}{of}: {rooms}, seed {result.seed}", style="bold", markup=False)
    console.print(_task_table(tables["tasks"]), _hour_table(tables["hours"]), _wait_table(tables["longest_waits"]))
    console.print(_parity_table(tables["by_parity"]))
    for sentence in findings(result):
        console.print(f"- {sentence}", markup=False, highlight=False)
    if what_counts(result.scenario):
        console.print(f"\n{what_counts(result.scenario)}", highlight=False)
    console.print(f"\n{CAUTION}", style="italic", highlight=False)


def _cells(row: Any, *names: str) -> list[str]:
    """Each of these columns over its interval."""
    from farrowtide.report.wording.labour import shown

    values = (shown(*(getattr(row, f"{name}{end}") for end in ("", "_low", "_high"))) for name in names)
    return ["\n".join(filter(None, value)) for value in values]


def _waits(row: Any) -> str:
    known = not math.isnan(row.wait_median_min)
    return f"{row.wait_median_min:,.0f} / {row.wait_p95_min:,.0f}" if known else "never done"


def _task_table(tasks: Any) -> Any:
    table = printing.table(
        "By task, with 95 % intervals; wait from asked to started: half / 95 % of the times no longer",
        "Task", ">Min per\nlitter", ">Late, %", ">Undone, %", ">Wait, min",
    )  # fmt: skip
    table.columns[0].no_wrap = True
    table.padding = (0, 1, 0, 0)
    for row in tasks.itertuples():
        cells = _cells(row, "min_per_litter", "late_percent", "undone_percent")
        table.add_row(row.task, *cells, _waits(row))
    return table


def _hour_table(hours: Any) -> Any:
    table = printing.table(
        "By hour of the day", "Hour", ">People on duty", ">Worked, min a day", ">Of time on duty, %", ""
    )
    for row in hours[(hours["people_on_duty"] > 0) | (hours["worked_min_per_day"] > 0)].itertuples():
        (use,) = _cells(row, "utilisation_percent")
        use = use.replace("\n", "  (") + (")" if "\n" in use else "")
        hour = f"{row.hour:02d}:00"
        table.add_row(
            hour, f"{row.people_on_duty:.2f}", f"{row.worked_min_per_day:.1f}", use, "busy" if row.busy else ""
        )
    return table


def _wait_table(waits: Any) -> Any:
    from farrowtide.outputs.units import MISSING

    table = printing.table(
        "The longest wait of each task for one sow", "Task", "Sow", ">Day", ">Asked at", ">Waited, min"
    )
    for row in waits.itertuples():
        parity = row.parity_class if isinstance(row.parity_class, str) else MISSING
        whom = f"{row.sow} ({parity}), replicate {row.replicate}"
        table.add_row(row.task, whom, str(row.day), row.asked_at, f"{row.waited_min:,.0f}")
    return table


def _parity_table(parities: Any) -> Any:
    table = printing.table("Tasks for one sow, by parity class", "Sows", ">Late, %", ">Undone, %", ">Wait, min")
    for row in parities.itertuples():
        table.add_row(row.parity_class, *_cells(row, "late_percent", "undone_percent"), _waits(row))
    return table


COMMANDS = (run, labour)
