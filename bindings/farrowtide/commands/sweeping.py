"""The commands for many alternatives: `sweep` and `pick`."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from farrowtide.commands import options, printing
from farrowtide.errors import UserError

if TYPE_CHECKING:
    from farrowtide.results.pick import Picked
    from farrowtide.results.sweep import Sweep


_MOST_SHOWN = 12  # alternatives in a printed table


@click.command()
@options.run_options
@options.executor_options
@options.study_options
@click.option(
    "--vary",
    multiple=True,
    required=True,
    metavar="KEY=VALUES",
    help="Values at a dotted key, with commas between them or as a JSON list; every combination of all --vary is run.",
)
@click.option("--alternative", help="One of the file's alternatives, to vary; otherwise the scenario as it stands.")
@click.option("--case", "case", help="Only this one of the file's cases.")
@click.option("--reference", help="What the others are compared with; usually 'as written'.")
@click.option("--best", help="The output that is to be best; usually the first headline.")
@click.option("--limit", "limits", multiple=True, metavar="'OUTPUT<=NUMBER'", help="A bound on a mean; also >=.")
@click.option("--pareto", metavar="OUTPUT,OUTPUT", help="Two or three outputs: which alternatives nobody beats in all.")
@click.option("--out", type=click.Path(file_okay=False, path_type=Path), help="Folder for tables and pictures.")
def sweep(
    asked: options.Asked,
    study: options.Study,
    workers: options.Workers,
    vary: tuple[str, ...],
    alternative: str | None,
    case: str | None,
    reference: str | None,
    best: str | None,
    limits: tuple[str, ...],
    pareto: str | None,
    out: Path | None,
) -> None:
    """Simulate every combination of the values in --vary, and tell the best.

    The scenario as written is among them. With --study, rooms stay on disk and --resume goes on after a stop.

    \b
    JSON: provenance{}, replications, interrupted, means[], differences[], best{}, ranking[], pareto{}.
    """
    from farrowtide.engine.result import Interrupted
    from farrowtide.outputs.catalogue import HEADLINES, catalogue
    from farrowtide.outputs.parsing import output_named
    from farrowtide.results import sweep as sweeping
    from farrowtide.study.grid import AS_WRITTEN

    every = list(catalogue().values())
    scenario = asked.scenario()
    scenario = scenario.case(case) if case else scenario
    scenario = scenario.alternative(alternative) if alternative else scenario
    aim = output_named(best, every) if best else HEADLINES[0]
    front = [output_named(word, every) for word in (pareto or "").split(",") if word.strip()]
    _refuse_early(aim, limits, front, every)
    stopped = None
    with options.at_work("sweeping", asked.quiet, workers) as (tell, pool):
        try:
            found = sweeping.sweep(
                scenario,
                options.varied(vary),
                replications=asked.replications,
                seed=asked.seed,
                threads=asked.threads,
                reference=reference or AS_WRITTEN,
                executor=pool,
                progress=tell,
                **study.options(),
            )
        except Interrupted as interrupted:
            stopped, found = interrupted, interrupted.finished
    if found is not None:
        _tell_sweep(found, aim, list(limits), front, out, asked.units, asked.as_json)
    if stopped is not None:
        raise stopped


def _refuse_early(aim: Any, limits: tuple[str, ...], front: list[Any], every: list[Any]) -> None:
    """What would be refused only after all is run."""
    from farrowtide.outputs import parsing
    from farrowtide.outputs.output import good_direction

    for output in (aim, *front):
        good_direction(output)
    for text in limits:
        parsing.limit(text, every)
    if len(front) == 1:
        raise UserError("--pareto: two or three outputs, with commas between them")


def _tell_sweep(
    found: Sweep, aim: Any, limits: list[str], front: list[Any], out: Path | None, units: str, as_json: bool
) -> None:
    within = found.best_within(aim.name, limits)
    fronts = {case: found.pareto([one.name for one in front], case) for case in found.cases} if front else {}
    if out:
        found.write(out)
        for picture, name in _pictures(found, aim, front):
            picture.save(out / name)
    if as_json:
        printing.print_json(
            {
                "provenance": found.provenance,
                "replications": found.replications,
                "interrupted": found.interrupted,
                "means": found.means.to_dict(orient="records"),
                "differences": found.differences.to_dict(orient="records"),
                "best": within.best,
                "ranking": within.table.to_dict(orient="records"),
                "pareto": {case: list(part.index[part["efficient"]]) for case, part in fronts.items()},
            }
        )
        return
    _print_sweep(found, aim, within, fronts, units)
    if out:
        click.echo(f"tables and pictures: {out}")


def _pictures(found: Sweep, aim: Any, front: list[Any]) -> Iterator[tuple[Any, str]]:
    from farrowtide.report.pictures import sweep as pictures

    for number, case in enumerate(found.cases):
        end = f"_{number + 1}.svg" if len(found.cases) > 1 else ".svg"
        yield pictures.ranking(found, case, aim), f"ranking{end}"
        if len(front) >= 2:
            yield pictures.trade_off(found, case, front[0], front[1]), f"trade_off{end}"


def _print_sweep(found: Sweep, aim: Any, within: Any, fronts: dict[str, Any], units: str) -> None:
    from rich.markup import escape

    from farrowtide.outputs.units import MISSING
    from farrowtide.report.wording.caution import CAUTION
    from farrowtide.report.wording.study import case_title, precision_reached, unit_of_replication

    console = printing.console()
    means = found.means[found.means["output"] == aim.name].set_index(["case", "alternative"])
    if found.interrupted:
        console.print(f"Stopped early: {found.replications} of {found.wanted_replications} replications.", style="bold")
    for case in found.cases:
        ranked = within.table[within.table["case"] == case]
        rooms = printing.count(found.replications, unit_of_replication(found.scenario))
        title = (
            f"{escape(case_title(case))}: {printing.count(len(ranked), 'alternative')}, {rooms} each, seed {found.seed}"
        )
        unit = aim.shown_unit(units)
        printed = printing.table(
            title, ">", "Alternative", f">{aim.label} \\[{unit}]", ">To the best, 95 % interval", "Limits"
        )
        printed.columns[1].overflow = "fold"
        for row in ranked.head(_MOST_SHOWN).itertuples():
            gap = aim.shown_range(row.ci_low, row.ci_high, units=units, signed=True) if row.rank > 1 else ""
            rank = str(row.rank) if row.rank else MISSING
            kept = "" if not len(within.limits) else {"no": "broken"}.get(row.within, row.within)
            own = means.loc[(case, row.alternative)]
            mean = f"{aim.shown(row.mean, units=units)}\n{aim.shown_range(own['ci_low'], own['ci_high'], units=units)}"
            printed.add_row(rank, escape(row.alternative), mean, gap, kept)
        console.print(printed)
        if len(ranked) > _MOST_SHOWN:
            console.print(f"{len(ranked) - _MOST_SHOWN} more in the tables (--out, --json).", style="dim")
        console.print(f"- {within.sentences[case]}", markup=False, highlight=False)
        if case in fronts:
            names = list(fronts[case].index[fronts[case]["efficient"]])
            outputs = " and ".join(column for column in fronts[case] if column not in ("efficient", "dominated_by"))
            console.print(f"- Nobody beats these in {outputs} (means):", highlight=False)
            for name in names:
                console.print(f"    {name}", markup=False, highlight=False)
    if found.precision:
        console.print(precision_reached(found.precision), highlight=False)
    console.print(
        "The best is chosen by the rooms that measure it, which flatters it: `farrowtide pick` picks one with a stated "
        "probability.",
        highlight=False,
    )
    console.print(f"\n{CAUTION}", style="italic", highlight=False)


@click.command()
@options.run_options
@click.option("--output", required=True, help="The output that is to be best.")
@click.option(
    "--indifference", type=float, required=True, help="A difference too small to matter, in the output's unit."
)
@click.option("--confidence", type=float, default=0.95, show_default=True, help="Probability of picking the best.")
@click.option(
    "--vary", multiple=True, metavar="KEY=VALUES", help="Pick among these, not among the file's alternatives."
)
@click.option("--case", "case", help="One of the file's cases; otherwise the first.")
@options.executor_options
def pick(
    asked: options.Asked,
    output: str,
    indifference: float,
    confidence: float,
    vary: tuple[str, ...],
    case: str | None,
    workers: options.Workers,
) -> None:
    """Pick the best alternative of FILE with a stated probability, simulating beaten ones no further.

    \b
    JSON: case, output, best, replications, rooms, table[].{alternative, n, mean, eliminated_at, eliminated_by}.
    """
    from farrowtide.engine.result import Interrupted
    from farrowtide.results import pick as picking
    from farrowtide.study.grid import grid
    from farrowtide.study.plan import MOST_REPLICATIONS

    scenario = asked.scenario()
    stopped = None
    with options.at_work("picking", asked.quiet, workers) as (tell, pool):
        try:
            found = picking.pick(
                scenario,
                output,
                indifference,
                alternatives=grid(options.varied(vary)) if vary else None,
                case=case,
                confidence=confidence,
                replications=asked.replications or MOST_REPLICATIONS,
                seed=asked.seed,
                threads=asked.threads,
                executor=pool,
                progress=tell,
            )
        except Interrupted as interrupted:
            stopped, found = interrupted, interrupted.finished
    _tell_picked(found, indifference, confidence, asked.units, asked.as_json)
    if stopped is not None:
        raise stopped


def _tell_picked(found: Picked, indifference: float, confidence: float, units: str, as_json: bool) -> None:
    from rich.markup import escape

    from farrowtide.report.wording.caution import CAUTION
    from farrowtide.report.wording.study import case_title

    if as_json:
        said = {"case": found.case, "output": found.output.name, "best": found.best}
        counts = {"replications": found.replications, "rooms": found.rooms}
        printing.print_json(said | counts | {"table": found.table.to_dict(orient="records")})
        return
    console = printing.console()
    unit = found.output.shown_unit(units)
    title = f"{escape(case_title(found.case))}: {found.output.label} \\[{unit}]"
    printed = printing.table(title, "Alternative", ">Rooms", ">Mean", "Out after, beaten by")
    for row in found.table.sort_values(["eliminated_at", "n"], ascending=[True, False], kind="stable").itertuples():
        out = f"{row.eliminated_at}, {escape(row.eliminated_by)}" if row.eliminated_at else ""
        printed.add_row(escape(row.alternative), f"{row.n:,}", found.output.shown(row.mean, units=units), out)
    console.print(printed)
    amount = f"{found.output.shown(indifference, units=units)} {found.output.difference_unit(units)}"
    if found.best is None:
        console.print(f"No one is left alone after {found.replications} replications: allow more (--replications).")
    else:
        console.print(
            f"- '{found.best}' is picked after {found.replications} replications, {found.rooms} rooms in all. If the best "
            f"is better than every other by at least {amount}, it is this one with probability {confidence:g} or more.",
            markup=False,
            highlight=False,
        )
    console.print(f"\n{CAUTION}", style="italic", highlight=False)


COMMANDS = (sweep, pick)
