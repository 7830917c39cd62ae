"""The commands `watch` and `audit`: a running group, or closed ones, beside the model."""

from __future__ import annotations

import dataclasses
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from farrowtide.commands import delivery, printing
from farrowtide.commands.options import RunOptions, case_option, out_option, run_options
from farrowtide.errors import UserError

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from rich.console import Console

    from farrowtide.records import Records
    from farrowtide.results.auditing import Audit
    from farrowtide.results.watching import Watched

_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)
_MOST_FALSE_ALARMS = 20
_ALTERNATIVE = click.option(
    "--alternative", help="One of the file's alternatives, as the room is run; default: the scenario as written."
)
_MAPPING = click.option("--mapping", type=_FILE, help="How the columns of these files correspond to the layout.")


@click.command()
@run_options
@case_option
@_ALTERNATIVE
@click.option(
    "--days", required=True, type=_FILE, help="Feed, water and temperature by sow and day so far (CSV or Excel)."
)
@click.option(
    "--farrowings",
    type=_FILE,
    help="The group's farrowings: parity and day of farrowing of each sow; default: farrowings.csv beside --days.",
)
@_MAPPING
@click.option(
    "--morning",
    type=click.DateTime(["%Y-%m-%d"]),
    help="The morning of the list; later days are not looked at. Default: the day after the last one recorded.",
)
@click.option(
    "--false-alarms",
    type=click.FloatRange(0, _MOST_FALSE_ALARMS, min_open=True),
    default=1.0,
    show_default=True,
    help="Alarms in 100 days of healthy sows.",
)
@out_option("morning.html (one page), flags.csv, bands.csv, rooms.csv and causes.csv")
def watch(
    options: RunOptions,
    case: str | None,
    alternative: str | None,
    days: Path,
    farrowings: Path | None,
    mapping: Path | None,
    morning: datetime | None,
    false_alarms: float,
    out: Path | None,
) -> None:
    """List the sows and rooms to look at this morning: those outside what FILE leads to expect of them.

    FILE, or one of its alternatives, describes the room as it is run. A flag is a reason to look at the sow, not a
    diagnosis. --replications: simulated rooms in all.

    \b
    JSON: provenance{}, caution, withheld_care{}, warnings[], morning, sows, not_a_diagnosis, list[sentence],
    false_alarms{chosen, found, sow_days, signals, each{flag: rate}}, flags[].{sow, room, parity, lactation_day, flag, alarm,
    mornings, reason, ...}, rooms[].{room, output, unit, value, expected, low, high, deviation_sd, off_track},
    causes[].{room, fault, explained, size}, silent[].{sow, room, last_recorded}, bands[].{sow, date, eaten_kg, eaten_kg_low, ...}.
    """
    from farrowtide.results import watching

    delivery.require_writable(out)
    records = _read(farrowings or _beside(days), days, mapping)
    weather, options = options.weather, dataclasses.replace(options, weather=None)
    scenario = options.scenario(case=case, alternative=alternative)

    def simulate(progress: printing.Progress | None, _: Executor | None) -> Watched:
        return watching.watch(
            scenario,
            records,
            morning=morning.date() if morning else None,
            false_alarms=false_alarms,
            weather=weather,
            replications=options.replications,
            seed=options.seed,
            threads=options.threads,
            progress=progress,
        )

    def deliver_list(watched: Watched) -> None:
        written = delivery.write_to(out, "list", lambda folder: watched.write_report(folder, units=options.units))
        delivery.deliver(
            options,
            watched.provenance,
            lambda: _data(watched),
            lambda screen: _show(screen, watched, options.units),
            plausibility=watched.warnings,
            written=written,
        )

    delivery.carry_out("simulating", options, simulate, deliver_list)


def _beside(days: Path) -> Path:
    """The farrowings in the folder of the days. Raises UserError where there are none."""
    file = days.parent / "farrowings.csv"
    if not file.is_file():
        raise UserError(f"{file}: there is no such file; name the file of the group's farrowings (--farrowings)")
    return file


def _read(farrowings: Path, days: Path | None, mapping: Path | None) -> Records:
    from farrowtide.records import read

    return read(farrowings, days, mapping)


def _data(watched: Watched) -> dict[str, Any]:
    from farrowtide.report.wording import watching as words
    from farrowtide.report.wording.cells import rows

    reasons = [words.reason(row) for row in rows(watched.flags)] if len(watched.flags) else []
    thresholds = watched.thresholds
    tables = {
        "flags": watched.flags.assign(reason=reasons),
        "rooms": watched.rooms,
        "causes": watched.causes,
        "silent": watched.silent,
        "bands": watched.bands.assign(date=watched.bands["date"].dt.strftime("%Y-%m-%d")),
    }
    return {
        "morning": watched.morning.isoformat(),
        "sows": watched.sows,
        "not_a_diagnosis": words.NOT_A_DIAGNOSIS,
        "list": words.listed(watched),
        "false_alarms": {
            "chosen": thresholds.chosen,
            "found": thresholds.found,
            "sow_days": thresholds.sow_days,
            "signals": watched.signals,
            "each": dict(thresholds.each or {}),
        },
    } | {name: table.to_dict(orient="records") for name, table in tables.items()}


