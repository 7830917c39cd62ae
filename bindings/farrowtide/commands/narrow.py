"""Tables on terminals that are too narrow for their columns: rows one below the other, so that no number is cut off."""

from __future__ import annotations

from rich.console import Console, ConsoleOptions, RenderResult
from rich.measure import Measurement
from rich.padding import Padding
from rich.table import Column, Table
from rich.text import Text

_INDENT = 2


class FittingTable(Table):
    """A table that prints each row as a paragraph of "heading: value" where its columns do not fit."""

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        if self._least_width(console) <= options.max_width:
            yield from super().__rich_console__(console, options)
            return
        if self.title:
            yield Text.from_markup(str(self.title), style=self.title_style or "")
        headings = [_in_one_line(column.header) for column in self.columns]
        for cells in zip(*(column.cells for column in self.columns), strict=True):
            first, *others = map(_in_one_line, cells)
            yield first
            for heading, value in zip(headings[1:], others, strict=True):
                if value.plain:
                    yield Padding(
                        Text.assemble(heading, ": ", value) if heading.plain else value,
                        (0, 0, 0, _INDENT),
                        expand=False,
                    )
        yield ""

    def _least_width(self, console: Console) -> int:
        """The columns needed so that words are whole, and numbers are on one line."""
        _, right, _, left = Padding.unpack(self.padding)
        padding = (left + right) * (len(self.columns) if self.pad_edge else len(self.columns) - 1)
        return sum(_least_width(console, column) for column in self.columns) + padding + self._extra_width


def _least_width(console: Console, column: Column) -> int:
    if column.width is not None:
        return column.width
    options = console.options.update(width=10_000)
    sizes = [Measurement.get(console, options, cell) for cell in (column.header, *column.cells)]
    return max(size.maximum if column.no_wrap else size.minimum for size in sizes)


def _in_one_line(cell: object) -> Text:
    """A cell without line breaks; an interval below its value follows it."""
    text = Text.from_markup(str(cell))
    return Text(" ").join(text.split("\n"))
