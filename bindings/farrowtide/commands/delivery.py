"""How every command runs rooms and delivers their results: files, JSON or a screen, the caution, and Ctrl-C."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from farrowtide.cautions import for_comparison_only
from farrowtide.commands import printing
from farrowtide.commands.options import ExecutorOptions, RunOptions
from farrowtide.study import executors

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
    """Simulates under a progress bar, then delivers. After Ctrl-C it delivers what is finished and stops with 130."""
    from farrowtide.engine.result import Interrupted

    interrupted: Interrupted | None = None
    pool = executors.named(executor.executor, workers=executor.workers, scheduler=executor.scheduler)
    with printing.progress(activity, options.quiet) as progress, pool as running_executor:
        try:
            results = simulate(progress, running_executor)
        except Interrupted as stopped:
            interrupted, results = stopped, stopped.finished
    if results is not None:
        deliver_results(results)
    if interrupted is not None:
        raise interrupted


def deliver(
    options: RunOptions,
    provenance: Mapping[str, Any],
    data: Callable[[], Mapping[str, Any]],
    show: Callable[[Console], None],
    *,
    written: tuple[str, Path] | None = None,
) -> None:
    """Prints results, as JSON (`data`) or for a reader (`show`), always with the caution and the care withheld.

    `written`: what was written for --out, and where; this is named on standard error.
    """
    if options.as_json:
        cautions = {name: provenance[name] for name in ("caution", "withheld_care")}
        printing.print_json({"provenance": provenance, **cautions, **data()})
    else:
        screen = printing.console()
        show(screen)
        print_caution(screen, provenance)
    if written is not None and not options.quiet:
        what, place = written
        printing.echo(f"{what}: {place}", err=True)


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


def stopped_early(screen: Console, done: int, wanted: int) -> None:
    """Says that Ctrl-C left replications out."""
    printing.print_text(screen, f"Stopped early: {done:,} of {wanted:,} replications are done.", style="bold")
