"""The command line. Exit codes: 0 fine, 1 an internal error, 2 the user's mistake, 130 interrupted.

Data go to standard output, everything else to standard error. pandas and matplotlib are loaded only by the commands
that need them, so that help comes at once.
"""

from __future__ import annotations

import errno
import math
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from farrowtide import _core, pairing_commands, study_commands, terminal

if TYPE_CHECKING:
    from rich.console import Console

    from farrowtide.comparison import Comparison
    from farrowtide.running import Result

_LABEL_WIDTH, _REFERENCE_WIDTH, _CELL_WIDTH = 23, 9, 14  # of a printed table
_GAP = 2  # padding and the space that a table leaves
EXIT_INTERNAL, EXIT_MISTAKE, EXIT_INTERRUPTED = 1, 2, 130


class _Commands(click.Group):
    """Turns what a command raises into words and an exit code; a traceback is for our own mistakes only."""

    def invoke(self, context: click.Context) -> Any:
        try:
            return super().invoke(context)
        except _core.ScenarioError as error:
            _say_mistakes(error.mistakes)
            context.exit(EXIT_MISTAKE)
        except _core.UserError as error:
            click.echo(f"error: {error}", err=True)
            context.exit(EXIT_MISTAKE)
        except KeyboardInterrupt:
            click.echo("interrupted", err=True)
            context.exit(EXIT_INTERRUPTED)
        except OSError as error:
            if error.errno == errno.EPIPE:
                raise
            click.echo(f"error: {error}", err=True)
            context.exit(EXIT_MISTAKE)
        except (click.ClickException, click.exceptions.Exit, click.Abort):
            raise
        except Exception:
            click.echo(f"internal error, please report it with the following:\n{traceback.format_exc()}", err=True)
            context.exit(EXIT_INTERNAL)


def _version(context: click.Context, _: click.Parameter, wanted: bool) -> None:
    if wanted:
        from farrowtide import provenance

        engine = provenance.engine()
        click.echo(
            f"farrowtide {engine['engine_version']}, results version {engine['results_version']}, "
            f"coefficients {engine['coefficient_hash']}, commit {engine['commit']}"
        )
        context.exit()


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.option(
    "--version",
    is_flag=True,
    callback=_version,
    expose_value=False,
    is_eager=True,
    help="Versions of engine, results and coefficients.",
)
def main() -> None:
    """Simulate a farrowing room and compare policies on the same animals.

    A model, not advice: decide with the herd veterinarian and under local rules.
    """


@main.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(exists=True, dir_okay=False))
@terminal.own_policies
@click.option("--json", "as_json", is_flag=True, help="JSON: files[].{file, ok, mistakes[]}.")
@click.pass_context
def check(context: click.Context, files: tuple[str, ...], policies: tuple[str, ...], as_json: bool) -> None:
    """Check scenario FILES, with every alternative and case; tell all mistakes with file:line:column."""
    found = {file: _mistakes_of(file, policies) for file in files}
    if as_json:
        terminal.print_json({"files": [_checked(file, mistakes) for file, mistakes in found.items()]})
    else:
        for file, mistakes in found.items():
            _say_mistakes(mistakes)
            click.echo(f"{file}: {'ok' if not mistakes else terminal.count(len(mistakes), 'mistake')}")
    if any(found.values()):
        context.exit(EXIT_MISTAKE)


def _mistakes_of(file: str, policies: tuple[str, ...]) -> list[_core.Mistake]:
    """Of the file, and of each alternative in each case; each mistake once."""
    from farrowtide.scenario import load

    mistakes: dict[str, _core.Mistake] = {}

    def read(make: Callable[[], Any]) -> Any:
        try:
            return make()
        except _core.ScenarioError as error:
            mistakes.update((str(mistake), mistake) for mistake in error.mistakes)
            return None

    scenario = read(lambda: load(file, policies=policies))
    if scenario is not None:
        cases = [read(lambda name=name: scenario.case(name)) for name in scenario.cases] or [scenario]
        for there in filter(None, cases):
            for name in scenario.alternatives:
                read(lambda there=there, name=name: there.alternative(name))
    return list(mistakes.values())


def _checked(file: str, mistakes: list[_core.Mistake]) -> dict[str, Any]:
    keys = ("source", "line", "column", "key", "value", "problem", "allowed", "suggestion")
    return {
        "file": file,
        "ok": not mistakes,
        "mistakes": [{key: getattr(mistake, key) for key in keys} for mistake in mistakes],
    }


def _say_mistakes(mistakes: Any) -> None:
    for mistake in mistakes:
        click.echo(mistake.with_excerpt(), err=True)


