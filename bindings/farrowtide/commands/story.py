"""The command `story`."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import groupby
from operator import attrgetter
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from farrowtide.commands import delivery, printing
from farrowtide.commands.options import RunOptions, case_option, reference_alternative, run_options
from farrowtide.errors import UserError
from farrowtide.limits import MOST_REPLICATES

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from rich.console import Console
    from rich.table import Table

    from farrowtide.report.story_lines import Line
    from farrowtide.results.story import Story
    from farrowtide.scenarios.scenario import Scenario

# The keys of analysis/story/finding.py, which needs pandas.
FINDS = ("worst-litter", "weak-deaths", "crushed", "late-feeds", "late-work", "long-farrowing", "weight-loss")


@click.command()
@run_options
@click.option("--sow", type=click.IntRange(1), help="The number of the sow, such as one that each-sow or labour names.")
@click.option(
    "--replicate",
    type=click.IntRange(0, MOST_REPLICATES - 1),
    help="Her replicate; default: 0 with --sow. With --find, only that one is searched.",
)
@click.option(
    "--find",
    type=click.Choice(FINDS),
    help="Find the sow: the litter that lost most piglets, in which most died starved or weak or were crushed; the sow "
    "with most feeds, or visits of any kind, late or not made; with the longest farrowing; that lost most weight. "
    "Searched are 20 replicates, or --replications.",
)
@click.option("--alternative", help="One of the file's alternatives; default: the reference of its comparisons.")
@click.option("--against", help="Another of its alternatives, to be told beside it for the same animals.")
@case_option
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="The HTML page to write, if it ends in .html; else a folder for the page and the lines as CSV.",
)
def story(
    options: RunOptions,
    sow: int | None,
    replicate: int | None,
    find: str | None,
    alternative: str | None,
    against: str | None,
    case: str | None,
    out: Path | None,
) -> None:
    """Tell what happened to one sow and her litter in the scenario in FILE, line by line, each with its cause.

    Causes are read from the simulation's own records: what the people did while work waited, and what the hazard of a
    death was made of.

    \b
    JSON: provenance{}, caution, withheld_care{alternative: [phrase]}, warnings[], sow, replicate, alternative, against,
    case, found, numbers[].{label, unit, own, other, difference, differs}, lines[].{time_h, day, clock, phase, kind,
    text, cause, other_text, other_cause, differs}, deaths[].{birth_order, cause, age_h, ..., hazard_per_day,
    birth_weight_ratio, colostrum_ratio, ...}.
    """
    from farrowtide.results import story as stories

    if sow is None and find is None:
        raise UserError("name a sow (--sow and --replicate), or let her be found (--find)")
    if sow is not None and (find is not None or options.replications is not None):
        raise UserError("--sow is told from one replicate: leave out --find and --replications")
    if replicate is not None and options.replications is not None:
        raise UserError("--replicate searches a single replicate: leave out --replications")
    delivery.require_writable(out.parent if out and out.suffix == ".html" else out)
    scenario = options.scenario()

    def simulate(progress: printing.Progress | None, _: Executor | None) -> Story:
        return stories.story(
            scenario,
            sow,
            replicate=replicate,
            find=find,
            alternative=alternative or _default_alternative(scenario, against),
            against=against,
            case=case,
            replications=options.replications,
            seed=options.seed,
            threads=options.threads,
            progress=progress,
        )

    def deliver_story(told: Story) -> None:
        written = ("story", told.write(out, units=options.units)) if out else None

        def show(screen: Console) -> None:
            _show(screen, told, options.units)

        delivery.deliver(
            options,
            told.provenance,
            lambda: _data(told, options.units),
            show,
            plausibility=told.warnings,
            written=written,
        )

    delivery.carry_out("simulating", options, simulate, deliver_story)


def print_how_to_tell(screen: Console, options: RunOptions, sow: Mapping[Any, Any], **told: str | None) -> None:
    """Prints the command that tells what happened to a sow of a table, where options can say of which scenario."""
    from farrowtide.engine.provenance import command

    scenario = options.scenario()
    if scenario.command_words is not None:
        named = f"sow {sow['sow']} of replicate {sow['replicate']}"
        words = command("story", scenario, sow=sow["sow"], replicate=sow["replicate"], seed=options.seed, **told)
        printing.print_text(screen, f"\nWhat happened to {named}, line by line:")
        printing.print_command(screen, words)


def _default_alternative(scenario: Scenario, against: str | None) -> str | None:
    """The reference, or where that is the other policy, the first one that is not."""
    reference = reference_alternative(scenario)
    if against is None or reference != against:
        return reference
    return next((name for name in scenario.alternatives if name != against), None)


def _data(told: Story, units: str) -> dict[str, Any]:
    of_sow = {name: getattr(told, name) for name in ("sow", "replicate", "alternative", "against", "case", "found")}
    numbers = [vars(number) | {"differs": number.differs} for number in told.numbers(units=units)]
    lines = told.table.to_dict(orient="records")
    return of_sow | {"numbers": numbers, "lines": lines, "deaths": told.deaths.to_dict(orient="records")}


def _show(screen: Console, told: Story, units: str) -> None:
    from farrowtide.report.wording.story import HOW_TO_READ

    printing.print_text(screen, f"{told.heading}: {told.scenario.title}", style="bold")
    if told.found:
        printing.print_text(screen, f"Found: {told.found}.")
    printing.print_text(screen, told.about)
    screen.print(_numbers(told, units))
    for phase, lines in groupby(told.lines(units=units), key=attrgetter("phase")):
        printing.print_text(screen, f"\n{phase}", style="bold")
        screen.print(_line_grid(list(lines), told.policies))
    printing.print_text(screen, f"\n{HOW_TO_READ}")


def _line_grid(lines: list[Line], policies: list[str]) -> Table:
    from rich.table import Table

    grid = Table.grid(padding=(0, 1, 0, 0))
    grid.add_column(no_wrap=True)
    grid.add_column(no_wrap=True)
    grid.add_column()
    for line in lines:
        printing.add_row(grid, "\N{NOT EQUAL TO}" if line.differs else " ", line.clock, line.own.sentence)
        if line.differs and line.other:
            printing.add_row(grid, "", "", f"{policies[1]}: {line.other.sentence}")
    return grid


def _numbers(told: Story, units: str) -> Table:
    from farrowtide.cautions import marked

    names = [marked(name, told.provenance["withheld_care"]) for name in told.policies]
    two = len(names) > 1
    table = printing.table(
        "In numbers", "Whole stay", *(f">{name}" for name in names), *([">Difference"] if two else [])
    )
    for number in told.numbers(units=units):
        label = f"{number.label} [{number.unit}]" if number.unit else number.label
        cells = [number.own, *([number.other or "", number.difference if number.differs else "="] if two else [])]
        printing.add_row(table, label, *cells)
    return table


COMMANDS = (story,)
