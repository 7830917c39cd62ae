"""Tables that others wrote: delimited text in any usual encoding, as cells of text with the line of each row."""

from __future__ import annotations

import codecs
import csv
import io
from dataclasses import dataclass
from pathlib import Path

from charset_normalizer import from_bytes

from farrowtide.errors import UserError
from farrowtide.inert_text import visible_line
from farrowtide.whole_files import read_bytes

SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs"}
# UTF-32 first: its little-endian mark begins like that of UTF-16.
_MARKS = [
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
]
_EIGHT_BIT = ["cp1252", "cp1250", "cp1251", "cp1253", "cp1254", "cp1257"]  # what Windows programs write
_MOST_COLUMNS = 1_000
_LONGEST_LIST = 1_000  # characters of headings in a message


@dataclass(frozen=True)
class Grid:
    """The cells of a table as text: `headings`, and `rows` with the number of the line that each begins at."""

    file: str  # as messages name it
    written_in: str  # as "CSV, UTF-8, separated by commas"
    heading_line: int
    headings: list[str]
    lines: list[int]
    rows: list[list[str]]

    @property
    def shown_headings(self) -> str:
        """The headings, for a message."""
        shown = visible_line(", ".join(self.headings))
        return shown if len(shown) <= _LONGEST_LIST else f"{shown[:_LONGEST_LIST]} ..."


def read_delimited(file: Path, *, encoding: str | None = None, separator: str | None = None) -> Grid:
    """Reads CSV. Lines that begin with "#" before the headings are remarks; blank rows are passed over.

    Without `encoding`, the text is UTF-8, UTF-16 with a byte-order mark, or else the code page of Windows that fits best;
    without `separator`, the one of comma, semicolon and tab that gives most headings. Raises UserError.
    """
    name = visible_line(str(file))
    return grid_in(read_bytes(file), name, encoding=encoding, separator=separator)


def grid_in(content: bytes, name: str, *, encoding: str | None = None, separator: str | None = None) -> Grid:
    """The same of the content of a file that messages call `name`."""
    text, used = _decoded(content, name, encoding)
    remarks, text = _after_remarks(text)
    separator = separator or _separator(text)
    lines, rows = _rows(text, separator, name, remarks)
    if not rows:
        raise UserError(f"{name}: is empty; a line of headings and rows below it are needed")
    headings = [heading.strip() for heading in rows[0]]
    while headings and not headings[-1]:
        headings.pop()
    if len(headings) > _MOST_COLUMNS:
        raise UserError(f"{name}: has {len(headings):,} columns; at most {_MOST_COLUMNS:,} are read")
    written_in = f"CSV, {used}, separated by {SEPARATORS.get(separator, repr(separator))}"
    return Grid(name, written_in, lines[0], headings, lines[1:], rows[1:])


def _decoded(content: bytes, name: str, encoding: str | None) -> tuple[str, str]:
    """The text, and what it is written in."""
    if not content.strip(b" \t\r\n\x00"):
        raise UserError(f"{name}: is empty; a line of headings and rows below it are needed")
    used = encoding or next((marked for mark, marked in _MARKS if content.startswith(mark)), "utf-8")
    try:
        text = content.decode(used)
    except UnicodeDecodeError as error:
        if encoding or used != "utf-8":
            raise UserError(f"{name}: byte {error.start:,} is not {used.upper()} text") from None
        best = from_bytes(content, cp_isolation=_EIGHT_BIT).best()
        if best is None or b"\x00" in content:
            raise UserError(f"{name}: is not text (CSV), or not in an encoding that is known") from None
        used = next(code for code in [*_EIGHT_BIT, best.encoding] if code in best.could_be_from_charset)
        text = content.decode(used)
    if "\x00" in text:
        line = text.count("\n", 0, text.index("\x00")) + 1
        raise UserError(
            f"{name}:{line}: holds NUL bytes: it is not a text file, is damaged, or is UTF-16 without a mark"
        )
    return text.removeprefix("\N{ZERO WIDTH NO-BREAK SPACE}"), _plain_name(used)


def _plain_name(encoding: str) -> str:
    name = encoding.lower().replace("_", "-").removesuffix("-sig")
    return f"Windows-{name[2:]}" if name.startswith("cp125") else name.upper()


def _after_remarks(text: str) -> tuple[int, str]:
    """The number of leading lines that are remarks, and the text after them."""
    count, place = 0, 0
    while text.startswith("#", place) or text.startswith('"#', place):
        count += 1
        end = text.find("\n", place)
        place = len(text) if end < 0 else end + 1
    return count, text[place:]


def _separator(text: str) -> str:
    first = next((line for line in text.splitlines() if line.strip()), "")

    def cells(separator: str) -> int:
        try:
            return len(next(csv.reader([first], delimiter=separator), []))
        except csv.Error:  # a cell that is too long, which whoever reads the rows tells
            return 0

    return max(SEPARATORS, key=cells)


def _rows(text: str, separator: str, name: str, remarks: int) -> tuple[list[int], list[list[str]]]:
    """The rows that hold anything, and the line that each begins at."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    lines, rows, begins = [], [], remarks + 1
    try:
        for row in reader:
            if any(map(str.strip, row)):
                lines.append(begins)
                rows.append(row)
            begins = remarks + reader.line_num + 1
    except csv.Error as error:
        said = visible_line(str(error)) if "unexpected end" not in str(error) else "a quotation mark is never closed"
        raise UserError(f"{name}:{begins}: the row cannot be read: {said}") from None
    return lines, rows