@main.command()
@terminal.run_options
@click.option("--alternative", help="One of the file's alternatives; otherwise the scenario as it stands.")
@click.option("--case", "case", help="One of the file's cases.")
@click.option(
    "--out", type=click.Path(file_okay=False, path_type=Path), help="Folder for the tables, as parquet files."
)
@click.option("--trace", is_flag=True, help="Tell every event of the first replicate in words.")
def run(
    asked: terminal.Asked,
    alternative: str | None,
    case: str | None,
    out: Path | None,
    trace: bool,
) -> None:
    """Run the scenario in FILE once, or as often as --replications says, and print its outputs.

    \b
    JSON: provenance{}, outputs[].{output, unit, label, mean, sd, ci_low, ci_high, n}.
    """
    from farrowtide import running

    scenario = asked.scenario()
    scenario = scenario.case(case) if case else scenario
    scenario = scenario.alternative(alternative) if alternative else scenario
    wanted = asked.replications or 1
    tables = running.TABLES if trace or out else [name for name in running.TABLES if name != "events"]
    with terminal.progress("running", asked.quiet) as tell:
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
        terminal.print_json({"provenance": result.provenance, "outputs": _run_rows(result)})
    else:
        _print_run(result, asked.units)
    if out:
        running.write_tables(result, out)
        if not asked.quiet:
            click.echo(f"tables: {out}", err=True)


