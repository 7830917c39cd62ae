"""The calibration file: the levels and coefficients of a farm, found from its records, with draws of what they may be.

The file is written by `farrowtide.calibrate`; anybody may have changed it since, so it is checked like any other.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationError
from ruamel.yaml.comments import CommentedMap, CommentedSeq

from farrowtide import _core, yaml_documents
from farrowtide.errors import FileError, FileMistake, UserError
from farrowtide.inert_text import visible_line
from farrowtide.own_files import Record, read_text
from farrowtide.scenarios.declarations import declaration, visit

MOST_DRAWS = 10_000
_MOST_PARAMETERS = 100
_LONGEST_VALUE = 60  # characters of a wrong value in a message
_LEVEL = re.compile(r"herd\.[a-z_]+_level")

Finite = Annotated[float, Field(allow_inf_nan=False)]
Text = Annotated[str, Field(max_length=400)]


class RecordsOf(Record):
    """The records that a calibration was made from."""

    hash: Annotated[str, Field(pattern="^[0-9a-f]{16}$")]
    farrowings: Annotated[int, Field(ge=1)]
    farrowings_used: Annotated[int, Field(ge=1)]
    days: Annotated[int, Field(ge=0)]
    groups_used: list[Text]
    groups_kept_aside: list[Text]


class DrawsOf(Record):
    """Equally likely values of the parameters, each draw in the order of the names."""

    names: Annotated[list[Text], Field(min_length=1, max_length=_MOST_PARAMETERS)]
    draws: Annotated[list[list[Finite]], Field(min_length=1, max_length=MOST_DRAWS)]


class Verdict(Record):
    """A statistic of the groups kept aside, and the range in which the calibrated model has it in 95 of 100 farms."""

    statistic: Text
    unit: Text
    recorded: Finite
    low: Finite
    high: Finite
    inside: bool


class CalibrationFile(Record):
    """A calibration file."""

    calibration: Literal[1]
    made_by: Text  # version of the engine and of its results
    scenario: Text
    scenario_hash: Text
    seed: Annotated[int, Field(ge=0, lt=2**64)]
    records: RecordsOf
    levels: dict[str, Finite]
    coefficients: dict[str, Finite | list[Finite]]
    posterior: DrawsOf
    kept_aside: list[Verdict]


class Calibrated:
    """A calibration file that was read: `names` of the parameters, `draws` (one list each), levels and coefficients."""

    def __init__(self, file: CalibrationFile, source: str, text: str) -> None:
        self.file = file
        self.source = source
        self.hash = hashlib.sha256(text.encode()).hexdigest()[:16]

    @property
    def names(self) -> list[str]:
        """The parameters that were moved; of a table, each of its entries."""
        return self.file.posterior.names

    @property
    def draws(self) -> list[list[float]]:
        """Equally likely values of them, a list for each draw."""
        return self.file.posterior.draws

    @property
    def levels(self) -> dict[str, float]:
        """The levels of the herd."""
        return self.file.levels

    @property
    def coefficients(self) -> dict[str, float | list[float]]:
        """The coefficients that were moved, tables as a whole."""
        return self.file.coefficients

    @property
    def origin(self) -> dict[str, Any]:
        """What a provenance says of it."""
        of = self.file.records
        return {"file": self.source, "hash": self.hash, "records": of.hash, "farrowings": of.farrowings}

    def __repr__(self) -> str:
        return f"<Calibration of {len(self.levels)} levels and {len(self.coefficients)} coefficients, {self.hash}>"


def text_of(file: str) -> str:
    """The text of a calibration file. Raises UserError where it cannot be read or is no text."""
    return read_text(Path(file))


@lru_cache(maxsize=8)
def read(text: str, source: str) -> Calibrated:
    """The calibration in a text read from `source`. Raises FileError with every mistake and its place."""
    written = _Written(text, visible_line(source))
    if not isinstance(written.plain, dict) or "calibration" not in written.plain:
        raise UserError(f"{visible_line(source)}: is no calibration file, as `farrowtide calibrate` writes one")
    try:
        file = CalibrationFile.model_validate(written.plain)
    except ValidationError as error:
        raise FileError(written.mistake(each["loc"], each["msg"]) for each in error.errors(include_url=False)) from None
    if mistakes := list(_mistakes(file, written)):
        raise FileError(mistakes)
    return Calibrated(file, source, text)


def _mistakes(file: CalibrationFile, written: _Written) -> Iterator[FileMistake]:
    """What a schema cannot say: that names are known, and tables of the right length."""
    coefficients = _core.Coefficients.built_in()
    levels = {path: key for key, path, _ in visit(declaration().keys) if _LEVEL.fullmatch(path)}
    for name, level in file.levels.items():
        if name not in levels:
            nearest = _core.closest(name, list(levels))
            yield written.mistake(("levels", name), "is not a level of a herd", suggestion=nearest)
        elif not _within(levels[name], level):
            allowed = f"{levels[name].low:g} to {levels[name].high:g}"
            yield written.mistake(("levels", name), "is outside the range", allowed)
    for path, value in file.coefficients.items():
        if not coefficients.has(path):
            nearest = _core.closest(path, coefficients.paths)
            yield written.mistake(("coefficients", path), "is not a coefficient", suggestion=nearest)
            continue
        found = coefficients.find(path)
        numbers = value if isinstance(value, list) else [value]
        entries, given = len(found.value), len(numbers)
        if entries != given:
            yield written.mistake(("coefficients", path), f"has {given} values", f"{entries} values")
        elif not all(low <= number <= high for low, number, high in zip(found.low, numbers, found.high, strict=True)):
            allowed = ", ".join(f"{low:g} to {high:g}" for low, high in zip(found.low, found.high, strict=True))
            yield written.mistake(("coefficients", path), "is outside the range", allowed)
    known = {*file.levels, *file.coefficients}
    for i, name in enumerate(file.posterior.names):
        if name.partition("[")[0] not in known:
            yield written.mistake(("posterior", "names", i), "is neither among the levels nor the coefficients")
    for i, draw in enumerate(file.posterior.draws):
        if len(draw) != len(file.posterior.names):
            problem = f"has {len(draw)} values"
            yield written.mistake(("posterior", "draws", i), problem, f"{len(file.posterior.names)}, one for each name")


def _within(level: _core.Declaration, value: float) -> bool:
    return (level.low is None or level.low <= value) and (level.high is None or value <= level.high)


class _Written:
    """The file as it was written, for messages about places in it."""

    def __init__(self, text: str, name: str) -> None:
        self._lines = text.splitlines()
        self._name = name
        try:
            self._document = yaml_documents.document(text)
        except yaml_documents.YamlError as error:
            raise FileError([self._at(error.line, error.column, "", error.problem)]) from None

    @property
    def plain(self) -> Any:
        return _plain(self._document)

    def mistake(
        self, path: tuple[str | int, ...], problem: str, allowed: str = "", suggestion: str = ""
    ) -> FileMistake:
        node, place, walked = self._document, (0, 0), []
        for key in path:
            try:
                line, column = node.lc.value(key) if isinstance(node, CommentedMap) else node.lc.item(key)
                node, place = node[key], (line + 1, column + 1)
            except (AttributeError, KeyError, IndexError, TypeError):
                break
            walked.append(str(key))
        value = "" if isinstance(node, (CommentedMap, CommentedSeq)) else f"{node!s:.{_LONGEST_VALUE}}"
        missing = [str(key) for key in path if isinstance(key, (str, int))][len(walked) : len(walked) + 1]
        named = ".".join([*walked, *missing]) if problem == "Field required" else ".".join(walked)
        return self._at(*place, visible_line(named), problem, visible_line(value), allowed, suggestion)

    def _at(
        self, line: int, column: int, key: str, problem: str, value: str = "", allowed: str = "", suggestion: str = ""
    ) -> FileMistake:
        excerpt = visible_line(self._lines[line - 1]) if 0 < line <= len(self._lines) else ""
        return FileMistake(self._name, line, column, key, value, visible_line(problem), allowed, suggestion, excerpt)


def _plain(node: Any) -> Any:
    """Plain lists, mappings, numbers and texts; those of the reader remember how they were written."""
    if isinstance(node, CommentedMap):
        return {str(key): _plain(value) for key, value in node.items()}
    if isinstance(node, CommentedSeq):
        return [_plain(value) for value in node]
    for kind in (bool, int, float, str):
        if isinstance(node, kind):
            return kind(node)
    return node
