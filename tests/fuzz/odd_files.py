"""Files decided by bytes: a fuzzer that changes a byte changes a cell, a separator or an encoding."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from typing import Any

ENCODINGS = ("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-32", "latin-1", "cp1252", "cp1250", "cp500", "utf-7")
SEPARATORS = (",", ";", "\t", "|", ", ")
ENDS = ("\n", "\r\n", "\r", "\n\n", "\x0b", "\u2028")
CELLS = (
    "", "-", "NA", "0", "-1", "1e9", "1e400", "nan", "inf", "1,5", "1.5", "1.234,5", "1 000", "1_000", "0x10", "٣", "½",
    "2026-02-30", "2026-13-01", "0001-01-01", "9999-12-31", "06.03.2026", "3/6/26", "2026-03-06T05:00",
    "2026-03-06 05:00:00.5", "2026-03-06T05:00+01:00", "2026-03-29T02:30", "24:00", "=1+1", "@SUM(A1)", "<b>", "[/b]", "%s",
    "{0}", "\x00", "\x1b[31m", "\u202e", "\ufeff", "\N{PIG}", "e\u0301", "'", '"', '""', "a\nb", " A17 ", "a17", "A17", "#",
    "x" * 61, "9" * 400, "x" * 150_000, "TRUE", "degC", "70 degF", "5 kg",
)  # fmt: skip
PIECES = (
    ":", ": ", "- ", "\n", "\t", "  ", "[", "]", "{", "}", '"', "'", "&a ", "*a", "!!python/object:os.system ", "!!str ",
    "|\n", ">-\n", "#", "---\n", "...\n", "<<: ", "? ", "010", ".nan", ".inf", "1e400", "yes", "~", "-", "\x00", "\x85",
    "\u2028", "\N{PIG}", "%", "@", "`", ",", "2026-02-30", "1" * 5000, "[" * 300, "!!binary |", "!!timestamp ",
)  # fmt: skip
SPLICES = (
    b"\x00",
    b"\xff",
    b"\xfe\xff",
    b"\xef\xbb\xbf",
    b"\x80",
    b"\r",
    b"\n",
    b'"',
    b",",
    b";",
    b"\xed\xa0\x80",
    b"",
)


class Bytes:
    """Each decision takes the next byte. Behind the last one every byte is 0, which changes nothing."""

    def __init__(self, data: bytes) -> None:
        self._data = data
        self._place = 0

    def byte(self) -> int:
        """The next byte."""
        self._place += 1
        return self._data[self._place - 1] if self._place <= len(self._data) else 0

    def below(self, bound: int) -> int:
        """A whole number from 0 to below `bound`."""
        drawn = self.byte() if bound <= 256 else self.byte() * 256 + self.byte()
        return drawn % bound if bound else 0

    def one_of(self, options: Sequence[Any]) -> Any:
        """One of the options; the first where there is no byte left."""
        return options[self.below(len(options))]


def spliced(draw: Bytes, content: bytes) -> bytes:
    """The content with up to three places replaced by odd bytes."""
    for _ in range(draw.below(4)):
        place, length = draw.below(len(content) + 1), draw.below(9)
        content = content[:place] + draw.one_of(SPLICES) + content[place + length :]
    return content


def delimited(draw: Bytes, rows: list[list[str]]) -> bytes:
    """A table as a file: cells, rows and headings changed, in any notation and encoding."""
    rows = [list(row) for row in rows]
    for _ in range(draw.below(6)):
        _change(draw, rows)
    separator, end, encoding = draw.one_of(SEPARATORS), draw.one_of(ENDS), draw.one_of(ENCODINGS)
    quoting = draw.below(8)
    lines = [separator.join(_quoted(cell, quoting) for cell in row) for row in rows]
    remark = draw.one_of(["", "# a remark" + end, '"# a remark"' + end, end, "#" * 1000])
    text = remark + end.join(lines) + draw.one_of([end, ""])
    return spliced(draw, text.encode(encoding, errors="replace"))


def _quoted(cell: str, quoting: int) -> str:
    needed = any(mark in cell for mark in ',;\t"\n')
    if quoting in (0, 2) and not (quoting == 0 and needed):
        return cell
    return '"' + cell.replace('"', '""' if quoting < 6 else '"') + '"'


def _change(draw: Bytes, rows: list[list[str]]) -> None:
    if not rows:
        return
    at = draw.below(len(rows))
    row = rows[at]
    match draw.below(8):
        case 0 | 1 | 2 if row:
            row[draw.below(len(row))] = draw.one_of(CELLS)
        case 3:
            rows.insert(draw.below(len(rows)), list(row))
        case 4:
            rows.pop(at)
        case 5 if row:
            row.pop(draw.below(len(row)))
        case 6:
            row.append(draw.one_of(CELLS))
        case 7 if row:
            column = draw.below(len(row))
            text = draw.one_of(CELLS)
            for other in rows[1:]:
                other[column : column + 1] = [text]


def changed_text(draw: Bytes, text: str) -> bytes:
    """A text with up to eight changes such as a hand, an editor or a broken disk makes."""
    for _ in range(draw.below(9)):
        place, length = draw.below(len(text) + 1), draw.below(40)
        match draw.below(4):
            case 0:
                text = text[:place] + draw.one_of(PIECES) + text[place:]
            case 1:
                text = text[:place] + text[place + length :]
            case 2:
                other = draw.below(len(text) + 1)
                text = text[:place] + text[other : other + length] + text[place:]
            case 3:
                text = text[:place] + draw.one_of(PIECES) + text[place + length :]
    return spliced(draw, text.encode("utf-8", errors="replace"))


def changed_archive(draw: Bytes, content: bytes) -> bytes:
    """A workbook with one part changed, left out or doubled, or with bytes changed in the archive itself."""
    if draw.below(4) == 3:
        return spliced(draw, content)
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as given, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as out:
        names = given.namelist()
        chosen, way = draw.one_of(names), draw.below(8)
        for name in names:
            part = given.read(name)
            if name != chosen:
                out.writestr(name, part)
            elif way < 6:
                out.writestr(name, changed_text(draw, part.decode("utf-8")))
            elif way == 6:
                out.writestr(name + "x", part)
    return made.getvalue()
