"""A study on disk: what it is (`manifest.json`) and one Parquet file for each finished block, in `blocks/`.

Files appear whole or not at all, so whatever stops a study, also `kill -9` or a power cut, costs only blocks that were
not finished. `blocks/*.parquet` is one table to whatever reads Parquet: one row for each replicate of each alternative
in each case, with the outputs as columns and what the report draws as lists of structs.
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
from farrowtide.study.blocks import Block

FORMAT = 1
_MANIFEST = "manifest.json"
_LOCK = ".lock"
_UNFINISHED = ".unfinished-"  # readers of Parquet pass over what begins with a dot


class StudyFolder:
    """The folder of one study. Raises UserError where it holds something else, or this study without `resume`."""

    def __init__(self, path: str | os.PathLike[str], study: Mapping[str, Any], *, resume: bool = False) -> None:
        """`study`: plain values that say which study it is; the same on resuming."""
        self.path = Path(path)
        self.blocks = self.path / "blocks"
        self._rooms = {(room["case"], room["alternative"]): i for i, room in enumerate(study["rooms"])}
        self._said = json.dumps({"format": FORMAT, **study}, indent=2, ensure_ascii=False) + "\n"
        self._written: set[Path] = set()
        self._check(json.loads(self._said), resume)

    def _check(self, study: Mapping[str, Any], resume: bool) -> None:
        manifest = self.path / _MANIFEST
        if not manifest.exists():
            if self.path.is_dir() and any(not file.name.startswith(".") for file in self.path.iterdir()):
                raise UserError(f"{self.path}: a folder with other files in it; a study needs one of its own")
            return
        if not resume:
            raise UserError(f"{self.path}: holds a study; go on with it (--resume), or name another folder")
        try:
            there = json.loads(manifest.read_bytes())
        except ValueError:
            raise UserError(f"{manifest}: is not the manifest of a study") from None
        keys = sorted(study.keys() | there.keys() - {"about"})
        if other := [key for key in keys if key != "about" and study.get(key) != there.get(key)]:
            raise UserError(f"{self.path}: holds another study: {', '.join(other)} differ (see {_MANIFEST})")

    @contextmanager
    def open(self) -> Iterator[None]:
        """For as long as blocks are written; by one process at a time, whose end, whatever it is, frees the folder."""
        self.path.mkdir(parents=True, exist_ok=True)
        lock = os.open(self.path / _LOCK, os.O_RDWR | os.O_CREAT)
        try:
            try:
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                raise UserError(f"{self.path}: another process is at this study") from None
            for left in self.path.rglob(f"{_UNFINISHED}*"):
                left.unlink()
            _write_whole(self.path / _MANIFEST, self._said.encode())
            self.blocks.mkdir(exist_ok=True)
            yield
        finally:
            os.close(lock)

    def read(self, block: Block) -> pa.Table | None:
        """A finished block; None where it is not finished, or its file cannot be read."""
        file = self._file(block)
        try:
            table = pq.ParquetFile(file).read() if file.exists() else None
        except (OSError, pa.ArrowException):
            return None
        return table if table is not None and table.num_rows == block.count else None

    def write(self, block: Block, table: pa.Table) -> None:
        """Finishes a block; one that holds more rooms already stays."""
        if _rows_in(self._file(block)) > block.count:
            return
        sink = pa.BufferOutputStream()
        pq.write_table(table, sink, compression="zstd", version="2.6")
        _write_whole(self._file(block), sink.getvalue().to_pybytes())
        self._written.add(self._file(block))

    def take_back_from(self, replicate: int) -> None:
        """Takes away what was written here of later replicates: by workers that were ahead when the study stopped."""
        for file in self._written:
            if int(file.stem.split("-")[1]) >= replicate:
                file.unlink()

    def _file(self, block: Block) -> Path:
        return self.blocks / f"{self._rooms[block.case, block.alternative]:04}-{block.first:08}.parquet"


def _rows_in(file: Path) -> int:
    try:
        return pq.read_metadata(file).num_rows if file.exists() else 0
    except (OSError, pa.ArrowException):
        return 0


def _write_whole(file: Path, content: bytes) -> None:
    """The file has the content, or what it had before, whatever happens meanwhile."""
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
