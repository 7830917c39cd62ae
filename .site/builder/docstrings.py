"""Docstrings as Sphinx reads them: a column of names with their meanings becomes a list."""

import hashlib
import re
from pathlib import Path
from typing import Any

from sphinx.application import Sphinx

import farrowtide

NAMED = re.compile(r"(?P<name>[A-Za-z_][\w.]*(?:, [\w.]+)*) {2,}(?P<meaning>\S.*)")


def setup(app: Sphinx) -> dict[str, Any]:
    app.connect("autodoc-process-docstring", _list_names)
    app.connect("autodoc-process-signature", _hide_constructor)
    return {"parallel_read_safe": True, "env_version": _version_of_builder()}


def _version_of_builder() -> int:
    """A number that changes with these programs, after which every page is read again."""
    text = b"".join(file.read_bytes() for file in sorted(Path(__file__).parent.glob("*.py")))
    return int.from_bytes(hashlib.sha256(text).digest()[:4], "big")


def _list_names(app: Sphinx, what: str, name: str, value: Any, options: Any, lines: list[str]) -> None:
    lines[:] = with_lists(lines)


def with_lists(lines: list[str]) -> list[str]:
    """The lines with each column of names as a list of definitions."""
    found: list[str] = []
    column = 0  # where the meanings of the present column begin; 0: none
    for line in lines:
        named = NAMED.fullmatch(line)
        if named:
            if not column and found and found[-1]:
                found.append("")
            column = named.start("meaning")
            found += [f"`{named['name']}`", f"    {named['meaning']}"]
        elif column and line.startswith(" " * column):
            found.append(f"    {line.strip()}")
        else:
            column = 0
            found.append(line)
    return found


def _hide_constructor(
    app: Sphinx, what: str, name: str, value: Any, options: Any, signature: str | None, returned: str | None
) -> tuple[str | None, str | None]:
    """What functions return is not made by its reader."""
    made = what == "class" and name.removeprefix("farrowtide.") in farrowtide.__all__
    return ("", None) if made and signature else (signature, returned)