def _run_rows(result: Result) -> list[dict[str, Any]]:
    from farrowtide.comparison import interval
    from farrowtide.outputs import HEADLINES

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
    from farrowtide.outputs import HEADLINES, MISSING
    from farrowtide.wording import unit_of_replication, what_counts

    unit = unit_of_replication(result.scenario)
    rooms = terminal.count(result.replications, unit)
    table = terminal.table(
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
    console = terminal.console()
    console.print(table)
    if what_counts(result.scenario):
        console.print(what_counts(result.scenario), highlight=False)
    if result.replications == 1:
        console.print(f"One {unit} is one draw of the lot: no interval. Try --replications 100.")


@main.command()
@terminal.run_options
@terminal.executor_options
@terminal.study_options
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
    asked: terminal.Asked,
    study: terminal.Study,
    workers: terminal.Workers,
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
    from farrowtide import comparison, naming
    from farrowtide.outputs import catalogue
    from farrowtide.running import Interrupted

    scenario = asked.scenario()
    least = naming.amounts(margins, catalogue().values(), what="the margin", example="weaned=0.1")
    stopped = None
    with terminal.at_work("comparing", asked.quiet, workers) as (tell, pool):
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
    from farrowtide.wording import answers

    report = found.write_report(folder, units=units)
    if as_json:
        terminal.print_json(
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
    from farrowtide import wording

    console = terminal.console()
    if found.interrupted:
        console.print(
            f"Stopped early: {found.replications} of {found.wanted_replications} replications are done.", style="bold"
        )
    if found.precision:
        console.print(wording.precision_reached(found), highlight=False)
    for case in found.cases:
        _print_differences(console, found, case, units)
    for case, sentences in wording.answers(found, units).items():
        console.print(
            f"{wording.case_title(case)}, against {found.reference}:", style="bold", markup=False, highlight=False
        )
        for sentence in sentences:
            console.print(f"- {sentence}", markup=False, highlight=False)
    for sentence in wording.margins_kept(found, margins, units) if margins else []:
        console.print(f"- {sentence}", markup=False, highlight=False)
    if wording.what_counts(found.scenario):
        console.print(f"\n{wording.what_counts(found.scenario)}", highlight=False)
    console.print(f"\n{wording.CAUTION}", style="italic", highlight=False)


def _print_differences(console: Console, found: Comparison, case: str, units: str) -> None:
    """The headlines, as many alternatives beside each other as the terminal has room for."""
    from rich.markup import escape

    from farrowtide import wording

    rows = wording.table(found, case, wording.headlines(found), units)
    names = wording.others(found)
    at_once = max(1, (console.width - _LABEL_WIDTH - _REFERENCE_WIDTH - 2 * _GAP) // (_CELL_WIDTH + _GAP))
    for first in range(0, len(names), at_once):
        here = names[first : first + at_once]
        rooms = f"{terminal.count(found.replications, wording.unit_of_replication(found.scenario))}, seed {found.seed}"
        title = escape(f"{wording.case_title(case)}: {rooms}, against {found.reference}")
        table = terminal.table(title)
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


@main.command()
@terminal.run_options
@click.option("--alternative", help="One of the file's alternatives; otherwise the reference of its comparisons.")
@click.option("--case", "case", help="One of the file's cases.")
@click.option(
    "--out", type=click.Path(file_okay=False, path_type=Path), help="Folder for the tables (CSV) and the picture (SVG)."
)
def labour(
    asked: terminal.Asked,
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
    from farrowtide import labour as labour_tables
    from farrowtide import running

    scenario = asked.scenario()
    wanted = asked.replications or scenario.study.replications
    scenario = scenario.case(case) if case else scenario
    shown = alternative or terminal.shown_alternative(scenario)
    scenario = scenario.alternative(shown) if shown else scenario
    with terminal.progress("running", asked.quiet) as tell:
        result = running.run(
            scenario,
            replications=wanted,
            seed=asked.seed,
            threads=asked.threads,
            record=("tasks",),
            progress=tell and (lambda done: tell(done, wanted)),
        )
    if asked.as_json:
        terminal.print_json(_labour_in_json(result, shown))
    else:
        _print_labour(result, shown)
    if out:
        labour_tables.write(result, out)
        if not asked.quiet:
            click.echo(f"tables and picture: {out}", err=True)


def _labour_in_json(result: Result, alternative: str | None) -> dict[str, Any]:
    from farrowtide import labour

    tables = {name: table.to_dict(orient="records") for name, table in labour.tables(result).items()}
    found = {"provenance": result.provenance, "alternative": alternative, "findings": labour.findings(result)}
    return found | tables


def _print_labour(result: Result, alternative: str | None) -> None:
    from farrowtide import labour
    from farrowtide.wording import CAUTION, unit_of_replication, what_counts

    console = terminal.console()
    rooms = terminal.count(result.replications, unit_of_replication(result.scenario))
    of = f", {alternative}" if alternative else ""
    tables = labour.tables(result)
    console.print(f"{result.scenario.title}{of}: {rooms}, seed {result.seed}", style="bold", markup=False)
    console.print(_task_table(tables["tasks"]), _hour_table(tables["hours"]), _wait_table(tables["longest_waits"]))
    console.print(_parity_table(tables["by_parity"]))
    for sentence in labour.findings(result):
        console.print(f"- {sentence}", markup=False, highlight=False)
    if what_counts(result.scenario):
        console.print(f"\n{what_counts(result.scenario)}", highlight=False)
    console.print(f"\n{CAUTION}", style="italic", highlight=False)


def _cells(row: Any, *names: str) -> list[str]:
    """Each of these columns over its interval."""
    from farrowtide.labour import shown

    values = (shown(*(getattr(row, f"{name}{end}") for end in ("", "_low", "_high"))) for name in names)
    return ["\n".join(filter(None, value)) for value in values]


def _waits(row: Any) -> str:
    known = not math.isnan(row.wait_median_min)
    return f"{row.wait_median_min:,.0f} / {row.wait_p95_min:,.0f}" if known else "never done"


def _task_table(tasks: Any) -> Any:
    table = terminal.table(
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
    table = terminal.table(
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
    from farrowtide.outputs import MISSING

    table = terminal.table(
        "The longest wait of each task for one sow", "Task", "Sow", ">Day", ">Asked at", ">Waited, min"
    )
    for row in waits.itertuples():
        parity = row.parity_class if isinstance(row.parity_class, str) else MISSING
        whom = f"{row.sow} ({parity}), replicate {row.replicate}"
        table.add_row(row.task, whom, str(row.day), row.asked_at, f"{row.waited_min:,.0f}")
    return table


def _parity_table(parities: Any) -> Any:
    table = terminal.table("Tasks for one sow, by parity class", "Sows", ">Late, %", ">Undone, %", ">Wait, min")
    for row in parities.itertuples():
        table.add_row(row.parity_class, *_cells(row, "late_percent", "undone_percent"), _waits(row))
    return table


@main.command()
@click.argument("file", type=click.Path(exists=True, dir_okay=False))
@terminal.own_policies
@click.option("--out", type=click.Path(dir_okay=False, path_type=Path), help="A file; otherwise standard output.")
def describe(file: str, policies: tuple[str, ...], out: Path | None) -> None:
    """Describe the study in FILE for readers who must be able to repeat it, in Markdown. Nothing is run.

    The STRESS-DES checklist (Monks et al. 2019), filled, and a description after ODD (Grimm et al. 2020).
    """
    from farrowtide import describing
    from farrowtide.scenario import load

    description = describing.describe(load(file, policies=policies))
    if out is None:
        click.echo(description.text, nl=False)
    else:
        click.echo(f"description: {description.write(out)}", err=True)


@main.command()
@click.argument("key")
def explain(key: str) -> None:
    """Tell what KEY means: a key of scenarios, a coefficient's path or the name of an output."""
    from farrowtide import explaining

    click.echo(explaining.explain(key))


@main.command()
def outputs() -> None:
    """List the outputs that a comparison can judge."""
    from farrowtide.outputs import MISSING, catalogue

    table = terminal.table("", "Output", "Unit", "Meaning", "Better", "Negligible below")
    table.columns[0].no_wrap = True
    for output in catalogue().values():
        label = output.label if output.group == "headline" else f"{output.label} ({output.group})"
        table.add_row(output.name, output.unit, label, output.good or MISSING, f"{output.negligible:g}")
    terminal.console().print(table)


@main.command()
def schema() -> None:
    """Print the JSON Schema of scenarios, for editors."""
    click.echo(_core.json_schema())


for command in (*pairing_commands.COMMANDS, *study_commands.COMMANDS):
    main.add_command(command)
