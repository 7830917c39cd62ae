"""The `repr` of a result, on one line."""

from __future__ import annotations

from collections.abc import Sequence

from farrowtide.outputs.units import count

_LONGEST = 199  # characters
_LONGEST_TITLE = 60
_LONGEST_LIST = 60


def one_line(kind: str, title: str, *facts: str) -> str:
    """ "<Sweep of 'Hand feeds a day': fact; fact>", cut to fewer than 200 characters."""
    text = f"<{kind} of '{_cut(title, _LONGEST_TITLE)}': {'; '.join(facts)}"
    return f"{_cut(text, _LONGEST - 1)}>"


def listed(names: Sequence[str], noun: str) -> str:
    """The names, or only their number where they would make the line too long."""
    text = ", ".join(names)
    return text if len(text) <= _LONGEST_LIST else count(len(names), noun)


def _cut(text: str, length: int) -> str:
    on_one_line = " ".join(text.split())
    return on_one_line if len(on_one_line) <= length else f"{on_one_line[: length - 1]}\N{HORIZONTAL ELLIPSIS}"
