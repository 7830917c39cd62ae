"""Plain text as Markdown that shows as it is written."""

import re
from collections.abc import Iterable


def plain(text: str) -> str:
    """One line of text, in which only backticks mean anything."""
    parts = re.split(r"(`[^`]*`)", " ".join(text.split()))
    return "".join(part if part.startswith("`") else re.sub(r"([\\*_\[\]<>{}#~$])", r"\\\1", part) for part in parts)


def table(head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    """A table of cells that are Markdown already."""
    lines = [head, ("---",) * len(head), *rows]
    return "".join(f"| {' | '.join(cell.replace('|', BAR) for cell in cells)} |\n" for cells in lines)


BAR = "\\|"
