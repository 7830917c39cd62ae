"""Commands about scenarios and what they mean: `check`, `describe`, `explain`, `outputs`, `schema`. Nothing is run."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from farrowtide.commands import options, printing
from farrowtide.commands.exit_codes import EXIT_MISTAKE
from farrowtide.errors import Mistake, ScenarioError
from farrowtide.scenarios import reference


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(exists=True, dir_okay=False))
@options.own_policies
@click.option("--json", "as_json", is_flag=True, help="JSON: files[].{file, ok, mistakes[]}.")
@click.pass_context
def check(context: click.Context, files: tuple[str, ...], policies: tuple[str, ...], as_json: bool) -> None:
    """Check scenario FILES, with every alternative and case; tell all mistakes with file:line:column."""
    found = {file: _mistakes_of(file, policies) for file in files}
    if as_json:
        printing.print_json({"files": [_checked(file, mistakes) for file, mistakes in found.items()]})
    else:
        for file, mistakes in found.items():
            say_mistakes(mistakes)
            click.echo(f"{file}: {'ok' if not mistakes else printing.count(len(mistakes), 'mistake')}")
    if any(found.values()):
        context.exit(EXIT_MISTAKE)


def _mistakes_of(file: str, policies: tuple[str, ...]) -> list[Mistake]:
    """Of the file, and of each alternative in each case; each mistake once."""
    from farrowtide.scenarios.scenario import load

    mistakes: dict[str, Mistake] = {}

    def read(make: Callable[[], Any]) -> Any:
        try:
            return make()
        except ScenarioError as error:
            mistakes.update((str(mistake), mistake) for mistake in error.mistakes)
            return None

    scenario = read(lambda: load(file, policies=policies))
    if scenario is not None:
        cases = [read(lambda name=name: scenario.case(name)) for name in scenario.cases] or [scenario]
        for there in filter(None, cases):
            for name in scenario.alternatives:
                read(lambda there=there, name=name: there.alternative(name))
    return list(mistakes.values())


def _checked(file: str, mistakes: list[Mistake]) -> dict[str, Any]:
    keys = ("source", "line", "column", "key", "value", "problem", "allowed", "suggestion")
    return {
        "file": file,
        "ok": not mistakes,
        "mistakes": [{key: getattr(mistake, key) for key in keys} for mistake in mistakes],
    }


def say_mistakes(mistakes: Any) -> None:
    """Each with its place and the line it is in."""
    for mistake in mistakes:
        click.echo(mistake.with_excerpt(), err=True)


@click.command()
@click.argument("file", type=click.Path(exists=True, dir_okay=False))
@options.own_policies
@click.option("--out", type=click.Path(dir_okay=False, path_type=Path), help="A file; otherwise standard output.")
def describe(file: str, policies: tuple[str, ...], out: Path | None) -> None:
    """Describe the study in FILE for readers who must be able to repeat it, in Markdown. Nothing is run.

    The STRESS-DES checklist (Monks et al. 2019), filled, and a description after ODD (Grimm et al. 2020).
    """
    from farrowtide.report.description import document
    from farrowtide.scenarios.scenario import load

    description = document.describe(load(file, policies=policies))
    if out is None:
        click.echo(description.text, nl=False)
    else:
        click.echo(f"description: {description.write(out)}", err=True)


@click.command()
@click.argument("key")
def explain(key: str) -> None:
    """Tell what KEY means: a key of scenarios, a coefficient's path or the name of an output."""
    from farrowtide.outputs import explaining

    click.echo(explaining.explain(key))


@click.command()
def outputs() -> None:
    """List the outputs that a comparison can judge."""
    from farrowtide.outputs.catalogue import catalogue
    from farrowtide.outputs.units import MISSING

    table = printing.table("", "Output", "Unit", "Meaning", "Better", "Negligible below")
    table.columns[0].no_wrap = True
    for output in catalogue().values():
        label = output.label if output.group == "headline" else f"{output.label} ({output.group})"
        table.add_row(output.name, output.unit, label, output.good or MISSING, f"{output.negligible:g}")
    printing.console().print(table)


@click.command()
def schema() -> None:
    """Print the JSON Schema of scenarios, for editors."""
    click.echo(reference.json_schema())


COMMANDS = (check, describe, explain, outputs, schema)
