"""The commands of `records`: a farm's own records checked, described as a scenario, or simulated."""

from __future__ import annotations

import math
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from farrowtide.commands import delivery, printing
from farrowtide.commands.options import (
    Command,
    RunOptions,
    case_option,
    out_option,
    policies_option,
    run_options,
)
from farrowtide.commands.running import simulating
from farrowtide.errors import UserError
from farrowtide.inert_text import visible_line
from farrowtide.limits import MOST_REPLICATES

if TYPE_CHECKING:
    import pandas as pd
    from rich.console import Console
    from rich.table import Table

    from farrowtide.engine.result import Result
    from farrowtide.records import Described, Records

_SHOWN = 8  # findings of a kind that are printed; files hold all
_LITTERS = 300
_SIMULATED = "Simulated from an invented farm, not real records"
_WRITTEN = ("farrowings.csv", "days.csv", "rejected.csv", "doubtful.csv")
_QUIET = click.option("--quiet", "-q", is_flag=True, help="Print no names of files written.")
_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)


def _reading(command: Command) -> Command:
    """FARROWINGS, --days and --mapping."""
    for option in (
        click.option("--mapping", type=_FILE, help="A YAML file that says how another layout corresponds to ours."),
        click.option(
            "--days", type=_FILE, help="The table of days: feed, water and temperature by sow or room and day."
        ),
        click.argument("farrowings", type=_FILE),
    ):
        command = option(command)
    return command


@click.group()
def records() -> None:
    """Read a farm's own records: check them, or describe the farm as a scenario; or simulate records for a trial.

    FARROWINGS is a CSV file or Excel workbook with a row for each sow and farrowing. The layout is on the page
    .site/pages/records.md; a mapping file makes others readable.
    """


