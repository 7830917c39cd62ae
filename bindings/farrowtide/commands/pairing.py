"""The commands about pairs: `each-sow` and `pairing`."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import click

from farrowtide.commands import options, printing


@click.command("each-sow")
@options.run_options
@click.option("--alternative", required=True, help="The alternative that the sows are seen under.")
@click.option("--reference", help="What it is held against; default: the reference of the file's comparisons.")
@click.option("--case", "case", help="One of the file's cases.")
@click.option(
    "--measure", "measures", multiple=True, help="A column of the table of sows, or staff_min; may be given again."
)
@click.option(
    "--out", type=click.Path(file_okay=False, path_type=Path), help="Folder for the tables (CSV) and the picture (SVG)."
)
def each_sow(
    asked: options.Asked,
    alternative: str,
    reference: str | None,
    case: str | None,
    measures: tuple[str, ...],
    out: Path | None,
) -> None:
    """Lay each sow of the scenario in FILE beside herself under another alternative: who gains, who loses.

    Without --replications it takes as many rooms as the file's study.

    \b
    JSON: provenance{}, reference, alternative, case, left_out, findings[sentence],
    gains[].{measure, unit, sows, better_percent, worse_percent, same_percent, p10, median, p90,
    mean, ci_low, ci_high, rooms}, largest{measure: [{replicate, sow, parity_class, ...}]}.
    """
    from farrowtide.results.each_sow import each_sow

    scenario = asked.scenario()
    with printing.progress("comparing", asked.quiet) as tell:
        found = each_sow(
            scenario,
            reference or options.shown_alternative(scenario) or "",
            alternative,
            measures or None,
            case=case,
            replications=asked.replications,
            seed=asked.seed,
            threads=asked.threads,
            progress=tell,
        )
    if asked.as_json:
        printing.print_json(_each_sow_in_json(found))
    else:
        _print_each_sow(found, asked.units)
    if out:
        found.write(out)
        if not asked.quiet:
            click.echo(f"tables and picture: {out}", err=True)


def _each_sow_in_json(found: Any) -> dict[str, Any]:
    largest = {measure.name: found.most(measure.name).to_dict(orient="records") for measure in found.measures}
    return {
        "provenance": found.provenance,
        "reference": found.reference,
        "alternative": found.alternative,
        "case": found.case,
        "left_out": found.left_out,
        "findings": found.findings(),
        "gains": found.gains().to_dict(orient="records"),
        "largest": largest,
    }


def _print_each_sow(found: Any, units: str) -> None:
    from farrowtide.report.wording.caution import CAUTION
    from farrowtide.report.wording.study import unit_of_replication

    console = printing.console()
    rooms = printing.count(found.replications, unit_of_replication(found.scenario))
    where = f"{found.case}: " if found.case else ""
    title = (
        f"{where}{found.alternative} against {found.reference}, {len(found.table):,} sows of {rooms}, seed {found.seed}"
    )
    console.print(title, style="bold", markup=False, highlight=False)
    console.print(_gains_table(found, units), _largest_table(found, found.measures[0], units))
    for sentence in found.findings():
        console.print(f"- {sentence}", markup=False, highlight=False)
    if found.left_out:
        console.print(f"Not in the tables: {found.left_out} sows that are not the same in both.", highlight=False)
    console.print("\nThe spread over sows is described; the interval of the mean is over rooms.", highlight=False)
    console.print(f"\n{CAUTION}", style="italic", highlight=False)


def _gains_table(found: Any, units: str) -> Any:
    table = printing.table(
        "Difference for the same sow; better and worse: by what matters", "Measure", ">Better, %", ">Worse, %",
        ">Tenth, median, nine tenths", ">Mean (95 % interval)",
    )  # fmt: skip
    table.padding = (0, 1, 0, 0)
    for measure, row in zip(found.measures, found.gains().itertuples(), strict=True):
        spread = ", ".join(measure.shown(value, units=units, signed=True) for value in (row.p10, row.median, row.p90))
        mean = measure.shown(row.mean, units=units, signed=True)
        if not math.isnan(row.ci_low):
            mean += f"\n{measure.shown_range(row.ci_low, row.ci_high, units=units, signed=True)}"
        label = f"{measure.label} \\[{measure.shown_unit(units)}]"
        table.add_row(label, f"{row.better_percent:.0f}", f"{row.worse_percent:.0f}", spread, mean)
    return table


def _largest_table(found: Any, measure: Any, units: str) -> Any:
    table = printing.table(
        f"The sows with the largest difference: {measure.label}, {measure.shown_unit(units)}",
        "Sow", "Parity", ">Total born", ">Reference", ">Alternative", ">Difference",
    )  # fmt: skip
    for row in found.most(measure.name).to_dict(orient="records"):
        values = [row[f"{measure.name}_{side}"] for side in ("reference", "alternative")]
        difference = measure.shown(row[f"{measure.name}_difference"], units=units, signed=True)
        shown = [measure.shown(value, units=units) for value in values]
        sow = f"{row['sow']}, replicate {row['replicate']}"
        table.add_row(sow, row["parity_class"], str(row["total_born"]), *shown, difference)
    return table


@click.command()
@options.run_options
@click.option("--reference", help="The alternative that the others are compared with.")
@click.option(
    "--output", "outputs", multiple=True, help="An output to measure; may be given again. See `farrowtide outputs`."
)
@click.option("--case", "cases", multiple=True, help="One of the file's cases; may be given again; default: all.")
@click.option("--out", type=click.Path(file_okay=False, path_type=Path), help="Folder for the table (CSV).")
def pairing(
    asked: options.Asked,
    reference: str | None,
    outputs: tuple[str, ...],
    cases: tuple[str, ...],
    out: Path | None,
) -> None:
    """Measure what it is worth that the alternatives of the scenario in FILE meet the same animals.

    Runs every difference in three ways: the same seed with draws by address, the same seed with one stream of
    random numbers, and independent seeds.

    \b
    JSON: provenance{}, reference, table[].{case, alternative, reference, output, unit, n, variance_keyed,
    variance_one_stream, variance_independent, factor_independent, factor_one_stream,
    factor_one_stream_independent (each with _low, _high)}.
    """
    from farrowtide.results.pairing import pairing_table

    scenario = asked.scenario()
    with printing.progress("measuring", asked.quiet) as tell:
        found = pairing_table(
            scenario,
            replications=asked.replications,
            seed=asked.seed,
            threads=asked.threads,
            outputs=outputs or None,
            reference=reference,
            cases=cases or None,
            progress=tell,
        )
    if asked.as_json:
        rows = found.table.to_dict(orient="records")
        printing.print_json({"provenance": found.provenance, "reference": found.reference, "table": rows})
    else:
        _print_pairing(found)
    if out:
        found.write(out)
        if not asked.quiet:
            click.echo(f"table: {out}", err=True)


def _print_pairing(found: Any) -> None:
    from farrowtide.report.wording.study import case_title, unit_of_replication

    console = printing.console()
    unit = unit_of_replication(found.scenario)
    labels = {output.name: output.label for output in found.outputs}
    for (case, name), rows in found.table.groupby(["case", "alternative"], sort=False):
        rooms = f"{printing.count(found.replications, unit)}, seed {found.seed}"
        table = printing.table(
            f"{case_title(case)}, {name} against {found.reference}: {rooms}",
            "Output", ">Against\nindependent", f">{found.replications:,} {unit}s say\nas much as", ">Against same seed,\none stream",
        )  # fmt: skip
        for row in rows.to_dict(orient="records"):
            table.add_row(labels[row["output"]], *_pairing_cells(row))
        console.print(table)
    console.print(
        "Variance of the difference without pairing over that with it, with 95 % intervals over "
        f"{unit}s. Independent: another seed. One stream: the same seed, random numbers in the order of asking.",
        highlight=False,
    )


def _pairing_cells(row: dict[str, Any]) -> list[str]:
    from farrowtide.analysis.variance_reduction import shown_factor, shown_number

    factors = [
        "\n".join(filter(None, shown_factor(*(row[f"factor_{way}{end}"] for end in ("", "_low", "_high")))))
        for way in ("independent", "one_stream")
    ]
    return [factors[0], shown_number(row["n"], row["factor_independent"]), factors[1]]


COMMANDS = (each_sow, pairing)
