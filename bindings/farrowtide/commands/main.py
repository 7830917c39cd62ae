"""The command line.

Results go to standard output, everything else to standard error. pandas and matplotlib are loaded only by the commands
that need them, so that --help is quick.
"""

from __future__ import annotations

import errno
import io
import traceback
import warnings
from typing import Any

import click

from farrowtide.commands import comparing, labour, pairing, picking, printing, reproducing, running, scenarios, sweeping
from farrowtide.commands.exit_codes import EXIT_INTERNAL, EXIT_INTERRUPTED, EXIT_MISTAKE
from farrowtide.errors import PlausibilityWarning, ScenarioError, UserError


class _Commands(click.Group):
    """Turns what a command raises into a message and an exit code; only internal errors print a traceback."""

    def invoke(self, context: click.Context) -> Any:
        printing.write_any_text()
        try:
            with warnings.catch_warnings():
                warnings.showwarning = _show_warning
                return super().invoke(context)
        except ScenarioError as error:
            scenarios.print_mistakes(error.mistakes)
            context.exit(EXIT_MISTAKE)
        except UserError as error:
            printing.echo(f"error: {error}", err=True)
            context.exit(EXIT_MISTAKE)
        except PlausibilityWarning as warning:
            for text in (str(warning), *getattr(warning, "__notes__", ())):
                printing.echo(f"error (--strict): {text}", err=True)
            context.exit(EXIT_MISTAKE)
        except KeyboardInterrupt as interrupt:
            printing.echo(str(interrupt) or "interrupted", err=True)
            context.exit(EXIT_INTERRUPTED)
        except OSError as error:
            if error.errno == errno.EPIPE:
                raise
            printing.echo(f"error: {error}", err=True)
            context.exit(EXIT_MISTAKE)
        except UnicodeError as error:
            printing.echo(f"error: an argument or a file holds what is not Unicode text: {error}", err=True)
            context.exit(EXIT_MISTAKE)
        except click.ClickException as error:
            shown = io.StringIO()
            error.show(shown)
            printing.echo(shown.getvalue(), err=True, nl=False)
            context.exit(error.exit_code)
        except (click.exceptions.Exit, click.Abort):
            raise
        except Exception:
            printing.echo(f"internal error, please report it with the following:\n{traceback.format_exc()}", err=True)
            context.exit(EXIT_INTERNAL)


def _show_warning(
    message: Warning | str,
    category: type[Warning],
    filename: str,
    lineno: int,
    file: Any = None,
    line: str | None = None,
) -> None:
    printing.echo(f"warning: {message}", err=True)


def _version(context: click.Context, _: click.Parameter, requested: bool) -> None:
    if requested:
        from farrowtide.engine import provenance

        engine = provenance.engine()
        printing.echo(
            f"farrowtide {engine['engine_version']}, results version {engine['results_version']}, "
            f"coefficients {engine['coefficient_hash']}, commit {engine['commit']}"
        )
        context.exit()


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.option(
    "--version",
    is_flag=True,
    callback=_version,
    expose_value=False,
    is_eager=True,
    help="Print the versions of engine, results and coefficients.",
)
def main() -> None:
    """Simulate farrowing rooms and compare policies on the same animals.

    A model, not advice: decide with the herd veterinarian and under local rules.
    """


for command in (
    *scenarios.COMMANDS,
    *running.COMMANDS,
    *labour.COMMANDS,
    *comparing.COMMANDS,
    *sweeping.COMMANDS,
    *picking.COMMANDS,
    *pairing.COMMANDS,
    *reproducing.COMMANDS,
):
    main.add_command(command)
