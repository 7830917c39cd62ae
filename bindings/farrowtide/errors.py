"""The errors and warnings that users see, and suggestions for misspelt names."""

from __future__ import annotations

import difflib
import sys
import warnings
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from farrowtide._core import InternalError, Mistake, ScenarioError, UserError

__all__ = [
    "FileError",
    "FileMistake",
    "InternalError",
    "Mistake",
    "PlausibilityWarning",
    "ScenarioError",
    "UserError",
    "did_you_mean",
    "emit",
    "in_plain_values",
    "quoted",
]


_LONGEST_EXCERPT = 400  # characters of a line, as in `Mistake`


class PlausibilityWarning(UserWarning):
    """What a user should know before trusting a number: in a scenario before it is run, or in a result.

    `kind` is its name in the list of warnings; `place` is "FILE:LINE: key = value", or what it is about; `problem`
    says what is wrong, with a number; `advice` what to do; `where` names the alternatives and cases it is limited to.
    Turned into an error (`warnings.simplefilter("error", PlausibilityWarning)`), a warning about a scenario is raised
    before anything runs, and one about a result holds that result as `finished`.
    """

    def __init__(
        self, kind: str, place: str, problem: str, advice: str, where: Iterable[str] = (), finished: Any = None
    ) -> None:
        self.kind, self.place, self.problem, self.advice = kind, place, problem, advice
        self.where = tuple(where)
        self.finished = finished
        super().__init__(kind, place, problem, advice, self.where, finished)

    def __str__(self) -> str:
        within = f" [{listed_names(self.where)}]" if self.where else ""
        return f"{self.place}{within}: {self.problem}. {self.advice}"

    def __eq__(self, other: object) -> bool:
        return isinstance(other, PlausibilityWarning) and self.args[:5] == other.args[:5]

    def __hash__(self) -> int:
        return hash(self.args[:5])

    def in_plain_values(self) -> dict[str, Any]:
        """As JSON holds it."""
        return {
            "kind": self.kind,
            "place": self.place,
            "problem": self.problem,
            "advice": self.advice,
            "where": list(self.where),
        }


@dataclass(frozen=True, order=True)
class FileMistake:
    """A mistake in a file that the engine does not read, and its place; the same members as `Mistake`."""

    source: str
    line: int  # from 1; 0: none
    column: int
    key: str
    value: str
    problem: str
    allowed: str = ""
    suggestion: str = ""
    excerpt: str = ""

    def __str__(self) -> str:
        place = f"{self.source}:{self.line}:{self.column}" if self.line else self.source
        subject = " = ".join(filter(None, (self.key, self.value)))
        allowed = f" ({self.allowed})" if self.allowed else ""
        suggested = f" Did you mean {self.suggestion}?" if self.suggestion else ""
        return f"{place}: {subject}{': ' if subject else ''}{self.problem}{allowed}.{suggested}"

    def with_excerpt(self) -> str:
        """The same with the line below, and a mark below its place."""
        if not self.line or not 0 < len(self.excerpt) <= _LONGEST_EXCERPT:
            return str(self)
        number, before = str(self.line), " " * max(0, self.column - 1)
        return f"{self}\n  {number} | {self.excerpt}\n  {' ' * len(number)} | {before}^"


class FileError(UserError):
    """A file that a user wrote has mistakes; `mistakes` lists all of them."""

    def __init__(self, mistakes: Iterable[FileMistake]) -> None:
        self.mistakes = tuple(sorted(set(mistakes)))
        super().__init__("\n".join(map(str, self.mistakes)))


def emit(issued: Iterable[PlausibilityWarning], *, finished: Any = None) -> None:
    """Issues these as Python warnings. If a filter makes errors of them, the first is raised with all as its notes.

    `finished` is the result that they are about; it is not lost.
    """
    raised: list[PlausibilityWarning] = []
    for warning in issued:
        try:
            warnings.warn(warning, stacklevel=_frames_to_the_caller())
        except PlausibilityWarning as error:
            raised.append(error)
    if raised:
        first = raised[0]
        for warning in raised[1:]:
            first.add_note(str(warning))
        first.finished = finished
        raise first


def _frames_to_the_caller() -> int:
    """How many frames above whoever asks the first is that does not belong to this package."""
    package = __name__.partition(".")[0]
    frame, frames = sys._getframe(1), 1
    while frame.f_back is not None and frame.f_globals.get("__name__", "").partition(".")[0] == package:
        frame, frames = frame.f_back, frames + 1
    return frames


def quoted(names: Iterable[str]) -> str:
    """Returns names for a message, each in quotation marks, because names may hold commas; each once."""
    return ", ".join(f"'{name}'" for name in dict.fromkeys(names))


def in_plain_values(error: Mistake | FileMistake | str) -> dict[str, Any]:
    """Returns a mistake as JSON holds it; of an error that is only a text, the text is the problem."""
    keys = ("source", "line", "column", "key", "value", "problem", "allowed", "suggestion")
    if isinstance(error, str):
        return dict.fromkeys(keys) | {"problem": error}
    return {key: getattr(error, key) for key in keys}


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """Returns " Did you mean 'x'?" with the closest of the known names, or "" if none is similar."""
    nearest = difflib.get_close_matches(word, list(known), n=1)
    return f" Did you mean '{nearest[0]}'?" if nearest else ""


def unknown_name(kind: str, name: str, known: Iterable[str]) -> UserError:
    """The error that no `kind` ("case", "alternative") has this name, with all that there are and the closest of them."""
    names = list(known)
    there = f"{kind}s: {quoted(names)}" if names else f"there are no {kind}s"
    return UserError(f"no {kind} is called '{name}' ({there}).{did_you_mean(name, names)}")


def listed_names(names: Iterable[str]) -> str:
    """Names in a list: "2 feeds, 3 feeds"; each in quotation marks where one of them holds a comma."""
    each = list(names)
    return quoted(each) if any("," in name for name in each) else ", ".join(each)
