"""Lessons, homework and the scenarios that they use, copied into a folder of the student's."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from farrowtide.scenarios.shipped import example, folder
from farrowtide.whole_files import make_folder, read_bytes, write_bytes, write_text

_EXAMPLE = re.compile(r"""\bexample\(["']([^"']+)["']\)""")


@dataclass(frozen=True)
class Lessons:
    """What was written into the folder, and what was kept because it is there with another content."""

    folder: Path
    written: tuple[Path, ...]
    kept: tuple[Path, ...]
    paired: bool
    """Whether notebooks (.ipynb) stand beside the percent files, which takes jupytext."""


def copy_lessons(out: str | os.PathLike[str]) -> Lessons:
    """Copies lessons and homework into a folder, and the scenarios that they use into its folder `scenarios`.

    A file that is there already is never written over. Raises UserError where nothing can be written.
    """
    target = Path(out)
    contents = dict(_shipped())
    written, kept = [], []
    for name, content in contents.items():
        file = target / name
        make_folder(file.parent)
        if not file.exists():
            write_bytes(file, content)
            written.append(file)
        elif read_bytes(file) != content:
            kept.append(file)
    paired = find_spec("jupytext") is not None
    if paired:
        written += _pair(target / name for name in contents if name.endswith(".py"))
    return Lessons(target, tuple(written), tuple(kept), paired)


def _shipped() -> Iterator[tuple[str, bytes]]:
    """The name of each file in the student's folder, and its content."""
    lessons = folder("notebooks")
    used: set[str] = set()
    for file in sorted([*lessons.glob("*.md"), *lessons.glob("*.py"), *lessons.glob("homework/*.py")]):
        content = read_bytes(file)
        used.update(_EXAMPLE.findall(content.decode()))
        yield file.relative_to(lessons).as_posix(), content
    for name in sorted(used):
        yield f"scenarios/{name}", read_bytes(example(name))


def _pair(files: Iterator[Path]) -> list[Path]:
    """Writes a notebook beside each percent file that has none; returns those."""
    import jupytext

    made = []
    for file in files:
        notebook = file.with_suffix(".ipynb")
        if notebook.exists():
            continue
        cells = jupytext.read(file)
        for number, cell in enumerate(cells.cells):
            cell["id"] = f"cell-{number}"  # the same in every copy
        write_text(notebook, jupytext.writes(cells, fmt="ipynb"))
        times = file.stat()
        os.utime(notebook, ns=(times.st_atime_ns, times.st_mtime_ns))  # jupytext refuses a pair of which this is newer
        made.append(notebook)
    return made