@records.command()
@_reading
@out_option("the rows that are used, those that are rejected with their reasons, and the doubtful ones (CSV)")
@click.option(
    "--units", type=click.Choice(["si", "us"]), default="si", show_default=True, help="Units of what is printed."
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON on standard output.")
@_QUIET
def check(
    farrowings: Path, days: Path | None, mapping: Path | None, out: Path | None, units: str, as_json: bool, quiet: bool
) -> None:
    """Check the records in FARROWINGS: what was found in each column, which rows are rejected and which are doubtful.

    Rejected rows cannot be used; doubtful ones are used. Every one is told with file, line, column, value and reason.
    The exit code is 2 if no farrowing can be used.

    \b
    JSON: sources[].{table, file, written_in, rows, used, rejected, headings{column: heading}, passed_over[]},
    columns[].{table, column, heading, unit, values, missing, lowest, mean, highest},
    rejected[].{file, line, column, value, reason}, doubtful[].{the same}.
    """
    delivery.require_writable(out)
    if out is not None:
        _require_other_files((farrowings, days, mapping), [out / name for name in _WRITTEN])
    read_in = _read(farrowings, days, mapping, quiet)
    written = delivery.write_to(out, "tables", lambda folder: _write(read_in, folder))
    if as_json:
        printing.print_json(_in_plain_values(read_in))
    else:
        _show(printing.console(), read_in, units)
    _name(written, quiet)
    if read_in.farrowings.empty:
        raise UserError("no farrowing can be used")


@records.command()
@_reading
@click.option(
    "--like",
    type=_FILE,
    help="A scenario whose policies, cases, alternatives and study the new one keeps; default: all defaults.",
)
@policies_option
@click.option(
    "--out",
    required=True,
    type=click.Path(dir_okay=False, path_type=Path),
    help="The scenario file to write; rejected and doubtful rows are written beside it (CSV), if there are any.",
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON on standard output.")
@_QUIET
def describe(
    farrowings: Path,
    days: Path | None,
    mapping: Path | None,
    like: Path | None,
    policies: tuple[str, ...],
    out: Path,
    as_json: bool,
    quiet: bool,
) -> None:
    """Write a scenario of the farm whose records are in FARROWINGS.

    What the records say of herd and rooms goes into it, each value with the number of records behind it and its standard
    error; everything else stays at its default, or as in the scenario given by --like. Nothing is simulated.

    \b
    JSON: sources[] as of `check`, said[].{key, value, standard_error, records, meaning}, unsaid[].{key, reason},
    notes[sentence].
    """
    from farrowtide.records import describe as described_from
    from farrowtide.scenarios.scenario import load

    delivery.require_writable(out.parent)
    _require_other_files((farrowings, days, mapping), [out])
    model = load(like, policies=policies) if like else None
    read_in = _read(farrowings, days, mapping, quiet)
    described = described_from(read_in, like=model, name=str(out))
    described.write(out)
    beside = _write_findings(read_in, out.parent, f"{out.stem}.")
    if as_json:
        sources = _in_plain_values(read_in)["sources"]
        printing.print_json({"sources": sources, **described.in_plain_values()})
    else:
        _show_described(printing.console(), read_in, described)
    for file in (out, *beside):
        _name(("written", file), quiet)


@records.command()
@run_options
@click.option("--alternative", help="One of the file's alternatives; default: the scenario as written.")
@case_option
@click.option(
    "--litters",
    type=click.IntRange(1, MOST_REPLICATES),
    help=f"Litters to simulate at least, in whole rooms; default: {_LITTERS}.",
)
@click.option(
    "--out",
    required=True,
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder for farrowings.csv and days.csv.",
)
def simulate(options: RunOptions, alternative: str | None, case: str | None, litters: int | None, out: Path) -> None:
    """Write the records that the invented farm in FILE would have if it wrote everything down, to try the commands on.

    Their first line says that they are simulated.

    \b
    JSON: provenance{}, caution, withheld_care{alternative: [phrase]}, warnings[], interrupted, farrowings, days, files[].
    """
    from farrowtide.records import simulated

    if litters is not None and options.replications is not None:
        raise UserError("--litters and --replications both say how many rooms are simulated: leave one of them out")
    delivery.require_writable(out)
    _require_no_real_records(out)
    scenario = options.scenario(case=case, alternative=alternative)
    wanted = options.replications or math.ceil((litters or _LITTERS) / scenario.litters_per_replication)

    def deliver_result(result: Result) -> None:
        made = simulated(result, scenario)
        remark = f"{_SIMULATED}: {result.provenance['command']}"
        files = [str(file) for file in made.write(out, remark=remark)]

        def data() -> dict[str, Any]:
            of_result = {"interrupted": result.replications < wanted, "farrowings": len(made.farrowings)}
            return of_result | {"days": len(made.days), "files": files}

        def show(screen: Console) -> None:
            if result.replications < wanted:
                delivery.stopped_early(screen, result.replications, wanted)
            said = f"{printing.count(len(made.farrowings), 'farrowing')} and {printing.count(len(made.days), 'day')}"
            printing.print_text(screen, f"{scenario.title}: simulated records of {said}.")

        delivery.deliver(options, result.provenance, data, show, plausibility=result.warnings, written=("records", out))

    simulate_rooms = simulating(scenario, wanted, options, ("sows", "sow_days", "piglets"))
    delivery.carry_out("simulating", options, simulate_rooms, deliver_result)


def _require_other_files(read_from: Iterable[Path | None], written: Iterable[Path]) -> None:
    """Raises UserError where a file that is read would be replaced by one that is written."""
    sources = {file.resolve() for file in read_from if file is not None}
    for file in written:
        if file.resolve() in sources:
            raise UserError(f"{file}: is read from, and will not be replaced; name another place (--out)")


def _require_no_real_records(folder: Path) -> None:
    """Raises UserError where simulated records would replace others."""
    from farrowtide.whole_files import read_bytes

    for file in (folder / "farrowings.csv", folder / "days.csv"):
        if file.exists() and not read_bytes(file).startswith(f"# {_SIMULATED}".encode()):
            raise UserError(f"{file}: holds other records, and will not be replaced by simulated ones (--out)")


def _read(farrowings: Path, days: Path | None, mapping: Path | None, quiet: bool) -> Records:
    from farrowtide import records as own

    with printing.waiting("reading and checking records", quiet):
        return own.read(farrowings, days, mapping)


def _write(read_in: Records, folder: Path) -> None:
    read_in.write(folder)
    _write_findings(read_in, folder, "")


def _write_findings(read_in: Records, folder: Path, prefix: str) -> list[Path]:
    """Writes the rows that are rejected and those that are doubtful, where there are any."""
    from farrowtide.inert_text import write_csv

    written = []
    for name, table in (("rejected", read_in.rejected), ("doubtful", read_in.doubtful)):
        if len(table):
            write_csv(table, folder / f"{prefix}{name}.csv")
            written.append(folder / f"{prefix}{name}.csv")
    return written


def _in_plain_values(read_in: Records) -> dict[str, Any]:
    from dataclasses import asdict

    from farrowtide.records.summary import columns_found

    tables = {"columns": columns_found(read_in), "rejected": read_in.rejected, "doubtful": read_in.doubtful}
    return {"sources": [asdict(source) for source in read_in.sources]} | {
        name: table.astype(object).where(table.notna(), None).to_dict(orient="records")
        for name, table in tables.items()
    }


def _name(written: tuple[str, Path] | None, quiet: bool) -> None:
    if written is not None and not quiet:
        printing.message(f"{written[0]}: {written[1]}")


def _show(screen: Console, read_in: Records, units: str) -> None:
    from farrowtide.records.layout import layout

    _print_sources(screen, read_in)
    for source in read_in.sources:
        screen.print(_column_table(read_in, source.table, units))
        empty = [name for name in layout(source.table).columns if name not in source.headings]
        if empty:
            printing.print_text(screen, f"Not in the file: {', '.join(empty)}.")
        if source.passed_over:
            printing.print_text(screen, f"Columns that are not read: {', '.join(source.passed_over)}.")
    _print_findings(screen, "Rejected: these rows are not used", read_in.rejected)
    _print_findings(screen, "Doubtful: these rows are used", read_in.doubtful)


def _print_sources(screen: Console, read_in: Records) -> None:
    for source in read_in.sources:
        rows = printing.count(source.rows, "row")
        doubtful = read_in.doubtful.loc[read_in.doubtful["file"] == source.file, "line"].nunique()
        printing.echo(visible_line(f"{source.table}: {source.file} ({source.written_in})"))
        used = f"{source.used:,} used, of which {doubtful:,} doubtful" if doubtful else f"{source.used:,} used"
        printing.print_text(screen, f"  {rows}: {used}; {source.rejected:,} rejected", style="bold")


def _column_table(read_in: Records, name: str, units: str) -> Table:
    from farrowtide.outputs.units import unit_in, value_in
    from farrowtide.records.summary import columns_found

    columns = columns_found(read_in)
    columns = columns[columns["table"] == name]
    renamed = (columns["heading"] != columns["column"]).any()
    converted = units != "si"  # the names of columns say the unit that they are in
    headings = [
        "Column",
        *(["Heading"] if renamed else []),
        *(">Values", ">Missing", ">Lowest", ">Mean", ">Highest"),
        *(["Shown in"] if converted else []),
    ]
    table = printing.table("", *headings)
    table.padding = (0, 1, 0, 0)

    def shown(value: Any, unit: str) -> str:
        if value is None or value != value:
            return ""
        return value if isinstance(value, str) else f"{value_in(units, value, unit):.4g}"

    for row in columns.to_dict(orient="records"):
        limits = [shown(row[part], row["unit"]) for part in ("lowest", "mean", "highest")]
        heading = [row["heading"]] if renamed else []
        unit = [unit_in(units, row["unit"])] if converted else []
        printing.add_row(table, row["column"], *heading, f"{row['values']:,}", f"{row['missing']:,}", *limits, *unit)
    return table


def _print_findings(screen: Console, title: str, found: pd.DataFrame) -> None:
    if found.empty:
        return
    printing.print_text(screen, f"\n{title} ({printing.count(len(found), 'reason')})", style="bold")
    alike = found.groupby(["file", "column", "value", "reason"], sort=False)["line"].agg(["min", "size"]).reset_index()
    for row in alike.head(_SHOWN).to_dict(orient="records"):
        subject = " = ".join(filter(None, (row["column"], row["value"])))
        more = f" (and in {printing.count(row['size'] - 1, 'line')} below)" if row["size"] > 1 else ""
        place = f"{row['file']}:{row['min']}: {subject}"
        printing.echo(visible_line(f"{place}{': ' if subject else ''}{row['reason']}{more}"))
    left_off = int(alike["size"].iloc[_SHOWN:].sum())
    if left_off:
        printing.print_text(screen, f"... and {left_off:,} more (--out FOLDER writes all of them)")


def _show_described(screen: Console, read_in: Records, described: Described) -> None:
    _print_sources(screen, read_in)
    table = printing.table("What the records say", "Key", ">Value", ">Standard error", ">Records", "Meaning")
    for row in described.said.to_dict(orient="records"):
        error = "" if row["standard_error"] != row["standard_error"] else f"{row['standard_error']:.2g}"
        value = ", ".join(f"{part:g}" for part in row["value"]) if isinstance(row["value"], list) else str(row["value"])
        printing.add_row(table, row["key"], value, error, f"{row['records']:,}", row["meaning"])
    table.columns[0].no_wrap, table.columns[1].no_wrap = True, False
    screen.print(table)
    for row in described.unsaid.to_dict(orient="records"):
        printing.print_text(screen, f"Not said by the records: {row['key']}: {row['reason']}.")
    for note in described.notes:
        printing.print_text(screen, f"note: {note}.")
    printing.print_text(screen, "Everything else is at its default, or as in the scenario given by --like.")


COMMANDS = (records,)
