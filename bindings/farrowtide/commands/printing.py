"""Printing, once for all commands: tables, JSON, progress. Nothing here needs pandas or matplotlib."""

from __future__ import annotations

import json
import math
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from rich.console import Console

_PIPE_WIDTH = 100  # a file or a pipe has no edge to fold at


def print_json(data: Any) -> None:
    """On standard output."""
    click.echo(json.dumps(_finite(data), indent=2, ensure_ascii=False))


def _finite(data: Any) -> Any:
    """Missing numbers as null: JSON has no NaN."""
    if isinstance(data, dict):
        return {key: _finite(value) for key, value in data.items()}
    if isinstance(data, (list, tuple)):
        return [_finite(value) for value in data]
    return None if isinstance(data, float) and not math.isfinite(data) else data


def count(number: int, thing: str) -> str:
    """`1 room`, `2 rooms`."""
    return f"{number:,} {thing}{'' if number == 1 else 's'}"


def console(*, stderr: bool = False) -> Console:
    """Standard output or standard error, as wide as it is."""
    from rich.console import Console

    found = Console(stderr=stderr)
    if not found.is_terminal and "COLUMNS" not in os.environ:
        found.width = _PIPE_WIDTH
    return found


def table(title: str, *columns: str) -> Any:
    """A plain table; a column whose name begins with '>' is of numbers."""
    from rich import box
    from rich.table import Table

    found = Table(title=title or None, title_justify="left", title_style="bold", box=box.SIMPLE_HEAD, pad_edge=False)
    for column in columns:
        found.add_column(
            column.lstrip(">"), justify="right" if column.startswith(">") else "left", no_wrap=column.startswith(">")
        )
    return found


@contextmanager
def progress(what: str, quiet: bool) -> Iterator[Callable[..., None] | None]:
    """A bar with the time left where standard error is a terminal; nothing elsewhere."""
    screen = console(stderr=True)
    if quiet or not screen.is_terminal:
        yield None
        return
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (
        TextColumn(what),
        BarColumn(),
        MofNCompleteColumn(),
        TextColumn("rooms"),
        TimeRemainingColumn(compact=True),
        TextColumn("{task.fields[said]}"),
    )
    with Progress(*columns, console=screen, transient=True) as bar:
        task = bar.add_task(what, total=None, said="")
        yield lambda done, total, said="": bar.update(task, completed=done, total=total, said=said)
