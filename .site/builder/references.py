"""Pages that are written from the code when the site is built: outputs, tables of results, commands."""

import inspect
import re
from collections.abc import Iterator

import click
from prose import plain, table

from farrowtide import _core
from farrowtide.commands.main import main
from farrowtide.engine.result import ALL_TABLES
from farrowtide.outputs.catalogue import catalogue, money
from farrowtide.outputs.output import Output
from farrowtide.report.description.lists import meaning

OUTPUTS = """# Outputs

What is measured in each simulated room, and can be compared, named in `study.outputs` of a scenario, or given to `--output`.
A difference smaller than the limit in the last column is too small to matter. `farrowtide explain NAME` prints the same of
one output. The tables that outputs are measured from have a [page of their own](tables.md).
"""
TABLES = """# Tables of results

The columns of the tables that `farrowtide.run` returns (`result.sows` and so on) and that `farrowtide run --tables FOLDER` writes.
What is [measured in them](outputs.md) has a page of its own.
"""
COMMANDS = """# Commands

The options of every command, as `farrowtide COMMAND --help` prints them. Which command answers
[which question](../how_to/how_to.md).
"""


def pages() -> dict[str, str]:
    """The text of each page."""
    return {"reference/outputs": outputs(), "reference/tables": tables(), "reference/commands": commands()}


def outputs() -> str:
    """All outputs, a table for each group."""
    groups: dict[str, list[Output]] = {}
    for output in (*catalogue().values(), *money.declared()):
        groups.setdefault(output.group, []).append(output)
    parts = (
        f"## {group[0].upper()}{group[1:]}\n\n"
        + table(("Output", "Unit", "Meaning", "Better", "Too small below", "Evidence"), map(_output, members))
        for group, members in groups.items()
    )
    return "\n".join([OUTPUTS, *parts])


def _output(output: Output) -> tuple[str, ...]:
    limit = "" if output.unit == money.CURRENCY else f"{output.negligible:g}"
    return (f"`{output.name}`", *map(plain, (output.unit, output.label, output.good or "", limit, output.note)))


def tables() -> str:
    """The columns of all tables."""
    parts = (
        f"## {name}\n\n{plain(meaning(name))}\n\n"
        + table(
            ("Column", "Unit", "Meaning", "Values"),
            (
                (f"`{info.name}`", plain(info.unit), plain(info.help), plain(", ".join(info.labels)))
                for info in _core.tables()[name]
            ),
        )
        for name in ALL_TABLES
    )
    return "\n".join([TABLES, *parts])


def commands() -> str:
    """Usage, help and options of every command."""
    return "\n".join([COMMANDS, *_commands(main, click.Context(main, info_name="farrowtide"))])


def _commands(group: click.Group, context: click.Context) -> Iterator[str]:
    for name in sorted(group.commands):
        command = group.commands[name]
        below = click.Context(command, info_name=name, parent=context)
        yield _command(command, below)
        if isinstance(command, click.Group):
            yield from _commands(command, below)


def _paragraph(text: str) -> str:
    """Help after a backspace is shown line by line, as the terminal does."""
    lines = text.removeprefix("\b").strip("\n")
    return f"```text\n{lines}\n```\n" if text.startswith("\b") else f"{plain(text)}\n"


def _command(command: click.Command, context: click.Context) -> str:
    usage = " ".join(command.collect_usage_pieces(context))
    paragraphs = re.split(r"\n\s*\n", inspect.cleandoc(command.help or ""))
    records = (parameter.get_help_record(context) for parameter in command.get_params(context))
    options = [(f"`{option}`", plain(help)) for option, help in filter(None, records)]
    return "\n".join(
        [
            f"## {context.command_path}\n",
            f"```text\n{context.command_path} {usage}\n```\n",
            *map(_paragraph, paragraphs),
            table(("Option", "Meaning"), options),
        ]
    )
