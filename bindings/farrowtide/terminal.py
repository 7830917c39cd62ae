"""What the commands share: options, tables, progress. pandas and matplotlib are not needed for any of it."""

from __future__ import annotations

import functools
import json
import math
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any

import click

from farrowtide import _core, executors

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from rich.console import Console

    from farrowtide.scenario import Scenario

_PIPE_WIDTH = 100  # a file or a pipe has no edge to fold at


def own_policies(command: Callable[..., Any]) -> Callable[..., Any]:
    """Of commands that read scenarios."""
    return click.option(
        "--policies",
        multiple=True,
        type=click.Path(exists=True, dir_okay=False),
        help="A Python file with policies of your own; may be given again.",
    )(command)


@dataclass(frozen=True)
class Asked:
    """What FILE and the options of `run_options` say."""

    file: str
    replications: int | None
    seed: int | None
    threads: int
    changes: tuple[str, ...]
    coefficients: str | None
    policies: tuple[str, ...]
    units: str
    as_json: bool
    quiet: bool

    def scenario(self) -> Scenario:
        """The one in the file, with what the options change."""
        from farrowtide.scenario import load

        found = load(self.file, policies=self.policies)
        if self.coefficients:
            found = found.with_coefficients(self.coefficients)
        return found.override(dict(map(_changed, self.changes))) if self.changes else found


@dataclass(frozen=True)
class Workers:
    """What the options of `executor_options` say."""

    executor: str
    workers: int
    scheduler: str | None


@dataclass(frozen=True)
class Study:
    """What the options of `study_options` say."""

    precision: tuple[str, ...]
    study: str | None
    resume: bool

    def options(self) -> dict[str, Any]:
        """As `compare` and `sweep` take them."""
        from farrowtide import stopping
        from farrowtide.outputs import catalogue

        if self.resume and self.study is None:
            raise _core.UserError("--resume needs the folder of the study (--study FOLDER)")
        targets = stopping.parse(self.precision, catalogue().values())
        return {"precision": targets, "folder": self.study, "resume": self.resume}


def _gathered(kind: type, name: str, options: list[Callable[..., Any]]) -> Callable[..., Any]:
    """A decorator: the command has these options and is given them as one object, by this name."""

    def decorate(command: Callable[..., Any]) -> Callable[..., Any]:
        @functools.wraps(command)
        def called(*arguments: Any, **given: Any) -> Any:
            own = {field.name: given.pop(field.name) for field in fields(kind)}
            return command(*arguments, **given, **{name: kind(**own)})

        for option in reversed(options):
            called = option(called)
        return called

    return decorate


run_options = _gathered(
    Asked,
    "asked",
    [
        click.argument("file", type=click.Path(exists=True, dir_okay=False)),
        click.option("--replications", "-n", type=click.IntRange(min=1), help="Rooms to simulate of each alternative."),
        click.option("--seed", type=click.IntRange(0, 2**64 - 1), help="The same seed gives the same animals."),
        click.option("--threads", type=click.IntRange(min=0), default=0, help="0, the default: all the machine has."),
        click.option(
            "--set",
            "changes",
            multiple=True,
            metavar="KEY=VALUE",
            help="Another value at a dotted key; may be given again.",
        ),
        click.option(
            "--coefficients", type=click.Path(exists=True, dir_okay=False), help="A file of other coefficients."
        ),
        own_policies,
        click.option("--units", type=click.Choice(["si", "us"]), default="si", help="kg or lb in what is printed."),
        click.option("--json", "as_json", is_flag=True, help="JSON on standard output."),
        click.option("--quiet", "-q", is_flag=True, help="No progress and no closing remarks."),
    ],
)
executor_options = _gathered(
    Workers,
    "workers",
    [
        click.option(
            "--executor",
            type=click.Choice(executors.NAMES),
            default="engine",
            help="What runs it; no number depends on it. MPI: mpiexec -n N python -m mpi4py.futures -m farrowtide ...",
        ),
        click.option(
            "--workers", type=click.IntRange(min=0), default=0, help="Of processes or dask; 0: as many as processors."
        ),
        click.option("--scheduler", help="Address of a running Dask cluster."),
    ],
)
study_options = _gathered(
    Study,
    "study",
    [
        click.option(
            "--precision",
            multiple=True,
            metavar="OUTPUT=HALF-WIDTH",
            help="Add replications until the paired 95 % interval of this output is no wider; may be given again. "
            "--replications is the most there may be.",
        ),
        click.option("--study", type=click.Path(file_okay=False), help="Folder that keeps each finished block."),
        click.option("--resume", is_flag=True, help="Go on with the study in the folder of --study."),
    ],
)


@contextmanager
def at_work(what: str, quiet: bool, workers: Workers) -> Iterator[tuple[Callable[..., None] | None, Executor | None]]:
    """The bar of progress, and the executor that was asked for."""
    pool = executors.named(workers.executor, workers=workers.workers, scheduler=workers.scheduler)
    with progress(what, quiet) as tell, pool as executor:
        yield tell, executor


def _changed(text: str) -> tuple[str, Any]:
    """`room.crates=12`."""
    key, equals, value = text.partition("=")
    if not equals:
        raise _core.UserError(f"--set {text}: KEY=VALUE is expected")
    return key.strip(), value_of(value)


def value_of(text: str) -> Any:
    """A number, a list or whatever else is JSON; anything else is a text such as `76 degF`."""
    try:
        return json.loads(text)
    except json.JSONDecodeError:
        return text.strip()


def shown_alternative(scenario: Scenario) -> str | None:
    """What a comparison would measure the others against; none where there are no alternatives."""
    names = scenario.alternatives
    return scenario.study.reference if scenario.study.reference in names else next(iter(names), None)


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
