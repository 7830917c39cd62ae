"""The options that commands have in common. Nothing here needs pandas or matplotlib."""

from __future__ import annotations

import functools
import json
from collections.abc import Callable
from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from farrowtide.errors import UserError
from farrowtide.limits import MOST_REPLICATES, MOST_THREADS
from farrowtide.study import executors

if TYPE_CHECKING:
    from farrowtide.scenarios.prices import Prices
    from farrowtide.scenarios.scenario import Scenario

Command = Callable[..., Any]

policies_option = click.option(
    "--policies",
    multiple=True,
    type=click.Path(exists=True, dir_okay=False),
    help="A Python file with policies of your own; may be given more than once.",
)
case_option = click.option("--case", help="One of the file's cases; default: none of them.")
strict_option = click.option(
    "--strict", is_flag=True, help="Warnings are errors: those about the scenario stop before anything is run."
)
units_option = click.option(
    "--units",
    "asked_units",
    type=click.Choice(["as_written", "si", "us"]),
    default="as_written",
    show_default=True,
    help="What people read: kg, degC, L, mm (si), lb, degF, gal, inch (us), or each in the system in which FILE writes it "
    "(as_written; SI where it writes none). JSON, Parquet and numbers given as options stay in SI.",
)
threads_option = click.option(
    "--threads", type=click.IntRange(0, MOST_THREADS), default=0, help="0 (default): all processors."
)


def out_option(contents: str) -> Callable[[Command], Command]:
    """--out, with what the folder will hold."""
    return click.option("--out", type=click.Path(file_okay=False, path_type=Path), help=f"Folder for {contents}.")


@dataclass(frozen=True)
class RunOptions:
    """FILE and the options of every command that runs rooms."""

    file: str
    replications: int | None
    seed: int | None
    threads: int
    changes: tuple[str, ...]
    coefficients: str | None
    weather: Path | None
    calibration: str | None
    policies: tuple[str, ...]
    asked_units: str
    as_json: bool
    quiet: bool
    strict: bool

    @functools.cached_property
    def units(self) -> str:
        """The units in which results are shown, as `outputs.units` names them."""
        from farrowtide.outputs.units import units_of

        return units_of(self.asked_units, self._changed)

    @functools.cached_property
    def _changed(self) -> Scenario:
        """The scenario in the file with the changes given as options."""
        from farrowtide.scenarios.scenario import load

        scenario = load(self.file, policies=self.policies)
        if self.calibration:
            scenario = scenario.with_calibration(self.calibration)
        if self.coefficients:
            scenario = scenario.with_coefficients(self.coefficients)
        return scenario.override(changes_of(self.changes)) if self.changes else scenario

    def scenario(self, *, case: str | None = None, alternative: str | None = None) -> Scenario:
        """The scenario in the file with the changes given as options, in a case and with an alternative where named."""
        scenario = self._changed.case(case) if case else self._changed
        scenario = scenario.with_weather(self.weather) if self.weather else scenario
        return scenario.alternative(alternative) if alternative else scenario


@dataclass(frozen=True)
class ExecutorOptions:
    """What simulates the rooms."""

    executor: str
    workers: int
    scheduler: str | None


@dataclass(frozen=True)
class FolderOptions:
    """The folder that keeps a study."""

    study: str | None
    resume: bool

    def arguments(self) -> dict[str, Any]:
        """The arguments that they stand for of every function that runs a study. Raises UserError."""
        if self.resume and self.study is None:
            raise UserError("--resume needs the folder of the study (--study FOLDER)")
        return {"folder": self.study, "resume": self.resume}


@dataclass(frozen=True)
class StudyOptions(FolderOptions):
    """The folder that keeps a study, and the precision at which it stops."""

    precision: tuple[str, ...]

    def arguments(self, prices: Prices | None = None) -> dict[str, Any]:
        """The arguments of `compare` and `sweep` that they stand for; `prices`: of the scenario. Raises UserError."""
        from farrowtide.outputs.catalogue import catalogue
        from farrowtide.outputs.parsing import half_widths

        return super().arguments() | {"precision": half_widths(self.precision, catalogue(prices).values())}


def _as_one_object(kind: type, name: str, options: list[Callable[[Command], Command]]) -> Callable[[Command], Command]:
    """A decorator: the command has these options and receives them as one object, under this name."""

    def decorate(command: Command) -> Command:
        @functools.wraps(command)
        def with_object(*arguments: Any, **values: Any) -> Any:
            own = {field.name: values.pop(field.name) for field in fields(kind)}
            return command(*arguments, **values, **{name: kind(**own)})

        decorated: Command = with_object
        for option in reversed(options):
            decorated = option(decorated)
        return decorated

    return decorate


