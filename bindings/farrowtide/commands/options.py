"""Options, once for all commands. Nothing here needs pandas or matplotlib."""

from __future__ import annotations

import functools
import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any

import click

from farrowtide.commands.printing import progress
from farrowtide.errors import UserError
from farrowtide.study import executors

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from farrowtide.scenarios.scenario import Scenario


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
        from farrowtide.scenarios.scenario import load

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
        from farrowtide.outputs.catalogue import catalogue
        from farrowtide.outputs.parsing import half_widths

        if self.resume and self.study is None:
            raise UserError("--resume needs the folder of the study (--study FOLDER)")
        targets = half_widths(self.precision, catalogue().values())
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
        raise UserError(f"--set {text}: KEY=VALUE is expected")
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


def _values(text: str) -> tuple[str, list[Any]]:
    """`room.crates=12,24`, or a JSON list after the equals sign."""
    key, equals, said = text.partition("=")
    if not equals or not said.strip():
        raise UserError(f"--vary {text}: KEY=VALUE,VALUE is expected")
    try:
        values = json.loads(said)
    except json.JSONDecodeError:
        values = [value_of(one) for one in said.split(",")]
    return key.strip(), values if isinstance(values, list) else [values]


def varied(texts: tuple[str, ...]) -> dict[str, list[Any]]:
    """What --vary says: {key: values}."""
    found: dict[str, list[Any]] = {}
    for key, values in map(_values, texts):
        if key in found:
            raise UserError(f"--vary {key}: given twice; put all its values into one")
        found[key] = values
    return found
