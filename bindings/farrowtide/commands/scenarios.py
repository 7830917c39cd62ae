"""Commands that simulate nothing: `check`, `describe`, `explain`, `outputs`, `schema`."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from functools import partial
from pathlib import Path
from typing import Any

import click

from farrowtide.commands import printing
from farrowtide.commands.exit_codes import EXIT_MISTAKE
from farrowtide.commands.options import policies_option
from farrowtide.errors import Mistake, ScenarioError
from farrowtide.inert_text import one_line
from farrowtide.scenarios.schema import json_schema


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(exists=True, dir_okay=False))
@policies_option
@click.option("--json", "as_json", is_flag=True, help="Print JSON: files[].{file, ok, mistakes[]}.")
@click.pass_context
def check(context: click.Context, files: tuple[str, ...], policies: tuple[str, ...], as_json: bool) -> None:
    """Check scenario FILES with every alternative and case; report every error with file:line:column."""
    mistakes_in = {file: _mistakes_in(file, policies) for file in files}
    if as_json:
        printing.print_json({"files": [_checked(file, mistakes) for file, mistakes in mistakes_in.items()]})
    else:
        for file, mistakes in mistakes_in.items():
            print_mistakes(mistakes)
            printing.echo(f"{one_line(file)}: {'ok' if not mistakes else printing.count(len(mistakes), 'error')}")
    if any(mistakes_in.values()):
        context.exit(EXIT_MISTAKE)


def _mistakes_in(file: str, policies: tuple[str, ...]) -> list[Mistake]:
    """The errors of the file and of each alternative in each case, each error once."""
    from farrowtide.scenarios.scenario import Scenario, load

    mistakes: dict[str, Mistake] = {}

    def read(make: Callable[[], Scenario]) -> Scenario | None:
        try:
            return make()
        except ScenarioError as error:
            mistakes.update((str(mistake), mistake) for mistake in error.mistakes)
            return None

    scenario = read(lambda: load(file, policies=policies))
    if scenario is not None:
        in_cases = [read(partial(scenario.case, name)) for name in scenario.cases] or [scenario]
        for in_case in filter(None, in_cases):
            for name in scenario.alternatives:
                read(partial(in_case.alternative, name))
    return list(mistakes.values())


def _checked(file: str, mistakes: list[Mistake]) -> dict[str, Any]:
    keys = ("source", "line", "column", "key", "value", "problem", "allowed", "suggestion")
    return {
        "file": file,
        "ok": not mistakes,
        "mistakes": [{key: getattr(mistake, key) for key in keys} for mistake in mistakes],
    }


def print_mistakes(mistakes: Iterable[Mistake]) -> None:
    """Prints each error with its place and the line it is in, on standard error."""
    for mistake in mistakes:
        printing.echo(mistake.with_excerpt(), err=True)


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
        printing.echo(f"description: {description.write(out)}", err=True)


@click.command()
@click.argument("key")
def explain(key: str) -> None:
    """Explain KEY: a key of scenarios, the path of a coefficient or the name of an output."""
    from farrowtide.outputs import explaining

    printing.echo(explaining.explain(key))


@click.command()
def outputs() -> None:
    """List the outputs that can be compared."""
    from farrowtide.outputs.catalogue import catalogue
    from farrowtide.outputs.units import MISSING

    table = printing.table("", "Output", "Unit", "Meaning", "Better", "Too small to matter below")
    table.columns[0].no_wrap = True
    for output in catalogue().values():
        label = output.label if output.group == "headline" else f"{output.label} ({output.group})"
        printing.add_row(table, output.name, output.unit, label, output.good or MISSING, f"{output.negligible:g}")
    printing.console().print(table)


@click.command()
def schema() -> None:
    """Print the JSON Schema of scenarios, for editors."""
    printing.echo(json.dumps(json_schema(), indent=2))


COMMANDS = (check, describe, explain, outputs, schema)
