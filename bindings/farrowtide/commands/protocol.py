"""Commands that write what is to be printed: `protocol` and `sheets`."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from farrowtide.commands import printing
from farrowtide.commands.options import case_option, out_option, policies_option, reference_alternative, units_option

if TYPE_CHECKING:
    from farrowtide.report.protocol.document import Protocol
    from farrowtide.report.protocol.sheets import Sheets
    from farrowtide.scenarios.scenario import Scenario

Command = Callable[..., Any]
_OPTIONS = (
    click.argument("file", type=click.Path(exists=True, dir_okay=False)),
    click.option("--alternative", help="One of the file's alternatives; default: its reference."),
    case_option,
    click.option(
        "--set", "changes", multiple=True, metavar="KEY=VALUE", help="Change the value of a dotted key; repeatable."
    ),
    policies_option,
    click.option(
        "--language",
        type=click.Path(exists=True, dir_okay=False, path_type=Path),
        help="A file of phrases in another language; --phrases prints the English ones to start from.",
    ),
    units_option,
    click.option("--date", default="", metavar="TEXT", help="Date printed on it; default: a blank."),
    click.option("--document-version", "version", default="", metavar="TEXT", help="Its version; default: a blank."),
    out_option("the page as HTML and Markdown; without it, Markdown is printed"),
    click.option("--json", "as_json", is_flag=True, help="Print JSON on standard output."),
)


def _print_phrases(context: click.Context, _: click.Parameter, requested: bool) -> None:
    if requested:
        from farrowtide.report.protocol.phrases import text_of

        printing.echo(text_of("english.yaml"), nl=False)
        context.exit()


def _options(command: Command) -> Command:
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


@click.command()
@_options
@click.option(
    "--phrases",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_print_phrases,
    help="Print the file of English phrases, to translate it.",
)
def protocol(
    file: str,
    alternative: str | None,
    case: str | None,
    changes: tuple[str, ...],
    policies: tuple[str, ...],
    language: Path | None,
    asked_units: str,
    date: str,
    version: str,
    out: Path | None,
    as_json: bool,
) -> None:
    """Write the protocol in FILE as a document to approve and follow, each line with the keys that it comes from.

    What the file does not decide is a blank to fill in. Nothing is simulated. A draft for the herd veterinarian and the
    manager, not advice.
    """
    from farrowtide.report.protocol.document import protocol as written

    scenario = _chosen(file, alternative, case, changes, policies)
    _deliver(
        written(scenario, language=language, units=asked_units, date=date, version=version),
        out,
        as_json=as_json,
    )


@click.command()
@_options
@click.option(
    "--herd",
    type=click.Choice(["example", "blank"]),
    default="example",
    help="Sows of one simulated room, or those under herd.sows (example, the default), or none (blank).",
)
@click.option(
    "--day", "days", multiple=True, type=int, help="Day of the group (negative: before due); repeatable. Default: all."
)
@click.option(
    "--part",
    "parts",
    multiple=True,
    type=click.Choice(["days", "cards", "audit"]),
    help="Sheets of days, crate cards or the audit sheet; repeatable. Default: all.",
)
def sheets(
    file: str,
    alternative: str | None,
    case: str | None,
    changes: tuple[str, ...],
    policies: tuple[str, ...],
    language: Path | None,
    asked_units: str,
    date: str,
    version: str,
    out: Path | None,
    as_json: bool,
    herd: str,
    days: tuple[int, ...],
    parts: tuple[str, ...],
) -> None:
    """Write the sheets of a room in FILE: one for each day of the group, a card for each crate, an audit of 20 minutes.

    A draft for the herd veterinarian and the manager, not advice.
    """
    from farrowtide.report.protocol.sheets import PARTS
    from farrowtide.results.sheets import sheets as written

    scenario = _chosen(file, alternative, case, changes, policies)
    made = written(
        scenario,
        herd=herd,
        days=days or None,
        parts=parts or PARTS,
        language=language,
        units=asked_units,
        date=date,
        version=version,
    )
    _deliver(made, out, as_json=as_json)


def _chosen(
    file: str, alternative: str | None, case: str | None, changes: tuple[str, ...], policies: tuple[str, ...]
) -> Scenario:
    from farrowtide.commands.options import changes_of
    from farrowtide.scenarios.scenario import load

    scenario = load(file, policies=policies)
    name = alternative or reference_alternative(scenario)
    scenario = scenario.case(case) if case else scenario
    scenario = scenario.alternative(name) if name else scenario
    return (
        scenario.override(changes_of(changes)) if changes else scenario
    )  # last: a page to be signed says what was asked


def _deliver(document: Protocol | Sheets, out: Path | None, *, as_json: bool) -> None:
    if out is not None:
        for file in document.write(out):
            printing.message(f"written: {file}")
    if as_json:
        printing.print_json(document.in_plain_values())
    elif out is None:
        printing.echo(document.markdown, nl=False)


COMMANDS = (protocol, sheets)
