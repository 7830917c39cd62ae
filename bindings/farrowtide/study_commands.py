"""The commands for many alternatives: `sweep`, `pick`, and `reproduce`."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from farrowtide import _core, terminal
from farrowtide.terminal import count, print_json, table

if TYPE_CHECKING:
    from farrowtide.sweeping import Picked, Sweep

EXIT_DIFFERS = 3
_MOST_SHOWN = 12  # alternatives in a printed table


def _values(text: str) -> tuple[str, list[Any]]:
    """`room.crates=12,24`, or a JSON list after the equals sign."""
    key, equals, said = text.partition("=")
    if not equals or not said.strip():
        raise _core.UserError(f"--vary {text}: KEY=VALUE,VALUE is expected")
    try:
        values = json.loads(said)
    except json.JSONDecodeError:
        values = [terminal.value_of(one) for one in said.split(",")]
    return key.strip(), values if isinstance(values, list) else [values]


def _varied(texts: tuple[str, ...]) -> dict[str, list[Any]]:
    found: dict[str, list[Any]] = {}
    for key, values in map(_values, texts):
        if key in found:
            raise _core.UserError(f"--vary {key}: given twice; put all its values into one")
        found[key] = values
    return found


@click.command()
@terminal.run_options
@terminal.executor_options
@terminal.study_options
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
    asked: terminal.Asked,
    study: terminal.Study,
    workers: terminal.Workers,
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
    from farrowtide import sweeping
    from farrowtide.naming import output_named
    from farrowtide.outputs import HEADLINES, catalogue
    from farrowtide.running import Interrupted

    every = list(catalogue().values())
    scenario = asked.scenario()
    scenario = scenario.case(case) if case else scenario
    scenario = scenario.alternative(alternative) if alternative else scenario
    aim = output_named(best, every) if best else HEADLINES[0]
    front = [output_named(word, every) for word in (pareto or "").split(",") if word.strip()]
    _refuse_early(aim, limits, front, every)
    stopped = None
    with terminal.at_work("sweeping", asked.quiet, workers) as (tell, pool):
        try:
            found = sweeping.sweep(
                scenario,
                _varied(vary),
                replications=asked.replications,
                seed=asked.seed,
                threads=asked.threads,
                reference=reference or sweeping.AS_WRITTEN,
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
    from farrowtide import naming, selecting

    for output in (aim, *front):
        selecting.good_direction(output)
    for text in limits:
        naming.limit(text, every)
    if len(front) == 1:
        raise _core.UserError("--pareto: two or three outputs, with commas between them")


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
        print_json(
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
    from farrowtide import sweep_figures

    for number, case in enumerate(found.cases):
        end = f"_{number + 1}.svg" if len(found.cases) > 1 else ".svg"
        yield sweep_figures.ranking(found, case, aim), f"ranking{end}"
        if len(front) >= 2:
            yield sweep_figures.trade_off(found, case, front[0], front[1]), f"trade_off{end}"


def _print_sweep(found: Sweep, aim: Any, within: Any, fronts: dict[str, Any], units: str) -> None:
    from rich.markup import escape

    from farrowtide import wording
    from farrowtide.outputs import MISSING

    console = terminal.console()
    means = found.means[found.means["output"] == aim.name].set_index(["case", "alternative"])
    if found.interrupted:
        console.print(f"Stopped early: {found.replications} of {found.wanted_replications} replications.", style="bold")
    for case in found.cases:
        ranked = within.table[within.table["case"] == case]
        rooms = count(found.replications, wording.unit_of_replication(found.scenario))
        title = (
            f"{escape(wording.case_title(case))}: {count(len(ranked), 'alternative')}, {rooms} each, seed {found.seed}"
        )
        unit = aim.shown_unit(units)
        printed = table(title, ">", "Alternative", f">{aim.label} \\[{unit}]", ">To the best, 95 % interval", "Limits")
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
        console.print(wording.precision_reached(found), highlight=False)
    console.print(
        "The best is chosen by the rooms that measure it, which flatters it: `farrowtide pick` picks one with a stated "
        "probability.",
        highlight=False,
    )
    console.print(f"\n{wording.CAUTION}", style="italic", highlight=False)


@click.command()
@terminal.run_options
@click.option("--output", required=True, help="The output that is to be best.")
@click.option(
    "--indifference", type=float, required=True, help="A difference too small to matter, in the output's unit."
)
@click.option("--confidence", type=float, default=0.95, show_default=True, help="Probability of picking the best.")
@click.option(
    "--vary", multiple=True, metavar="KEY=VALUES", help="Pick among these, not among the file's alternatives."
)
@click.option("--case", "case", help="One of the file's cases; otherwise the first.")
@terminal.executor_options
def pick(
    asked: terminal.Asked,
    output: str,
    indifference: float,
    confidence: float,
    vary: tuple[str, ...],
    case: str | None,
    workers: terminal.Workers,
) -> None:
    """Pick the best alternative of FILE with a stated probability, simulating beaten ones no further.

    \b
    JSON: case, output, best, replications, rooms, table[].{alternative, n, mean, eliminated_at, eliminated_by}.
    """
    from farrowtide import plans, sweeping
    from farrowtide.running import Interrupted

    scenario = asked.scenario()
    stopped = None
    with terminal.at_work("picking", asked.quiet, workers) as (tell, pool):
        try:
            found = sweeping.pick(
                scenario,
                output,
                indifference,
                alternatives=sweeping.grid(_varied(vary)) if vary else None,
                case=case,
                confidence=confidence,
                replications=asked.replications or plans.MOST_REPLICATIONS,
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

    from farrowtide import wording

    if as_json:
        said = {"case": found.case, "output": found.output.name, "best": found.best}
        counts = {"replications": found.replications, "rooms": found.rooms}
        print_json(said | counts | {"table": found.table.to_dict(orient="records")})
        return
    console = terminal.console()
    unit = found.output.shown_unit(units)
    title = f"{escape(wording.case_title(found.case))}: {found.output.label} \\[{unit}]"
    printed = table(title, "Alternative", ">Rooms", ">Mean", "Out after, beaten by")
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
    console.print(f"\n{wording.CAUTION}", style="italic", highlight=False)


@click.command()
@click.argument("path", type=click.Path(exists=True, path_type=Path))
@click.option("--threads", type=click.IntRange(min=0), default=0, help="0, the default: all the machine has.")
@click.option("--run-policies", is_flag=True, help="Run the Python of own policies that PATH holds: if you trust it.")
@click.option("--quiet", "-q", is_flag=True, help="No progress.")
@click.pass_context
def reproduce(context: click.Context, path: Path, threads: int, run_policies: bool, quiet: bool) -> None:
    """Run again what made PATH, an output or a folder of them, and compare byte for byte.

    Takes report.html, pictures (SVG) of comparisons, and tables with their provenance.json. Exit code 3: differs.
    """
    from farrowtide import reproducing

    with terminal.progress("running again", quiet) as tell:
        found = reproducing.reproduce(path, run_policies=run_policies, threads=threads, progress=tell)
    click.echo(f"made by: {found.command}")
    for change in found.changed:
        click.echo(f"changed: {change}")
    for name, same in found.files.items():
        click.echo(f"{name}: {'the same, byte for byte' if same else 'DIFFERS'}")
    if not found.same:
        context.exit(EXIT_DIFFERS)


COMMANDS = (sweep, pick, reproduce)
