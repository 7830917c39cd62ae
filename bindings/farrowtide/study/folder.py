"""A study on disk: what it is (`manifest.json`) and one Parquet file per finished block, in `blocks/`.

Files appear whole or not at all, so whatever stops a study, even `kill -9` or a power cut, costs only the blocks that
were not finished. `blocks/*.parquet` is one table to any reader of Parquet: one row per arm and replicate, with the
outputs as columns and the tables that are kept as lists of structs.
"""

from __future__ import annotations

import fcntl
import json
import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq

from farrowtide.errors import UserError
from farrowtide.study.blocks import REPORT_TABLES, Block
from farrowtide.study.plan import Plan

FORMAT = 2
_MANIFEST = "manifest.json"
_LOCK = ".lock"
_UNFINISHED = ".unfinished-"  # readers of Parquet pass over what begins with a dot


class StudyFolder:
    """The folder of one study. Raises UserError where it holds anything else, or this study without `resume`."""

    def __init__(self, path: str | os.PathLike[str], plan: Plan, *, resume: bool = False) -> None:
        self.path = Path(path)
        self.blocks = self.path / "blocks"
        self._numbers = {arm: number for number, arm in enumerate(plan.arms)}
        self._manifest = json.dumps({"format": FORMAT, **plan.identity()}, indent=2, ensure_ascii=False) + "\n"
        self._written: set[Path] = set()
        self._check(json.loads(self._manifest), resume)

    def _check(self, study: Mapping[str, Any], resume: bool) -> None:
        manifest = self.path / _MANIFEST
        if not manifest.exists():
            if self.path.is_dir() and any(not file.name.startswith(".") for file in self.path.iterdir()):
                raise UserError(f"{self.path}: the folder has other files in it; a study needs a folder of its own")
            return
        if not resume:
            raise UserError(f"{self.path}: holds a study; resume it (--resume), or name another folder")
        held = _held_by(manifest, study)
        if held.get("verb") != study["verb"]:
            raise UserError(f"{self.path}: holds a study of `{held.get('verb')}`, not of `{study['verb']}`")
        keys = sorted((study.keys() | held.keys()) - {"about"})
        if differing := [key for key in keys if study.get(key) != held.get(key)]:
            raise UserError(
                f"{self.path}: holds another study, which differs in: {', '.join(differing)} (see {_MANIFEST})"
            )

    @contextmanager
    def open(self) -> Iterator[None]:
        """Locks the folder for as long as blocks are written; the lock ends with the process, however it ends."""
        self.path.mkdir(parents=True, exist_ok=True)
        lock = os.open(self.path / _LOCK, os.O_RDWR | os.O_CREAT)
        try:
            try:
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                raise UserError(f"{self.path}: the study is locked by another process") from None
            for unfinished in self.path.rglob(f"{_UNFINISHED}*"):
                unfinished.unlink()
            _write_whole(self.path / _MANIFEST, self._manifest.encode())
            self.blocks.mkdir(exist_ok=True)
            yield
        finally:
            os.close(lock)

    def read(self, block: Block) -> pa.Table | None:
        """The table of a finished block; None where it is not finished or its file cannot be read."""
        file = self._file(block)
        try:
            table = pq.ParquetFile(file).read() if file.exists() else None
        except (OSError, pa.ArrowException):
            return None
        return table if table is not None and table.num_rows == block.count else None

    def write(self, block: Block, table: pa.Table) -> None:
        """Writes a finished block, unless the folder already holds more of its rooms."""
        if _rows_in(self._file(block)) > block.count:
            return
        sink = pa.BufferOutputStream()
        pq.write_table(table, sink, compression="zstd", version="2.6")
        _write_whole(self._file(block), sink.getvalue().to_pybytes())
        self._written.add(self._file(block))

    def remove_from(self, replicate: int) -> None:
        """Removes what was written of this and later replicates by workers that were ahead when the study stopped."""
        for file in self._written:
            if int(file.stem.split("-")[1]) >= replicate:
                file.unlink()

    def _file(self, block: Block) -> Path:
        return self.blocks / f"{self._numbers[block.arm]:04}-{block.first:08}.parquet"


def _held_by(manifest: Path, study: Mapping[str, Any]) -> dict[str, Any]:
    """What the folder says of its study. Format 1 knew compare and sweep only, which kept the same blocks."""
    try:
        held = json.loads(manifest.read_bytes())
    except ValueError:
        held = None
    if not isinstance(held, dict):
        raise UserError(f"{manifest}: is not the manifest of a study")
    if held.get("format") == 1:
        verb = study["verb"] if study["verb"] in ("compare", "sweep") else "compare` or `sweep"
        held |= {"format": FORMAT, "verb": verb, "tables": list(REPORT_TABLES)}
    return held


def _rows_in(file: Path) -> int:
    try:
        return pq.read_metadata(file).num_rows if file.exists() else 0
    except (OSError, pa.ArrowException):
        return 0


def _write_whole(file: Path, content: bytes) -> None:
    """Replaces the file's content in one step: whatever happens, it has either the new content or the old."""
    unfinished = file.with_name(f"{_UNFINISHED}{file.name}")
    with unfinished.open("wb") as out:
        out.write(content)
        out.flush()
        os.fsync(out.fileno())
    unfinished.replace(file)
    folder = os.open(file.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)
