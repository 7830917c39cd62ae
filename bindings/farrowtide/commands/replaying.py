"""The command `replay`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from farrowtide.commands import delivery, printing
from farrowtide.commands.options import RunOptions, case_option, run_options
from farrowtide.errors import UserError
from farrowtide.limits import MOST_REPLICATES

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from rich.console import Console

    from farrowtide.results.replay import Replay

_RESULTS = Path("results")


@click.command()
@run_options
@click.option("--alternative", help="One of the file's alternatives; default: the scenario as written.")
@click.option("--against", metavar="ALTERNATIVE", help="Another one, beside it on the same clock and the same animals.")
@case_option
@click.option(
    "--replicate",
    type=click.IntRange(0, MOST_REPLICATES - 1),
    default=0,
    show_default=True,
    help="The number of the room, such as one that each-sow or labour names.",
)
@click.option("--group", type=click.IntRange(1), help="The farrowing group of a farm; default: the first.")
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder for replay.html; default: results/ and the name of the file.",
)
def replay(
    options: RunOptions,
    alternative: str | None,
    against: str | None,
    case: str | None,
    replicate: int,
    group: int | None,
    out: Path | None,
) -> None:
    """Show a room of the scenario in FILE over time, on a page to be opened in a browser.

    The page needs no network. It plays, pauses and jumps to events; it shows sows, litters, troughs, people and climate,
    and everything that happened to one sow.

    \b
    JSON: provenance{}, caution, withheld_care{alternative: [phrase]}, warnings[], page.
    """
    from farrowtide.results import replay as replaying

    if options.replications is not None:
        raise UserError("a replay is of a single replicate (--replicate): leave out --replications")
    scenario = options.scenario()
    folder = out or _RESULTS / (Path(options.file).stem.strip(".") or "scenario")
    delivery.require_writable(None if out else _RESULTS)
    delivery.require_writable(folder)

    def simulated(progress: printing.Progress | None, _: Executor | None) -> Replay:
        return replaying.replay(
            scenario,
            alternative=alternative,
            against=against,
            case=case,
            replicate=replicate,
            group=group,
            seed=options.seed,
            threads=options.threads,
            progress=progress,
        )

    def deliver_replay(found: Replay) -> None:
        page = found.save(folder, units=options.units)

        def data() -> dict[str, Any]:
            return {"page": str(page)}

        def show(screen: Console) -> None:
            printing.print_text(screen, f"Open {page} in a browser.")

        delivery.deliver(options, found.provenance, data, show, plausibility=found.warnings, written=("page", page))

    delivery.carry_out("running", options, simulated, deliver_replay)


COMMANDS = (replay,)
