"""Suggestions where the command line names what does not exist: a choice of an option, a file."""

from __future__ import annotations

import itertools
import os
import re
from pathlib import Path

import click

from farrowtide.errors import did_you_mean

_NOT_A_CHOICE = re.compile(r"'(?P<given>.*)' is not one of ", re.DOTALL)
_NO_FILE = re.compile(r"\w+ '(?P<given>.*)' does not exist\.", re.DOTALL)
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
    if match := _NO_FILE.fullmatch(error.message):
        return said + _file_like(Path(match["given"]))
    return said


def _file_like(path: Path) -> str:
    try:
        with os.scandir(path.parent) as entries:
            names = [entry.name for entry in itertools.islice(entries, _MOST_FILES)]
    except (OSError, ValueError):
        return ""
    return did_you_mean(str(path), [str(path.with_name(name)) for name in names]) if path.name else ""
