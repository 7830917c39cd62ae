"""Commands about scenarios and outputs, without a study: `new`, `check`, `describe`, `explain`, `outputs`, `schema`."""

from __future__ import annotations

import json
import shlex
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from farrowtide.commands import printing
from farrowtide.commands.exit_codes import EXIT_MISTAKE
from farrowtide.commands.options import policies_option, strict_option, units_option
from farrowtide.errors import FileMistake, Mistake, listed_names
from farrowtide.inert_text import visible_line
from farrowtide.scenarios import starters
from farrowtide.scenarios.schema import json_schema

if TYPE_CHECKING:
    from farrowtide.results.checking import Checked


@click.command()
@click.argument("question", type=click.Choice(starters.QUESTIONS))
@click.option(
    "--out",
    type=click.Path(dir_okay=False, path_type=Path),
    help="File to write; default: the name of the question in the current folder. An existing file is kept.",
)
def new(question: str, out: Path | None) -> None:
    """Write a commented scenario to start from, about QUESTION, and the schema with which editors complete its keys.

    An editor with a YAML language server reads the schema that its first line names.
    """
    file = out or Path(f"{question}.yaml")
    schema_file = starters.write(question, file)
    printing.message(f"scenario: {file}")
    printing.message(f"schema: {schema_file}")
    printing.message(f"next: change what differs on your farm, then `farrowtide check {shlex.quote(str(file))}`")


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(exists=True, dir_okay=False))
@policies_option
@strict_option
@units_option
@click.option(
    "--json",
    "as_json",
    is_flag=True,
    help="Print JSON: files[].{file, ok, mistakes[], failed[], warnings[], set_points{}}.",
)
@click.pass_context
def check(
    context: click.Context,
    files: tuple[str, ...],
    policies: tuple[str, ...],
    strict: bool,
    asked_units: str,
    as_json: bool,
) -> None:
    """Check scenario FILES with every alternative and case; report every error with file:line:column.

    One room of each is simulated, to find what fails only then; the warnings say what to know before trusting a result.
    """
    from farrowtide.outputs.units import units_of, warning_in
    from farrowtide.results import checking

    checked = {file: checking.check(file, policies) for file in files}
    units = {
        file: units_of(asked_units, checked_file.scenario) if checked_file.scenario else "si"
        for file, checked_file in checked.items()
    }
    for file, checked_file in checked.items():
        checked_file.warnings[:] = [warning_in(units[file], warning) for warning in checked_file.warnings]
    if as_json:
        printing.print_json({"files": [checked_file.in_plain_values() for checked_file in checked.values()]})
    else:
        for checked_file in checked.values():
            _print_checked(checked_file, units[checked_file.file])
            print_hints(checked_file.mistakes, given_policies=bool(policies))
    if any(not checked_file.ok or (strict and checked_file.warnings) for checked_file in checked.values()):
        context.exit(EXIT_MISTAKE)


def _print_checked(checked_file: Checked, units: str) -> None:
    from farrowtide.outputs.units import settings_in

    print_mistakes(checked_file.mistakes)
    for text in checked_file.failed:
        printing.message(f"{checked_file.file}: {text}")
    for warning in checked_file.warnings:
        printing.message(f"warning: {warning}")
    for text, arms in checked_file.set_points.items():
        of_arms = f" of {listed_names(arms)}" if len(checked_file.set_points) > 1 else ""
        printing.echo(visible_line(f"{checked_file.file}: set points{of_arms}: {settings_in(units, text)}"))
    errors = len(checked_file.mistakes) + len(checked_file.failed)
    verdict = "ok" if checked_file.ok else printing.count(errors, "error")
    warned = f", {printing.count(len(checked_file.warnings), 'warning')}" if checked_file.warnings else ""
    printing.echo(visible_line(f"{checked_file.file}: {verdict}{warned}"))


def print_mistakes(mistakes: Iterable[Mistake | FileMistake]) -> None:
    """Prints each error with its place and the line it is in, on standard error."""
    for mistake in mistakes:
        said = str(mistake)
        printing.echo(visible_line(said) + mistake.with_excerpt().removeprefix(said), err=True)


def print_hints(mistakes: Iterable[Mistake], *, given_policies: bool) -> None:
    """Says how to give a policy of one's own, where a kind of policy is unknown and none was given."""
    from farrowtide.scenarios.policies.families import Policy

    kinds = {f"{family.__name__.lower()}.kind" for family in Policy.__subclasses__()}
    unknown = [
        f"{mistake.key} = {mistake.value}" for mistake in mistakes if mistake.key in kinds and not mistake.suggestion
    ]
    if unknown and not given_policies:
        printing.message(f"hint: {unknown[0]} may be a policy of your own: name its Python file with --policies FILE")


@click.command()
@click.argument("file", type=click.Path(exists=True, dir_okay=False))
@policies_option
@click.option("--out", type=click.Path(dir_okay=False, path_type=Path), help="File to write; default: standard output.")
def describe(file: str, policies: tuple[str, ...], out: Path | None) -> None:
    """Describe the study in FILE so that it can be repeated, in Markdown. Nothing is simulated.

    Fills the STRESS-DES checklist (Monks et al. 2019) and follows the ODD protocol (Grimm et al. 2020).
    """
    from farrowtide.report.description import document
    from farrowtide.scenarios.scenario import load

    description = document.describe(load(file, policies=policies))
    if out is None:
        printing.echo(description.text, nl=False)
    else:
        printing.message(f"description: {description.write(out)}")


@click.command()
@click.argument("key")
def explain(key: str) -> None:
    """Explain KEY: a key of scenarios, the path of a coefficient or the name of an output."""
    from farrowtide.outputs import explaining

    printing.echo(explaining.explain(key))


@click.command()
def outputs() -> None:
    """List the outputs that can be compared."""
    from farrowtide.outputs.catalogue import catalogue, money
    from farrowtide.outputs.units import MISSING

    table = printing.table("", "Output", "Unit", "Meaning", "Better", "Too small to matter below")
    table.columns[0].no_wrap = True
    for output in catalogue().values():
        label = output.label if output.group == "headline" else f"{output.label} ({output.group})"
        printing.add_row(table, output.name, output.unit, label, output.good or MISSING, f"{output.negligible:g}")
    for output in money.declared():
        printing.add_row(
            table, output.name, output.unit, f"{output.label} ({output.group})", output.good or MISSING, MISSING
        )
    printing.console().print(table)


@click.command()
def schema() -> None:
    """Print the JSON Schema of scenarios, for editors."""
    printing.echo(json.dumps(json_schema(), indent=2))


COMMANDS = (new, check, describe, explain, outputs, schema)
