"""A study on disk: what it is (`manifest.json`), one Parquet file per finished block, in `blocks/`, and of a comparison
what was asked of it last (`asked.json`), which no number depends on.

Files appear whole or not at all, so whatever stops a study, even `kill -9` or a power cut, costs only the blocks that
were not finished. `blocks/*.parquet` is one table to any reader of Parquet: one row per arm and replicate, with the
outputs as columns and the tables that are kept as lists of structs. The name of a block ends in the first half of the
SHA-256 of its bytes, and the manifest has a checksum, too: what was damaged since is run again, or is an error. Each
block carries the hash of its study: one of another study, which may have the same arms, is run again, too.
"""

from __future__ import annotations

import fcntl
import hashlib
import os
import re
import warnings
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

from farrowtide.errors import UserError
from farrowtide.study import manifest as manifests
from farrowtide.study.block_values import require_possible
from farrowtide.study.blocks import Block, is_marked_otherwise, is_of, marked, without_foreign_metadata
from farrowtide.study.plan import Plan
from farrowtide.whole_files import UNFINISHED, make_folder, read_bytes, write_bytes, write_text

_MANIFEST = manifests.FILE
ASKED = "asked.json"
_NAME = re.compile(r"(\d{4,})-(\d{8,})(?:-([0-9a-f]{32}))?\.parquet")  # arm, first replicate, checksum
_LOCK = ".lock"
_MOST_NAMED = 3  # files in a message
LARGEST_BLOCK_BYTES = 1 << 30  # of its file, and of its table in memory


class StudyFolder:
    """The folder of one study. Raises UserError where it holds anything else, or this study without `resume`."""

    def __init__(
        self, path: str | os.PathLike[str], plan: Plan, *, resume: bool = False, asked: str | None = None
    ) -> None:
        self.path = Path(path)
        self._asked = asked
        self.blocks = self.path / "blocks"
        self._number_of = plan.number_of
        identity = plan.identity()
        self.study = manifests.hash_of(identity)
        self._manifest = manifests.manifest_of(identity)
        self._files: dict[tuple[int, int], Path] = {}  # arm, first replicate -> the file of that block
        self._written: set[tuple[int, int]] = set()
        self._unusable: list[Path] = []  # files in place of blocks, damaged or of another study
        self._held_format = manifests.FORMAT  # of the manifest in the folder, if there is one
        self._check(self._manifest, resume)

    def _check(self, study: Mapping[str, Any], resume: bool) -> None:
        manifest = self.path / _MANIFEST
        if not manifest.exists():
            if self.path.is_dir() and any(map(self._is_foreign, self.path.iterdir())):
                raise UserError(f"{self.path}: the folder has other files in it; a study needs a folder of its own")
            return
        if not resume:
            raise UserError(f"{self.path}: holds a study; resume it (--resume), or name another folder")
        held = manifests.read_manifest(manifest, study["verb"])
        if held["verb"] != study["verb"]:
            raise UserError(f"{self.path}: holds a study of `{held['verb']}`, not of `{study['verb']}`")
        keys = sorted((study.keys() | held.keys()) - manifests.WITHOUT_EFFECT)
        if differing := [key for key in keys if study.get(key) != held.get(key)]:
            raise UserError(
                f"{self.path}: holds another study, which differs in: {', '.join(differing)} (see {_MANIFEST})"
            )
        self._held_format = held["format"]

    def _is_foreign(self, file: Path) -> bool:
        """Whether a folder without a manifest holds it for another reason than that a study was killed at its first step."""
        return not file.name.startswith(".") and (file != self.blocks or not file.is_dir() or any(file.iterdir()))

    @contextmanager
    def open(self) -> Iterator[None]:
        """Locks the folder for as long as blocks are written; the lock ends with the process, however it ends."""
        make_folder(self.path, may_be_link=True)
        for own in (_LOCK, _MANIFEST, ASKED, self.blocks.name):
            if (self.path / own).is_symlink():
                raise UserError(f"{self.path / own}: is a symbolic link; a study has files of its own in its folder")
        lock = os.open(self.path / _LOCK, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW)
        try:
            try:
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                raise UserError(f"{self.path}: the study is locked by another process") from None
            self.blocks.mkdir(exist_ok=True)
            for unfinished in (*self.path.glob(f"{UNFINISHED}*"), *self.blocks.glob(f"{UNFINISHED}*")):
                unfinished.unlink()
            self._files = _with_checksums(self.blocks, self.study, earlier=self._held_format < manifests.FORMAT)
            write_text(self.path / _MANIFEST, manifests.text_of(self._manifest))
            if self._asked is not None:
                write_text(self.path / ASKED, self._asked)
            yield
            self._warn_of_unusable()
        finally:
            os.close(lock)

    def _warn_of_unusable(self) -> None:
        if count := len(self._unusable):
            named = ", ".join(file.name for file in self._unusable[:_MOST_NAMED])
            warnings.warn(
                f"{self.path}: simulated again, because damaged or replaced: {count} block{'s' if count > 1 else ''} "
                f"({named}{', ...' if count > _MOST_NAMED else ''})",
                stacklevel=2,
            )

    def read(self, block: Block) -> pa.Table | None:
        """The table of a finished block; None where it is not finished or its file is damaged."""
        table = self._table(block)
        if table is None and (file := self._files.get(self._place(block))) is not None:
            self._unusable.append(file)
        return table if table is not None and table.num_rows == block.count else None

    def write(self, block: Block, table: pa.Table) -> None:
        """Writes a finished block, unless the folder already holds more of its rooms."""
        held = self._table(block)
        if held is not None and held.num_rows > block.count:
            return
        sink = pa.BufferOutputStream()
        pq.write_table(marked(table, self.study), sink, compression="zstd", version="2.6")
        content = sink.getvalue().to_pybytes()
        place = self._place(block)
        file = self.blocks / f"{place[0]:04}-{place[1]:08}-{_checksum(content)}.parquet"
        write_bytes(file, content)
        former = self._files.get(place)
        if former is not None and former != file:
            former.unlink(missing_ok=True)
        self._files[place] = file
        self._written.add(place)

    def remove_from(self, replicate: int) -> None:
        """Removes what was written of this and later replicates by workers that were ahead when the study stopped."""
        for place in self._written:
            if place[1] >= replicate:
                self._files.pop(place).unlink()

    def _table(self, block: Block) -> pa.Table | None:
        file = self._files.get(self._place(block))
        table = None if file is None else _read(file, self.study)
        if file is None or table is None or not is_of(table, block):
            return None
        require_possible(table, file)
        return table

    def _place(self, block: Block) -> tuple[int, int]:
        return self._number_of(block.arm), block.first


