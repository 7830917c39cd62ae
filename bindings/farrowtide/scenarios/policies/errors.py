"""What is wrong with an own policy, and where it stands."""

from __future__ import annotations

import inspect
import os
import traceback
from pathlib import Path
from typing import Any


def complaint(what: str, policy: object, method: str, about: Any, wanted: str) -> str:
    """What is wrong with a policy's method, for the engine: `about` is the exception, or the unfit answer."""
    called = f"{type(policy).__qualname__}.{method}"
    code = getattr(getattr(type(policy), method, None), "__code__", None)
    file = code.co_filename if code else file_of(type(policy))
    if what == "of_error":
        return f"{place(about, file)}: {called}: {type(about).__name__}: {about}"
    line = f":{code.co_firstlineno}" if code else ""
    return f"{shown(file)}{line}: {called} gave {about!r:.60}: {wanted} is expected"


def place(error: BaseException, file: str) -> str:
    """`file:line` where the error came up, in that file if it was on the way."""
    if isinstance(error, SyntaxError) and error.filename == file:
        return f"{shown(file)}:{error.lineno}"
    lines = [frame.lineno for frame in traceback.extract_tb(error.__traceback__) if frame.filename == file]
    return f"{shown(file)}:{lines[-1]}" if lines else shown(file)


def shown(file: str) -> str:
    """As it is called from here, where it lies below this folder."""
    near = os.path.relpath(file) if os.path.isabs(file) else file
    return file if near.startswith(os.pardir) else near


def file_of(policy: type) -> str:
    """The name of the file that a policy stands in."""
    try:
        return Path(inspect.getfile(policy)).name
    except (OSError, TypeError):
        return "own policy"