def _show(screen: Console, watched: Watched, units: str) -> None:
    from farrowtide.report.wording import watching as words
    from farrowtide.report.wording.cells import rows

    title = f"{watched.scenario.title}: morning of {watched.morning}: {words.summary(watched)}"
    table = printing.table(title, "Room", "Sow", ">Parity", ">Day", "Since", "Why", "Look at")
    for row in rows(words.alarms(watched)) if len(watched.flags) else ():
        cells = (str(row.room), str(row.sow), str(row.parity), str(row.lactation_day), words.since(row.mornings))
        printing.add_row(table, *cells, words.reason(row, units), words.LOOK[row.flag])
    if table.row_count:
        screen.print(table)
    else:
        printing.print_text(
            screen, f"{title}. No alarm of feed or water. Look at every sow all the same.", style="bold"
        )
    for name, sows in words.also_told(watched).items():
        usual = words.expected_told(watched, name)
        printing.print_text(screen, f"- {words.TITLES[name]} ({usual}): {', '.join(sows)}")
    if len(watched.silent):
        printing.print_text(screen, f"- nothing recorded yesterday: {', '.join(words.silent(watched))}")
    off = words.rooms_off_track(watched, units)
    for each in off:
        printing.print_text(screen, f"\n{each['room']} off track: {'; '.join(each['off'])}", style="bold")
        printing.print_sentences(screen, each["causes"] or [words.NO_CAUSE])
    if not off:
        printing.print_text(screen, "No room is outside what the model expects of what is recorded.")
    for source_rows, what in ((watched.rejected, "rejected"), (watched.doubtful, "doubtful")):
        if source_rows:
            rows_of = printing.count(source_rows, "row")
            printing.print_text(screen, f"{rows_of} of the files {what} (`farrowtide records check` tells why).")
    printing.print_text(screen, f"\n{words.rate(watched.thresholds, watched.signals)}")
    printing.print_text(screen, words.NOT_A_DIAGNOSIS, style="bold")


@click.command()
@run_options
@case_option
@_ALTERNATIVE
@click.option(
    "--farrowings",
    required=True,
    type=_FILE,
    help="The farm's farrowings, one row per sow and farrowing (CSV or Excel).",
)
@click.option("--days", type=_FILE, help="Feed, water and temperature by sow and day (CSV or Excel).")
@_MAPPING
@out_option("audit.html and audit.csv")
def audit(
    options: RunOptions,
    case: str | None,
    alternative: str | None,
    farrowings: Path,
    days: Path | None,
    mapping: Path | None,
    out: Path | None,
) -> None:
    """Compare each weaned group of the records with what the protocol in FILE should have given, with money.

    FILE, or one of its alternatives, is the protocol. Each output of a group is compared with the interval of one
    simulated room of as many sows; what differences are worth is told where FILE has `prices:`. --replications:
    rooms for each group.

    \b
    JSON: provenance{}, caution, withheld_care{}, warnings[], findings[sentence], groups[].{group, sows, loaded_on},
    open_groups[], outputs[].{group, output, label, unit, value, expected, low, high, outside, better, worth}.
    """
    from farrowtide.results import auditing

    delivery.require_writable(out)
    records = _read(farrowings, days, mapping)
    weather, options = options.weather, dataclasses.replace(options, weather=None)
    scenario = options.scenario(case=case, alternative=alternative)

    def simulate(progress: printing.Progress | None, _: Executor | None) -> Audit:
        return auditing.audit(
            scenario,
            records,
            weather=weather,
            replications=options.replications,
            seed=options.seed,
            threads=options.threads,
            progress=progress,
        )

    def deliver_audit(found: Audit) -> None:
        written = delivery.write_to(out, "audit", lambda folder: found.write_report(folder, units=options.units))
        delivery.deliver(
            options,
            found.provenance,
            lambda: _audit_data(found),
            lambda screen: _show_audit(screen, found, options.units),
            plausibility=found.warnings,
            written=written,
        )

    delivery.carry_out("simulating", options, simulate, deliver_audit)


def _audit_data(found: Audit) -> dict[str, Any]:
    from farrowtide.report.wording.auditing import findings

    return {
        "findings": findings(found),
        "groups": found.groups.astype({"loaded_on": str}).to_dict(orient="records"),
        "open_groups": found.open_groups,
        "outputs": found.table.drop(columns="decimals").to_dict(orient="records"),
    }


def _show_audit(screen: Console, found: Audit, units: str) -> None:
    from farrowtide.report.wording import auditing as words
    from farrowtide.report.wording.cells import rows

    prices = found.scenario.prices
    worth = (f">Worth [{prices.currency}]",) if prices else ()
    for group in rows(found.groups):
        title = f"{group.group or 'The group'}: {group.sows} sows, loaded on {group.loaded_on}"
        table = printing.table(title, "Output", ">Recorded", ">Expected", ">95 % interval", "Verdict", *worth)
        for row in rows(found.table[found.table["group"] == group.group]):
            cell = words.shown(row, units)
            cells = (cell["label"], cell["value"], cell["expected"], cell["interval"], cell["verdict"])
            printing.add_row(table, *cells, *([cell["worth"]] if prices else []))
        screen.print(table)
    printing.print_sentences(screen, words.findings(found, units))
    printing.print_text(screen, words.NOT_A_JUDGEMENT, style="bold")


COMMANDS = (watch, audit)
