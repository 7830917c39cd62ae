"""Reads files that farrowtide wrote itself. Anybody may have changed them since: each is checked against a schema."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated, Any, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from farrowtide.errors import UserError
from farrowtide.inert_text import visible
from farrowtide.whole_files import read_bytes

_LONGEST_VALUE = 60  # characters of a wrong value in a message
_REMEDY = "the file is damaged or was changed by hand: restore it, or make it again"


class Record(BaseModel):
    """A mapping in a file: every key that is declared and no other, each value of exactly its type."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


Seed = Annotated[int, Field(ge=0, lt=2**64)]
Count = Annotated[int, Field(ge=0, lt=2**31)]
Checked = TypeVar("Checked", bound=BaseModel)


def read_text(file: Path) -> str:
    """The text of a file. Raises UserError where it cannot be read as in `whole_files` or is not UTF-8."""
    try:
        return read_bytes(file).decode("utf-8")
    except UnicodeDecodeError as error:
        raise UserError(f"{file}: byte {error.start:,} is not UTF-8 text; {_REMEDY}") from None


def json_in(text: str, file: Path, remedy: str = _REMEDY) -> Any:
    """The JSON value of a text read from `file`. Raises UserError with the line and column where it is not JSON.

    `remedy`: what an error tells the user to do.
    """
    try:
        return json.loads(text, object_pairs_hook=_without_repeats)
    except _RepeatedError as error:
        raise UserError(f"{file}: the key '{visible(str(error)):.{_LONGEST_VALUE}}' is there twice; {remedy}") from None
    except json.JSONDecodeError as error:
        raise UserError(f"{file}:{error.lineno}:{error.colno}: is not JSON ({error.msg}); {remedy}") from None
    except (ValueError, RecursionError):
        raise UserError(f"{file}: is nested too deeply or holds too long a number; {remedy}") from None


class _RepeatedError(Exception):
    """A key that an object of JSON has twice, of which a reader may see the one that does not count."""


def _without_repeats(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    values = dict(pairs)
    if len(values) < len(pairs):
        names = [name for name, _ in pairs]
        raise _RepeatedError(next(name for name in names if names.count(name) > 1))
    return values


def checked(kind: type[Checked], value: Any, file: Path, remedy: str = _REMEDY) -> Checked:
    """The JSON value as an object of this kind. Raises UserError, which names the key and says what is wrong there.

    `remedy`: what an error tells the user to do.
    """
    try:
        return kind.model_validate_json(json.dumps(value))
    except RecursionError:
        raise UserError(f"{file}: is nested too deeply; {remedy}") from None
    except ValidationError as error:
        mistakes = error.errors(include_url=False, include_context=False)
        first = mistakes[0]
        key = ".".join(map(str, first["loc"])) or "the whole file"
        given = first["input"]
        shown = "" if isinstance(given, (dict, list)) else f" (given: {visible(repr(given)):.{_LONGEST_VALUE}})"
        others = f" and {len(mistakes) - 1} more" if len(mistakes) > 1 else ""
        message = first["msg"].removeprefix("Value error, ")
        raise UserError(f"{file}: {visible(key)}: {message}{shown}{others}; {remedy}") from None
