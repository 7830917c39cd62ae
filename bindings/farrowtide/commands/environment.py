"""Commands about the installation: `doctor`, `completion`."""

from __future__ import annotations

import importlib.metadata
import platform
import re

import click
from click.shell_completion import get_completion_class

from farrowtide import _core
from farrowtide.commands import printing

_OPTIONAL = {"cluster": ("distributed", "mpi4py"), "notebooks": ("ipykernel", "ipywidgets", "jupytext", "nbclient")}
_SHELLS = ("bash", "zsh", "fish")


@click.command()
@click.option(
    "--json", "as_json", is_flag=True, help="Print JSON: farrowtide{}, python{}, libraries{}, optional{extra: {}}."
)
def doctor(as_json: bool) -> None:
    """Print what is installed: versions, compiler, optional parts. Put it into a report of a fault."""
    from farrowtide.engine import provenance

    needed = [
        re.split(r"[^\w.-]", line, maxsplit=1)[0]
        for line in importlib.metadata.requires("farrowtide") or []
        if "extra ==" not in line
    ]
    found = {
        "farrowtide": {**provenance.engine(), "compiler": _core.compiler},
        "python": {"version": platform.python_version(), "platform": platform.platform()},
        "libraries": {name: _installed(name) for name in needed},
        "optional": {extra: {name: _installed(name) for name in names} for extra, names in _OPTIONAL.items()},
    }
    if as_json:
        printing.print_json(found)
        return
    for part, entries in found.items():
        printing.echo(part)
        for name, value in entries.items():
            text = ", ".join(f"{key} {version}" for key, version in value.items()) if isinstance(value, dict) else value
            printing.echo(f"  {name}: {text}")


def _installed(name: str) -> str:
    try:
        return importlib.metadata.version(name)
    except importlib.metadata.PackageNotFoundError:
        return "not installed"


@click.command()
@click.argument("shell", type=click.Choice(_SHELLS))
def completion(shell: str) -> None:
    """Print the script with which SHELL completes commands and options: `eval "$(farrowtide completion bash)"`."""
    kind = get_completion_class(shell)
    assert kind is not None
    printing.echo(
        kind(click.get_current_context().find_root().command, {}, "farrowtide", "_FARROWTIDE_COMPLETE").source()
    )


COMMANDS = (doctor, completion)
