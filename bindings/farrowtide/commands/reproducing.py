"""The command `reproduce`."""

from __future__ import annotations

from pathlib import Path

import click

from farrowtide.commands import printing
from farrowtide.commands.exit_codes import EXIT_DIFFERS


@click.command()
@click.argument("path", type=click.Path(exists=True, path_type=Path))
@click.option("--threads", type=click.IntRange(min=0), default=0, help="0, the default: all the machine has.")
@click.option("--run-policies", is_flag=True, help="Run the Python of own policies that PATH holds: if you trust it.")
@click.option("--quiet", "-q", is_flag=True, help="No progress.")
@click.pass_context
def reproduce(context: click.Context, path: Path, threads: int, run_policies: bool, quiet: bool) -> None:
    """Run again what made PATH, an output or a folder of them, and compare byte for byte.

    Takes report.html, pictures (SVG) of comparisons, and tables with their provenance.json. Exit code 3: differs.
    """
    from farrowtide.results import reproduce as reproducing

    with printing.progress("running again", quiet) as tell:
        found = reproducing.reproduce(path, run_policies=run_policies, threads=threads, progress=tell)
    click.echo(f"made by: {found.command}")
    for change in found.changed:
        click.echo(f"changed: {change}")
    for name, same in found.files.items():
        click.echo(f"{name}: {'the same, byte for byte' if same else 'DIFFERS'}")
    if not found.same:
        context.exit(EXIT_DIFFERS)


COMMANDS = (reproduce,)
