"""Tables, JSON and progress on the terminal. Nothing here needs pandas or matplotlib."""

from __future__ import annotations

import io
import json
import math
import os
import re
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import click

from farrowtide.inert_text import one_line, visible, visible_line
from farrowtide.outputs.units import count as count

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

Progress = Callable[..., None]  # (done, total, note="")

_SIZE = re.compile(r"[1-9]\d{0,3}", re.ASCII)
_PIPE_WIDTH = 100  # columns, where standard output is a file or a pipe


def echo(text: str, *, err: bool = False, nl: bool = True) -> None:
    """Prints text as it is on standard output or standard error; what would act on the terminal is shown instead."""
    click.echo(visible(text), file=sys.stderr if err else sys.stdout, nl=nl)


def message(text: str) -> None:
    """Prints a message as one line on standard error, whatever the names and paths in it hold."""
    echo(visible_line(text), err=True)


def write_any_text() -> None:
    """Lets standard output and standard error show letters that their encoding does not have as escapes."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def forget_what_cannot_be_written() -> None:
    """Leaves nothing for Python to write at its end, which would have an exit code of its own, where that must fail again."""
    try:
        if sys.stdout is not None:
            sys.stdout.flush()
    except OSError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def forget_unusable_sizes() -> None:
    """Sets the size of the terminal in the environment to a usual one where it says none that can be printed in."""
    for name, usual in (("COLUMNS", "80"), ("LINES", "25")):
        if name in os.environ and not _SIZE.fullmatch(os.environ[name]):
            os.environ[name] = usual


def print_json(data: Any) -> None:
    """Prints JSON on standard output; NaN and infinities become null."""
    in_unicode = (getattr(sys.stdout, "encoding", None) or "").lower().startswith("utf")
    echo(json.dumps(_finite(data), indent=2, ensure_ascii=not in_unicode))


def _finite(data: Any) -> Any:
    """The data with null for numbers that JSON does not have."""
    if isinstance(data, dict):
        return {key: _finite(value) for key, value in data.items()}
    if isinstance(data, (list, tuple)):
        return [_finite(value) for value in data]
    return None if isinstance(data, float) and not math.isfinite(data) else data


def console(*, stderr: bool = False) -> Console:
    """Standard output or standard error, as wide as the terminal."""
    from rich.console import Console

    screen = Console(stderr=stderr, emoji=False)
    if not screen.is_terminal and "COLUMNS" not in os.environ:
        screen.width = _PIPE_WIDTH
    return screen


def print_text(screen: Console, text: str, *, style: str | None = None) -> None:
    """A paragraph as it is: no markup, no colours for numbers. With a newline before it, it follows an empty line."""
    if text.startswith("\n"):
        screen.print()
    screen.print(one_line(text), style=style, markup=False, highlight=False)


def print_command(screen: Console, words: str) -> None:
    """A command that can be copied: on one line however long it is."""
    screen.print(one_line(words), markup=False, highlight=False, soft_wrap=True)


def print_sentences(screen: Console, sentences: Iterable[str]) -> None:
    """Each sentence as an item of a list."""
    for sentence in sentences:
        print_text(screen, f"- {sentence}")


def table(title: str, *columns: str) -> Table:
    """A plain table; a column whose heading begins with '>' holds numbers. The title is text, never markup.

    Where the terminal is too narrow, its rows are printed one below the other.
    """
    from rich import box

    from farrowtide.commands.narrow import FittingTable

    heading = plain(one_line(title)) or None
    grid = FittingTable(title=heading, title_justify="left", title_style="bold", box=box.SIMPLE_HEAD, pad_edge=False)
    for column in columns:
        numeric = column.startswith(">")
        grid.add_column(plain(column.lstrip(">")), justify="right" if numeric else "left", no_wrap=numeric)
    return grid


def add_row(to: Table, *cells: str) -> None:
    """A row of plain text: markup in names is shown as it is."""
    to.add_row(*map(plain, cells))


def plain(text: str) -> str:
    """Text for a table, in which markup and active characters are shown as they are written."""
    from rich.markup import escape

    return escape(visible(text))


@contextmanager
def progress(activity: str, quiet: bool) -> Iterator[Progress | None]:
    """A progress bar with the time left where standard error is a terminal; nothing elsewhere."""
    screen = console(stderr=True)
    if quiet or not screen.is_terminal:
        yield None
        return
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (
        TextColumn(activity),
        BarColumn(),
        MofNCompleteColumn(),
        TextColumn("rooms"),
        TimeRemainingColumn(compact=True),
        TextColumn("{task.fields[note]}"),
    )
    with Progress(*columns, console=screen, transient=True) as bar:
        task = bar.add_task(activity, total=None, note="")
        yield lambda done, total, note="": bar.update(task, completed=done, total=total, note=note)


@contextmanager
def waiting(activity: str, quiet: bool) -> Iterator[None]:
    """The time that an activity of unknown length has taken, where standard error is a terminal; nothing elsewhere."""
    screen = console(stderr=True)
    if quiet or not screen.is_terminal:
        yield
        return
    from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    with Progress(SpinnerColumn(), TextColumn(activity), TimeElapsedColumn(), console=screen, transient=True) as bar:
        bar.add_task(activity, total=None)
        yield
