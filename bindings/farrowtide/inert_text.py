"""Text that came from files, made harmless where it is shown: on a terminal, in HTML and SVG, Markdown, spreadsheets.

Titles, questions, names and paths may come from anybody. Whatever they hold is shown as the letters that it consists
of; none of it acts on the program that shows it. Ordinary text comes out unchanged.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from farrowtide.whole_files import write_text

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd

# Control characters except tab and newline, marks that reorder the text around them, line separators, byte-order
# marks, halves of surrogate pairs.
_ACTIVE = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff\ufff9-\ufffb\ufffe\uffff\ud800-\udfff]"
)
_MARKDOWN = re.compile(r"[\\`*|~$]|<(?=[A-Za-z/!?])|\](?=[(\[:])|&(?=[#\w])|(?<![^\W_])_|_(?![^\W_])")
_MARKDOWN_BLOCK = re.compile(r"^([>=]|[#+-](?=[#\s-]|$))|^(\d+)([.)])(?=\s|$)")
_FORMULA = re.compile('(^|;)([\\s"]*[=+\\-@\uff1d\uff0b\uff0d\uff20])')  # the last four are full-width forms
_CSV_NUMBERS = "%.8g"  # enough to compute on, and short enough to read; Parquet and JSON hold every digit


def visible(text: str) -> str:
    r"""The text with every active character written as \uXXXX, which JSON reads as that character.

    >>> visible("a\x1b[2Jb")
    'a\\u001b[2Jb'
    """
    return _ACTIVE.sub(lambda match: f"\\u{ord(match[0]):04x}", text)


def visible_line(text: str) -> str:
    r"""The same with newlines and tabs written as \uXXXX, too: a message, or a name in it, ends with its line."""
    return visible(text).replace("\n", r"\u000a").replace("\t", r"\u0009")


def one_line(text: str) -> str:
    """Visible text with newlines and tabs as spaces."""
    return " ".join(visible(text).split())


def markdown(text: str) -> str:
    """Literal text on one line of Markdown: in a paragraph, a heading, an item of a list or a cell of a table."""
    escaped = _MARKDOWN.sub(r"\\\g<0>", one_line(text))
    return _MARKDOWN_BLOCK.sub(_without_block, escaped)


def _without_block(match: re.Match[str]) -> str:
    """What would begin a heading, a quotation or a list at the beginning of a line."""
    return f"\\{match[1]}" if match[1] else f"{match[2]}\\{match[3]}"


def markdown_code(text: str) -> str:
    """The text as code within a line of Markdown, also in a cell of a table."""
    code = one_line(text).replace("|", "\\|")
    longest = max(map(len, re.findall("`+", code)), default=0)
    fence, space = "`" * (longest + 1), " " if longest else ""
    return f"{fence}{space}{code}{space}{fence}"


def in_spreadsheet(cell: object) -> object:
    """The cell of a table on one line; an apostrophe goes before what spreadsheet programs would take for a formula.

    That is so at the beginning, and after a semicolon, too, which in some countries is what separates cells.
    """
    if not isinstance(cell, str):
        return cell
    return _FORMULA.sub(r"\1'\2", visible(re.sub(r"[\t\n]", " ", cell)))


def html_table(title: str, rows: Iterable[Sequence[object]]) -> str:
    """A small table for a notebook: the title above it, the first cell of each row its heading."""
    lines = [
        f"<tr><th style='text-align: left'>{_html(head)}</th>"
        + "".join(f"<td style='text-align: left'>{_html(cell)}</td>" for cell in cells)
        + "</tr>"
        for head, *cells in rows
    ]
    return f"<p><strong>{_html(title)}</strong></p><table>{''.join(lines)}</table>"


def _html(cell: object) -> str:
    return html.escape(visible(str(cell)))


def write_csv(table: pd.DataFrame, file: Path, *, remark: str = "") -> None:
    """Writes a table as CSV, its text as in `in_spreadsheet`, its numbers with eight significant digits.

    A `remark` is the first line, after "# ".
    """
    write_text(file, (f"# {one_line(remark)}\n" if remark else "") + csv_text(table))


def csv_text(table: pd.DataFrame) -> str:
    """The table as write_csv writes it."""
    text = [name for name, kind in table.dtypes.items() if kind.kind not in "biuf"]
    inert = table.assign(**{str(name): table[name].map(in_spreadsheet) for name in text})
    return inert.to_csv(index=False, lineterminator="\n", float_format=_CSV_NUMBERS)
