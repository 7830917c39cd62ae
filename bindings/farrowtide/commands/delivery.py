"""How every command runs rooms and delivers their results: files, JSON or a screen, the caution, and Ctrl-C."""

from __future__ import annotations

import os
import warnings
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from farrowtide.cautions import for_comparison_only
from farrowtide.commands import printing
from farrowtide.commands.options import ExecutorOptions, RunOptions
from farrowtide.errors import PlausibilityWarning, UserError
from farrowtide.study import executors
from farrowtide.whole_files import require_no_link

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from rich.console import Console

Results = TypeVar("Results")
_ENGINE = ExecutorOptions("engine", 0, None)


def carry_out(
    activity: str,
    options: RunOptions,
    simulate: Callable[[printing.Progress | None, Executor | None], Results],
    deliver_results: Callable[[Results], None],
    executor: ExecutorOptions = _ENGINE,
) -> None:
    """Simulates under a progress bar, then delivers. After Ctrl-C it delivers what is finished and stops with 130.

    With --strict, warnings about the scenario are raised before anything is run, and those about the results once they
    are delivered.
    """
    from farrowtide.engine.result import Interrupted

    stopped_by: Interrupted | PlausibilityWarning | None = None
    pool = executors.named(executor.executor, workers=executor.workers, scheduler=executor.scheduler)
    with printing.progress(activity, options.quiet) as progress, pool as running_executor, warnings.catch_warnings():
        warnings.simplefilter("error" if options.strict else "ignore", PlausibilityWarning)
        try:
            results = simulate(progress, running_executor)
        except (Interrupted, PlausibilityWarning) as stopped:
            stopped_by, results = stopped, stopped.finished
    if results is not None:
        try:
            deliver_results(results)
        except KeyboardInterrupt:
            raise KeyboardInterrupt("interrupted while results were written: files may be incomplete") from None
    if isinstance(stopped_by, PlausibilityWarning):
        from farrowtide.outputs.units import warning_in

        raise warning_in(options.units, stopped_by)
    if stopped_by is not None:
        raise stopped_by


def deliver(
    options: RunOptions,
    provenance: Mapping[str, Any],
    data: Callable[[], Mapping[str, Any]],
    show: Callable[[Console], None],
    *,
    plausibility: Iterable[PlausibilityWarning],
    written: tuple[str, Path] | None = None,
    warnings_last: bool = False,
) -> None:
    """Prints results, as JSON (`data`) or for a reader (`show`), always with the caution and the care withheld.

    `plausibility`: the warnings about them, which come first, or after what is too long for them to be seen there.
    `written`: what was written for --out, and where; this is named on standard error.
    """
    from farrowtide.outputs.units import warning_in

    plausibility = [warning_in(options.units, warning) for warning in plausibility]
    if options.as_json:
        cautions = {name: provenance[name] for name in ("caution", "withheld_care")}
        plain = [warning.in_plain_values() for warning in plausibility]
        printing.print_json({"provenance": provenance, **cautions, "warnings": plain, **data()})
    else:
        screen = printing.console()
        if not warnings_last:
            print_warnings(screen, plausibility)
        show(screen)
        if warnings_last:
            print_warnings(screen, plausibility)
        print_caution(screen, provenance)
    if written is not None and not options.quiet:
        what, place = written
        printing.message(f"{what}: {place}")


def print_warnings(screen: Console, plausibility: Iterable[PlausibilityWarning]) -> None:
    """Each warning as a paragraph."""
    for warning in plausibility:
        printing.print_text(screen, f"warning: {warning}", style="yellow")


def print_caution(screen: Console, provenance: Mapping[str, Any]) -> None:
    """The alternatives that withhold care, and the caution."""
    for line in for_comparison_only(provenance["withheld_care"]):
        printing.print_text(screen, f"* {line}")
    printing.print_text(screen, f"\n{provenance['caution']}", style="italic")


def write_to(folder: Path | None, what: str, write: Callable[[Path], Any]) -> tuple[str, Path] | None:
    """Writes into the folder of --out, if one is given; the pair that `deliver` takes as `written`."""
    if folder is None:
        return None
    write(folder)
    return what, folder


def require_writable(folder: Path | None) -> None:
    """Raises UserError where files cannot be written into the folder, before the rooms that would fill it are run."""
    if folder is None:
        return
    require_no_link(folder)
    existing = next(place for place in (folder, *folder.absolute().parents) if place.exists())
    if not existing.is_dir() or not os.access(existing, os.W_OK | os.X_OK):
        raise UserError(f"{folder}: nothing can be written there, because of {existing}; name another folder (--out)")


def stopped_early(screen: Console, done: int, wanted: int) -> None:
    """Says that Ctrl-C left replications out."""
    printing.print_text(screen, f"Stopped early: {done:,} of {wanted:,} replications are done.", style="bold")
