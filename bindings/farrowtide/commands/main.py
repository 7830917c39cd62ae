"""The command line.

Results go to standard output, everything else to standard error. pandas and matplotlib are loaded only by the commands
that need them, so that --help is quick.
"""

from __future__ import annotations

import contextlib
import errno
import io
import os
import sys
import traceback
import warnings
from collections.abc import Sequence
from typing import Any

import click

from farrowtide.commands import (
    calibrating,
    comparing,
    environment,
    labour,
    pairing,
    parts,
    picking,
    printing,
    protocol,
    records,
    replaying,
    reproducing,
    running,
    scenarios,
    story,
    suggesting,
    sweeping,
    teaching,
    watching,
)
from farrowtide.commands.exit_codes import EXIT_INTERNAL, EXIT_INTERRUPTED, EXIT_MISTAKE
from farrowtide.errors import FileError, PlausibilityWarning, ScenarioError, UserError, in_plain_values
from farrowtide.inert_text import visible_line

_ARGUMENTS = "farrowtide.arguments"
_LATEST = 253_402_300_799  # the last second of the year 9999, after which libraries have no dates


class _Commands(click.Group):
    """Turns what a command raises into a message and an exit code; only internal errors print a traceback.

    With --json, errors of the user are also a JSON object on standard output: errors[].{source, line, column, key,
    value, problem, allowed, suggestion}, in which all but `problem` are null where they do not apply.
    """

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,
        **extra: Any,
    ) -> Any:
        """As click's, which ends the program, but Ctrl-C has its own exit code wherever it comes."""
        run = super().main
        if not standalone_mode:
            return run(args, prog_name, complete_var, False, **extra)
        try:
            sys.exit(run(args, prog_name, complete_var, False, **extra) or 0)
        except click.ClickException as error:
            error.show()
            sys.exit(error.exit_code)
        except click.Abort:
            printing.message("interrupted: nothing is kept")
            sys.exit(EXIT_INTERRUPTED)

    def parse_args(self, context: click.Context, args: list[str]) -> list[str]:
        context.meta[_ARGUMENTS] = tuple(args)
        return super().parse_args(context, args)

    def invoke(self, context: click.Context) -> Any:
        printing.write_any_text()
        printing.forget_unusable_sizes()
        try:
            _require_a_time_in("SOURCE_DATE_EPOCH")
            with warnings.catch_warnings():
                warnings.showwarning = _show_warning
                return super().invoke(context)
        except ScenarioError as error:
            scenarios.print_mistakes(error.mistakes)
            scenarios.print_hints(error.mistakes, given_policies="--policies" in context.meta[_ARGUMENTS])
            _print_errors(context, [in_plain_values(mistake) for mistake in error.mistakes])
            context.exit(EXIT_MISTAKE)
        except FileError as error:
            scenarios.print_mistakes(error.mistakes)
            _print_errors(context, [in_plain_values(mistake) for mistake in error.mistakes])
            context.exit(EXIT_MISTAKE)
        except UserError as error:
            printing.message(f"error: {error}")
            _print_errors(context, [in_plain_values(str(error))])
            context.exit(EXIT_MISTAKE)
        except PlausibilityWarning as warning:
            texts = [str(warning), *getattr(warning, "__notes__", ())]
            for text in texts:
                printing.message(f"error (--strict): {text}")
            if warning.finished is None:
                _print_errors(context, [in_plain_values(text) for text in texts])
            context.exit(EXIT_MISTAKE)
        except KeyboardInterrupt as interrupt:
            printing.message(str(interrupt) or "interrupted: nothing is kept")
            context.exit(EXIT_INTERRUPTED)
        except OSError as error:
            if error.errno == errno.EPIPE:
                raise
            said = f"{error.filename}: {error.strerror}" if error.filename and error.strerror else str(error)
            if error.errno == errno.ENOENT and not error.filename:
                said = "the current folder is not there any more; change to another"
            printing.message(f"error: {said}")
            _print_errors(context, [in_plain_values(said)])
            context.exit(EXIT_MISTAKE)
        except MemoryError:
            said = "there is not enough memory for this; ask for fewer replications"
            printing.message(f"error: {said}")
            _print_errors(context, [in_plain_values(said)])
            context.exit(EXIT_MISTAKE)
        except UnicodeError as error:
            said = f"an argument or a file holds what is not Unicode text: {error}"
            printing.message(f"error: {said}")
            _print_errors(context, [in_plain_values(said)])
            context.exit(EXIT_MISTAKE)
        except click.ClickException as error:
            said = suggesting.message_of(error)
            _print_errors(context, [in_plain_values(said)])
            shown = io.StringIO()
            error.show(shown)
            text = shown.getvalue().replace(error.format_message(), visible_line(said))
            printing.echo(text, err=True, nl=False)
            context.exit(error.exit_code)
        except (click.exceptions.Exit, click.Abort):
            raise
        except Exception as error:
            if _came_of_an_interrupt(error):
                printing.message("interrupted; a study folder keeps its finished blocks")
                context.exit(EXIT_INTERRUPTED)
            printing.echo(f"internal error, please report it with the following:\n{traceback.format_exc()}", err=True)
            context.exit(EXIT_INTERNAL)


def _came_of_an_interrupt(error: BaseException | None) -> bool:
    """Whether it was raised while Ctrl-C was on its way up, as by a lock of the standard library that is not held yet."""
    while error is not None:
        if isinstance(error, KeyboardInterrupt):
            return True
        error = error.__context__
    return False


def _require_a_time_in(variable: str) -> None:
    """Raises UserError where an environment variable that libraries read when they are loaded holds no time."""
    text = os.environ.get(variable)
    try:
        usable = text is None or 0 <= int(text) <= _LATEST
    except ValueError:
        usable = False
    if not usable:
        raise UserError(
            f"the environment variable {variable} is '{text}': it must be a whole number of seconds since 1970; "
            "change or unset it"
        )


def _show_warning(
    message: Warning | str,
    category: type[Warning],
    filename: str,
    lineno: int,
    file: Any = None,
    line: str | None = None,
) -> None:
    printing.message(f"warning: {message}")


def _print_errors(context: click.Context, errors: list[dict[str, Any]]) -> None:
    """Where standard output takes nothing, the message on standard error and the exit code have said it."""
    with contextlib.suppress(OSError):
        if "--json" in context.meta[_ARGUMENTS]:
            printing.print_json({"errors": errors})
    printing.forget_what_cannot_be_written()


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
    *calibrating.COMMANDS,
    *labour.COMMANDS,
    *story.COMMANDS,
    *comparing.COMMANDS,
    *parts.COMMANDS,
    *sweeping.COMMANDS,
    *picking.COMMANDS,
    *pairing.COMMANDS,
    *protocol.COMMANDS,
    *replaying.COMMANDS,
    *records.COMMANDS,
    *watching.COMMANDS,
    *reproducing.COMMANDS,
    *teaching.COMMANDS,
    *environment.COMMANDS,
):
    main.add_command(command)