run_options = _as_one_object(
    RunOptions,
    "options",
    [
        click.argument("file", type=click.Path(exists=True, dir_okay=False)),
        click.option(
            "--replications",
            "-n",
            type=click.IntRange(1, MOST_REPLICATES),
            help="Rooms to simulate for each alternative.",
        ),
        click.option("--seed", type=click.IntRange(0, 2**64 - 1), help="The same seed gives the same animals."),
        threads_option,
        click.option(
            "--set",
            "changes",
            multiple=True,
            metavar="KEY=VALUE",
            help="Change the value of a dotted key; may be given more than once.",
        ),
        click.option(
            "--coefficients",
            type=click.Path(exists=True, dir_okay=False),
            help="A file whose coefficients replace the built-in ones.",
        ),
        click.option(
            "--weather",
            type=click.Path(exists=True, dir_okay=False, path_type=Path),
            help="Hourly outdoor weather from the scenario's start on (CSV: time, temperature_deg_c, "
            "relative_humidity_percent), instead of the preset climate.",
        ),
        click.option(
            "--calibration",
            type=click.Path(exists=True, dir_okay=False),
            help="A file that `farrowtide calibrate` wrote: levels and coefficients of a farm, from its records.",
        ),
        policies_option,
        units_option,
        click.option("--json", "as_json", is_flag=True, help="Print JSON on standard output."),
        click.option("--quiet", "-q", is_flag=True, help="Print no progress and no names of files written."),
        strict_option,
    ],
)
executor_options = _as_one_object(
    ExecutorOptions,
    "executor",
    [
        click.option(
            "--executor",
            type=click.Choice(executors.NAMES),
            default="engine",
            help="What simulates the rooms; results do not depend on it. MPI: mpiexec -n N python -m mpi4py.futures "
            "-m farrowtide ...",
        ),
        click.option(
            "--workers",
            type=click.IntRange(0, MOST_THREADS),
            default=0,
            help="Workers of processes or dask; 0 (default): one for each processor.",
        ),
        click.option("--scheduler", help="Address of a running Dask cluster."),
    ],
)
_FOLDER: list[Callable[[Command], Command]] = [
    click.option("--study", type=click.Path(file_okay=False), help="Folder that keeps each finished block."),
    click.option("--resume", is_flag=True, help="Continue the study in the folder of --study."),
]
folder_options = _as_one_object(FolderOptions, "study", _FOLDER)
study_options = _as_one_object(
    StudyOptions,
    "study",
    [
        click.option(
            "--precision",
            multiple=True,
            metavar="OUTPUT=HALF-WIDTH",
            help="Add replications until the half-width of the paired 95 % confidence interval of this output is no "
            "larger than HALF-WIDTH; may be given more than once. --replications is then the maximum.",
        ),
        *_FOLDER,
    ],
)


def reference_alternative(scenario: Scenario) -> str | None:
    """The alternative that a comparison measures the others against; None where there are no alternatives."""
    names = scenario.alternatives
    return scenario.study.reference if scenario.study.reference in names else next(iter(names), None)


def varied(texts: tuple[str, ...]) -> dict[str, list[Any]]:
    """The values of --vary: {key: values}. Raises UserError."""
    values_of_key: dict[str, list[Any]] = {}
    for text in texts:
        key, values = _key_and_values(text)
        if key in values_of_key:
            raise UserError(f"--vary {key}: given twice; list all its values in one option")
        values_of_key[key] = values
    return values_of_key


def changes_of(texts: tuple[str, ...]) -> dict[str, Any]:
    """The values of --set: {key: value}. Raises UserError."""
    return dict(map(_change, texts))


def _change(text: str) -> tuple[str, Any]:
    """`room.crates=12`."""
    key, equals, value = text.partition("=")
    if not equals:
        raise UserError(f"--set {text}: KEY=VALUE is expected")
    return key.strip(), _value(value)


def _key_and_values(text: str) -> tuple[str, list[Any]]:
    """`room.crates=12,24`, or a JSON list after the equals sign."""
    key, equals, listed = text.partition("=")
    if not equals or not listed.strip():
        raise UserError(f"--vary {text}: KEY=VALUE,VALUE is expected")
    try:
        values = json.loads(listed)
    except (ValueError, RecursionError):
        values = [_value(part) for part in listed.split(",")]
    return key.strip(), values if isinstance(values, list) else [values]


def _value(text: str) -> Any:
    """What the text is as JSON; text that is not, or too long or deep to be read, stands for itself: `76 degF`."""
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return text.strip()
