"""Messages about mistakes in a user's own policy, with the file and the line."""

from __future__ import annotations

import inspect
import os
import traceback
from collections.abc import Callable
from pathlib import Path

from farrowtide.inert_text import visible


def error_in(policy: object, method: str, error: BaseException) -> str:
    """The message for an exception raised by a method of a policy."""
    file, _ = _definition(policy, method)
    return visible(f"{place(error, file)}: {_name(policy, method)}: {type(error).__name__}: {said_by(error)}")


def unusable_answer(policy: object, method: str, answer: object, expected: str) -> str:
    """The message for a value that a method of a policy returned and that cannot be used."""
    file, line = _definition(policy, method)
    where = f"{shown(file)}:{line}" if line else shown(file)
    given = _text_from(lambda: f"{answer!r:.60}")
    return visible(f"{where}: {_name(policy, method)} returned {given}; expected {expected}")


def said_by(error: BaseException) -> str:
    """The message of an exception, which may be of a class of the user's own that has none to give."""
    return _text_from(lambda: str(error))


def _text_from(code: Callable[[], str]) -> str:
    """The text that a user's code returns, or that it gives none."""
    try:
        return code()
    except KeyboardInterrupt:
        raise
    except BaseException as error:
        return f"(no text: {type(error).__name__})"


def place(error: BaseException, file: str) -> str:
    """ "FILE:LINE" of the last line of this file that the error passed through; "FILE" if it passed through none."""
    if isinstance(error, SyntaxError) and error.filename == file:
        return f"{shown(file)}:{error.lineno}"
    lines = [frame.lineno for frame in traceback.extract_tb(error.__traceback__) if frame.filename == file]
    return f"{shown(file)}:{lines[-1]}" if lines else shown(file)


def shown(file: str) -> str:
    """The path relative to the working directory if the file lies below it, otherwise the path as given."""
    relative = os.path.relpath(file) if os.path.isabs(file) else file
    return file if relative.startswith(os.pardir) else relative


def file_of(policy: type) -> str:
    """The name of the file that defines a policy; "own policy" if it was not defined in a file."""
    try:
        return Path(inspect.getfile(policy)).name
    except (OSError, TypeError):
        return "own policy"


def _name(policy: object, method: str) -> str:
    return f"{type(policy).__qualname__}.{method}"


def _definition(policy: object, method: str) -> tuple[str, int | None]:
    """The file and line where a method is defined; without a line for one that is not plain Python."""
    code = getattr(getattr(type(policy), method, None), "__code__", None)
    return (code.co_filename, code.co_firstlineno) if code else (file_of(type(policy)), None)
