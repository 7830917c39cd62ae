"""The commands about pairs: `each-sow` and `pairing`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from farrowtide.commands import delivery, printing
from farrowtide.commands.options import (
    ExecutorOptions,
    FolderOptions,
    RunOptions,
    case_option,
    executor_options,
    folder_options,
    out_option,
    reference_alternative,
    run_options,
)
from farrowtide.commands.story import print_how_to_tell

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from rich.console import Console
    from rich.table import Table

    from farrowtide.outputs.output import Output
    from farrowtide.results.each_sow import EachSow
    from farrowtide.results.pairing import PairingTable


@click.command("each-sow")
@run_options
@click.option("--alternative", required=True, help="The alternative to compare with the reference.")
@click.option("--reference", help="The alternative to compare it with; default: the reference of the file's study.")
@case_option
@click.option(
    "--measure",
    "measures",
    multiple=True,
    help="A column of the table of sows, or staff_min; may be given more than once.",
)
@out_option("the tables (CSV) and the picture (SVG)")
@executor_options
@folder_options
def each_sow(
    options: RunOptions,
    alternative: str,
    reference: str | None,
    case: str | None,
    measures: tuple[str, ...],
    out: Path | None,
    executor: ExecutorOptions,
    study: FolderOptions,
) -> None:
    """Compare each sow of the scenario in FILE with herself under another alternative: which sows gain or lose.

    Without --replications, as many rooms are simulated as the file's study asks for.

    \b
    JSON: provenance{}, caution, withheld_care{alternative: [phrase]}, warnings[], interrupted, reference, alternative,
    case, left_out, findings[sentence], gains[].{measure, unit, sows, better_percent, worse_percent,
    same_percent, p10, median, p90, mean, ci_low, ci_high (null where too few rooms
    differ for an interval), rooms, rooms_apart},
    largest{measure: [{replicate, sow, parity_class, ...}]}.
    """
    from farrowtide.results import each_sow as pairs

    delivery.require_writable(out)
    scenario = options.scenario()

    def simulate(progress: printing.Progress | None, pool: Executor | None) -> EachSow:
        return pairs.each_sow(
            scenario,
            reference or reference_alternative(scenario) or "",
            alternative,
            measures or None,
            case=case,
            replications=options.replications,
            seed=options.seed,
            threads=options.threads,
            executor=pool,
            progress=progress,
            **study.arguments(),
        )

    def deliver_sows(sows: EachSow) -> None:
        written = delivery.write_to(out, "tables and picture", lambda folder: sows.write(folder, units=options.units))

        def show(screen: Console) -> None:
            _show_each_sow(screen, sows, options.units)
            for first in sows.most(sows.measures[0].name, 1).to_dict(orient="records"):
                told = {"alternative": sows.alternative, "against": sows.reference, "case": sows.case}
                print_how_to_tell(screen, options, first, **told)

        delivery.deliver(
            options,
            sows.provenance,
            lambda: _each_sow_data(sows, options.units),
            show,
            plausibility=sows.warnings,
            written=written,
        )

    delivery.carry_out("comparing", options, simulate, deliver_sows, executor)


def _each_sow_data(sows: EachSow, units: str) -> dict[str, Any]:
    largest = {measure.name: sows.most(measure.name).to_dict(orient="records") for measure in sows.measures}
    return {
        "interrupted": sows.interrupted,
        "reference": sows.reference,
        "alternative": sows.alternative,
        "case": sows.case,
        "left_out": sows.left_out,
        "findings": sows.findings(units=units),
        "gains": sows.gains().to_dict(orient="records"),
        "largest": largest,
    }


def _show_each_sow(screen: Console, sows: EachSow, units: str) -> None:
    from farrowtide.cautions import marked
    from farrowtide.report.wording.study import unit_of_replication

    rooms = printing.count(sows.replications, unit_of_replication(sows.scenario))
    case = f"{sows.case}: " if sows.case else ""
    pair = " compared with ".join(
        marked(name, sows.provenance["withheld_care"]) for name in (sows.alternative, sows.reference)
    )
    title = f"{case}{pair}, {len(sows.table):,} sows of {rooms}, seed {sows.seed}"
    if sows.interrupted:
        delivery.stopped_early(screen, sows.replications, sows.wanted_replications)
    printing.print_text(screen, title, style="bold")
    screen.print(_gains_table(sows, units), _largest_table(sows, sows.measures[0], units))
    printing.print_sentences(screen, sows.findings(units=units))
    if sows.left_out:
        printing.print_text(
            screen, f"Excluded: {printing.count(sows.left_out, 'sow')} without a match in the other alternative."
        )
    printing.print_text(screen, "\nPercentiles describe the sows; the confidence interval of the mean is over rooms.")


def _gains_table(sows: EachSow, units: str) -> Table:
    from farrowtide.report.wording.cells import interval_of, rows, why_no_interval

    table = printing.table(
        "Difference for the same sow; better and worse count differences large enough to matter",
        "Measure", ">Better, %", ">Worse, %", ">10th percentile, median,\n90th percentile", ">Mean (95 % CI)",
    )  # fmt: skip
    table.padding = (0, 1, 0, 0)
    for measure, row in zip(sows.measures, rows(sows.gains()), strict=True):
        spread = ", ".join(measure.shown(value, units=units, signed=True) for value in (row.p10, row.median, row.p90))
        mean = measure.shown(row.mean, units=units, signed=True)
        mean += f"\n{interval_of(measure, row, units) or why_no_interval(row.rooms, row.rooms_apart)}"
        label = f"{measure.label} [{measure.shown_unit(units)}]"
        printing.add_row(table, label, f"{row.better_percent:.0f}", f"{row.worse_percent:.0f}", spread, mean)
    return table


def _largest_table(sows: EachSow, measure: Output, units: str) -> Table:
    table = printing.table(
        f"The sows with the largest differences in {measure.label.lower()}, {measure.shown_unit(units)}",
        "Sow", "Parity", ">Total born", ">Reference", ">Alternative", ">Difference",
    )  # fmt: skip
    for row in sows.most(measure.name).to_dict(orient="records"):
        values = [measure.shown(row[f"{measure.name}_{side}"], units=units) for side in ("reference", "alternative")]
        difference = measure.shown(row[f"{measure.name}_difference"], units=units, signed=True)
        sow = f"{row['sow']}, replicate {row['replicate']}"
        printing.add_row(table, sow, row["parity_class"], str(row["total_born"]), *values, difference)
    return table


@click.command()
@run_options
@click.option("--reference", help="The alternative that the others are compared with.")
@click.option(
    "--output",
    "outputs",
    multiple=True,
    help="An output to measure; may be given more than once. See `farrowtide outputs`.",
)
@click.option(
    "--case", "cases", multiple=True, help="One of the file's cases; may be given more than once; default: all."
)
@out_option("the table (CSV)")
@executor_options
@folder_options
def pairing(
    options: RunOptions,
    reference: str | None,
    outputs: tuple[str, ...],
    cases: tuple[str, ...],
    out: Path | None,
    executor: ExecutorOptions,
    study: FolderOptions,
) -> None:
    """Measure what is gained by pairing: by simulating the alternatives in FILE on the same animals.

    Every difference is measured in three ways: same seed with random numbers drawn by address, same seed with a single
    stream of random numbers, and independent seeds.

    \b
    JSON: provenance{}, caution, withheld_care{alternative: [phrase]}, warnings[], interrupted, reference,
    table[].{case, alternative, reference, output, unit, n, variance_keyed, variance_one_stream,
    variance_independent, factor_independent, factor_one_stream,
    factor_one_stream_independent (each with _low, _high)}.
    """
    from farrowtide.results.pairing import pairing_table

    delivery.require_writable(out)
    scenario = options.scenario()

    def simulate(progress: printing.Progress | None, pool: Executor | None) -> PairingTable:
        return pairing_table(
            scenario,
            replications=options.replications,
            seed=options.seed,
            threads=options.threads,
            outputs=outputs or None,
            reference=reference,
            cases=cases or None,
            executor=pool,
            progress=progress,
            **study.arguments(),
        )

    def deliver_table(pairs: PairingTable) -> None:
        written = delivery.write_to(out, "table", pairs.write)

        def data() -> dict[str, Any]:
            rows = pairs.table.to_dict(orient="records")
            return {"interrupted": pairs.interrupted, "reference": pairs.reference, "table": rows}

        delivery.deliver(
            options,
            pairs.provenance,
            data,
            lambda screen: _show_pairing(screen, pairs),
            plausibility=pairs.warnings,
            written=written,
        )

    delivery.carry_out("measuring", options, simulate, deliver_table, executor)


def _show_pairing(screen: Console, pairs: PairingTable) -> None:
    from farrowtide.cautions import marked
    from farrowtide.report.wording.cells import rows
    from farrowtide.report.wording.study import case_title, unit_of_replication

    unit = unit_of_replication(pairs.scenario)
    labels = {output.name: output.label for output in pairs.outputs}
    rooms = f"{printing.count(pairs.replications, unit)}, seed {pairs.seed}"
    if pairs.interrupted:
        delivery.stopped_early(screen, pairs.replications, pairs.wanted_replications)
    for (case, name), of_pair in pairs.table.groupby(["case", "alternative"], sort=False):
        pair = " compared with ".join(
            marked(side, pairs.provenance["withheld_care"]) for side in (str(name), pairs.reference)
        )
        table = printing.table(
            f"{case_title(pairs.scenario, str(case))}, {pair}: {rooms}",
            "Output", ">Gain over\nindependent", f">Unpaired {unit}s equivalent to\n{pairs.replications:,} paired", ">Gain over same seed,\none stream",
        )  # fmt: skip
        for row in rows(of_pair):
            printing.add_row(table, labels[row.output], *_gains_from_pairing(row))
        screen.print(table)
    printing.print_text(
        screen,
        "Gain from pairing: variance of the difference without pairing divided by that with it, with 95 % confidence "
        f"intervals over {unit}s. Independent: another seed. One stream: same seed, random numbers in the order in which "
        "they are drawn.",
    )


def _gains_from_pairing(row: Any) -> list[str]:
    from farrowtide.analysis.variance_reduction import shown_factor, shown_number

    factors = [
        "\n".join(filter(None, shown_factor(*(getattr(row, f"factor_{way}{end}") for end in ("", "_low", "_high")))))
        for way in ("independent", "one_stream")
    ]
    return [factors[0], shown_number(row.n, row.factor_independent), factors[1]]


COMMANDS = (each_sow, pairing)
