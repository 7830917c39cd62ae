"""The command `sweep`."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from farrowtide.commands import delivery, printing
from farrowtide.commands.options import (
    ExecutorOptions,
    RunOptions,
    StudyOptions,
    case_option,
    executor_options,
    out_option,
    run_options,
    study_options,
    varied,
)
from farrowtide.errors import UserError

if TYPE_CHECKING:
    from concurrent.futures import Executor

    import pandas as pd
    from rich.console import Console
    from rich.table import Table

    from farrowtide.analysis.limits import BestWithin
    from farrowtide.outputs.output import Output
    from farrowtide.report.pictures.picture import Picture
    from farrowtide.results.sweep import Sweep
    from farrowtide.scenarios.scenario import Scenario


_MOST_SHOWN = 12  # alternatives in a printed table


@click.command()
@run_options
@executor_options
@study_options
@click.option(
    "--vary",
    multiple=True,
    required=True,
    metavar="KEY=VALUES",
    help="Values of a dotted key, separated by commas or as a JSON list; every combination of all --vary is simulated.",
)
@click.option("--alternative", help="The file's alternative to start from; default: the scenario as written.")
@case_option
@click.option("--reference", help="The alternative that the others are compared with; default: 'as written'.")
@click.option(
    "--best",
    help="The output to optimise; default: each output that the file's study names and that has a better direction, or feed "
    "intake.",
)
@click.option(
    "--limit",
    "limits",
    multiple=True,
    metavar="'OUTPUT<=NUMBER'",
    help="A limit that the mean of an output must meet, <= or >=; may be given more than once.",
)
@click.option(
    "--pareto", metavar="OUTPUT,OUTPUT", help="Two or three outputs: list the Pareto-efficient alternatives in them."
)
@out_option("the tables (CSV) and pictures (SVG)")
def sweep(
    options: RunOptions,
    study: StudyOptions,
    executor: ExecutorOptions,
    vary: tuple[str, ...],
    alternative: str | None,
    case: str | None,
    reference: str | None,
    best: str | None,
    limits: tuple[str, ...],
    pareto: str | None,
    out: Path | None,
) -> None:
    """Simulate every combination of the values in --vary and report the best.

    The scenario as written is one of the alternatives. With --study, finished rooms stay on disk and --resume continues
    after a stop.

    \b
    JSON: provenance{}, caution, withheld_care{alternative: [phrase]}, warnings[], replications, interrupted,
    means[], differences[], outputs[output] (in the order asked), best{output: {case: alternative}},
    ranking[].{output, unit, case, alternative, rank, mean, difference, ci_low, ci_high, n, apart, within}, pareto{}.
    """
    from farrowtide.results import sweep as sweeping
    from farrowtide.study.grid import AS_WRITTEN

    scenario = options.scenario(case=case, alternative=alternative)
    question = _question(best, scenario, limits, pareto)
    delivery.require_writable(out)

    def simulate(progress: printing.Progress | None, pool: Executor | None) -> Sweep:
        return sweeping.sweep(
            scenario,
            varied(vary),
            replications=options.replications,
            seed=options.seed,
            threads=options.threads,
            reference=reference or AS_WRITTEN,
            executor=pool,
            progress=progress,
            **study.arguments(scenario.prices),
        )

    delivery.carry_out(
        "sweeping", options, simulate, lambda results: _deliver(results, question, out, options), executor
    )


@dataclass(frozen=True)
class _Question:
    """What is asked of a sweep."""

    aims: list[Output]  # to optimise, each by itself
    limits: tuple[str, ...]  # to meet
    pareto: list[Output]  # in which alternatives are to be Pareto-efficient


def _question(best: str | None, scenario: Scenario, limits: tuple[str, ...], pareto: str | None) -> _Question:
    """Checked before anything is simulated. Raises UserError."""
    from farrowtide.outputs import parsing
    from farrowtide.outputs.catalogue import catalogue
    from farrowtide.outputs.output import good_direction

    declared = list(catalogue(scenario.prices).values())
    named = [parsing.output_named(word, declared) for word in ([best] if best else scenario.study.outputs)]
    aims = [output for output in named if best or output.good] or [declared[0]]
    outputs = [parsing.output_named(word, declared) for word in (pareto or "").split(",") if word.strip()]
    for output in (*aims, *outputs):
        good_direction(output)
    for text in limits:
        parsing.limit(text, declared)
    if len(outputs) == 1:
        raise UserError("--pareto: two or three outputs, separated by commas")
    return _Question(aims, limits, outputs)


def _deliver(sweep: Sweep, question: _Question, out: Path | None, options: RunOptions) -> None:
    from farrowtide.outputs.catalogue import catalogue

    best_by_aim = {
        aim.name: sweep.best_within(aim.name, list(question.limits), units=options.units) for aim in question.aims
    }
    names = [output.name for output in question.pareto]
    pareto = {case: sweep.pareto(names, case) for case in sweep.cases} if names else {}
    written = delivery.write_to(
        out, "tables and pictures", lambda folder: _write(sweep, question, folder, options.units)
    )

    def data() -> dict[str, Any]:
        return {
            "replications": sweep.replications,
            "interrupted": sweep.interrupted,
            "means": sweep.means.to_dict(orient="records"),
            "differences": sweep.differences.to_dict(orient="records"),
            "outputs": list(best_by_aim),
            "best": {name: within.best for name, within in best_by_aim.items()},
            "ranking": [
                {"output": name, "unit": catalogue(sweep.scenario.prices)[name].unit, **row}
                for name, within in best_by_aim.items()
                for row in within.table.to_dict(orient="records")
            ],
            "pareto": {case: _efficient(table) for case, table in pareto.items()},
        }

    def show(screen: Console) -> None:
        _show(screen, sweep, question, best_by_aim, pareto, options.units)

    delivery.deliver(options, sweep.provenance, data, show, plausibility=sweep.warnings, written=written)


def _efficient(pareto: pd.DataFrame) -> list[str]:
    return list(pareto.index[pareto["efficient"]])


def _write(sweep: Sweep, question: _Question, folder: Path, units: str) -> None:
    sweep.write(folder, units=units)
    for picture, name in _pictures(sweep, question, units):
        picture.save(folder / name)


def _pictures(sweep: Sweep, question: _Question, units: str) -> Iterator[tuple[Picture, str]]:
    from farrowtide.report.pictures import by_key
    from farrowtide.report.pictures import sweep as pictures

    for number, case in enumerate(sweep.cases):
        end = f"_{number + 1}.svg" if len(sweep.cases) > 1 else ".svg"
        for aim in question.aims:
            which = f"_{aim.name}" if len(question.aims) > 1 else ""
            yield pictures.ranking(sweep, case, aim, units), f"ranking{which}{end}"
        if by_key.can_be_drawn(sweep):
            yield by_key.by_key(sweep, case, question.aims, units), f"by_key{end}"
        if question.pareto:
            yield pictures.trade_off(sweep, case, question.pareto[0], question.pareto[1], units), f"trade_off{end}"


def _show(
    screen: Console,
    sweep: Sweep,
    question: _Question,
    best_by_aim: dict[str, BestWithin],
    pareto: dict[str, pd.DataFrame],
    units: str,
) -> None:
    from farrowtide.report.wording.study import precision_reached

    if sweep.interrupted:
        delivery.stopped_early(screen, sweep.replications, sweep.wanted_replications)
    for case in sweep.cases:
        for aim in question.aims:
            within = best_by_aim[aim.name]
            ranked = within.table[within.table["case"] == case]
            screen.print(_ranking(sweep, aim, bool(question.limits), case, ranked, units))
            if len(ranked) > _MOST_SHOWN:
                more = f"{len(ranked) - _MOST_SHOWN} more in the tables (--out, --json)."
                printing.print_text(screen, more, style="dim")
            printing.print_sentences(screen, [within.sentences[case]])
        if case in pareto:
            outputs = [str(column) for column in pareto[case] if column not in ("efficient", "dominated_by")]
            printing.print_sentences(screen, [f"Pareto-efficient alternatives in {' and '.join(outputs)} (means):"])
            for name in _efficient(pareto[case]):
                printing.print_text(screen, f"    {name}")
    if sweep.precision:
        printing.print_text(screen, precision_reached(sweep.precision, units, prices=sweep.scenario.prices))
    printing.print_text(
        screen,
        "The best alternative is chosen by the same rooms that measure it, which flatters it: `farrowtide pick` selects "
        "one with a stated probability of being the best.",
    )


def _ranking(sweep: Sweep, aim: Output, limited: bool, case: str, ranked: pd.DataFrame, units: str) -> Table:
    """The best alternatives of a case with their means and their differences from the best."""
    from farrowtide.cautions import marked
    from farrowtide.outputs.units import MISSING
    from farrowtide.report.wording.cells import interval_of, rows, why_no_interval
    from farrowtide.report.wording.study import case_title, unit_of_replication

    rooms = printing.count(sweep.replications, unit_of_replication(sweep.scenario))
    table = printing.table(
        f"{case_title(sweep.scenario, case)}: {printing.count(len(ranked), 'alternative')}, {rooms} each, seed {sweep.seed}",
        ">", "Alternative", f">{aim.label}\n[{aim.shown_unit(units)}]", ">Difference from\nthe best (95 % CI)", "Within\nlimits",
    )  # fmt: skip
    table.columns[1].overflow = "fold"
    means = sweep.means[sweep.means["output"] == aim.name].set_index(["case", "alternative"])
    for row in rows(ranked.head(_MOST_SHOWN)):
        interval = means.loc[(case, row.alternative)]
        printing.add_row(
            table,
            str(row.rank) if row.rank else MISSING,
            marked(row.alternative, sweep.provenance["withheld_care"]),
            f"{aim.shown(row.mean, units=units)}\n{_ends(aim, interval, units)}".rstrip(),
            (interval_of(aim, row, units) or why_no_interval(row.n, row.apart)) if row.rank > 1 else "",
            row.within if limited else "",
        )
    return table


def _ends(output: Output, interval: pd.Series, units: str) -> str:
    """The interval of a mean; empty where there is none."""
    ends = [float(interval[end]) for end in ("ci_low", "ci_high")]
    return "" if math.isnan(ends[0]) else output.shown_range(*ends, units=units)


COMMANDS = (sweep,)
