"""Commands for students and teachers: `lessons`, `check-homework`."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import TYPE_CHECKING

import click

from farrowtide.commands import printing
from farrowtide.commands.exit_codes import EXIT_DIFFERS
from farrowtide.inert_text import visible_line

if TYPE_CHECKING:
    from farrowtide.teaching.homework import Homework


@click.command()
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    required=True,
    help="Folder to write into. A file that is there already is kept.",
)
def lessons(out: Path) -> None:
    """Write the lessons, the homework and the scenarios that they use into a folder of your own.

    A lesson is a Python file with cells, and a notebook (.ipynb) beside it where jupytext is installed.
    """
    from farrowtide.teaching.lessons import copy_lessons

    copied = copy_lessons(out)
    for file in copied.kept:
        printing.message(f"kept: {visible_line(str(file))} (it differs from that of this version)")
    printing.message(f"lessons: {visible_line(str(out))} ({printing.count(len(copied.written), 'file')} written)")
    opened = "first_room.ipynb" if copied.paired else "first_room.py"
    printing.message(
        f"next: open {visible_line(shlex.quote(str(out / opened)))} in Jupyter or in an editor with notebooks"
    )
    if not copied.paired:
        printing.message(
            "hint: `pip install 'farrowtide[notebooks]'` and the same command again add notebooks (.ipynb)"
        )
    printing.message(
        f"homework: answer {visible_line(shlex.quote(str(out / 'homework')))}/*.py, then `farrowtide check-homework FILE`"
    )


@click.command("check-homework")
@click.argument("file", type=click.Path(exists=True, dir_okay=False))
@click.option(
    "--json", "as_json", is_flag=True, help="Print JSON: file, assignment, right, questions[].{name, status, hint}."
)
@click.pass_context
def check_homework(context: click.Context, file: str, as_json: bool) -> None:
    """Judge the answers in FILE, a homework of `farrowtide lessons` (.py, or .ipynb), against the model.

    Each is right, not yet, or not answered, with a hint. Nothing in FILE is run: an answer is a value, not a formula. FILE
    may also be a JSON object of `assignment` and the answers. Exit code 3: not all answers are right.
    """
    from farrowtide.teaching.homework import check_homework as check

    with printing.waiting("simulating", as_json):
        homework = check(file)
    if as_json:
        printing.print_json(homework.in_plain_values())
    else:
        _print_judged(homework)
    if not homework.right:
        context.exit(EXIT_DIFFERS)


def _print_judged(homework: Homework) -> None:
    for judged in homework.questions:
        hint = f". {judged.hint}" if judged.hint else ""
        printing.echo(visible_line(f"{judged.name}: {judged.status}{hint}"))
    right = sum(judged.status == "right" for judged in homework.questions)
    printing.echo(visible_line(f"{homework.file}: {right} of {len(homework.questions)} right"))


COMMANDS = (lessons, check_homework)
