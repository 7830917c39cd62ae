"""What may be in a folder after a command was stopped: whole files only, and temporary names that nobody takes for results."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
from pathlib import Path
from xml.etree import ElementTree

import openpyxl
import pyarrow.parquet as pq
import yaml

_TEMPORARY = re.compile(r"\.unfinished-[0-9a-f]{16}|\.lock")

Tree = dict[str, bytes]  # the content of each file by its path


def files_in(folder: Path) -> tuple[Tree, Tree]:
    """The files under their final names, and the temporary ones."""
    final, temporary = {}, {}
    for file in sorted(folder.rglob("*")):
        if not file.is_file():
            continue
        (temporary if _TEMPORARY.fullmatch(file.name) else final)[str(file.relative_to(folder))] = file.read_bytes()
    return final, temporary


def key_of(tree: Tree) -> str:
    """A hash of all files of a folder."""
    whole = hashlib.sha256()
    for name, content in tree.items():
        whole.update(f"{name}\0{len(content)}\0".encode() + content)
    return whole.hexdigest()


def fault_of(name: str, content: bytes) -> str | None:
    """Why a file is not whole, if it is not; for files that no uninterrupted command has written."""
    try:
        _read(Path(name).suffix, content)
    except Exception as problem:
        return f"{name}: {type(problem).__name__}: {problem}"
    return None


def _read(suffix: str, content: bytes) -> None:
    if suffix == ".parquet":
        pq.read_table(io.BytesIO(content))
        return
    if suffix == ".xlsx":
        openpyxl.load_workbook(io.BytesIO(content))
        return
    text = content.decode("utf-8")
    if suffix not in (".html", ".svg") and not text.endswith("\n"):
        raise ValueError("the last line has no end")
    if suffix == ".html":
        if not text.rstrip().endswith("</html>"):
            raise ValueError("the page has no end")
    elif suffix == ".svg":
        ElementTree.fromstring(text)
    elif suffix == ".json":
        json.loads(text)
    elif suffix == ".csv":
        rows = [row for row in csv.reader(text.splitlines()) if not row[0].startswith("# ")]
        if len({len(row) for row in rows}) > 1:
            raise ValueError("rows differ in length")
    elif suffix == ".yaml":
        yaml.safe_load(text)
    else:
        raise ValueError("is a kind of file that nobody expects")