def rooms_in(folder: Path, study: str, columns: Sequence[str]) -> pa.Table:
    """These columns of every block of a study that is finished. `study`: its hash.

    Raises UserError where a block was damaged since, or replaced by one of another study.
    """
    tables = []
    for file in sorted((folder / "blocks").glob("*.parquet")):
        table = _read(file, study, columns)
        if table is None:
            raise UserError(
                f"{file}: was damaged or replaced after the study had finished; resume the study to run it again"
            )
        require_possible(table, file)
        tables.append(table)
    return pa.concat_tables(tables)


def _read(file: Path, study: str, columns: Sequence[str] | None = None) -> pa.Table | None:
    """The table in the file of a block; None where its bytes are not those that its name stands for, or another study's."""
    named = _NAME.fullmatch(file.name)
    try:
        content = read_bytes(file, LARGEST_BLOCK_BYTES) if named and file.is_file() else b""
        if named is None or named[3] != _checksum(content) or _would_fill_memory(content):
            return None
        parquet = pq.ParquetFile(pa.BufferReader(content))
        if is_marked_otherwise(parquet.schema_arrow, study):
            return None
        # A thread of Arrow that still holds the content when the interpreter ends would abort the process.
        table = parquet.read(columns=columns and list(columns), use_threads=False)
    except (OSError, ValueError, KeyError, pa.ArrowException):  # names of columns may be no text, or not of the schema
        return None
    if columns is None:
        return without_foreign_metadata(table)
    return table.select(columns).replace_schema_metadata() if set(columns) == set(table.column_names) else None


def _would_fill_memory(content: bytes) -> bool:
    """Whether a small file stands for a huge table: the same number or the same long text in very many rows."""
    metadata = pq.ParquetFile(pa.BufferReader(content)).metadata
    groups = [metadata.row_group(group) for group in range(metadata.num_row_groups)]
    columns = [group.column(column) for group in groups for column in range(group.num_columns)]
    if sum(max(8 * column.num_values, column.total_uncompressed_size) for column in columns) > LARGEST_BLOCK_BYTES:
        return True
    with_text = [column for column in columns if column.physical_type.endswith("BYTE_ARRAY")]
    paths = sorted({column.path_in_schema for column in with_text})
    # Each text once, with its number in every row.
    once = pq.ParquetFile(pa.BufferReader(content), read_dictionary=paths).read(columns=paths, use_threads=False)
    longest = max((_longest_text(chunk) for column in once.columns for chunk in column.chunks), default=0)
    return bool(longest * sum(column.num_values for column in with_text) > LARGEST_BLOCK_BYTES)


def _longest_text(values: pa.Array) -> int:
    """The bytes of the longest text in a column, or in the tables that it holds."""
    if pa.types.is_list(values.type):
        return _longest_text(values.flatten())
    if pa.types.is_struct(values.type):
        return max(map(_longest_text, values.flatten()), default=0)
    if not pa.types.is_dictionary(values.type):
        return LARGEST_BLOCK_BYTES  # of no block
    return pc.max(pc.binary_length(values.dictionary)).as_py() or 0


def _with_checksums(folder: Path, study: str, *, earlier: bool) -> dict[tuple[int, int], Path]:
    """The files of all blocks by arm and first replicate, once those of earlier versions are named by their checksums.

    `earlier`: whether the folder is of such a version; in any other, a name without a checksum is damage. Where a stop
    left a block and the longer one that was to replace it, both are damaged or one has more rooms: the first that can be
    read with the most rooms stays.
    """
    files: dict[tuple[int, int], Path] = {}
    unchecked = 0
    for file in sorted(folder.glob("*.parquet")):
        named = _NAME.fullmatch(file.name)
        if named is None:
            continue
        if named[3] is None and earlier:
            unchecked += 1
            checksum = _checksum(read_bytes(file, LARGEST_BLOCK_BYTES))
            file = file.rename(file.with_name(f"{file.stem}-{checksum}.parquet"))
        place = int(named[1]), int(named[2])
        if place in files:
            less, file = sorted((files[place], file), key=lambda file: _rows_in(file, study))
            if less.is_dir():
                raise UserError(f"{less}: is a folder in place of a block; remove it")
            less.unlink()
        files[place] = file
    if unchecked:
        warnings.warn(
            f"{folder}: {unchecked} blocks were written by an earlier version without checksums. They are used, but "
            f"whether they were damaged before today cannot be known; to be sure, {manifests.ANEW}.",
            stacklevel=2,
        )
    return files


def _rows_in(file: Path, study: str) -> int:
    table = _read(file, study)
    return -1 if table is None else table.num_rows


def _checksum(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()[:32]
