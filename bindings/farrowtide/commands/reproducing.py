"""The command `reproduce`."""

from __future__ import annotations

from pathlib import Path

import click

from farrowtide.commands import printing
from farrowtide.commands.exit_codes import EXIT_DIFFERS
from farrowtide.commands.options import threads_option
from farrowtide.inert_text import visible_line


@click.command()
@click.argument("path", type=click.Path(exists=True, path_type=Path))
@threads_option
@click.option("--run-policies", is_flag=True, help="Run the Python policies that PATH contains, if you trust them.")
@click.option("--quiet", "-q", is_flag=True, help="Print no progress.")
@click.pass_context
def reproduce(context: click.Context, path: Path, threads: int, run_policies: bool, quiet: bool) -> None:
    """Simulate again what PATH was made from and compare the files byte for byte.

    PATH is a file or a folder: report.html, pictures (SVG) of comparisons, and tables with their provenance.json. Exit
    code 3: something differs.
    """
    from farrowtide.results import reproduce as reproducing

    with printing.progress("simulating again", quiet) as progress:
        reproduced = reproducing.reproduce(path, run_policies=run_policies, threads=threads, progress=progress)
    printing.echo(visible_line(f"made by: {reproduced.command}"))
    for change in reproduced.changed:
        printing.echo(visible_line(f"changed: {change}"))
    for statement in reproduced.untrue:
        printing.echo(visible_line(f"DIFFERS: {statement}"))
    for statement in reproduced.unchecked:
        printing.echo(visible_line(f"cannot be checked: {statement}"))
    for name, same in reproduced.files.items():
        printing.echo(visible_line(f"{name}: {'identical, byte for byte' if same else 'DIFFERS'}"))
    if not reproduced.same:
        context.exit(EXIT_DIFFERS)


COMMANDS = (reproduce,)
