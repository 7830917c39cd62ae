"""Suggestions where the command line names what does not exist: a choice of an option, a file."""

from __future__ import annotations

import difflib
import itertools
import os
import re
from pathlib import Path

import click

from farrowtide.errors import did_you_mean

_NOT_A_CHOICE = re.compile(r"'(?P<given>.*)' is not one of ", re.DOTALL)
_NO_FILE = re.compile(r"\w+ '(?P<given>.*)' does not exist\.", re.DOTALL)
_OF_ANOTHER_TYPE = re.compile(
    r"(?P<given>'.*') (?:does not match the format '(?P<format>.*)'|is not a valid (?P<type>integer|float)( range)?)\.",
    re.DOTALL,
)
_NEEDED = {
    "%Y-%m-%d": "is not a day (year-month-day, as in 2026-01-30).",
    "integer": "is not a whole number, in digits alone.",
    "float": "is not a number, with a decimal point.",
}
_MOST_FILES = 10_000  # of a folder that are looked at


def message_of(error: click.ClickException) -> str:
    """The message of a command line that cannot be used, with the name that may be meant."""
    said = error.format_message()
    if isinstance(error, click.MissingParameter):
        return " ".join(said.split())
    if not isinstance(error, click.BadParameter):
        return said
    if (match := _NOT_A_CHOICE.match(error.message)) and isinstance(getattr(error.param, "type", None), click.Choice):
        return said + did_you_mean(match["given"], map(str, error.param.type.choices))  # type: ignore[union-attr]
    if match := _OF_ANOTHER_TYPE.fullmatch(error.message):
        needed = _NEEDED.get(match["type"] or match["format"])
        return said.replace(error.message, f"{match['given']} {needed}") if needed else said
    if match := _NO_FILE.fullmatch(error.message):
        return said + _file_like(Path(match["given"]))
    return said


def _file_like(path: Path) -> str:
    try:
        with os.scandir(path.parent) as entries:
            names = [entry.name for entry in itertools.islice(entries, _MOST_FILES)]
    except (OSError, ValueError):
        return ""
    if not path.name:
        return ""
    # By their stems: what all of them have in common, the folder and often the ending, makes no two names similar.
    of_stem: dict[str, str] = {}
    for name in sorted(names, key=lambda name: (Path(name).suffix != path.suffix, name)):
        of_stem.setdefault(Path(name).stem, name)
    nearest = difflib.get_close_matches(path.stem, of_stem, n=1)
    return f" Did you mean '{path.with_name(of_stem[nearest[0]])}'?" if nearest else ""
