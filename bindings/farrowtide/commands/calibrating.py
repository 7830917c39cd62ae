"""The command `calibrate`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from farrowtide.commands import delivery, printing
from farrowtide.commands.options import RunOptions, case_option, run_options
from farrowtide.errors import UserError

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from rich.console import Console

    from farrowtide.results.calibration import Calibration

_RESULTS = Path("results")


@click.command()
@run_options
@case_option
@click.option(
    "--alternative", help="One of the file's alternatives, as the farm was run; default: the scenario as written."
)
@click.option(
    "--records",
    "farrowings",
    required=True,
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="The farm's farrowings, one row per sow and farrowing (CSV or Excel).",
)
@click.option(
    "--days",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Feed, water and temperature by day; only rows that name a sow are used.",
)
@click.option(
    "--mapping",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="How the columns of these files correspond to the layout; see `farrowtide records`.",
)
@click.option(
    "--move",
    multiple=True,
    metavar="PARAMETER",
    help="A level or coefficient that may move; may be given more than once. Default: the usual ones on which the "
    "records hold something.",
)
@click.option(
    "--keep-aside",
    default="0.2",
    show_default=True,
    metavar="SHARE|GROUP,...",
    help="Share of the groups, the latest, that the fit does not see and is judged by; or names of groups.",
)
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder for calibration.yaml, report.html and tables; default: results/calibration and the file's name.",
)
def calibrate(
    options: RunOptions,
    case: str | None,
    alternative: str | None,
    farrowings: Path,
    days: Path | None,
    mapping: Path | None,
    move: tuple[str, ...],
    keep_aside: str,
    out: Path | None,
) -> None:
    """Find the levels and coefficients with which FILE agrees with a farm's own records.

    FILE, or one of its alternatives, must describe the farm as it was run. --calibration FILE makes another command
    use what was found.

    \b
    JSON: provenance{}, caution, withheld_care{}, warnings[], interrupted, settled, calibration, said[sentence],
    parameters[].{parameter, unit, grade, before, range_low, range_high, estimate, ci_low, ci_high,
    sd_share, known, at_end}, directions[].{sd_share, combination}, statistics[].{statistic, unit,
    fitted, records, recorded, standard_error, before, after, residual, disagrees, kept, kept_low, kept_high,
    kept_inside}.
    """
    from farrowtide.records import read
    from farrowtide.results import calibration as calibrating

    if options.replications is not None:
        raise UserError("calibrate chooses the number of rooms itself: leave out --replications")
    scenario = options.scenario(case=case, alternative=alternative)
    folder = out or _RESULTS / f"calibration_{Path(options.file).stem.strip('.') or 'scenario'}"
    delivery.require_writable(folder)
    records = read(farrowings, days, mapping)
    aside = _aside(keep_aside)

    def simulate(progress: printing.Progress | None, _: Executor | None) -> Calibration:
        return calibrating.calibrate(
            scenario,
            records,
            move=move or None,
            keep_aside=aside,
            seed=options.seed,
            threads=options.threads,
            progress=progress,
        )

    def deliver_found(found: Calibration) -> None:
        written = found.write_report(folder, units=options.units)

        def data() -> dict[str, Any]:
            return _data(found, written)

        def show(screen: Console) -> None:
            _show(screen, found)

        delivery.deliver(
            options, found.provenance, data, show, plausibility=found.warnings, written=("calibration", written)
        )

    delivery.carry_out("calibrating", options, simulate, deliver_found)


def _aside(text: str) -> float | list[str]:
    """The share of --keep-aside, or the names of groups."""
    try:
        return float(text)
    except ValueError:
        return [name.strip() for name in text.split(",") if name.strip()]


def _said(found: Calibration) -> list[str]:
    from farrowtide.report.wording.calibration import in_words

    return in_words(found.parameters, found.statistics, found.stays, len(found.groups_used))


def _data(found: Calibration, written: Path) -> dict[str, Any]:
    return {
        "interrupted": found.interrupted,
        "settled": found.settled,
        "calibration": str(written),
        "said": _said(found),
        "parameters": found.parameters.to_dict(orient="records"),
        "directions": found.directions.to_dict(orient="records"),
        "statistics": found.statistics.drop(columns=["label", "quantity", "decimals"]).to_dict(orient="records"),
    }


def _show(screen: Console, found: Calibration) -> None:
    from farrowtide.report.calibration_page import shown
    from farrowtide.report.wording.cells import rows

    if found.interrupted:
        printing.print_text(screen, "Stopped early: the fit had not settled.", style="bold")
    of = found.file["records"]
    title = f"{found.scenario.title}: fitted to {of['farrowings_used']:,} farrowings"
    table = printing.table(title, "Parameter", ">Before", ">Estimate", ">95 % interval", ">SD ratio", "Known")
    for row in rows(found.parameters):
        interval = f"{row.ci_low:.3g} to {row.ci_high:.3g}"
        cells = (f"{row.before:.3g}", f"{row.estimate:.3g}", interval, f"{row.sd_share:.2f}", str(row.known))
        printing.add_row(table, str(row.parameter), *cells)
    screen.print(table)
    title = "Statistics of the records, and of the groups kept aside"
    table = printing.table(title, "Statistic", ">Recorded", ">Before", ">After", ">SE", ">Kept aside", ">95 % interval")
    for row in rows(found.statistics):
        cell = shown(row)
        mark = "" if not cell["kept"] or cell["inside"] else "*"
        numbers = (
            cell["recorded"],
            cell["before"],
            cell["after"],
            cell["residual"],
            f"{cell['kept']}{mark}",
            cell["interval"],
        )
        printing.add_row(table, f"{row.label} [{row.unit}]", *numbers)
    screen.print(table)
    printing.print_text(
        screen,
        "SD ratio: standard deviation after over that before. SE: residual in standard errors. *: outside its interval.",
    )
    printing.print_sentences(screen, _said(found))


COMMANDS = (calibrate,)
