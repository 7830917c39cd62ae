"""Files as wholes: read from regular files only, never without end; written under their name once they are complete.

Every file that the package reads comes through `read_bytes`, and every file that it writes through `replacing`.
"""

from __future__ import annotations

import os
import secrets
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from farrowtide.errors import UserError

LARGEST_BYTES = 64 << 20  # of a report, a picture, a block or the description of a study
UNFINISHED = (
    ".unfinished-"  # how the name of a file begins while it is written; readers of Parquet pass over such names
)


def read_bytes(file: Path, most_bytes: int = LARGEST_BYTES) -> bytes:
    """The content of a file. Raises UserError where it is no regular file, larger than `most_bytes` or unreadable."""
    try:
        # A pipe without a writer would keep `open` waiting.
        with os.fdopen(os.open(file, os.O_RDONLY | os.O_NONBLOCK | os.O_NOCTTY), "rb") as opened:
            regular = stat.S_ISREG(os.fstat(opened.fileno()).st_mode)
            content = opened.read(most_bytes + 1) if regular else b""
    except OSError as error:
        raise UserError(f"Can't read the file '{file}': {error.strerror}.") from None
    if not regular:
        raise UserError(f"Can't read the file '{file}': it is not a regular file.")
    if len(content) > most_bytes:
        raise UserError(f"{file}: the file is too large (at most {most_bytes >> 20} MB)")
    return content


@contextmanager
def replacing(file: Path) -> Iterator[BinaryIO]:
    """A new file in the same folder, which takes the name of `file` in one step if all goes well, and is removed if not.

    A symbolic link of that name is replaced; what it points to is not touched. Raises UserError where the name belongs to
    a device or anything else that is not a regular file.
    """
    if _is_more_than_a_file(file):
        raise UserError(f"{file}: is not a regular file, and will not be replaced by one; name another file")
    unfinished = file.with_name(f"{UNFINISHED}{secrets.token_hex(8)}")
    try:
        # Never through a link that somebody put there: into a new file only.
        with os.fdopen(os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666), "wb") as out:
            yield out
            out.flush()
            os.fsync(out.fileno())
        unfinished.replace(file)
    except BaseException as error:
        with suppress(OSError):
            unfinished.unlink()
        if isinstance(error, OSError):  # whose user knows the file by its final name
            error.filename, error.filename2 = str(file), None
        raise
    folder = os.open(file.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)


def write_bytes(file: Path, content: bytes) -> None:
    """Replaces the file's content in one step: whatever happens, it has either the new content or the old."""
    with replacing(file) as out:
        out.write(content)


def write_text(file: Path, text: str) -> None:
    """The same with text, in UTF-8."""
    write_bytes(file, text.encode())


def make_folder(folder: Path, *, may_be_link: bool = False) -> None:
    """Makes a folder for files to be written. Raises UserError where it cannot be made, and where it is a symbolic link and
    may be none: files would land elsewhere.
    """
    if not may_be_link:
        require_no_link(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as problem:
        raise UserError(f"{folder}: cannot be made ({problem.strerror}); name another folder") from None


def require_no_link(folder: Path) -> None:
    """Raises UserError where the folder is a symbolic link."""
    if folder.is_symlink():
        raise UserError(f"{folder}: is a symbolic link to {os.readlink(folder)}; name that folder itself, or another")


def _is_more_than_a_file(file: Path) -> bool:
    """Whether it is a device, a pipe, a socket or a folder, or leads to one, as /dev/stdout does."""
    leads_to_open_file = file.is_symlink() and os.readlink(file).startswith("/proc/")
    return leads_to_open_file or (file.exists() and not file.is_file())
